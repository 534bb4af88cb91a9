"""Pockets for fasteners, against hand arithmetic, a counterbore table and shapely."""

import math

import numpy as np
import pytest
import shapely

from holecalc import counterbore, flats, nuts, sizes
from holecalc.counterbore import (
    USUAL,
    CounterboreError,
    both_faces,
    pocket_for_cap_screw,
    pocket_for_hex_nut,
    pocket_for_insert,
    pocket_for_square_nut,
    pocket_for_t_nut,
    pocket_for_washer,
)
from holecalc.fasteners import FITS, FastenerError, clearance_hole
from holecalc.flats import FlatsError
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer
from project import check_values

# Invented for the purpose: T-nuts have no dependable standard.
M8_T_NUT = TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8")
M8 = nuts.hex_nut("ISO 4032", "M8")


def mm(quantity):
    return float(sizes.mm(quantity))


def t_nut(**options):
    return pocket_for_t_nut(M8_T_NUT, **{"plate_thickness": "18 mm", **options})


def hex_nut(nut=M8, **options):
    return pocket_for_hex_nut(
        nut, **{"plate_thickness": "18 mm", "cutter_diameter": "6 mm", **options}
    )


# --- T-nuts -------------------------------------------------------------------------------------


def test_the_t_nut_of_the_issue():
    # Hand arithmetic: 22 + 1.0 = 23; 0.5 + 1.5 = 2.0; 9.8 + 0.2 = 10; 2.0 + 9 + 0.5 = 11.5;
    # 18 - 11.5 = 6.5.
    made = t_nut(
        flange_clearance="1.0 mm", barrel_clearance="0.2 mm", recess="0.5 mm", gap="0.5 mm"
    )
    steps = [(mm(step.across), mm(step.depth)) for step in made.stack.from_a]
    assert steps == [pytest.approx((23, 2.0)), pytest.approx((10, 11.5))]
    assert mm(made.stack.web.thickness) == pytest.approx(6.5)
    assert mm(made.stack.hole_diameter) == 9
    assert mm(made.recess) == pytest.approx(0.5)
    assert [allowance.reason for allowance in made.allowances] == ["as given"] * 4


def test_defaults_are_those_of_the_issue_and_say_why():
    made = t_nut()
    given = t_nut(
        flange_clearance="1.0 mm", barrel_clearance="0.2 mm", recess="0.5 mm", gap="0.5 mm"
    )
    assert made.stack == given.stack
    told = str(made)
    for allowance in made.allowances:
        assert allowance.reason in told
        assert allowance.reason in {usual.reason for usual in USUAL.values()}


def test_inch_fasteners_have_round_inch_defaults():
    made = pocket_for_t_nut(
        TNut("7/8 in", "1/16 in", "3/8 in", "3/8 in", thread="5/16"), plate_thickness="3/4 in"
    )
    flange, barrel = made.stack.from_a
    assert flange.across.m_as("in") == pytest.approx(0.875 + 0.040)
    assert barrel.depth.m_as("in") == pytest.approx(0.020 + 0.0625 + 0.375 + 0.020)
    assert made.stack.web.thickness.units == sizes.ureg.inch
    for usual in USUAL.values():
        # The inch value is the metric one, rounded.
        assert mm(sizes.length(usual.inch)) == pytest.approx(mm(sizes.length(usual.metric)), 0.05)


def test_a_t_nut_from_the_other_face():
    made = t_nut(face="B")
    assert made.stack.from_a == ()
    assert [step.name for step in made.stack.from_b] == ["flange", "barrel"]
    assert mm(made.stack.web.thickness) == pytest.approx(6.5)
    with pytest.raises(CounterboreError, match="'A' and 'B', not 'top'"):
        t_nut(face="top")


def test_a_plate_too_thin_for_the_barrel():
    with pytest.raises(CounterboreError, match=r"needs 11\.500 mm .* through \(through=True\)"):
        t_nut(plate_thickness="11.5 mm")
    made = t_nut(plate_thickness="11.5 mm", through=True)
    assert mm(made.stack.hole_diameter) == pytest.approx(10)
    assert mm(made.stack.web.thickness) == pytest.approx(9.5)
    with pytest.raises(CounterboreError, match="would stand out of the other face"):
        t_nut(plate_thickness="10.9 mm", through=True)


def test_a_clearance_below_nothing_is_refused():
    with pytest.raises(CounterboreError, match="flange clearance is -0"):
        t_nut(flange_clearance="-0.1 mm")
    assert mm(t_nut(recess=0, gap=0).stack.from_a[1].depth) == pytest.approx(10.5)
    assert mm(t_nut(recess="-0.2 mm").recess) == pytest.approx(-0.2)


# --- hexagon and square nuts --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cutter", "across_flats"), [("6 mm", 13.804), ("3.175 mm", 13.425)], ids=["6", "3.175"]
)
def test_the_hexagon_of_the_issue(cutter, across_flats):
    made = hex_nut(cutter_diameter=cutter, nut_clearance=0)
    assert mm(made.seat.across) == pytest.approx(across_flats, abs=0.0005)
    assert mm(made.depth) == pytest.approx(6.8 + 0.5)
    assert mm(made.stack.web.thickness) == pytest.approx(18 - 7.3)


def test_the_relieved_hexagon_of_the_issue():
    made = hex_nut(relief_cutter="6 mm")
    assert mm(made.seat.across) == pytest.approx(13.2)
    assert mm(made.seat.relief.centre_radius) == pytest.approx(4.621, abs=0.0005)
    assert "corners relieved" in str(made)
    small = hex_nut(relief_cutter="2 mm", relief_reach="7.6 mm")
    assert small.turning.most < made.turning.most


@pytest.mark.parametrize("standard", ["ISO 4032", "ASME B18.2.2 machine screw"])
@pytest.mark.parametrize("relief", [False, True])
def test_every_nut_goes_in_and_does_not_spin(standard, relief):
    for size in nuts.listed(nuts.HEX_NUTS, standard):
        if size in ("M36", "#12"):
            continue
        nut = nuts.hex_nut(standard, size)
        # Common practice: a cutter of about a fifth of the nut.
        cutter = nut.across_flats / 5
        try:
            made = pocket_for_hex_nut(
                nut,
                plate_thickness=6 * nut.height,
                cutter_diameter=cutter,
                relief_cutter=cutter if relief else None,
                nut_clearance="0.1 mm",
            )
        except FastenerError:
            assert size not in ("M3", "M8", "1/4")
            continue
        assert not made.turning.spins, size
        pieces = shapely.union_all(
            [
                shapely.MultiPoint(axis).convex_hull.buffer(radius + 1e-6, quad_segs=60)
                for axis, radius in made.seat.outline.pieces
            ]
        )
        angles = np.radians(60 * np.arange(6))
        sharp = mm(nut.sharp_corners) / 2 * np.column_stack([np.cos(angles), np.sin(angles)])
        assert pieces.buffer(1e-4).contains(shapely.Polygon(sharp)), size


def test_a_square_nut():
    made = pocket_for_square_nut(
        nuts.square_nut("DIN 557", "M6"), plate_thickness="15 mm", cutter_diameter="3 mm"
    )
    # 10 + 0.2 + 3 (1 - sin 45°), hand arithmetic.
    assert mm(made.seat.across) == pytest.approx(11.079, abs=0.0005)
    assert made.seat.outline.sides == 4
    relieved = pocket_for_square_nut(
        nuts.square_nut("DIN 557", "M6"),
        plate_thickness="15 mm",
        cutter_diameter="3 mm",
        relief_cutter="2 mm",
    )
    assert mm(relieved.seat.across) == pytest.approx(10.2)
    assert relieved.turning.most < made.turning.most


def test_a_drawing_that_gives_the_across_flats():
    made = hex_nut(across_flats="14 mm")
    assert mm(made.seat.across) == 14
    with pytest.raises(FlatsError, match=r"Make the pocket 13\.804 mm across flats, or relieve"):
        hex_nut(across_flats="13.5 mm")
    with pytest.raises(CounterboreError, match="each fixes the other"):
        hex_nut(across_flats="14 mm", nut_clearance="0.2 mm")


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: hex_nut(nuts.square_nut("DIN 557", "M8")), "is a square, and this pocket is a h"),
        (lambda: hex_nut(relief_reach="8 mm"), "no cutter for it"),
        (lambda: hex_nut(cutter_diameter="0 mm"), "cutter diameter is 0.00 mm"),
        (lambda: hex_nut(plate_thickness="7 mm"), "no floor is left"),
        (lambda: hex_nut(hole_diameter="8 mm"), "does not pass a hole of 8.000 mm"),
        (lambda: hex_nut(hole_diameter="14.5 mm"), "does not lie inside nut"),
        (lambda: hex_nut(fit="tight"), "there is no fit 'tight'"),
    ],
)
def test_nut_pockets_that_cannot_be(ask, words):
    with pytest.raises(ValueError, match=words):
        ask()


def test_a_thread_without_a_clearance_hole_asks_for_one():
    nut = Nut("hexagon", "12 mm", "6 mm", thread="M7.5x1")
    with pytest.raises(FastenerError, match="Or give the hole's diameter"):
        hex_nut(nut)
    assert mm(hex_nut(nut, hole_diameter="8 mm").stack.hole_diameter) == 8


@pytest.mark.parametrize("size", ["M6", "1/4", "#10"])
@pytest.mark.parametrize("fit", FITS)
def test_holes_are_the_published_clearance_holes(size, fit):
    # ISO 273 and ASME B18.2.8, by way of the tables that tests/test_tables.py checks.
    standard = "ISO 4032" if size == "M6" else "ASME B18.2.2 machine screw"
    made = pocket_for_hex_nut(
        nuts.hex_nut(standard, size), plate_thickness="1 in", cutter_diameter="2 mm", fit=fit
    )
    assert made.stack.hole_diameter == clearance_hole(size, fit)


def test_clearance_holes_are_the_check_values():
    published = {row["size"]: row for row in check_values("iso-273")}
    for size in ("M4", "M8", "M12"):
        nut = nuts.hex_nut("ISO 4032", size)
        for fit in FITS:
            made = hex_nut(nut, plate_thickness="40 mm", cutter_diameter="2 mm", fit=fit)
            assert mm(made.stack.hole_diameter) == float(published[size][fit])


# --- inserts ------------------------------------------------------------------------------------

M5_INSERT = Insert("6.4 mm", "9.5 mm", thread="M5")


def test_a_blind_insert_leaves_room_for_the_tip():
    made = pocket_for_insert(M5_INSERT, plate_thickness="15 mm")
    (hole,) = made.stack.from_a
    # 0.2 + 9.5 + 2 x 0.8
    assert mm(hole.depth) == pytest.approx(11.3)
    assert made.seat is None
    assert made.blind
    assert mm(made.room) == pytest.approx(1.6)
    # The thread starts 0.2 below the face that the screw comes from.
    assert mm(made.thread_starts) == pytest.approx(0.2)


def test_an_insert_hole_with_a_drilled_bottom():
    flat = pocket_for_insert(M5_INSERT, plate_thickness="15 mm")
    drilled = pocket_for_insert(M5_INSERT, plate_thickness="15 mm", point_angle=118)
    lost = mm(flat.stack.web.thickness) - mm(drilled.stack.web.thickness)
    assert lost == pytest.approx(0.300 * 6.4, abs=0.005)
    with pytest.raises(CounterboreError, match="breaks through"):
        pocket_for_insert(M5_INSERT, plate_thickness="13 mm", point_angle=118)


def test_a_through_insert_with_a_flange():
    flanged = Insert(
        "10 mm", "12 mm", thread="M6", flange_diameter="13 mm", flange_thickness="1.2 mm"
    )
    made = pocket_for_insert(flanged, plate_thickness="18 mm", through=True)
    (seat,) = made.stack.from_a
    assert (mm(seat.across), mm(seat.depth)) == pytest.approx((14, 1.4))
    assert mm(made.stack.hole_diameter) == 10
    assert mm(made.thread_length) == pytest.approx(13.2)
    assert mm(made.room) == pytest.approx(18 - 13.4)
    assert not made.blind
    blind = pocket_for_insert(flanged, plate_thickness="18 mm", tip_room="1 mm")
    assert [mm(step.depth) for step in blind.stack.from_a] == pytest.approx([1.4, 14.4])
    assert blind.seat.name == "flange"
    with pytest.raises(CounterboreError, match="Take a shorter insert"):
        pocket_for_insert(flanged, plate_thickness="13 mm", through=True)
    with pytest.raises(CounterboreError, match="proud is pulled out"):
        pocket_for_insert(flanged, plate_thickness="18 mm", recess="-0.1 mm")


# --- cap screws and washers ---------------------------------------------------------------------


@pytest.mark.parametrize("row", check_values("din-974-1"), ids=lambda row: row["size"])
def test_counterbores_are_near_the_standards(row):
    # DIN 974-1 series 1, from memory: round figures that a default should come near.
    screw = nuts.cap_screw("ISO 4762", row["size"])
    made = pocket_for_cap_screw(screw, plate_thickness=3 * screw.head_height)
    assert mm(made.seat.across) == pytest.approx(float(row["counterbore"]), rel=0.05)


@pytest.mark.parametrize("fit", FITS)
def test_the_head_goes_in_wherever_the_screw_stands_in_its_hole(fit):
    screw = nuts.cap_screw("ISO 4762", "M8")
    made = pocket_for_cap_screw(screw, plate_thickness="20 mm", fit=fit)
    aside = (mm(made.stack.hole_diameter) - 8) / 2
    room = mm(made.seat.across) / 2 - (mm(screw.head_diameter) / 2 + aside)
    assert room == pytest.approx(0.15)
    assert mm(made.depth) == pytest.approx(8.5)


def test_a_washer_under_the_head():
    screw, ring = nuts.cap_screw("ISO 4762", "M8"), nuts.washer("ISO 7089", "M8")
    made = pocket_for_cap_screw(screw, plate_thickness="20 mm", washer=ring)
    # 16 + (9 - 8) + (8.4 - 8) + 0.3; 8 + 1.8 + 0.5
    assert mm(made.seat.across) == pytest.approx(17.7)
    assert mm(made.depth) == pytest.approx(10.3)
    assert mm(made.bearing[0]) == 16
    given = pocket_for_cap_screw(screw, plate_thickness="20 mm", head_clearance="1 mm")
    assert mm(given.seat.across) == pytest.approx(14.27)


def test_a_washer_alone_lies_level_with_the_plate():
    made = pocket_for_washer(nuts.washer("ISO 7089", "M8"), plate_thickness="10 mm")
    assert mm(made.recess) == pytest.approx(0)
    assert mm(made.depth) == pytest.approx(1.8)
    deeper = pocket_for_washer(
        nuts.washer("ISO 7089", "M8"),
        plate_thickness="10 mm",
        recess="0.4 mm",
        washer_clearance="1 mm",
    )
    assert (mm(deeper.seat.across), mm(deeper.depth)) == pytest.approx((17, 2.2))
    with pytest.raises(CounterboreError, match="Give its size, such as M8"):
        pocket_for_washer(Washer("8.4 mm", "16 mm", "1.6 mm"), plate_thickness="10 mm")


def test_inch_counterbores():
    made = pocket_for_cap_screw(nuts.cap_screw("ASME B18.3", "1/4"), plate_thickness="3/4 in")
    # 0.375 + (9/32 - 1/4) + 0.012; 0.25 + 0.020
    assert made.seat.across.m_as("in") == pytest.approx(0.41825)
    assert made.seat.depth.m_as("in") == pytest.approx(0.27)


# --- both faces ---------------------------------------------------------------------------------


def test_a_head_above_a_nut():
    head = pocket_for_cap_screw(nuts.cap_screw("ISO 4762", "M6"), plate_thickness="20 mm")
    nut = hex_nut(
        nuts.hex_nut("ISO 4032", "M6"), plate_thickness="20 mm", cutter_diameter="3 mm", face="B"
    )
    made = both_faces(nut, head)
    # 20 - 6.5 - 5.7
    assert mm(made.web.thickness) == pytest.approx(7.8)
    assert made == both_faces(head, nut)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"face": "A"}, "both pockets are cut from face A"),
        ({"face": "B", "plate_thickness": "25 mm"}, "plates are 20.000 mm and 25.000 mm"),
        ({"face": "B", "fit": "loose"}, "holes are 6.600 mm and 7.000 mm"),
    ],
)
def test_pockets_that_do_not_go_together(change, words):
    head = pocket_for_cap_screw(nuts.cap_screw("ISO 4762", "M6"), plate_thickness="20 mm")
    other = pocket_for_cap_screw(
        nuts.cap_screw("ISO 4762", "M6"), **{"plate_thickness": "20 mm", **change}
    )
    with pytest.raises(CounterboreError, match=words):
        both_faces(head, other)


def test_pockets_of_both_faces_that_meet():
    head = pocket_for_cap_screw(nuts.cap_screw("ISO 4762", "M6"), plate_thickness="12 mm")
    nut = hex_nut(
        nuts.hex_nut("ISO 4032", "M6"), plate_thickness="12 mm", cutter_diameter="3 mm", face="B"
    )
    with pytest.raises(CounterboreError, match="they meet"):
        both_faces(head, nut)
    insert = pocket_for_insert(M5_INSERT, plate_thickness="12 mm", face="B")
    with pytest.raises(CounterboreError, match=r"holes are 6\.600 mm and none"):
        both_faces(head, insert)


# --- tolerances ---------------------------------------------------------------------------------


def test_zero_on_the_face_or_on_the_table():
    made = t_nut()
    plate = {"plate_thickness": ("-0.6 mm", "0.3 mm")}
    face, table = made.depths(), made.depths(zero="table")
    web, recess = face.spread("web", **plate), table.spread("recess", **plate)
    # Zeroed on the face the thickness acts on the web, on the table on the recess.
    assert (mm(web.least), mm(web.most)) == pytest.approx((5.9, 6.8))
    assert (mm(recess.least), mm(recess.most)) == pytest.approx((-0.1, 0.8))
    assert mm(face.web) == pytest.approx(mm(table.web))
    with pytest.raises(CounterboreError, match="'face' or on the 'table', not 'top'"):
        made.depths(zero="top")


def test_recess_takes_the_nut_and_the_depth():
    made = hex_nut()
    # The height of ISO 4032 M8 is 6.44 to 6.8.
    low = M8.least_height - M8.height
    spread = made.depths().spread("recess", depth="0.1 mm", height=(low, 0 * low))
    assert (mm(spread.least), mm(spread.most)) == pytest.approx((0.4, 0.96))


def test_depths_agree_with_the_stack_drilled_or_not():
    for made in (
        t_nut(),
        t_nut(face="B"),
        hex_nut(),
        pocket_for_insert(M5_INSERT, plate_thickness="15 mm", point_angle=118),
        t_nut(through=True),
    ):
        assert mm(made.depths().web) == pytest.approx(mm(made.stack.web.thickness))
        assert mm(made.depths().recess) == pytest.approx(mm(made.recess))


def test_an_insert_in_a_bare_hole_has_depths_too():
    made = pocket_for_insert(M5_INSERT, plate_thickness="15 mm")
    spread = made.depths().spread("web", plate_thickness="0.4 mm")
    assert (mm(spread.least), mm(spread.most)) == pytest.approx((3.3, 4.1))


# --- screws and loads from the pocket -----------------------------------------------------------


def test_the_screw_of_a_t_nut_passes_the_web_and_the_gap():
    screw = t_nut().screw(mating_part="12 mm", washers="1.6 mm")
    # 18 - 11 = 7: from the other face to the barrel's end.
    assert mm(screw.clamped["plate"]) == pytest.approx(7)
    assert mm(screw.thread_length) == pytest.approx(10.5)
    assert screw.length == sizes.length("30 mm")
    assert mm(screw.engaged) == pytest.approx(30 - 12 - 1.6 - 7)


def test_room_behind_the_plate_lets_the_tip_stand_proud():
    made = hex_nut()
    tight = made.screw(mating_part="12 mm", length="35 mm")
    assert tight.proud
    assert not made.screw(mating_part="12 mm", length="35 mm", behind="10 mm").proud


def test_the_screw_of_an_insert_comes_from_the_same_face():
    made = pocket_for_insert(M5_INSERT, plate_thickness="15 mm")
    screw = made.screw(mating_part="6 mm")
    assert mm(screw.clamped["plate"]) == pytest.approx(0.2)
    assert screw.blind
    # 6.2 and all of the 9.5 is 15.7; the floor is 1.6 below that.
    assert screw.length == sizes.length("16 mm")
    assert made.screw(mating_part="6 mm", length="20 mm").bottoms


def test_a_head_or_a_washer_has_no_thread():
    head = pocket_for_cap_screw(CapScrew("13 mm", "8 mm", thread="M8"), plate_thickness="20 mm")
    with pytest.raises(CounterboreError, match="has no thread to screw into"):
        head.screw(mating_part="5 mm")


def test_what_a_t_nut_presses_and_shears():
    held = t_nut().holding("2 kN", shear_strength="5 MPa")
    # Hand arithmetic: pi/4 (22² - 10²) = 301.6 mm²; pi 22 16 = 1105.8 mm².
    assert held.bearing_area.m_as("mm**2") == pytest.approx(301.6, abs=0.05)
    assert held.shear_area.m_as("mm**2") == pytest.approx(1105.8, abs=0.05)
    assert held.load_to_shear.m_as("N") == pytest.approx(5529, abs=1)
    with pytest.raises(CounterboreError, match="holds by its sides"):
        pocket_for_insert(M5_INSERT, plate_thickness="15 mm").holding("1 kN")


def test_only_nuts_turn():
    assert t_nut().turning is None
    assert hex_nut().turning.most.m_as("deg") < 30
    assert hex_nut(across_flats="14.5 mm").turning.spins


def test_a_pocket_reads_well():
    made = hex_nut()
    html = made._repr_html_()
    assert "turns" in html
    assert "nothing stands proud" in html
    assert "proud " in str(t_nut(recess="-0.2 mm"))
    assert counterbore.Stack is type(made.stack)
    assert flats.HEXAGON.title in repr(flats.HEXAGON)
    assert math.isfinite(made.stack.volume.magnitude)
