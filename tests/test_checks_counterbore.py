"""What is said about a counterbore, when, and with which number.

The thresholds are common practice, no source, or follow from the geometry that
tests/test_flats.py and tests/test_stack.py check against shapely and solids.
"""

import pytest

from holecalc import checks, nuts, sizes
from holecalc.checks import Weight
from holecalc.counterbore import (
    pocket_for_cap_screw,
    pocket_for_hex_nut,
    pocket_for_insert,
    pocket_for_t_nut,
)
from holecalc.cutters import EndMill
from holecalc.nuts import Insert, Nut, TNut
from project import REFERENCES

M8 = nuts.hex_nut("ISO 4032", "M8")


def hex_nut(nut=M8, **options):
    return pocket_for_hex_nut(
        nut,
        **{
            "plate_thickness": "18 mm",
            "cutter_diameter": "3 mm",
            **({} if "across_flats" in options else {"nut_clearance": "0.05 mm"}),
            **options,
        },
    )


def t_nut(prong_length=None, **options):
    nut = TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8", prong_length=prong_length)
    return pocket_for_t_nut(nut, **{"plate_thickness": "18 mm", **options})


def found(pocket, topic, **options):
    return [f for f in checks.counterbore(pocket, **options) if f.topic == topic]


def one(pocket, topic, **options):
    (finding,) = found(pocket, topic, **options)
    return finding


@pytest.mark.parametrize(
    "pocket",
    [
        hex_nut(),
        t_nut(prong_length="6 mm"),
        pocket_for_cap_screw(nuts.cap_screw("ISO 4762", "M6"), plate_thickness="12 mm"),
        pocket_for_insert(Insert("6.4 mm", "9.5 mm", thread="M5"), plate_thickness="18 mm"),
    ],
    ids=["nut", "T-nut", "cap screw", "insert"],
)
def test_a_pocket_in_order_has_no_findings(pocket):
    assert checks.counterbore(pocket) == ()
    walls = {"edge": sizes.length("8 mm"), "next hole": sizes.length("4.5 mm")}
    assert checks.counterbore(pocket, walls=walls) == ()
    cutter = EndMill("3 mm", flutes=1, cutting_length="15 mm", reach="20 mm")
    assert checks.counterbore(pocket, cutter=cutter) == ()


# --- turning ------------------------------------------------------------------------------------


def test_a_nut_that_turns_too_far_and_the_cutter_that_cures_it():
    pocket = hex_nut(cutter_diameter="6 mm", nut_clearance=0)
    finding = one(pocket, "turning of a nut")
    assert finding.weight is Weight.LOOK
    # 30° - acos(13.804/14.38), and (14.38 - 13.804)/2.
    assert "turns up to 13.73°" in finding.what
    assert "hold each by 0.288 mm" in finding.what
    assert "at most 3.827 mm" in finding.cure
    assert found(hex_nut(cutter_diameter="3.827 mm", nut_clearance=0), "turning of a nut") == []
    assert found(hex_nut(cutter_diameter="3.84 mm", nut_clearance=0), "turning of a nut")
    assert found(pocket, "turning of a nut", most_turning=14) == []


def test_a_nut_that_spins():
    finding = one(hex_nut(across_flats="14.4 mm"), "turning of a nut")
    assert finding.weight is Weight.STOP
    assert "14.400 mm across flats and a nut may be only 14.380 mm" in finding.what
    assert "Leave less clearance" in finding.cure
    wide = one(hex_nut(cutter_diameter="11 mm"), "turning of a nut")
    assert wide.weight is Weight.STOP
    assert "Take a cutter of at most" in wide.cure


def test_reliefs_that_take_the_flats_away():
    pocket = hex_nut(relief_cutter="6 mm", cutter_diameter="6 mm", nut_clearance="0.2 mm")
    assert found(pocket, "turning of a nut") == []
    finding = one(pocket, "turning of a nut", most_turning=5)
    assert "ends of what the reliefs left" in finding.what
    assert "smaller cutter" in finding.cure
    small = hex_nut(relief_cutter="2 mm", cutter_diameter="6 mm", nut_clearance="0.2 mm")
    assert small.turning.most < pocket.turning.most


# --- depths and what is left --------------------------------------------------------------------


def test_a_nut_that_stands_proud():
    finding = one(hex_nut(recess="-0.3 mm"), "depths of a pocket")
    assert (finding.weight, finding.what) == (
        Weight.LOOK,
        "It stands 0.300 mm proud of the face.",
    )
    assert "0.300 mm deeper" in finding.cure
    assert found(hex_nut(recess=0), "depths of a pocket") == []


def test_a_thin_web():
    finding = one(t_nut(plate_thickness="14 mm"), "what a stack leaves")
    assert "Only 2.500 mm of the plate's 14.000 mm is left between barrel" in finding.what
    assert "Leave 3.500 mm" in finding.cure
    assert found(t_nut(plate_thickness="14 mm"), "what a stack leaves", least_left="2 mm") == []
    assert found(t_nut(plate_thickness="15.34 mm"), "what a stack leaves") == []
    assert found(t_nut(plate_thickness="15.32 mm"), "what a stack leaves")


def test_a_drill_that_would_break_through():
    # A 118° point of 6.4 mm is 1.923 mm high.
    insert = Insert("6.4 mm", "9.5 mm", thread="M5")
    through = pocket_for_insert(insert, plate_thickness="13.1 mm")
    finding = one(through, "drilled bottoms")
    assert finding.weight is Weight.NOTE
    assert "go 1.923 mm deeper" in finding.what
    assert "the 1.800 mm that is left" in finding.what
    assert found(pocket_for_insert(insert, plate_thickness="13.3 mm"), "drilled bottoms") == []


@pytest.mark.parametrize(
    ("wall", "weight", "words"),
    [
        ("-0.5 mm", Weight.STOP, "breaks into it by 0.500 mm"),
        ("0 mm", Weight.STOP, "breaks into it by 0.000 mm"),
        ("2 mm", Weight.LOOK, "wall to the plate's edge is only 2.000 mm"),
    ],
)
def test_walls(wall, weight, words):
    walls = {"plate's edge": sizes.length(wall)}
    finding = one(hex_nut(), "what a stack leaves", walls=walls)
    assert finding.weight is weight
    assert words in finding.what
    # A quarter of 18 mm is 4.5 mm.
    moved = 4.5 - sizes.mm(sizes.length(wall))
    assert f"Move it {moved:.3f} mm away" in finding.cure


def test_prongs_that_come_out_of_the_other_face():
    # 18 - 2 = 16 of plate under the flange.
    assert found(t_nut(prong_length="15.9 mm"), "depths of a pocket") == []
    finding = one(t_nut(prong_length="16 mm"), "depths of a pocket")
    assert finding.weight is Weight.STOP
    assert "16.000 mm long and the plate under the flange 16.000 mm" in finding.what


@pytest.mark.parametrize(
    ("gap", "weight"), [("0.1 mm", None), (0, Weight.LOOK), ("-0.2 mm", Weight.STOP)]
)
def test_a_barrel_that_stands_on_its_end(gap, weight):
    told = found(t_nut(gap=gap), "depths of a pocket")
    assert [finding.weight for finding in told] == ([] if weight is None else [weight])
    if weight is Weight.STOP:
        assert "9.000 mm long below the flange and its pocket 8.800 mm" in told[0].what
        assert "0.700 mm deeper" in told[0].cure


def test_a_nut_over_a_wide_hole():
    # The face of an M8 is 11.6 mm across.
    assert found(hex_nut(), "bearing and shear-out") == []
    narrow = one(hex_nut(hole_diameter="10 mm"), "bearing and shear-out")
    assert narrow.weight is Weight.LOOK
    assert "a ring of 0.800 mm carries all" in narrow.what
    assert "at most 9.666 mm" in narrow.cure
    gone = one(hex_nut(hole_diameter="11.6 mm"), "bearing and shear-out")
    assert gone.weight is Weight.STOP
    assert "nothing is left to press on" in gone.what


# --- cutter, screw, load ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cutter", "topic", "weight", "words"),
    [
        (EndMill("11 mm", flutes=2), "cutter's reach", Weight.STOP, "it does not go in"),
        (EndMill("6 mm", flutes=2, reach="11 mm"), "cutter's reach", Weight.STOP, "0.500 mm"),
        (
            EndMill("6 mm", flutes=2, cutting_length="8 mm"),
            "cutter's reach",
            Weight.LOOK,
            "flutes are 8.000 mm long",
        ),
    ],
    ids=["too wide", "too short", "short flutes"],
)
def test_cutters_that_do_not_reach(cutter, topic, weight, words):
    finding = one(t_nut(), topic, cutter=cutter)
    assert finding.weight is weight
    assert words in finding.what + finding.cure


def test_a_cutter_wider_than_the_pocket_was_worked_out_for():
    finding = one(hex_nut(), "pockets with flats", cutter=EndMill("1/8 in", flutes=1))
    assert finding.weight is Weight.STOP
    assert "for a cutter of 3.000 mm" in finding.what


@pytest.mark.parametrize(
    ("length", "weights"),
    [
        ("18 mm", [Weight.STOP]),
        ("25 mm", [Weight.LOOK]),
        ("30 mm", []),
        ("35 mm", [Weight.LOOK]),
    ],
)
def test_the_screw_at_hand(length, weights):
    # 12 + 1.6 + 7 = 20.6 clamped; the T-nut's thread is 10.5 long, the face 0.5 beyond.
    pocket = t_nut()
    screw = pocket.screw(mating_part="12 mm", washers="1.6 mm", length=length)
    assert [f.weight for f in found(pocket, "screw length", screw=screw)] == weights


def test_what_is_said_of_screws():
    pocket = t_nut()

    def told(length):
        screw = pocket.screw(mating_part="12 mm", washers="1.6 mm", length=length)
        return str(one(pocket, "screw length", screw=screw))

    assert "does not reach the thread, which starts 20.600 mm" in told("18 mm")
    assert "engages 3.5 turns, 0.55 diameters" in told("25 mm")
    assert "at least 28.600 mm long" in told("25 mm")
    assert "stands 3.400 mm out of the face" in told("35 mm")


def test_a_screw_that_bottoms():
    pocket = pocket_for_insert(Insert("6.4 mm", "9.5 mm", thread="M5"), plate_thickness="18 mm")
    screw = pocket.screw(mating_part="6 mm", length="20 mm")
    finding = one(pocket, "screw length", screw=screw)
    assert finding.weight is Weight.STOP
    # 20 - 6 - 11.3
    assert "meets the floor of the hole, 2.700 mm before" in finding.what


def test_loads():
    pocket = t_nut()
    safe = pocket.holding("1 kN", bearing_strength="5 MPa", shear_strength="4 MPa")
    assert found(pocket, "bearing and shear-out", held=safe) == []
    much = pocket.holding("5 kN", bearing_strength="5 MPa", shear_strength="4 MPa")
    bedding, shearing = found(pocket, "bearing and shear-out", held=much)
    assert {bedding.weight, shearing.weight} == {Weight.STOP}
    assert "beds into the plate at 1.508 kN" in bedding.what
    assert "shears a plug out at 4.423 kN" in shearing.what
    assert "licensed engineer" in bedding.cure
    unknown = one(pocket, "bearing and shear-out", held=pocket.holding("1 kN"))
    assert unknown.weight is Weight.NOTE
    assert "neither was compared" in unknown.what


def test_findings_are_in_inches_where_the_sizes_are():
    nut = Nut("hexagon", "0.438 in", "0.226 in", thread="1/4", across_corners="0.488 in")
    pocket = pocket_for_hex_nut(
        nut, plate_thickness="1/2 in", cutter_diameter="1/4 in", nut_clearance=0
    )
    finding = one(pocket, "turning of a nut")
    assert " in." in finding.what
    assert " mm" not in str(finding)


def test_topics_are_headings_of_the_derivations():
    text = (REFERENCES / "derivations-counterbore.md").read_text(encoding="utf-8")
    headings = {line[3:].strip().lower() for line in text.splitlines() if line.startswith("## ")}
    pocket = hex_nut(
        plate_thickness="9 mm", across_flats="14.5 mm", hole_diameter="11 mm", recess="-0.1 mm"
    )
    findings = checks.counterbore(
        pocket,
        cutter=EndMill("4 mm", flutes=1, reach="2 mm"),
        screw=pocket.screw(mating_part="12 mm", length="12 mm"),
    )
    insert = pocket_for_insert(Insert("6.4 mm", "9.5 mm", thread="M5"), plate_thickness="13.1 mm")
    topics = {finding.topic for finding in [*findings, *checks.counterbore(insert)]}
    assert len(topics) == 8
    assert topics <= headings
