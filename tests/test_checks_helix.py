"""What is said about a helical bore, when, and with which number.

The thresholds are common practice, no source, or follow from the geometry that
tests/test_helix.py checks by brute force.
"""

import pytest

from holecalc import checks, cutting, helix, sizes
from holecalc.checks import Weight
from holecalc.cutters import EndMill
from project import REFERENCES

KNOWN = {
    "flutes": 1,
    "cutting_length": "25 mm",
    "reach": "35 mm",
    "maximum_spindle_speed": 24000,
}
HEADINGS = {
    line.removeprefix("## ")
    for line in (REFERENCES / "derivations-helix.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("## ")
}
INCH = {"flutes": 2, "cutting_length": "1-1/4 in", "reach": "1-1/2 in"}


def found(cutter=None, *, typed_feed=None, starting=None, run=None, **options):
    options = {
        "bore_diameter": "9 mm",
        "plate_thickness": "20 mm",
        "max_pitch": "2 mm",
        **options,
    }
    made = helix.bore(cutter or EndMill("6 mm", **KNOWN), **options)
    told = cutting.run(made, **run) if run else None
    findings = checks.helix(made, told, typed_feed=typed_feed, starting=starting)
    assert {finding.topic for finding in findings} <= HEADINGS
    return findings


def one(findings, topic):
    (finding,) = [finding for finding in findings if finding.topic == topic]
    return finding


def test_a_bore_in_order_has_no_findings():
    assert found() == ()
    assert str(found(depth="12 mm")) == "checked: nothing found"
    run = {"spindle_speed": 18000, "axis_feed": "800 mm/min"}
    assert found(run=run, typed_feed="800 mm/min") == ()


# --- ramp and plunge -----------------------------------------------------------------------------


def test_the_plunge_that_the_trade_knows():
    # Common practice, no source: 1/4 in cutter, 0.2656 in hole, 4 turns through 1 in.
    findings = found(
        EndMill("1/4 in", **INCH),
        bore_diameter="0.2656 in",
        depth="1 in",
        plate_thickness="1-1/4 in",
        passes=4,
        max_pitch=None,
    )
    plunge = one(findings, "helix")
    assert plunge.weight is Weight.STOP
    assert "circle of only 0.0156 in" in plunge.what
    assert "each turn goes down 0.2500 in" in plunge.what
    assert "a ramp of 78.91°" in plunge.what
    assert "at least 77 turns" in plunge.cure
    # 77 turns are enough, and 76 are not.
    for passes, ramp in ((77, 15), (76, 15.2)):
        cut = helix.BORE.solve(
            bore_diameter="0.2656 in", cutter_diameter="1/4 in", depth="1 in", passes=passes
        )
        assert cut.ramp_angle.m_as("deg") <= ramp
        assert (cut.ramp_angle.m_as("deg") <= 15) is (passes == 77)


@pytest.mark.parametrize(
    ("marked", "max_pitch", "weight", "told"),
    [
        (None, "2.5 mm", None, ""),
        (None, "3 mm", None, ""),
        (None, "4.2 mm", Weight.LOOK, "Over 20° is steep"),
        (5, "2 mm", None, ""),
        (5, None, Weight.STOP, "may ramp at most 5°"),
        (30, "4.2 mm", None, ""),
        (90, "12 mm", Weight.STOP, "is a plunge"),
    ],
)
def test_the_ramp_is_held_against_what_the_cutter_may(marked, max_pitch, weight, told):
    # Turns given, so that the cutter's own limit does not make them more.
    options = {"passes": 8, "max_pitch": None} if max_pitch is None else {"max_pitch": max_pitch}
    cutter = EndMill("6 mm", maximum_ramp_angle=marked, **KNOWN)
    findings = [f for f in found(cutter, **options) if f.topic == "helix"]
    if weight is None:
        assert findings == []
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what


def test_the_steepest_ring_is_the_one_that_is_told():
    cutter = EndMill("12 mm", maximum_ramp_angle=5, **KNOWN)
    findings = found(cutter, bore_diameter="47 mm", passes=5, max_pitch=None)
    first = helix.bore(cutter, bore_diameter="47 mm", plate_thickness="20 mm", passes=5).rings[0]
    assert sizes.show(first.cut.ramp_angle) in one(findings, "helix").what


# --- pitch and chips -----------------------------------------------------------------------------


def test_a_pitch_beyond_the_flutes():
    cutter = EndMill("6 mm", **{**KNOWN, "cutting_length": "5 mm", "shank_diameter": "4 mm"})
    findings = found(cutter, passes=4, max_pitch=None)
    assert findings[0].weight is Weight.STOP
    assert "The pitch is 5.125 mm and the flutes are 5.000 mm" in str(findings)


@pytest.mark.parametrize(("passes", "told"), [(7, False), (6, True)])
def test_a_pitch_beyond_half_the_cutter(passes, told):
    findings = found(passes=passes, max_pitch=None)
    assert [f.topic for f in findings if f.topic == "chips"] == ["chips"] * told
    if told:
        assert "57 % of the cutter's diameter" in one(findings, "chips").what
        assert "3.000 mm or less" in one(findings, "chips").cure


def test_the_share_of_the_pitch_may_be_set():
    made = helix.bore(EndMill("6 mm", **KNOWN), bore_diameter="9 mm", depth="12 mm", passes=8)
    told = [f for f in checks.helix(made, most_pitch_share=0.2) if f.topic == "chips"]
    assert "1.200 mm or less" in told[0].cure


def test_chips_with_nowhere_to_go():
    tight = one(found(bore_diameter="7 mm", max_pitch="0.5 mm"), "chips")
    assert tight.weight is Weight.LOOK
    assert "fills 73 % of the bore" in tight.what
    assert "at most 5.857 mm" in tight.cure
    # A shallow one, or one with a pilot hole for them, is in order.
    assert found(bore_diameter="7 mm", max_pitch="0.5 mm", depth="5 mm") == ()
    assert found(bore_diameter="7 mm", max_pitch="0.5 mm", pilot_diameter="4 mm") == ()


def test_a_bore_much_deeper_than_wide():
    long = EndMill("6 mm", **{**KNOWN, "cutting_length": "40 mm", "reach": "45 mm"})
    deep = one(found(long, plate_thickness="35 mm"), "chips")
    assert "3.9 times as deep as wide" in deep.what
    assert "every 27.000 mm" in deep.cure


# --- the middle of the cutter --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("dead", "options", "weight", "told"),
    [
        ("4 mm", {}, Weight.STOP, "a pip of 1.000 mm"),
        ("3 mm", {}, None, ""),
        ("4 mm", {"pilot_diameter": "1 mm"}, None, ""),
        ("4 mm", {"bore_diameter": "10 mm"}, None, ""),
        (None, {}, Weight.LOOK, "if it is over 3.000 mm"),
        (None, {"pilot_diameter": "3 mm"}, None, ""),
        (None, {"passes": 2, "max_pitch": None}, Weight.STOP, "if it is over 3.000 mm"),
    ],
)
def test_a_cutter_that_is_not_centre_cutting(dead, options, weight, told):
    cutter = EndMill(
        "6 mm", centre_cutting=False, dead_diameter=dead, maximum_ramp_angle=20, **KNOWN
    )
    findings = [f for f in found(cutter, **options) if f.topic == "middle of the cutter"]
    if weight is None:
        assert findings == []
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what
        wanted = dead or "6 mm"
        least = sizes.length("6 mm") + sizes.length(wanted)
        assert sizes.show(least, fine=True) in findings[0].cure


def test_a_cutter_that_is_not_centre_cutting_needs_its_ramp():
    cutter = EndMill("6 mm", centre_cutting=False, dead_diameter="1 mm", **KNOWN)
    finding = one(found(cutter), "middle of the cutter")
    assert "that was not given" in finding.what
    assert "never plunge with it" in finding.cure


# --- reach ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "weight", "told"),
    [
        ({"reach": "20.5 mm", "cutting_length": "20.5 mm"}, None, ""),
        (
            {"reach": "20 mm", "cutting_length": "20 mm", "shank_diameter": "5 mm"},
            Weight.STOP,
            "the holder runs into the plate",
        ),
        ({"cutting_length": "15 mm"}, Weight.LOOK, "rubs on the wall"),
        ({"cutting_length": "15 mm", "shank_diameter": "5 mm"}, None, ""),
        (
            {"cutting_length": "15 mm", "shank_diameter": "8 mm"},
            Weight.STOP,
            "1.000 mm wider on the radius",
        ),
        ({"cutting_length": None}, Weight.NOTE, "the cutter's flutes is not given"),
        ({"cutting_length": None, "reach": None}, Weight.NOTE, "flutes and reach is not given"),
    ],
)
def test_flutes_and_reach(change, weight, told):
    findings = [f for f in found(EndMill("6 mm", **{**KNOWN, **change})) if f.topic == "reach"]
    if weight is None:
        assert findings == []
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what


def test_below_a_wider_step_only_the_rest_of_the_wall_is_asked_of_the_flutes():
    short = EndMill("6 mm", **{**KNOWN, "cutting_length": "15 mm"})
    assert found(short, start_depth="8 mm") == ()
    assert one(found(short, start_depth="4 mm"), "reach").weight is Weight.LOOK


# --- core ----------------------------------------------------------------------------------------


def test_a_core_can_be_thrown():
    cutter = EndMill("12 mm", **KNOWN)
    core = one(found(cutter, bore_diameter="47 mm", leave_core=True), "core")
    assert core.weight is Weight.STOP
    assert "A core of 23.000 mm comes loose" in core.what
    assert "throw it" in core.what
    assert "more than 23.500 mm" in core.cure
    blind = one(found(cutter, bore_diameter="47 mm", depth="9 mm", leave_core=True), "core")
    assert blind.weight is Weight.LOOK
    assert "9.000 mm high" in blind.what
    assert found(cutter, bore_diameter="47 mm") == ()
    assert found(cutter, bore_diameter="47 mm", leave_core=True, pilot_diameter="23 mm") == ()


# --- floor and plate -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "weight", "told"),
    [
        ({"depth": "16 mm"}, Weight.LOOK, "up to 2.000 mm stays on the floor, along 360°"),
        (
            {"breakthrough": "0.5 mm", "max_pitch": None, "passes": 10},
            Weight.LOOK,
            "up to 1.550 mm stays above the plate's far face, along 272.2°",
        ),
        ({"breakthrough": "2 mm", "max_pitch": None, "passes": 11}, None, ""),
        ({"depth": "2 mm", "max_pitch": None, "passes": 0.5}, Weight.STOP, "less than one turn"),
    ],
)
def test_without_a_finishing_turn(options, weight, told):
    findings = [f for f in found(finishing_turn=False, **options) if f.topic == "last turn"]
    if weight is None:
        assert findings == []
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what


@pytest.mark.parametrize(
    ("options", "weight", "told"),
    [
        ({"depth": "20 mm"}, Weight.STOP, "it goes through"),
        ({"depth": "19.9 mm"}, None, ""),
        ({"depth": "9 mm", "plate_thickness": None}, Weight.NOTE, "thickness is not given"),
        ({"breakthrough": 0}, Weight.LOOK, "a skin stays"),
    ],
)
def test_the_plates_far_face(options, weight, told):
    findings = [f for f in found(**options) if f.topic == "last turn"]
    if weight is None:
        assert findings == []
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what


# --- speed and feed ------------------------------------------------------------------------------

RUN = {"spindle_speed": 18000, "wall_feed": "2400 mm/min"}


def test_the_cutters_marked_maximum_speed():
    fast = {**RUN, "spindle_speed": 25000}
    finding = one(found(run=fast, typed_feed="800 mm/min"), "speed and feed")
    assert finding.weight is Weight.STOP
    assert "25000 rev/min is more than the 24000 rev/min marked" in finding.what
    unmarked = EndMill("6 mm", flutes=1, cutting_length="25 mm", reach="35 mm")
    finding = one(found(unmarked, run=RUN, typed_feed="800 mm/min"), "speed and feed")
    assert finding.weight is Weight.NOTE
    assert "18000 rev/min was not checked" in finding.what


def test_which_feed_to_type_is_noted():
    finding = one(found(run=RUN), "speed and feed")
    assert finding.weight is Weight.NOTE
    assert "The feed to type is 800 mm/min, not the wall's 2400 mm/min" in finding.what
    assert "3.00 times as fast" in finding.what


@pytest.mark.parametrize(
    ("typed", "weight", "told"),
    [
        ("800 mm/min", None, ""),
        ("850 mm/min", None, ""),
        ("2400 mm/min", Weight.STOP, "makes 7200 mm/min at the wall: 3.00 times"),
        ("1000 mm/min", Weight.LOOK, "1.25 times"),
        ("400 mm/min", Weight.LOOK, "0.50 times"),
        (2400, Weight.STOP, "3.00 times"),
    ],
    ids=repr,
)
def test_the_wall_feed_typed_at_the_control(typed, weight, told):
    findings = found(run=RUN, typed_feed=typed)
    if weight is None:
        assert findings == ()
    else:
        assert findings[0].weight is weight
        assert told in findings[0].what
        assert findings[0].cure == "Type 800 mm/min."


def test_one_feed_typed_for_every_ring_is_told_ring_by_ring():
    cutter = EndMill("12 mm", **KNOWN)
    findings = found(
        cutter,
        bore_diameter="47 mm",
        run={"spindle_speed": 16000, "chip_load": "0.3 mm"},
        typed_feed="4800 mm/min",
    )
    assert len(findings) == 4


# --- starting values -----------------------------------------------------------------------------


def test_values_outside_the_usual_are_told_as_what_they_are():
    cutter = EndMill("6 mm", **KNOWN)
    usual = cutting.starting("aluminium", cutter)
    findings = [
        f
        for f in found(cutter, run=RUN, starting=usual, typed_feed="800 mm/min")
        if f.topic == "starting values"
    ]
    told = "\n".join(map(str, findings))
    assert "The pitch is 1.864 mm; usual in aluminium is 0.300 mm to 1.200 mm." in told
    assert "The ramp at the axis is 11.19°; usual in aluminium is 1° to 3°." in told
    assert "The chip load at the wall is 0.133 mm; usual in aluminium is 0.036 mm" in told
    assert "spindle speed" not in told
    assert all(f.weight is Weight.LOOK and "common practice, no source" in f.cure for f in findings)


def test_values_within_the_usual_are_not_told():
    cutter = EndMill("6 mm", **KNOWN)
    run = {"spindle_speed": 18000, "chip_load": "0.25 mm"}
    usual = cutting.starting("HDPE", cutter)
    assert found(cutter, run=run, starting=usual, typed_feed="1500 mm/min") == ()
    # A gentler pitch and ramp than usual are no fault.
    assert found(cutter, starting=usual, max_pitch="0.2 mm") == ()
