"""What is found wrong with a form cutter's edge, with which number, and when nothing is."""

import pytest
from test_form_cutter import trace

from holecalc import sizes
from holecalc.checks import Weight, form_cutter
from holecalc.form_cutter import FormCutter, both_faces
from project import ROOT


def cutter(**more):
    made = {
        "begin_diameter": "12.7 mm",
        "radius": "6.35 mm",
        "stub_diameter": "12.7 mm",
        "shoulder_height": "2 mm",
    }
    return FormCutter("concave", **(made | more))


def bearing_bit(**more):
    return cutter(stub_diameter="4.8 mm", stub_height="5 mm", **more)


def found(cut, **more):
    return form_cutter(cut, **({"spindle_speed": 18000} | more))


def only(cut, **more):
    (finding,) = found(cut, **more)
    return finding


def test_a_tangent_edge_with_a_slow_spindle_has_nothing_to_find():
    assert found(cutter().edge("19 mm")) == ()
    assert str(found(cutter().edge("19 mm"))) == "checked: nothing found"
    assert found(both_faces(cutter().edge("19 mm"))) == ()


def test_rim_speed():
    # By hand: π × 25.4 mm × 40 000 / min = 3192 m/min = 53.2 m/s.
    finding = only(cutter().edge("19 mm"), spindle_speed="40000 rpm")
    assert finding.weight is Weight.STOP
    assert "53.2 m/s" in finding.what
    assert "at most 37596 rev/min" in finding.cure
    assert "marked on the cutter goes before" in finding.cure
    assert "common practice, no source" in finding.what
    slower = found(cutter().edge("19 mm"), spindle_speed="18000 rpm", rim_speed="20 m/s")
    assert "20 m/s" in slower[0].what
    open_ = only(cutter().edge("19 mm"), spindle_speed=None)
    assert open_.weight is Weight.NOTE
    assert "25.400 mm, reaches 50 m/s at 37596 rev/min" in open_.what
    assert found(cutter().edge("19 mm"), spindle_speed=cutter().spindle_limit()) == ()


def test_a_bearing_bit_without_its_bearing_is_never_hand_fed():
    finding = only(bearing_bit().edge("40 mm"))
    assert finding.weight is Weight.LOOK
    # Half of 12.7 - 4.8.
    assert "it goes 3.950 mm deeper" in finding.what
    assert "Never feed it by hand" in finding.cure
    flush = only(cutter(bearing_diameter="12.7 mm").edge("19 mm"))
    assert "nothing stops it" in flush.what


def test_stub_against_stock():
    flush = cutter(stub_height="5 mm")
    finding = found(flush.edge("40 mm", allowance="0.38 mm"))[0]
    assert finding.weight is Weight.STOP
    assert "12.700 mm across, runs 0.380 mm into the stock" in finding.what
    assert "at most 11.940 mm" in finding.cure
    assert found(bearing_bit().edge("40 mm", allowance="0.38 mm"))[0].topic == "without its bearing"
    touching = only(flush.edge("40 mm"))
    assert touching.weight is Weight.NOTE
    assert "passes the wall by 0.000 mm" in touching.what


@pytest.mark.parametrize(
    ("setting", "what", "cure"),
    [
        ({"depth": "6.45 mm"}, "a step of 0.100 mm down from the face", "depth 6.350 mm"),
        ({"depth": "6.25 mm"}, "stops 10.2° short of tangent to the face", "depth 6.350 mm"),
        ({"offset": "6.25 mm"}, "a step of 0.100 mm in from the wall", "offset 6.350 mm"),
        ({"offset": "6.45 mm"}, "stops 10.2° short of tangent to the wall", "offset 6.350 mm"),
    ],
)
def test_a_setting_that_is_off(setting, what, cure):
    finding = only(cutter().edge("19 mm", **setting))
    assert finding.weight is Weight.LOOK
    assert what in finding.what
    assert cure in finding.cure


@pytest.mark.parametrize(
    "setting",
    [{"depth": "6.36 mm"}, {"depth": "6.34 mm"}, {"offset": "6.36 mm"}, {"offset": "6.34 mm"}],
)
def test_a_setting_off_by_less_than_is_felt_is_in_order(setting):
    assert found(cutter().edge("19 mm", **setting)) == ()


def test_an_arc_of_less_than_a_quarter_is_noted_and_a_chamfer_is_as_it_is():
    notes = found(cutter(end_angle=60).edge("19 mm"))
    assert [finding.weight for finding in notes] == [Weight.NOTE]
    assert "stops 30.0° short of tangent to the face" in notes[0].what
    chamfer = FormCutter(
        "straight", begin_diameter="6 mm", flank_angle=45, largest_diameter="26 mm"
    )
    assert found(chamfer.edge("19 mm")) == ()
    cove = FormCutter("convex", begin_diameter="6 mm", radius="6.35 mm")
    assert found(cove.edge("19 mm")) == ()
    assert "a straight part of 0.100 mm" in found(cove.edge("19 mm", depth="6.45 mm"))[0].what


def test_a_buried_shoulder():
    worst = found(cutter().edge("19 mm", depth="9 mm"))[0]
    assert worst.weight is Weight.STOP
    assert "0.650 mm below the face" in worst.what
    assert "at most 8.350 mm" in worst.cure
    unknown = found(cutter(shoulder_height=None).edge("19 mm", depth="6.45 mm"))
    assert "height is not given" in unknown[-1].what


def test_nothing_left_of_the_wall_and_a_tip_below_the_plate():
    what = " ".join(finding.what for finding in found(bearing_bit().edge("6 mm")))
    assert "leaves nothing of its wall" in what
    assert "The tip reaches 5.350 mm below the plate" in what


def test_a_cusp():
    finding = only(both_faces(cutter().edge("12 mm")))
    assert "a ridge is left 0.010 mm inside" in finding.what
    assert "at least 12.700 mm" in finding.cure


def test_both_faces_say_a_thing_once():
    once, twice = (
        found(cut) for cut in (bearing_bit().edge("40 mm"), both_faces(bearing_bit().edge("40 mm")))
    )
    assert once == twice
    other = cutter(largest_diameter="30 mm").edge("40 mm", depth="6.45 mm")
    assert len(found(both_faces(bearing_bit().edge("40 mm"), other))) == 2


def test_measurements_that_disagree():
    made = FormCutter.from_calipers(
        "concave", stub_diameter="12.69 mm", begin_diameter="12.72 mm",
        largest_diameter="26.10 mm", arc_height="6.30 mm", marked_radius="6.35 mm",
    )  # fmt: skip
    finding = found(made.edge("19 mm"))[0]
    assert finding.weight is Weight.LOOK
    assert "largest diameter (26.100 mm; the others say 25.348 mm" in finding.what
    agreeing = FormCutter.from_calipers(
        "concave", begin_diameter="12.7 mm", largest_diameter="25.4 mm", marked_radius="6.35 mm"
    )
    assert found(agreeing.edge("19 mm")) == ()


def test_a_trace_that_tells_too_little():
    def traced(rows):
        return FormCutter.from_trace(rows, unit="mm", uncertainty="0.01 mm", shoulder_height="2 mm")

    assert found(traced(trace(noise=0.001, start=0, stubs=0)).edge("19 mm")) == ()
    weak = traced(trace(noise=0.001, start=0, stubs=0, shoulders=0, angles=(3, 35)))
    topics = {finding.topic: finding for finding in found(weak.edge("19 mm"))}
    finding = topics["how well a short arc tells its radius"]
    assert "the tangent setting is known only within" in finding.what
    assert "more points over the same sweep" in finding.cure
    rows = trace(noise=0.001, start=0, stubs=0)
    rows[5] = (rows[5][0], rows[5][1] + 0.5)
    strayed = found(traced(rows).edge("19 mm"))
    assert "row 6 (height" in strayed[0].what


def every_topic():
    cuts = [
        bearing_bit().edge("6 mm", allowance="0.38 mm"),
        cutter(stub_height="5 mm").edge("19 mm", allowance="0.38 mm", depth="19 mm"),
        cutter(end_angle=60).edge("19 mm"),
        both_faces(cutter().edge("12 mm")),
    ]
    return {finding.topic for cut in cuts for finding in form_cutter(cut)} | {
        "which measurement is off",
        "points that do not belong",
        "how well a short arc tells its radius",
    }


def test_every_topic_is_a_heading_of_the_derivations():
    text = (ROOT / "references" / "derivations-form-cutter.md").read_text(encoding="utf-8")
    headings = {line.removeprefix("## ") for line in text.splitlines() if line.startswith("## ")}
    assert every_topic() <= headings
    assert len(every_topic()) >= 8


def test_inches_are_told_in_inches():
    made = FormCutter("concave", begin_diameter="1/2 in", radius="1/4 in", shoulder_height="0.1 in")
    finding = only(made.edge("3/4 in", depth="0.26 in"))
    assert "a step of 0.0100 in" in finding.what
    assert isinstance(finding.what, str)
    assert sizes.show(made.largest_diameter) == "1.0000 in"
