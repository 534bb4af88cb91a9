"""What a part can say of a feature beyond the demo: the same numbers as the modules behind it."""

import pytest

from holecalc import checks, counterbore, cutters, helix, nuts, sizes
from holecalc.form_cutter import FormCutter
from holecalc.part import PartError, loads

HEAD = """
part = "test"
unit = "mm"
[plate]
size = [300, 200]
thickness = 20
[[cutter]]
name = "6"
kind = "end mill"
diameter = 6
flutes = 1
cutting_length = 10
[[cutter]]
name = "3"
kind = "end mill"
diameter = 3
flutes = 1
[[cutter]]
name = "round"
kind = "form"
shape = "concave"
bearing_diameter = 12.7
[cutter.calipers]
begin_diameter = 12.7
largest_diameter = 26.1
arc_height = 6.3
marked_radius = 6.35
stub_diameter = 12.69
uncertainty = 0.05
[[cutter]]
name = "traced"
kind = "form"
shape = "concave"
[cutter.trace]
uncertainty = 0.01
unit = "mm"
points = \"\"\"1; 12.71
3; 12.69
5; 12.70
6; 12.86
7; 13.35
8; 14.22
9; 15.53
# a remark
10; 17.58
11; 21.25
12; 25.40
13; 25.39\"\"\"
[[cutter]]
name = "straight"
kind = "form"
shape = "straight"
begin_diameter = 6
flank_angle = 45
largest_diameter = 26
[[fastener]]
name = "nut"
kind = "hexagon nut"
standard = "ISO 4032"
size = "M8"
[[fastener]]
name = "screw"
kind = "cap screw"
standard = "ISO 4762"
size = "M8"
[[fastener]]
name = "washer"
kind = "washer"
standard = "ISO 7089"
size = "M8"
[[fastener]]
name = "insert"
kind = "insert"
hole_diameter = 10
length = 12
thread = "M6"
[[feature]]
name = "it"
at = [150, 100]
"""
MILL = cutters.EndMill("6 mm", flutes=1, cutting_length="10 mm")


def part(feature):
    return loads(HEAD + feature)


def made(feature):
    found = part(feature).feature("it")
    assert not found.problem
    return found.made


def test_a_bore_by_its_pitch_after_a_hole_and_without_a_flat_turn():
    bore = made(
        'kind = "bore"\ncutter = "6"\ndiameter = 16\npitch = 1.5\npilot_diameter = 8\n'
        "finishing_turn = false\ndepth = 9"
    ).main
    wanted = helix.bore(
        MILL,
        bore_diameter="16 mm",
        plate_thickness="20 mm",
        depth="9 mm",
        pitch="1.5 mm",
        pilot_diameter="8 mm",
        finishing_turn=False,
    )
    assert [ring.cut.base for ring in bore.rings] == [ring.cut.base for ring in wanted.rings]
    assert sizes.mm(bore.path_length) == pytest.approx(sizes.mm(wanted.path_length))


def test_a_bore_that_is_roughed_keeps_what_it_was_before():
    rough, finish = made(
        'kind = "bore"\ncutter = "6"\ndiameter = 20\nfinishing = 0.3\npilot_diameter = 8\npitch = 2'
    ).cuts
    assert sizes.mm(rough.work.rings[0].cut.pitch) == pytest.approx(2)
    # 20 - 2 * 0.3.
    assert sizes.mm(finish.work.pilot_diameter) == pytest.approx(19.4)


def test_a_cap_screw_on_a_washer():
    pocket = made('kind = "counterbore"\ncutter = "6"\nfastener = "screw"\nwasher = "washer"').main
    wanted = counterbore.pocket_for_cap_screw(
        nuts.cap_screw("ISO 4762", "M8"),
        washer=nuts.washer("ISO 7089", "M8"),
        plate_thickness="20 mm",
    )
    assert pocket.stack == wanted.stack
    with pytest.raises(PartError, match="'nut' is no washer of this file"):
        part('kind = "counterbore"\ncutter = "6"\nfastener = "screw"\nwasher = "nut"')


def test_an_insert_in_a_blind_bore_needs_no_hole():
    made_of = made('kind = "counterbore"\ncutter = "6"\nfastener = "insert"\npoint_angle = 118')
    assert made_of.stack.hole_diameter is None
    assert [cut.cutter.name for cut in made_of.cuts] == ["6"]
    assert made_of.stack.steps("A")[-1].point_angle == sizes.angle(118)


NUT = 'kind = "counterbore"\ncutter = "6"\nfastener = "nut"\n'


def test_the_screw_and_what_it_holds():
    told = NUT + 'mating_part = 13.5\nwashers = "1.6 mm"\nload = "2 kN"\nbearing_strength = "5 MPa"'
    captured = made(told)
    assert str(captured.screw) == str(captured.main.screw(mating_part="13.5 mm",
                                                          washers="1.6 mm"))  # fmt: skip
    assert str(captured.held) == str(captured.main.holding("2 kN", bearing_strength="5 MPa"))
    wanted = checks.counterbore(
        captured.main, screw=captured.screw, held=captured.held, cutter=MILL
    )
    found = [each.what for each in checks.part(part(told))]
    assert wanted
    for each in wanted:
        assert f"it: {each.what}" in found
    with pytest.raises(PartError, match="load"):
        part(NUT + 'load = "2 kg/mm"')


def test_a_part_for_which_there_is_no_screw_stops():
    captured = made(NUT + "mating_part = 14")
    assert captured.screw is None
    (finding,) = [
        each
        for each in checks.part(part(NUT + "mating_part = 14"))
        if each.topic == "screw length" and "No screw" in each.what
    ]
    assert finding.weight is checks.Weight.STOP
    assert captured.no_screw in finding.what


def test_how_far_a_nut_may_turn_is_the_features():
    # 12.15° with this cutter, by the check of the pocket alone.
    def turning(more):
        return [e for e in checks.part(part(NUT + more)) if e.topic == "turning of a nut"]

    assert turning("")
    assert not turning("most_turning = 29")


@pytest.mark.parametrize("relief", ["", 'relief_cutter = "3"\nrelief_reach = 7.6\n'])
def test_each_cutter_of_a_pocket_is_asked_whether_it_reaches(relief):
    found = checks.part(part(NUT + relief + "recess = 5"))
    # 5 + 6.8 for the nut, and the flutes of the 6 mm cutter are 10 long.
    assert [each for each in found if "10.000 mm" in each.what and "flutes" in each.what]


@pytest.mark.parametrize(
    ("name", "cutter"),
    [
        (
            "round",
            FormCutter.from_calipers(
                "concave",
                begin_diameter="12.7 mm",
                largest_diameter="26.1 mm",
                arc_height="6.3 mm",
                marked_radius="6.35 mm",
                stub_diameter="12.69 mm",
                bearing_diameter="12.7 mm",
                uncertainties=dict.fromkeys(
                    ["begin_diameter", "largest_diameter", "arc_height", "stub_diameter"], "0.05 mm"
                ),
            ),
        ),
        (
            "traced",
            FormCutter.from_trace(
                [(f"{h} mm", f"{d} mm") for h, d in (
                    (1, 12.71), (3, 12.69), (5, 12.70), (6, 12.86), (7, 13.35), (8, 14.22),
                    (9, 15.53), (10, 17.58), (11, 21.25), (12, 25.40), (13, 25.39),
                )],
                uncertainty="0.01 mm",
                shape="concave",
            ),
        ),
    ],
)  # fmt: skip
def test_a_form_cutter_as_it_was_measured(name, cutter):
    told = f'kind = "edge"\ncutter = "{name}"'
    edge = made(told).main
    for each in ("offset", "depth", "leg_on_face", "leg_on_wall"):
        wanted = getattr(cutter.edge("20 mm"), each)
        assert sizes.mm(getattr(edge, each)) == pytest.approx(sizes.mm(wanted))
    # What the readings say of themselves is told for the part too.
    found = [each.what for each in checks.part(part(told))]
    with sizes.shown_in("mm"):
        wanted = checks.form_cutter(cutter.edge("20 mm"))
    for each in wanted:
        assert f"it: {each.what}" in found


def test_a_chamfer_by_its_width_by_hand():
    edge = made('kind = "edge"\ncutter = "straight"\nchamfer = 2').main
    # The flank is (26 - 6) / 2 = 10 wide: 3 + (10 - 2) / 2, and (10 + 2) / 2 at 45°.
    assert (sizes.mm(edge.offset), sizes.mm(edge.depth)) == pytest.approx((7, 6))
    assert sizes.mm(edge.leg_on_face) == pytest.approx(2)
    edge = made('kind = "edge"\ncutter = "straight"\nchamfer = 2\noffset = 7.5').main
    assert (sizes.mm(edge.offset), sizes.mm(edge.depth)) == pytest.approx((7.5, 6))
    found = part('kind = "edge"\ncutter = "straight"\nchamfer = 12').feature("it")
    assert "cannot be cut by a flank" in found.problem


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("largest_diameter = 26.1", "largest_diameter = 'wide'", "largest_diameter: .*wide"),
        ("arc_height = 6.3\n", "arc_height = -1\n", "arc_height: .*more than 0"),
        ('unit = "mm"\npoints', "points", "points: .*unit"),
        ("7; 13.35", "7; no", "points: .*no"),
    ],
)
def test_readings_that_are_wrong_are_told_with_their_line(old, new, reason):
    assert HEAD.count(old) == 1
    with pytest.raises(PartError, match=rf":\d+: cutter .*{reason}"):
        loads(HEAD.replace(old, new) + 'kind = "hole"\ndiameter = 8\ncutter = "6"')


def test_what_only_a_panel_asks_for_is_kept_without_complaint():
    told = 'kind = "hole"\ndiameter = 8\ncutter = "6"\n[feature.panel]\nload = "2 kN"\n'
    assert part(told).unknown == ()
    with pytest.raises(PartError, match="is not a table"):
        part('kind = "hole"\ndiameter = 8\ncutter = "6"\npanel = 3')
