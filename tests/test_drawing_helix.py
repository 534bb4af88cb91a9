"""The picture agrees with the bore, and nothing in it runs into anything else."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.text import Text

from holecalc import cutting, helix, sizes
from holecalc.cutters import EndMill
from holecalc.drawing import HelixFigure


def scaled(bore_mm, ratio, deep, *, turns=5, through=True, speed=18000, **options):
    """A bore whose every size goes with its diameter, at some speed and feed."""

    def part(share):
        return sizes.length(share * bore_mm, "mm")

    end = (
        {"plate_thickness": part(deep), "breakthrough": part(0.03)}
        if through
        else {"depth": part(deep), "plate_thickness": part(1.4 * deep)}
    )
    made = helix.bore(
        EndMill(part(ratio), flutes=2), bore_diameter=part(1), passes=turns, **end, **options
    )
    return cutting.run(made, spindle_speed=speed, chip_load="0.1 mm")


@pytest.fixture(scope="module")
def figure():
    return HelixFigure()


def texts(figure):
    """Bounding boxes of all lettering, in pixels, by what it says."""
    figure.canvas.draw()
    renderer = figure.canvas.get_renderer()
    return [
        (text.get_text(), text.get_window_extent(renderer).padded(-1))
        for text in figure.figure.findobj(Text)
        if text.get_visible() and text.get_text().strip() and text.axes is not None
    ]


def lines(linework):
    """The separate lines of a linework, as arrays of points."""
    points = np.column_stack(linework._line.get_data())
    ends = np.flatnonzero(np.isnan(points[:, 0]))
    return [part[~np.isnan(part[:, 0])] for part in np.split(points, ends) if len(part) > 1]


CASES = [
    (bore, ratio, deep, turns, through, unit)
    for bore in (3, 9, 47, 200)
    for ratio in (0.2, 0.45, 0.7, 0.94, 0.995)
    for deep in (0.15, 0.5, 2.2, 6)
    for turns in (0.6, 1, 4.4, 77)
    for through in (True, False)
    for unit in ("mm", "in")
]


@pytest.mark.parametrize("case", CASES[::19], ids=lambda case: "-".join(map(str, case)))
def test_lettering_stays_on_the_paper_and_apart(figure, case):
    bore, ratio, deep, turns, through, unit = case
    core = {"leave_core": True, "finishing_turn": False} if ratio == 0.2 and through else {}
    figure.draw(scaled(bore, ratio, deep, turns=turns, through=through, **core), unit)
    found = texts(figure)
    width, height = figure.canvas.get_width_height()
    for said, box in found:
        assert box.x0 >= 0, said
        assert box.y0 >= 0, said
        assert box.x1 <= width, said
        assert box.y1 <= height, said
    for (one, box), (other, another) in itertools.combinations(found, 2):
        assert not box.overlaps(another), f"{one!r} runs into {other!r}"


@pytest.mark.parametrize("turns", [0.6, 1, 5, 7.3])
@pytest.mark.parametrize("finish", [True, False])
def test_the_helix_drawn_is_the_helix_cut(figure, turns, finish):
    run = scaled(9, 2 / 3, 2, turns=turns, finishing_turn=finish)
    figure.draw(run)
    path, depth = run.bore.cut.base["path_diameter"] / 2, sizes.mm(run.bore.depth)
    # Outside check: back from the paper by the isometric projection of ISO 5456-3 itself, which
    # puts three equal axes 120° apart, and not by the figure's own words for it.
    right, up = np.array([1.0, -1.0, 0.0]), np.array([-1.0, -1.0, 2.0])
    right, up = right / np.linalg.norm(right), up / np.linalg.norm(up)
    cos = sin = math.sqrt(0.5)
    wanted = []
    for turn in np.linspace(0, turns, 400):
        angle = 2 * math.pi * turn
        x, y, z = path * math.cos(angle), path * math.sin(angle), -depth * turn / turns
        # X to the reader's right and Y away: turned an eighth from the axes that are 120° apart.
        solid = np.array([cos * x - sin * y, -cos * x - sin * y, z])
        wanted.append((solid @ right, solid @ up))
    drawn = np.vstack(lines(figure._helix._behind) + lines(figure._helix._before))
    gaps = np.linalg.norm(drawn[:, None, :] - np.array(wanted)[None, :, :], axis=2)
    assert gaps.min(axis=0).max() < 0.3 * path
    if not finish:
        assert gaps.min(axis=1).max() < 0.1 * path
    front = np.vstack(lines(figure._helix._before) or [np.zeros((0, 2))])
    assert (len(front) == 0) == (turns <= 0.5)


def test_what_lies_behind_is_dashed_and_thinner(figure):
    behind, before = figure._helix._behind._line, figure._helix._before._line
    assert behind.get_linestyle() == "--" or behind.is_dashed()
    assert not before.is_dashed()
    assert behind.get_linewidth() < before.get_linewidth()


@pytest.mark.parametrize("turns", [0.6, 1, 4, 4.4])
@pytest.mark.parametrize("through", [True, False])
def test_what_is_hatched_is_what_the_helix_leaves(figure, turns, through):
    run = scaled(9, 2 / 3, 2, turns=turns, through=through, finishing_turn=False)
    figure.draw(run)
    made, wide = run.bore, math.pi * 9
    outline = figure._wall._left._patch.get_xy()
    left = helix.left_without_finishing_turn(made.cut, breakthrough=made.breakthrough)
    assert np.ptp(outline[:, 1]) == pytest.approx(sizes.mm(left.height), abs=1e-6)
    # Brute force: the lowest the axis came, at each place on the wall, on its way down.
    end = sizes.mm(made.depth)
    floor = min(end, sizes.mm(made.plate_thickness)) if through else end
    way = np.linspace(0, turns, 40001)
    stands = []
    places = (np.arange(200) + 0.5) / 200
    for place in places:
        passed = way[np.abs((way - place + 0.5) % 1 - 0.5) < 0.0005]
        lowest = end * passed.max() / turns if len(passed) else 0.0
        stands.append(max(floor - lowest, 0.0))
    area = 0.5 * abs(
        np.dot(outline[:, 0], np.roll(outline[:, 1], 1))
        - np.dot(outline[:, 1], np.roll(outline[:, 0], 1))
    )
    assert area == pytest.approx(np.mean(stands) * wide, rel=0.01)


def test_the_wall_and_the_axis_are_unrolled_to_scale(figure):
    run = scaled(9, 2 / 3, 2, turns=8)
    figure.draw(run)
    cut = run.bore.cut
    for line, ramp in (
        (lines(figure._wall._turns)[0], cut.edge_ramp_angle),
        (lines(figure._wall._at_axis)[0], cut.ramp_angle),
    ):
        along, down = line[1] - line[0]
        assert math.atan2(-down, along) == pytest.approx(sizes.rad(ramp))
        assert -down == pytest.approx(cut.base["pitch"])
    assert len(lines(figure._wall._turns)) == 8
    assert len(lines(figure._wall._flat)) == 1


def test_turns_that_would_run_together_are_left_out_and_that_is_said(figure):
    run = scaled(6.75, 0.94, 3.7, turns=77)
    figure.draw(run)
    assert len(lines(figure._wall._turns)) == 6
    assert any("77 turns,\n3 at each end drawn" in said for said, _ in texts(figure))
    figure.draw(scaled(9, 2 / 3, 2, turns=8))
    assert not any("drawn" in said for said, _ in texts(figure))


def test_the_cutter_touches_the_wall_and_its_engaged_part_is_heavy(figure):
    run = scaled(47, 12 / 47, 0.42)
    figure.draw(run)
    ring, cutter = run.bore.rings[-1], figure._above._cutter._patch.get_xy()
    assert cutter[:, 0].max() == pytest.approx(47 / 2)
    engaged = lines(figure._above._engaged)[0]
    assert np.hypot(*engaged[0]) == pytest.approx(47 / 2)
    # Its other end lies where the ring before left off.
    assert np.hypot(*engaged[-1]) == pytest.approx(sizes.mm(ring.opened) / 2)
    assert len(lines(figure._above._rings)) == len(run.bore.rings) - 1


def test_the_written_sizes_are_those_of_the_bore(figure):
    made = helix.bore(
        EndMill("6 mm", flutes=1), bore_diameter="9 mm", plate_thickness="20 mm", passes=8
    )
    run = cutting.run(made, spindle_speed=18000, wall_feed="2400 mm/min")
    figure.draw(run, "mm")
    said = {line for text, _ in texts(figure) for line in text.split("\n")}
    # By hand: 20.5 mm in 8 turns; atan(2.5625 / 3 pi) and atan(2.5625 / 9 pi); 2400 / 3.
    assert {"path ⌀3.00", "bore ⌀9.00", "cutter ⌀6.00", "pitch 2.56", "depth 20.50"} <= said
    assert {"── wall, ramp 5.18°", "- -  axis, ramp 15.21°", "8 turns"} <= said
    assert {"800 mm/min", "2400 mm/min", "18000 rev/min", "one turn 28.27"} <= said
    assert "0.50 below the plate" in said
    figure.draw(run, "in")
    said = {line for text, _ in texts(figure) for line in text.split("\n")}
    assert {"path ⌀0.1181", "depth 0.8071", "31.5 in/min"} <= said


def test_a_core_is_drawn_and_named(figure):
    figure.draw(scaled(47, 12 / 47, 0.42, leave_core=True))
    assert figure._above._core._patch.get_visible()
    # By hand: 47 - 2 * 12.
    assert np.ptp(figure._above._core._patch.get_xy()[:, 0]) == pytest.approx(23)
    assert "core" in {text for text, _ in texts(figure)}
    figure.draw(scaled(47, 12 / 47, 0.42))
    assert not figure._above._core._patch.get_visible()
    assert "core" not in {text for text, _ in texts(figure)}


def test_redrawing_makes_no_new_artists(figure):
    runs = [scaled(9, 2 / 3, 2), scaled(47, 0.25, 0.4), scaled(9, 0.99, 3, turns=50)]

    def artists():
        return [artist for axes in figure.figure.axes for artist in axes.get_children()]

    before = artists()
    for run in runs:
        figure.draw(run)
        figure.png()
    assert artists() == before
