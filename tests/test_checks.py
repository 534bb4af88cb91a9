"""What goes wrong with a countersink is said, with its number and a cure that cures."""

import math
import re
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holecalc import checks, sizes
from holecalc.checks import Finding, Findings, Weight
from holecalc.countersink import CountersinkError, Sink, circle_limits, sink
from holecalc.cutters import CutterError, VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.relations import RelationsError
from holecalc.sizes import length

M6 = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")


def made(cutter: VeeCutter | None = None, head: FlatHead = M6, **changed: Any) -> Sink:
    """A sink with nothing wrong, but for what is changed."""
    given: dict[str, Any] = {
        "hole_diameter": "6.6 mm",
        "circle_diameter": "4 mm",
        "plate_thickness": "18 mm",
        **changed,
    }
    return sink(head, cutter or VeeCutter("10 mm", 90, tip_diameter="0.2 mm"), **given)


def the_one(findings: Findings, words: str) -> Finding:
    (found,) = (finding for finding in findings if words in finding.what)
    return found


# --- silence ---------------------------------------------------------------------------------


def test_a_good_sink_has_nothing_said_of_it():
    findings = checks.countersink(made())
    assert findings == ()
    assert findings.worst is None
    assert str(findings) == "checked: nothing found"
    assert "nothing found" in findings._repr_html_()


@pytest.mark.parametrize(
    "changed",
    [
        # Each just on the good side of a limit that has a test of its own below.
        {"circle_diameter": "2.6 mm"},
        {"circle_diameter": "4.1 mm"},
        {"recess": "0.5 mm"},
        {"plate_thickness": "4.2 mm"},
    ],
    ids=str,
)
def test_what_is_just_in_order_is_silent(changed):
    assert checks.countersink(made(**changed)) == ()


def test_an_angle_within_what_any_head_is_made_to_is_silent():
    assert checks.countersink(made(VeeCutter("10 mm", 90.4, tip_diameter="0.2 mm"))) == ()


# --- each finding ----------------------------------------------------------------------------


def test_a_cutter_too_narrow_at_the_face():
    # The face needs 12.6 - 4 = 8.6 mm of it; from a circle of 4.6 mm it is wide enough.
    findings = checks.countersink(made(VeeCutter("8 mm", 90)))
    finding = the_one(findings, "At the face")
    assert finding.weight is Weight.STOP
    assert "8.600 mm" in finding.what
    assert "8.000 mm wide" in finding.what
    assert "at least 4.600 mm" in finding.cure
    assert findings.worst is Weight.STOP


def test_a_tip_outside_the_hole_leaves_a_ledge():
    # The tip sweeps 4 + 3 = 7 mm round a hole of 6.6 mm; 3.6 mm is the largest circle.
    finding = the_one(
        checks.countersink(made(VeeCutter("10 mm", 90, tip_diameter="3 mm"))), "The tip sweeps"
    )
    assert finding.weight is Weight.STOP
    assert "7.000 mm" in finding.what
    assert "6.600 mm" in finding.what
    assert "ledge" in finding.what
    assert "at most 3.600 mm" in finding.cure


def test_a_ledge_does_not_hide_that_the_plate_is_too_thin():
    # On the ledge the head goes 2.6 mm down; in the whole cone 3.3, and that is 3 mm deep.
    cutter = VeeCutter("16 mm", 90, tip_diameter="3 mm")
    findings = checks.countersink(made(cutter, circle_diameter="5 mm", plate_thickness="2.9 mm"))
    assert the_one(findings, "Without the ledge the cone ends 3.000 mm down").weight is Weight.STOP
    assert the_one(findings, "Without the ledge the head goes 3.300 mm").weight is Weight.STOP


def test_a_head_on_a_ledge_stands_proud_though_its_sink_is_wide_enough():
    # 2.3 mm deep at the hole's edge, and the head is 3 mm high above it.
    cutter = VeeCutter("16 mm", 90, tip_diameter="3 mm")
    findings = checks.countersink(made(cutter, circle_diameter="5 mm"))
    assert [finding.weight for finding in findings] == [Weight.STOP, Weight.LOOK]
    assert "ledge" in findings[0].what
    assert findings[1].what == "The head stands 0.700 mm proud, on the ledge that is left."
    assert findings[1].cure == "Without the ledge, a top diameter of 12.600 mm lets it lie flush."


def test_a_rounded_tip_outside_the_hole_leaves_a_ledge():
    # Its flanks start at 2 * 2 * cos 45° = 2.828 mm.
    cutter = VeeCutter("10 mm", 90, tip_radius="2 mm")
    finding = the_one(checks.countersink(made(cutter)), "The tip sweeps")
    assert "6.828 mm" in finding.what
    assert "at most 3.771 mm" in finding.cure
    assert not any(
        "The tip sweeps" in other.what
        for other in checks.countersink(made(cutter, circle_diameter="3.771 mm"))
    )


def test_a_tip_that_does_the_cutting_at_the_holes_edge():
    # 6.6 - 4.4 = 2.2 mm, less than a quarter of 10 mm.
    finding = the_one(checks.countersink(made(circle_diameter="4.4 mm")), "At the hole's edge")
    assert finding.weight is Weight.LOOK
    assert "2.200 mm of its 10.000 mm" in finding.what
    assert "at most 4.100 mm" in finding.cure
    assert "common practice, no source" in finding.cure


@pytest.mark.parametrize(("least", "said"), [("2.6 mm", False), ("2.7 mm", True)])
def test_what_was_asked_for_at_the_holes_edge_takes_the_place_of_the_quarter(least, said):
    # 6.6 - 4 = 2.6 mm cuts there.
    findings = checks.countersink(made(least_hole_cutting_diameter=least))
    assert any("At the hole's edge" in finding.what for finding in findings) is said
    for finding in findings:
        assert "at most 3.900 mm, to cut there at 2.700 mm or more, as was asked" in finding.cure
        assert "common practice" not in finding.cure


@pytest.mark.parametrize(
    ("cutter", "given", "cure"),
    [
        # On 4 mm four times 6.6 - 4 is 10.4 mm, wide enough for 12.6 - 4 = 8.6 at the face; no
        # circle is both below 6.6 - 40/4 and above nothing.
        (VeeCutter("40 mm", 90), {}, "Take a cutter of at most 10.400 mm, to"),
        # On 5 mm a quarter of what the face needs, 7.6, is more than 1.6: from
        # 4 (12.6 - 6.6) / 3 = 8 mm on there is a circle that does both.
        (
            VeeCutter("7.6 mm", 90),
            {"circle_diameter": "5 mm"},
            "Take a cutter at least 8.000 mm wide on a circle it works on, to",
        ),
        # 12.6 - 6.6 + 3 = 9.
        (
            VeeCutter("8.7 mm", 90),
            {"circle_diameter": "4 mm", "least_hole_cutting_diameter": "3 mm"},
            "Take a cutter at least 9.000 mm wide on a circle it works on, to cut there at 3.000",
        ),
        (
            VeeCutter("14 mm", 90),
            {"circle_diameter": "0.5 mm", "least_hole_cutting_diameter": "7 mm"},
            "Ask for no more than the hole's 6.600 mm, to",
        ),
        (
            VeeCutter("30 mm", 90),
            {"circle_diameter": "1 mm", "top_diameter": "26.5 mm", "recess": None},
            "Make the hole larger or the sink narrower, to",
        ),
    ],
    ids=str,
)
def test_where_no_circle_lets_the_edge_cut_well_another_cutter_is_told(cutter, given, cure):
    finding = the_one(checks.countersink(made(cutter, **given)), "At the hole's edge")
    assert finding.cure.startswith(cure)


@pytest.mark.parametrize(
    ("cutter", "circle", "words", "cure"),
    [
        # At least 12.6 - 6 = 6.6 and at most 6.6 - 0.4 = 6.2: no circle, so only another cutter.
        (
            VeeCutter("6 mm", 90, tip_diameter="0.4 mm"),
            "4 mm",
            "At the face",
            "No circle works with this cutter: take one at least 8.600 mm wide.",
        ),
        (
            VeeCutter("6 mm", 90, tip_diameter="0.4 mm"),
            "6.6 mm",
            "The tip sweeps",
            "No circle works with this cutter: take one that is wider, with a narrower tip.",
        ),
        (
            VeeCutter("6 mm", 90, tip_diameter="0.8 mm"),
            "6.2 mm",
            "The tip sweeps",
            "No circle works with this cutter: take one with flanks that start at a diameter of at "
            "most 0.400 mm.",
        ),
        # From 5.6 to 6.2 it can be cut, though with the tip.
        (
            VeeCutter("7 mm", 90, tip_diameter="0.4 mm"),
            "4 mm",
            "At the face",
            "Make the circle at least 5.600 mm, or take a wider cutter.",
        ),
        (
            VeeCutter("7 mm", 90, tip_diameter="0.4 mm"),
            "6.5 mm",
            "The tip sweeps",
            "Make the circle at most 6.200 mm.",
        ),
    ],
    ids=str,
)
def test_a_circle_is_told_only_where_one_can_be_cut(cutter, circle, words, cure):
    finding = the_one(checks.countersink(made(cutter, circle_diameter=circle)), words)
    assert finding.cure == cure


def test_a_tip_below_a_plate_that_no_circle_keeps_it_in_asks_for_a_board():
    # 12.6 - 0.2 - 2 * 2.5 = 7.4 is more than the hole is wide.
    findings = checks.countersink(made(plate_thickness="2.5 mm"))
    finding = the_one(findings, "The tip goes")
    assert finding.cure == "Put a board under the plate and allow the tip into it."


@pytest.mark.parametrize(
    ("given", "weight", "words"),
    [
        # The head is 0.65 + (11.3 - 6) / 2 = 3.3 mm high, a quarter of it 0.825.
        ({"plate_thickness": "4.125 mm", "tip_below": "1 mm"}, None, ""),
        ({"plate_thickness": "4.12 mm", "tip_below": "1 mm"}, Weight.LOOK, "only 0.820 mm"),
        ({"plate_thickness": "3.301 mm", "tip_below": "1 mm"}, Weight.LOOK, "only 0.001 mm"),
        (
            {"plate_thickness": "3.3 mm", "tip_below": "1 mm"},
            Weight.STOP,
            "The head goes 3.300 mm down and the plate is 3.300 mm",
        ),
        ({"plate_thickness": "3.2 mm", "tip_below": "1 mm"}, Weight.STOP, "The head goes 3.300 mm"),
        # Let in 6 mm it goes 9.3 mm down; this cutter is wide enough for that sink of 24.6 mm.
        ({"plate_thickness": "10 mm", "recess": "6 mm", "tip_below": "9 mm"}, Weight.LOOK, "0.700"),
        (
            {"plate_thickness": "9.3 mm", "recess": "6 mm", "tip_below": "9 mm"},
            Weight.STOP,
            "9.300",
        ),
        ({"plate_thickness": "3.5 mm", "recess": "-0.7 mm", "tip_below": "9 mm"}, None, ""),
    ],
    ids=str,
)
def test_what_is_left_of_the_plate_under_the_head(given, weight, words):
    findings = checks.countersink(made(VeeCutter("30 mm", 90), circle_diameter="1 mm", **given))
    found = [f for f in findings if f.what.startswith(("The head goes", "Under the head"))]
    assert [finding.weight for finding in found] == ([weight] if weight else [])
    for finding in found:
        assert words in finding.what
        if weight is Weight.LOOK:
            assert "0.825 mm" in finding.cure
            assert "common practice, no source" in finding.cure


def test_a_plate_that_was_not_measured_is_noted():
    findings = checks.countersink(made(plate_thickness=None))
    assert [finding.weight for finding in findings] == [Weight.NOTE]
    assert "not checked" in findings[0].what


def test_a_tip_below_the_plate():
    # The tip is (12.6 - 4 - 0.2) / 2 = 4.2 mm deep, 0.2 mm below a plate of 4 mm.
    finding = the_one(checks.countersink(made(plate_thickness="4 mm")), "The tip goes")
    assert finding.weight is Weight.STOP
    assert "4.200 mm deep in a plate of 4.000 mm" in finding.what
    assert "0.200 mm into what lies under it" in finding.what
    assert "at least 4.400 mm" in finding.cure


@pytest.mark.parametrize(("below", "said"), [("0.1 mm", True), ("0.2 mm", False), ("1 mm", False)])
def test_a_tip_below_the_plate_where_it_may_be(below, said):
    findings = checks.countersink(made(plate_thickness="4 mm", tip_below=below))
    assert any("The tip goes" in finding.what for finding in findings) is said


@pytest.mark.parametrize(("plate", "said"), [("3.01 mm", False), ("3 mm", True), ("2 mm", True)])
def test_a_cone_through_the_plate(plate, said):
    # The cone of 12.6 over a hole of 6.6 ends 3 mm down.
    findings = checks.countersink(made(plate_thickness=plate, tip_below="10 mm"))
    found = [finding for finding in findings if "The cone ends" in finding.what]
    assert len(found) == said
    for finding in found:
        assert finding.weight is Weight.STOP
        assert "3.000 mm down" in finding.what
        assert sizes.show(length(plate), fine=True) in finding.what


def test_a_plunge_is_noted():
    finding = the_one(
        checks.countersink(
            made(VeeCutter("14 mm", 90), circle_diameter=0, plate_thickness="18 mm")
        ),
        "plunge",
    )
    assert finding.weight is Weight.NOTE
    # 6.6 mm less a quarter of 14 mm.
    assert finding.cure == "Any circle up to 3.100 mm cuts the same cone."


@pytest.mark.parametrize(
    ("cutter", "plate", "cure"),
    [
        # From 12.6 - 10 on it is wide enough.
        (
            VeeCutter("10 mm", 90),
            "18 mm",
            "Any circle of at least 2.600 mm and at most 4.100 mm cuts the same cone.",
        ),
        (VeeCutter("6 mm", 90), "18 mm", "With another cutter there is room for a circle."),
        (VeeCutter("40 mm", 90), "18 mm", "With another cutter there is room for a circle."),
    ],
    ids=str,
)
def test_a_plunge_is_told_which_circles_there_are(cutter, plate, cure):
    findings = checks.countersink(made(cutter, circle_diameter=0, plate_thickness=plate))
    assert the_one(findings, "plunge").cure == cure


@pytest.mark.parametrize(
    ("head", "degrees", "top", "words"),
    [
        # A 90° head in 82°: at its rim, 0.098 mm down; at the hole 0.3 mm clear. The cone ends
        # (12.6 - 6.6) / 2 / tan 41° = 3.451 mm down, where the head is 11.3 / 2 - (3.451 -
        # 0.098 - 0.65) = 2.947 mm in radius, but its shank is 3 mm.
        (M6, 82, "12.6 mm", "its rim, and stands 0.300 mm clear at the hole"),
        # An 82° head in 90°, over the hole's edge: (12.6 - 6.6) / 2 = 3 mm down. Its rim, 0.65 mm
        # of land below a face that is 3 - 2.35 / tan 41° - 0.65 = -0.353 mm deep, is 0.297 mm
        # down, where the sink is 6.3 - 0.297 in radius: 0.353 mm clear.
        (
            FlatHead("11.3 mm", 82, edge_land="0.65 mm", shank_diameter="6 mm"),
            90,
            "12.6 mm",
            "the hole's edge, and stands 0.353 mm clear at its rim",
        ),
        # A 100° head in a 90° sink of 10 mm hangs on its edge. At the hole, (10 - 6.6) / 2 =
        # 1.7 mm down, it is 5 - 1.7 tan 50° = 2.974 in radius, but its shank is 3 mm.
        (
            FlatHead("11.3 mm", 100, edge_land="0.65 mm", shank_diameter="6 mm"),
            90,
            "10 mm",
            "the sink's edge in the face, and stands 0.300 mm clear at the hole",
        ),
    ],
    ids=["rim", "hole edge", "face"],
)
def test_angles_that_differ_say_where_it_touches_and_what_gap_is_left(head, degrees, top, words):
    cutter = VeeCutter("10 mm", degrees, tip_diameter="0.2 mm")
    findings = checks.countersink(made(cutter, head, top_diameter=top, plate_thickness="18 mm"))
    finding = the_one(findings, words)
    assert finding.weight is Weight.LOOK
    assert sizes.show(head.head_angle) in finding.what
    assert f"{degrees}°" in finding.what
    assert sizes.show(head.head_angle) in finding.cure


def test_a_head_in_a_sink_as_wide_as_it_measures():
    finding = the_one(
        checks.countersink(made(top_diameter="11.3 mm")), "as wide as the head measures"
    )
    assert finding.weight is Weight.LOOK
    for number in ("11.300 mm", "12.600 mm", "0.650 mm proud"):
        assert number in finding.what
    assert "12.600 mm" in finding.cure


def test_a_head_that_stands_proud_for_another_reason():
    findings = checks.countersink(made(top_diameter="12 mm"))
    finding = the_one(findings, "stands 0.300 mm proud")
    assert finding.weight is Weight.LOOK
    assert "measures" not in finding.what
    assert "12.600 mm" in finding.cure


@pytest.mark.parametrize(("off", "said"), [(0.049, True), (0.051, False), (-0.049, True)])
def test_as_wide_as_measured_is_within_what_calipers_are_read_to(off, said):
    findings = checks.countersink(made(top_diameter=f"{11.3 + off} mm"))
    assert any("as wide as the head measures" in finding.what for finding in findings) is said


@pytest.mark.parametrize(
    ("cutter", "given", "cure"),
    [
        # 12.6 - 4 at the face is just wide enough.
        (VeeCutter("8.6 mm", 90), {}, "Make the top diameter 12.600 mm for a flush head."),
        # 12.6 - 8.2 = 4.4, and 6.6 - 8.2 / 4 = 4.55.
        (
            VeeCutter("8.2 mm", 90),
            {},
            "Make the top diameter 12.600 mm for a flush head, and the circle at least 4.400 mm "
            "and at most 4.550 mm.",
        ),
        # From 12.6 - 6 = 6.6 on, but there the tip leaves a ledge.
        (
            VeeCutter("6 mm", 90, tip_diameter="0.4 mm"),
            {"top_diameter": "9.5 mm"},
            "Flush it needs a top diameter of 12.600 mm, which no circle cuts with this cutter and "
            "plate. Take another cutter.",
        ),
        # The cone of 12.6 is 3 mm deep and the head 3.3 mm high.
        (
            VeeCutter("10 mm", 90),
            {"plate_thickness": "3.3 mm"},
            "Flush it needs a top diameter of 12.600 mm, for which the plate is too thin. Take a "
            "thicker plate or a smaller head.",
        ),
    ],
    ids=str,
)
def test_a_flush_head_is_told_with_the_circle_it_needs(cutter, given, cure):
    findings = checks.countersink(made(cutter, **{"top_diameter": "12 mm", **given}))
    assert the_one(findings, "proud").cure == cure


def test_a_proud_head_with_no_land_is_not_blamed_on_measuring():
    head = FlatHead("12.6 mm", 90, shank_diameter="6 mm")
    findings = checks.countersink(made(head=head, top_diameter="12.58 mm"))
    assert "proud" in the_one(findings, "0.010 mm").what
    assert not any("measures" in finding.what for finding in findings)


def test_findings_of_the_same_sink_do_not_hide_each_other():
    # Too narrow, the tip below the plate, and as wide as the head measures, all at once.
    findings = checks.countersink(
        made(
            VeeCutter("7 mm", 90),
            top_diameter="11.3 mm",
            circle_diameter="4 mm",
            plate_thickness="3 mm",
        )
    )
    assert [f.weight for f in findings] == [Weight.STOP, Weight.STOP, Weight.LOOK, Weight.LOOK]
    words = ("At the face", "The tip goes", "as wide as the head measures", "Under the head")
    assert all(the_one(findings, each) for each in words)


# --- the cure cures --------------------------------------------------------------------------

UNITS = {"mm": 1.0, "in": 1 / 25.4}


SIZE = r"([-0-9.]+ (?:mm|in))"


def cured_with(sink_: Sink, finding: Finding) -> list[Sink]:
    """The sink made again with each number that the cure names, as it is printed."""
    given: dict[str, Any] = {
        "hole_diameter": sink_.cut.hole_diameter,
        "top_diameter": sink_.cut.top_diameter,
        "circle_diameter": sink_.cut.circle_diameter,
        "plate_thickness": sink_.plate_thickness,
        "tip_below": sink_.tip_below,
    }

    if "let into a board" in finding.cure:
        given["tip_below"] = "100 mm"

    def again(cutter: VeeCutter | None = None, **changed: str) -> Sink:
        return sink(sink_.head, cutter or sink_.cutter, **{**given, **changed})

    def of_width(width: str) -> VeeCutter:
        old = sink_.cutter
        tip = (
            {"tip_radius": old.tip_radius} if old.tip_radius else {"tip_diameter": old.tip_diameter}
        )
        return VeeCutter(width, old.included_angle, **tip)

    cure = finding.cure
    if found := re.search(
        rf"top diameter {SIZE} .* circle at least {SIZE} and at most {SIZE}", cure
    ):
        top, *circles = found.groups()
        return [again(top_diameter=top, circle_diameter=circle) for circle in circles]
    if found := re.search(rf"^Make the top diameter {SIZE}", cure):
        return [again(top_diameter=found[1])]
    if found := re.search(rf"circle (?:of )?at least {SIZE} and at most {SIZE}", cure):
        return [again(circle_diameter=circle) for circle in found.groups()]
    if found := re.search(rf"circle (?:at least|at most|up to) {SIZE}", cure):
        return [again(circle_diameter=found[1])]
    if found := re.search(rf"[Tt]ake a cutter at least {SIZE} wide on a circle it works on", cure):
        cutter = of_width(found[1])
        limits = circle_limits(cutter, sink_.cut.top_diameter, sink_.cut.hole_diameter)
        # As narrow as that there is just the one circle, and it has so many places.
        assert sizes.mm(limits.smallest) <= sizes.mm(limits.of("slow tip").circle_diameter) + 1e-9
        if not limits.workable:
            return []
        return [again(cutter, circle_diameter=limits.smallest)]
    if found := re.search(rf"[Tt]ake (?:a cutter|one) (?:at least|of at most) {SIZE}", cure):
        return [again(of_width(found[1]))]
    return []


def said(finding: Finding) -> str:
    """What a finding is about, without its numbers."""
    what = re.sub("^Without the ledge the", "The", finding.what)
    return re.sub(r"[-0-9.]+", "", what)[:20]


def told_to_stop(sink_: Sink) -> set[str]:
    return {said(each) for each in checks.countersink(sink_) if each.weight is Weight.STOP}


@given(
    unit=st.sampled_from(["mm", "in"]),
    cutting=st.floats(3, 45),
    degrees=st.sampled_from([60, 82, 90, 100, 120]),
    tip=st.floats(0, 0.5),
    rounded=st.booleans(),
    top=st.floats(7, 16),
    hole=st.floats(6, 8),
    circle=st.one_of(st.just(0.0), st.floats(0, 8)),
    plate=st.floats(2, 20),
)
@settings(deadline=None, max_examples=400)
def test_whatever_a_cure_says_to_make_cures_and_spoils_nothing_else(
    unit, cutting, degrees, tip, rounded, top, hole, circle, plate
):
    def typed(value: float) -> str:
        return f"{value * UNITS[unit]:.4f} {unit}"

    kind = "tip_radius" if rounded else "tip_diameter"
    try:
        first = sink(
            M6,
            VeeCutter(typed(cutting), degrees, **{kind: typed(tip * cutting)}),
            hole_diameter=typed(hole),
            top_diameter=typed(top),
            circle_diameter=typed(circle),
            plate_thickness=typed(plate),
        )
    except (CutterError, RelationsError, CountersinkError):
        assume(False)
    stops = told_to_stop(first)
    for finding in checks.countersink(first):
        for again in cured_with(first, finding):
            left = {said(other) for other in checks.countersink(again)}
            assert said(finding) not in left, (finding.what, finding.cure)
            assert told_to_stop(again) <= stops, (finding.what, finding.cure)


@pytest.mark.parametrize(
    ("cutter", "changed"),
    [
        # A quarter of 40 mm is more than the hole is wide: no circle gives that.
        (VeeCutter("40 mm", 90), {"circle_diameter": 0}),
        (VeeCutter("40 mm", 90), {"circle_diameter": "2 mm"}),
        # A tip wider than the hole leaves a ledge on any circle.
        (VeeCutter("40 mm", 90, tip_diameter="8 mm"), {"circle_diameter": "1 mm"}),
        (VeeCutter("40 mm", 90, tip_diameter="8 mm"), {"circle_diameter": 0}),
    ],
    ids=repr,
)
def test_no_cure_asks_for_a_circle_below_nothing(cutter, changed):
    findings = checks.countersink(made(cutter, **changed))
    assert findings
    for finding in findings:
        assert not re.search(r"-\d", finding.cure), finding.cure
        assert finding.cure


def test_a_cutter_of_the_heads_angle_cures_angles_that_differ():
    wrong = made(VeeCutter("10 mm", 82, tip_diameter="0.2 mm"))
    finding = the_one(checks.countersink(wrong), "The head's angle")
    degrees = re.search(r"([\d.]+)°", finding.cure)
    assert degrees is not None
    right = made(VeeCutter("10 mm", float(degrees[1]), tip_diameter="0.2 mm"))
    assert checks.countersink(right) == ()


# --- findings together -----------------------------------------------------------------------


def finding_of(weight: Weight, what: str = "this & that") -> Finding:
    return Finding(weight, what, "do <something>.", "topic")


def test_the_gravest_finding_stands_first_and_the_rest_keep_their_order():
    first, second = finding_of(Weight.LOOK, "first"), finding_of(Weight.LOOK, "second")
    findings = Findings([finding_of(Weight.NOTE), first, finding_of(Weight.STOP), second])
    assert [f.weight for f in findings] == [Weight.STOP, Weight.LOOK, Weight.LOOK, Weight.NOTE]
    assert findings[1:3] == (first, second)
    assert findings.worst is Weight.STOP


def test_weights_are_told_by_words_and_marks():
    assert len({weight.mark for weight in Weight}) == len({w.word for w in Weight}) == len(Weight)
    assert Weight.STOP > Weight.LOOK > Weight.NOTE
    assert str(finding_of(Weight.STOP)) == "■ stop: this & that do <something>."


def test_findings_in_a_notebook_are_escaped_and_carry_word_and_mark():
    shown = Findings([finding_of(Weight.LOOK)])._repr_html_()
    assert "this &amp; that" in shown
    assert "do &lt;something&gt;." in shown
    assert "▲ look" in shown
    assert "color" not in shown


def test_numbers_in_inches_are_told_in_inches():
    head = FlatHead("0.507 in", 82, shank_diameter="1/4 in")
    findings = checks.countersink(
        sink(
            head,
            VeeCutter("1/2 in", 90),
            hole_diameter="17/64 in",
            top_diameter="0.500 in",
            circle_diameter="1/8 in",
            plate_thickness="1/2 in",
        )
    )
    # (0.500 - 0.2656) / 2 = 0.1172 in deep, (0.507 - 0.2656) / 2 / tan 41° = 0.1388 in high.
    assert "0.0216 in proud" in the_one(findings, "proud").what
    assert "0.5433 in" in the_one(findings, "proud").cure
    assert not any("mm" in str(finding).replace("common", "") for finding in findings)


def test_a_flush_head_in_inches_is_not_called_proud():
    """The top diameter as it is printed, to 0.0001 in, leaves the head up to 0.00006 in proud."""
    head = FlatHead("0.507 in", 82, shank_diameter="1/4 in")
    for k in range(20):
        hole = f"{0.2656 + 0.0001 * k:.4f} in"
        flush = sink(head, VeeCutter("1/2 in", 90), hole_diameter=hole, circle_diameter="1/8 in")
        printed = sizes.show(flush.cut.top_diameter)
        again = sink(
            head,
            VeeCutter("1/2 in", 90),
            hole_diameter=hole,
            top_diameter=printed,
            circle_diameter="1/8 in",
        )
        assert not any("proud" in finding.what for finding in checks.countersink(again))


def test_the_default_least_cutting_diameter_is_the_one_of_the_limits():
    """The check and the circle limits must not disagree about the same rule of the trade."""
    good = made()
    at_most = sizes.mm(good.limits.largest)
    for off, said in ((-0.01, False), (0.01, True)):
        findings = checks.countersink(made(circle_diameter=f"{at_most + off:.3f} mm"))
        assert any("At the hole's edge" in f.what for f in findings) is said
    assert at_most == pytest.approx(6.6 - 10 / 4)
    assert not math.isnan(at_most)
