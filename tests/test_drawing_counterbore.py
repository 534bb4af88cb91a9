"""The picture agrees with the numbers, and nothing in it runs into anything else."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.path import Path
from test_drawing_countersink import texts

from holecalc import nuts, sizes
from holecalc.counterbore import (
    pocket_for_cap_screw,
    pocket_for_hex_nut,
    pocket_for_insert,
    pocket_for_square_nut,
    pocket_for_t_nut,
    pocket_for_washer,
)
from holecalc.drawing import CounterboreFigure
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer


@pytest.fixture(scope="module")
def figure():
    return CounterboreFigure()


def part(share, size):
    return sizes.length(share * size, "mm")


def scaled(kind, d, thickness, face):
    """A pocket whose every size goes with the thread's diameter; screws it would not refuse."""
    thread = nuts.Thread(f"M{d:g}", part(1, d), part(0.16, d))

    def of(share):
        return part(share, d)

    plate = {"plate_thickness": of(thickness), "face": face}
    hole = {"hole_diameter": of(1.12)}
    if kind == "T-nut":
        nut = TNut(of(2.8), of(0.19), of(1.25), of(1.1), thread=thread, prong_length=of(0.7))
        return pocket_for_t_nut(
            nut, flange_clearance=of(0.1), barrel_clearance=of(0.03), recess=of(0.06),
            gap=of(0.06), **plate, **hole,
        )  # fmt: skip
    if kind == "through":
        nut = TNut(of(2.8), of(0.19), of(1.25), of(1.1), thread=thread)
        return pocket_for_t_nut(nut, through=True, recess=of(0), **plate)
    if kind == "insert":
        insert = Insert(
            of(1.3), of(0.8), thread=thread, flange_diameter=of(1.8), flange_thickness=of(0.15)
        )
        return pocket_for_insert(
            insert, recess=of(0.02), tip_room=of(0.25), point_angle=118, **plate
        )
    if kind == "head":
        screw, washer = CapScrew(of(1.6), of(1), thread=thread), Washer(of(1.1), of(2), of(0.2))
        return pocket_for_cap_screw(screw, washer=washer, recess=of(0.05), **plate, **hole)
    if kind == "washer":
        washer = Washer(of(1.1), of(2), of(0.2), size="M8")
        return pocket_for_washer(
            washer, washer_clearance=of(0.1), **plate,
            hole_diameter=sizes.length(max(1.12 * d, 8.4), "mm") if d >= 8 else "8.4 mm",
        )  # fmt: skip
    shape = "square" if kind == "square" else "hexagon"
    nut = Nut(shape, of(1.63), of(0.85), thread=thread, least_across_flats=of(1.59))
    make = pocket_for_square_nut if shape == "square" else pocket_for_hex_nut
    relief = {"relief_cutter": of(0.4)} if kind == "relieved" else {}
    proud = -0.06 if kind == "proud" else 0.06
    return make(
        nut, cutter_diameter=of(0.5), nut_clearance=of(0.02), recess=of(proud), **plate, **hole,
        **relief,
    )  # fmt: skip


def screw_for(pocket, mating, long):
    if pocket.thread_starts is None or mating is None:
        return None
    d = pocket.fastener.thread.diameter
    starts = pocket.thread_starts + (mating + 0.2) * d
    length = starts + (pocket.thread_length if long is None else long * d)
    return pocket.screw(mating_part=mating * d, washers=0.2 * d, length=length)


CASES = [
    (kind, d, thickness, face, mating, long, unit)
    for kind in ("T-nut", "through", "insert", "head", "hexagon", "square", "relieved", "proud")
    for d in (3, 8, 24)
    for thickness in (1.9, 3, 7)
    for face in "AB"
    for mating, long in ((None, None), (0, 0.3), (1.5, None), (1.5, -0.4), (12, 2.5))
    for unit in ("mm", "in")
]
CASES = [*CASES[::11], *(("washer", 8, t, f, None, None, "mm") for t in (0.4, 3) for f in "AB")]


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(map(str, case)))
def test_lettering_stays_on_the_paper_and_apart(figure, case):
    kind, d, thickness, face, mating, long, unit = case
    pocket = scaled(kind, d, thickness, face)
    figure.draw(pocket, screw_for(pocket, mating, long), unit)
    found = texts(figure)
    width, height = figure.canvas.get_width_height()
    for said, box in found:
        assert box.x0 >= 0, said
        assert box.y0 >= 0, said
        assert box.x1 <= width, said
        assert box.y1 <= height, said
    for (one, box), (other, another) in itertools.combinations(found, 2):
        assert not box.overlaps(another), f"{one!r} runs into {other!r}"


def demo(face="B"):
    nut = TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8")
    return pocket_for_t_nut(nut, plate_thickness="18 mm", face=face)


def test_the_written_sizes_are_those_of_the_stack(figure):
    pocket = demo()
    figure.draw(pocket, pocket.screw(mating_part="18 mm"), "mm")
    said = {text for text, _ in texts(figure)}
    # By hand: 22 + 1, 9.8 + 0.2; 0.5 + 1.5, + 9 + 0.5; 18 - 11.5; 35 - 18 - (18 - 11).
    assert {"flange ⌀23.00", "barrel ⌀10.00", "hole ⌀9.00", "plate 18.00"} <= said
    assert {"flange 2.00 deep", "barrel 11.50 deep", "web 6.50", "recess 0.50"} <= said
    assert {"screw 35.00", "engaged 10.00"} <= said
    figure.draw(pocket, None, "in")
    said = {text for text, _ in texts(figure)}
    assert {"flange ⌀0.9055", "web 0.2559"} <= said
    assert not any(text.startswith(("screw", "engaged")) for text in said)


@pytest.mark.parametrize("face", "AB")
def test_the_t_nut_and_its_screw_lie_where_the_numbers_say(figure, face):
    pocket = demo(face)
    figure.draw(pocket, pocket.screw(mating_part="15.5 mm", length="35 mm"))
    section = figure._section

    def depths(patch):
        y = patch._patch.get_xy()[:, 1]
        return sorted((-y if face == "A" else y + 18).round(9))

    fastener = depths(section._cut_part[0])
    assert (fastener[0], fastener[-1]) == pytest.approx((0.5, 11))
    # The screw enters the other face: from its head 15.5 above that to 35 below the head.
    head = 2 * 4 * 0.65
    screw = depths(section._screw)
    assert (screw[0], screw[-1]) == pytest.approx((18 + 15.5 - 35, 18 + 15.5 + head))
    mate = depths(section._mate[0])
    assert (mate[0], mate[-1]) == pytest.approx((18, 33.5))


def test_the_plate_drawn_is_the_profile_of_the_stack(figure):
    pocket = demo("A")
    figure.draw(pocket)
    outline = figure._section._plate[0]._patch.get_xy()
    drawn = {(round(x, 6), round(-y, 6)) for x, y in outline}
    profile = sizes.mm(pocket.stack.profile()[0])
    assert {(round(x, 6), round(z, 6)) for x, z in profile} <= drawn


POCKETS = [
    (shape, cutter, relief, clearance)
    for shape in ("hexagon", "square")
    for cutter, relief in ((0.5, None), (1, None), (3, None), (6, None), (4, 3), (3, 2), (6, 6))
    for clearance in (0.05, 0.2)
]


@pytest.mark.parametrize(("shape", "cutter", "relief", "clearance"), POCKETS)
def test_the_turned_nut_touches_the_pocket_and_stays_in_it(
    figure, shape, cutter, relief, clearance
):
    """Independent of the angle's formula: the drawn outline is asked against the drawn pocket."""
    if shape == "hexagon":
        nut, make = nuts.hex_nut("ISO 4032", "M8"), pocket_for_hex_nut
    else:
        nut, make = Nut("square", "13 mm", "6 mm", thread="M8"), pocket_for_square_nut
    pocket = make(
        nut, plate_thickness="18 mm", cutter_diameter=f"{cutter} mm",
        nut_clearance=f"{clearance} mm", relief_cutter=None if relief is None else f"{relief} mm",
    )  # fmt: skip
    assert not pocket.turning.spins
    figure.draw(pocket)
    above = figure._above
    wall = above._steps[0]._patch.get_xy()
    drawn = above._part._patch.get_xy()
    # Points along the whole outline of the nut, not only its corners.
    fine = np.concatenate(
        [a + (b - a) * np.linspace(0, 1, 60)[:, None] for a, b in itertools.pairwise(drawn)]
    )
    hair = 4e-3
    assert Path(wall).contains_points(fine * (1 - hair)).all()
    assert not Path(wall).contains_points(fine * (1 + hair)).all()


def test_a_nut_that_spins_is_said(figure):
    nut = nuts.hex_nut("ISO 4032", "M8")
    pocket = pocket_for_hex_nut(nut, plate_thickness="18 mm", cutter_diameter="11 mm")
    assert pocket.turning.spins
    figure.draw(pocket)
    assert "it spins" in {text for text, _ in texts(figure)}


def test_a_section_through_flats_shows_their_distance(figure):
    nut = nuts.hex_nut("ISO 4032", "M8")
    for turned in (0, 17):
        pocket = pocket_for_hex_nut(
            nut, plate_thickness="18 mm", cutter_diameter="6 mm", nut_clearance=0, turned=turned
        )
        figure.draw(pocket)
        wall = figure._section._plate[0]._patch.get_xy()
        # 13 + 6 (1 - sin 60°), by hand.
        assert wall[1][0] == pytest.approx((13 + 6 * (1 - math.sqrt(0.75))) / 2)
        flats = figure._above._steps[0]._patch.get_xy()
        assert flats[:, 0].max() == pytest.approx(wall[1][0])


def test_redrawing_makes_no_new_artists(figure):
    pockets = [
        (pocket, screw_for(pocket, mating, None))
        for kind in ("T-nut", "insert", "head", "relieved", "hexagon", "washer")
        for mating in (None, 12)
        for pocket in [scaled(kind, 8, 3, "B")]
    ]
    for each in pockets:
        figure.draw(*each)
    figure.png()
    before = len(figure.figure.findobj())
    for each in pockets * 2:
        figure.draw(*each)
        figure.png()
    assert len(figure.figure.findobj()) == before
