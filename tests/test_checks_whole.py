"""What goes wrong with a whole part, each with its number worked out by hand or by brute force."""

import math
import re

import numpy as np
import pytest

from holecalc import checks, demo, part, sizes
from holecalc.checks import Weight, whole
from holecalc.counterbore import wall_between

HEAD = """
part = "p"
unit = "mm"
[plate]
material = "plywood"
size = [200, 100]
thickness = 20
[[cutter]]
name = "5"
kind = "end mill"
diameter = 5
flutes = 1
cutting_length = 25
reach = 30
maximum_ramp_angle = 45
spindle_speed = 18000
chip_load = 0.1
[[cutter]]
name = "drill 8"
kind = "drill"
diameter = 8
length = 30
spindle_speed = 3000
feed = 300
[[cutter]]
name = "round"
kind = "form"
shape = "concave"
begin_diameter = 6
radius = 6
spindle_speed = 16000
feed = 1500
"""


def hole(name, at, *, diameter=8, depth=None, face="A", more=""):
    deep = "" if depth is None else f"depth = {depth}\n"
    return (
        f'[[feature]]\nname = "{name}"\nkind = "hole"\ndiameter = {diameter}\n{deep}'
        f'face = "{face}"\nat = {at}\n{more}'
    )


def found(text, topic):
    return [each for each in checks.part(part.loads(HEAD + text, "p.toml")) if each.topic == topic]


def test_a_part_in_order_is_silent():
    assert found(hole("a", "[[50, 50], [150, 50]]"), "walls of a part") == []
    made = checks.part(part.loads(HEAD + hole("a", "[[50, 50], [150, 50]]")))
    assert str(made) == "checked: nothing found"


def test_a_thin_wall_is_told_with_its_number():
    # 11 mm apart, 8 mm wide: 3 mm between, and a quarter of 20 mm is 5.
    (finding,) = found(hole("a", "[[50, 50], [61, 50]]"), "walls of a part")
    assert finding.weight == Weight.LOOK
    assert "3.000 mm of plate between them" in finding.what
    assert "at least 5.000 mm" in finding.cure


def test_the_least_wall_of_the_file_goes_before():
    text = HEAD.replace('unit = "mm"', 'unit = "mm"\nleast_wall = 2')
    made = part.loads(text + hole("a", "[[50, 50], [61, 50]]"))
    assert not [each for each in checks.part(made) if each.topic == "walls of a part"]


def test_holes_that_run_into_each_other_stop():
    (finding,) = found(hole("a", "[50, 50]") + hole("b", "[56, 50]"), "walls of a part")
    assert finding.weight == Weight.STOP
    assert finding.what == "a and b run 2.000 mm into each other."


@pytest.mark.parametrize(
    ("depths", "expected"),
    [
        # Blind from both faces, overlapping seen from above: 20 - 9 - 8 is left, without points.
        ((9, 8), "3.000 mm of plate between"),
        ((12, 10), "run 2.000 mm into each other"),
        ((5, 5), None),
    ],
)
def test_the_web_between_pockets_of_two_faces(depths, expected):
    a, b = (hole(n, at, diameter=20, depth=d, face=f) for n, at, d, f in (
        ("a", "[50, 50]", depths[0], "A"), ("b", "[60, 50]", depths[1], "B")))  # fmt: skip
    walls = found(a + b, "walls of a part")
    assert [expected in each.what for each in walls] == ([True] if expected else [])


def at_one_place(one, other, xy="[50, 50]", thickness=18):
    """What is found about walls where two features stand on one axis."""
    text = (HEAD + SHOP).replace("thickness = 20", f"thickness = {thickness}")
    made = part.loads(text + one.format(name="a", at="[50, 50]") + other.format(name="b", at=xy))
    assert all(feature.made for feature in made.features), made.features
    return [each for each in checks.part(made) if each.topic == "walls of a part"]


SHOP = """
[[cutter]]
name = "vee"
kind = "vee"
diameter = 12.7
included_angle = 90
[[fastener]]
name = "M6"
kind = "flat head"
standard = "ISO 7046-2"
size = "M6"
[[fastener]]
name = "N8"
kind = "hexagon nut"
standard = "ISO 4032"
size = "M8"
"""
ROUND = """
[[feature]]
name = "{{name}}"
kind = "{kind}"
face = "{face}"
diameter = {diameter}
cutter = "5"
at = {{at}}
{more}
"""
CONE = """
[[feature]]
name = "{{name}}"
kind = "countersink"
face = "{face}"
fastener = "M6"
cutter = "vee"
hole_cutter = "5"
hole_diameter = 6.6
circle_diameter = 3
top_diameter = 12.6
at = {{at}}
"""
POCKET = """
[[feature]]
name = "{{name}}"
kind = "counterbore"
face = "{face}"
fastener = "N8"
cutter = "5"
hole_cutter = "5"
recess = 2
at = {{at}}
"""


def counterbored(face, diameter, depth, hole=8.5):
    more = f"depth = {depth}\n"
    if hole:
        more += f'hole_diameter = {hole}\nhole_cutter = "5"\n'
    return ROUND.format(kind="counterbore", face=face, diameter=diameter, more=more)


def bored(face, diameter, depth=None):
    more = "" if depth is None else f"depth = {depth}"
    return ROUND.format(kind="bore", face=face, diameter=diameter, more=more)


@pytest.mark.parametrize(
    ("one", "other", "thickness"),
    [
        # 10 + 10 > 18.
        (counterbored("A", 22, 10), counterbored("B", 22, 10), 18),
        # An M8 nut is 6.8 high and lies 2 deep: 8.8 twice is more than 16.
        (POCKET.format(face="A"), POCKET.format(face="B"), 16),
        # Cones of 3 each, (12.6 - 6.6)/2, in 5.5.
        (CONE.format(face="A"), CONE.format(face="B"), 5.5),
        (CONE.format(face="A"), counterbored("B", 20, 15.5, None), 18),
        (CONE.format(face="A"), bored("B", 20, 16), 18),
        # The head's seat was reckoned for a hole of 6.6.
        (bored("A", 8.02), CONE.format(face="B"), 18),
        (bored("A", 8), bored("B", 8), 18),
        (bored("A", 25), counterbored("B", 22, 5), 18),
        # Nothing is left of the narrower.
        (bored("A", 30, 10), bored("A", 20, 5), 18),
    ],
)
def test_what_does_not_go_together_on_one_axis_stops(one, other, thickness):
    for first, second in ((one, other), (other, one)):
        for xy in ("[50, 50]", "[50.005, 50]"):
            (finding, *_) = at_one_place(first, second, xy, thickness)
            assert finding.weight == Weight.STOP
            assert finding.what.startswith("a and b ")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # A bore, and a counterbore round it that makes no hole of its own; however it is rounded.
        (bored("A", 8), counterbored("B", 20, 5, None)),
        (bored("A", 8), counterbored("A", 20, 5, None)),
        (bored("A", 20, 4), bored("A", 10, 9)),
    ],
)
def test_a_step_on_one_axis_is_meant(one, other):
    for xy in ("[50, 50]", "[50.005, 50]", "[50, 49.96]"):
        assert at_one_place(one, other, xy) == []


def test_two_holes_through_on_one_axis_are_looked_at():
    (finding,) = at_one_place(counterbored("A", 22, 4), counterbored("B", 20, 4))
    assert finding.weight == Weight.LOOK
    assert "holes of 8.500 mm and 8.500 mm" in finding.what
    (finding,) = at_one_place(bored("A", 8), bored("A", 20))
    assert finding.weight == Weight.LOOK


def test_farther_off_than_rounding_they_run_into_each_other():
    # 4 and 10 of radius, 0.1 apart: they overlap by 13.9.
    (finding,) = at_one_place(bored("A", 8), counterbored("B", 20, 5, None), "[50.1, 50]")
    assert finding.weight == Weight.STOP
    assert "run " in finding.what


@pytest.mark.parametrize("x", [20, 24])
def test_whatever_is_cut_where_the_part_is_registered_stops(x):
    wide = hole("wide", f"[{x}, 50]", diameter=25)
    walls = found(TURN.format(pin=7.98, more="") + BOTH + wide, "walls of a part")
    assert any(
        each.weight == Weight.STOP and "pins is what registers the part" in each.what
        for each in walls
    )


def test_on_one_axis_from_two_faces_the_web_is_told():
    a, b = (hole(n, "[50, 50]", diameter=20, depth=d, face=f) for n, d, f in (
        ("a", 10, "A"), ("b", 8, "B")))  # fmt: skip
    (finding,) = found(a + b, "walls of a part")
    assert "2.000 mm" in finding.what


def test_the_same_hole_twice_is_told():
    (finding,) = found(hole("a", "[50, 50]") + hole("b", "[50, 50]"), "walls of a part")
    assert finding.weight == Weight.STOP


def test_edges_by_hand():
    (finding,) = found(hole("a", "[193, 50]"), "walls of a part")
    assert "3.000 mm of plate to the right edge" in finding.what
    (finding,) = found(hole("a", "[50, 2]"), "walls of a part")
    assert finding.weight == Weight.STOP
    assert "lower edge by 2.000 mm" in finding.what


def test_a_rounded_edge_takes_its_width_off_the_wall():
    edge = '[[feature]]\nname = "e"\nkind = "edge"\ncutter = "round"\n'
    assert not found(hole("a", "[10, 50]"), "walls of a part")
    (finding,) = found(hole("a", "[10, 50]") + edge, "walls of a part")
    assert "6.000 mm of which the edge cutter takes" in finding.what


def test_neighbours_are_those_of_brute_force():
    """Every pair of a few hundred random holes of very different widths, one by one."""
    chance = np.random.default_rng(3)
    xy = chance.uniform(0, 400, (300, 2))
    reach = chance.choice([0.5, 2, 3.1, 20], 300)
    pairs = {tuple(pair) for pair in whole._near(xy, reach, 4.0).tolist()}
    expected = {
        (i, j)
        for i in range(300)
        for j in range(i + 1, 300)
        if math.dist(xy[i], xy[j]) - reach[i] - reach[j] < 4.0
    }
    assert pairs == expected
    assert len(expected) > 50


def test_the_wall_told_is_that_of_the_module_for_stacks():
    made = part.loads(demo.text("bearing-plate").replace("[40, 35]", "[95, 65]"))
    nuts, bore = made.feature("leg T-nuts"), made.feature("bearing bore")
    wall = wall_between(nuts.made.stack, bore.made.stack, along="25 mm", across="25 mm")
    texts = [each.what for each in checks.part(made) if "leg T-nuts" in each.what]
    told = sizes.show(-wall if wall.magnitude < 0 else wall, fine=True)
    assert any(told in text and "bearing bore" in text for text in texts), (told, texts)


def test_many_walls_at_once_are_those_one_by_one():
    """The quick way for what is round, against `wall_between`, for every pair of the demo's."""
    chance = np.random.default_rng(5)
    stacks = [
        feature.made.stack
        for name in demo.names()
        for feature in part.loads(demo.text(name)).features
        if feature.made.stack is not None
    ]
    for one in stacks:
        for other in stacks:
            if one.plate_thickness != other.plate_thickness:
                continue
            apart = chance.uniform(-30, 30, (6, 2))
            quick = whole._beside(one, other, apart)
            slow = [
                sizes.mm(wall_between(one, other, along=sizes.from_mm(x), across=sizes.from_mm(y)))
                for x, y in apart.round(6).tolist()
            ]
            assert quick == pytest.approx(np.array(slow), abs=2e-6)


def test_a_cone_is_never_reckoned_narrower_than_it_is():
    made = part.loads(demo.text("bearing-plate")).feature("cover screws").made
    cut = made.main.cut
    top, hole_ = sizes.mm(cut.top_diameter), sizes.mm(cut.hole_diameter)
    deep = sizes.mm(cut.cone_depth)
    for depth in np.linspace(0, deep * 0.999, 50):
        cone = top - (top - hole_) * depth / deep
        at = max(
            2 * outline.reach for outline, low, high in made.stack.prisms() if low <= depth < high
        )
        assert cone - 1e-9 <= at <= cone + (top - hole_) / 8 + 1e-9


def test_a_cutter_that_is_missing_stops():
    (finding,) = found(hole("a", "[50, 50]", diameter=3), "cutters at hand")
    assert finding.weight == Weight.STOP
    assert "no drill of 3.000 mm" in finding.what
    named = hole("a", "[50, 50]", more='cutter = "9 mm"\n')
    (finding,) = found(named, "cutters at hand")
    assert "'9 mm' is not in the drawer, which holds 5, drill 8, round" in finding.what


def test_a_drill_that_does_not_reach_stops():
    # 20 + 0.5 of full diameter, and a 118° point of 8 mm is 2.403 high, by hand.
    text = HEAD.replace("length = 30", "length = 22")
    made = part.loads(text + hole("a", "[50, 50]"))
    (finding,) = checks.part(made)
    assert finding.weight == Weight.STOP
    assert "goes 22.903 mm deep and its flutes are 22.000 mm long" in finding.what


def test_an_end_mill_that_does_not_reach_stops():
    text = HEAD.replace("cutting_length = 25\nreach = 30", "cutting_length = 10\nreach = 15")
    made = part.loads(text + hole("a", "[50, 50]", diameter=9))
    assert checks.part(made).worst == Weight.STOP


def test_what_cannot_be_made_is_told_with_its_line():
    text = HEAD + hole("a", "[50, 50]", depth=25)
    (finding, *_) = checks.part(part.loads(text, "p.toml"))
    assert finding.weight == Weight.STOP
    line = text.split("\n").index("[[feature]]") + 1
    assert f"a (line {line}) cannot be made" in finding.what


def test_unknown_keys_are_told():
    (finding,) = found(hole("a", "[50, 50]", more="dept = 3\n"), "part file")
    assert "Perhaps depth is meant" in finding.what


BOTH = hole("pins", "[[20, 50], [180, 50]]") + hole("back", "[100, 50]", face="B", depth=5)
TURN = '[turn]\nabout = "Y"\nregisters = "pins"\npin_diameter = {pin}\n{more}'


def turned(pin=7.98, more="", features=BOTH):
    return found(TURN.format(pin=pin, more=more) + features, "registration")


def test_registration_tells_shift_rotation_and_zone():
    (finding,) = turned()
    assert finding.weight == Weight.NOTE
    # 0.02 mm on the diameter is 0.01 off; midway between the pins rotation adds nothing.
    assert "0.010 mm off" in finding.what
    assert "back stands up to 0.010 mm off" in finding.what
    assert "zone of 0.020 mm" in finding.what


def test_loose_pins_are_looked_at():
    (finding,) = turned(pin=7.5)
    assert finding.weight == Weight.LOOK
    assert "0.250 mm" in finding.what


def test_pins_that_do_not_enter_stop():
    (finding,) = turned(pin=8.1)
    assert finding.weight == Weight.STOP
    assert "does not enter" in finding.what


def test_nothing_that_registers_is_looked_at():
    (finding,) = found(BOTH, "registration")
    assert finding.weight == Weight.LOOK


def test_what_registers_must_come_from_the_first_face():
    (finding,) = turned(more='first = "B"\n')
    assert finding.weight == Weight.STOP
    assert "Cut it from face B" in finding.cure


def test_a_single_hole_does_not_register():
    features = hole("pins", "[20, 50]") + hole("back", "[100, 50]", face="B", depth=5)
    (finding,) = turned(features=features)
    assert finding.weight == Weight.STOP
    assert finding.what.startswith("pins: a single hole, and the part turns about its pin.")


def test_what_cuts_away_the_holes_that_register_is_told():
    wide = hole("wide", "[24, 50]", diameter=30)
    text = TURN.format(pin=7.98, more="") + BOTH + wide
    walls = found(text, "walls of a part")
    assert any("pins is what registers the part" in each.what for each in walls)


CLAMP = '[[keep_clear]]\nname = "clamp"\nat = [60, 50]\n{size}\nface = "{face}"\n'


@pytest.mark.parametrize(
    ("size", "face", "expected"),
    [
        # The drill reaches 4 mm from X 50 to 54; the clamp's edge is at 60 less half its size.
        ("diameter = 14", "A", "1.000 mm into clamp"),
        ("size = [14, 40]", "A", "1.000 mm into clamp"),
        ("diameter = 11", "A", None),
        ("diameter = 14", "B", "nothing is cut from that face"),
    ],
)
def test_a_clamp_in_the_way(size, face, expected):
    clear = found(CLAMP.format(size=size, face=face) + hole("a", "[50, 50]"), "keep clear")
    assert [expected in each.what for each in clear] == ([True] if expected else [])


@pytest.mark.parametrize(("x", "hit"), [(4, True), (20, False), (-40, False), (-5, True)])
def test_a_clamp_on_the_way_of_an_edge_cutter(x, hit):
    # The cutter is 18 across with its axis 3 outside the wall: from 12 outside to 6 inside.
    edge = '[[feature]]\nname = "e"\nkind = "edge"\ncutter = "round"\n'
    clamp = f'[[keep_clear]]\nname = "clamp"\nat = [{x}, 50]\ndiameter = 10\n'
    assert bool(found(clamp + edge + hole("a", "[50, 50]"), "keep clear")) == hit


def test_a_pin_in_the_way_of_the_other_face():
    features = hole("pins", "[[20, 50], [180, 50]]") + hole(
        "back", "[28, 50]", diameter=10, face="B", depth=5
    )
    text = TURN.format(pin=7.98, more="") + features
    (finding,) = found(text, "keep clear")
    # The bore reaches 23 from the left, the pin's far side 23.99; the cutter sweeps 5 of radius.
    assert "0.990 mm into pin 1" in finding.what


def test_a_cutter_without_a_feed_is_noted():
    text = HEAD.replace("spindle_speed = 3000\nfeed = 300\n", "")
    (finding,) = checks.part(part.loads(text + hole("a", "[50, 50]")))
    assert finding.weight == Weight.NOTE


def test_features_that_are_alike_say_it_once():
    text = "".join(hole(f"h{i}", f"[{20 + 20 * i}, 50]", diameter=6) for i in range(8))
    made = checks.part(part.loads(HEAD + text))
    assert all(
        "and 7 like it" in each.what for each in made if each.topic != "speeds of the drawer"
    )
    assert len(made) < 8


def test_many_thin_walls_are_summed_up():
    text = "".join(hole(f"h{i}", f"[{20 + 9 * (i % 15)}, {20 + 9 * (i // 15)}]") for i in range(60))
    walls = found(text, "walls of a part")
    assert len(walls) == whole.MOST_WALLS + 1


def test_what_is_summed_up_runs_into_each_other_by_no_less_than_nothing():
    # Ten holes of 8, 0.1 apart in a row, are 45 pairs: nine 0.1 apart, eight 0.2 and so on; the
    # five past the 40th are one 0.9, two 0.8 and two of the 0.7 apart.
    text = "".join(hole(f"h{i}", f"[{50 + 0.1 * i:.1f}, 50]") for i in range(10))
    *_, last = found(text, "walls of a part")
    assert last.weight == Weight.STOP
    assert last.what == (
        "5 more pairs of features stand as near as that; the nearest of them run 7.300 mm into "
        "each other."
    )


def test_a_hole_that_goes_through_has_no_floor_to_be_too_thin():
    text = HEAD.replace('unit = "mm"', 'unit = "mm"\nleast_wall = 21')
    assert not [
        each
        for each in checks.part(part.loads(text + hole("a", "[100, 50]")))
        if each.topic == "walls of a part"
    ]


def test_a_least_that_the_file_asks_for_is_not_called_common_practice():
    # 20 less a nut of 6.8 and 2 of recess is 11.2.
    lines = POCKET.format(face="A").format(name="f", at="[100, 50]")
    for least, told in (("least_wall = 12\n", "Leave 12.000 mm, or see what it holds."), ("", "")):
        text = HEAD.replace('unit = "mm"\n', f'unit = "mm"\n{least}') + SHOP
        made = [
            each.cure
            for each in checks.part(part.loads(text + lines))
            if each.topic == "what a stack leaves"
        ]
        assert made == ([told] if told else [])


@pytest.mark.parametrize("name", demo.names())
def test_the_demo_parts_can_be_cut(name):
    assert checks.part(part.loads(demo.text(name))).worst != Weight.STOP


# --- corrections ---------------------------------------------------------------------------------


def measured(lines, key, value):
    """What is found about a feature, once it was measured."""
    text = (
        HEAD + SHOP + lines.format(name="f", at="[100, 50]") + f"measured = {{{key} = {value}}}\n"
    )
    return list(checks.part(part.loads(text)))


@pytest.mark.parametrize(
    ("value", "weight"),
    [
        (47.02, None),
        (46.1, None),
        (45.8, Weight.LOOK),  # 1.2 on 47: more than 1 mm
        (4.702, Weight.STOP),  # a slipped point
        ('"1.85"', Weight.STOP),  # inches, in a file in millimetres
        (30, Weight.STOP),
    ],
)
def test_a_measurement_far_off_is_a_slip(value, weight):
    found_ = [each for each in measured(bored("A", 47), "bore_diameter", value)
              if each.topic == "corrections"]  # fmt: skip
    assert [each.weight for each in found_] == ([weight] if weight else [])


def test_walls_are_reckoned_with_what_is_set():
    # 47 wide in 100: 26.5 to either side. Measured 46.2, it is set 47.8 wide: 26.1. With the
    # middle at 29: 29 - 23.5 = 5.5 is enough, and 29 - 23.9 = 5.1 is not, where 5.3 is asked for.
    text = HEAD.replace('unit = "mm"', 'unit = "mm"\nleast_wall = 5.3')
    lines = bored("A", 47).format(name="f", at="[100, 29]")
    assert not [each for each in checks.part(part.loads(text + lines)) if "edge" in each.what]
    made = checks.part(part.loads(text + lines + "measured = {bore_diameter = 46.2}\n"))
    (finding,) = (each for each in made if "edge" in each.what)
    assert "leaves 5.100 mm of plate to the lower edge" in finding.what
    # Too wide, it is set narrower, and comes out as drawn: the wall is the drawing's.
    made = checks.part(part.loads(text + lines + "measured = {bore_diameter = 47.8}\n"))
    assert not [each for each in made if "edge" in each.what]


def test_a_tip_that_a_correction_sends_through_the_plate_stops():
    # Wanted 12.6 and found 12: 0.3 deeper, to 5.1, in a plate of 5.
    text = (HEAD + SHOP).replace("thickness = 20", "thickness = 5")
    lines = CONE.format(face="A").format(name="f", at="[100, 50]")
    assert checks.part(part.loads(text + lines)).worst != Weight.STOP
    (finding, *_) = checks.part(part.loads(text + lines + "measured = {top_diameter = 12.0}\n"))
    assert finding.weight == Weight.STOP
    assert "As corrected by what was measured: The tip goes 5.100 mm deep" in finding.what


def test_a_web_that_a_correction_takes_is_told():
    # The nut's pocket is 8.8 deep of 20; found 4 too shallow, it is set 12.8: 7.2 is left.
    text = HEAD.replace('unit = "mm"', 'unit = "mm"\nleast_wall = 8') + SHOP
    lines = POCKET.format(face="A").format(name="f", at="[100, 50]")
    made = checks.part(part.loads(text + lines + "measured = {recess = -2}\n"))
    assert any("only 7.200 mm of the plate is left" in each.what for each in made)
    assert not any("of the plate" in each.what for each in checks.part(part.loads(text + lines)))


def test_an_edge_that_was_corrected_is_not_sent_back():
    edge = '[[feature]]\nname = "e"\nkind = "edge"\ncutter = "round"\n'
    made = part.loads(HEAD + edge + "measured = {step_on_face = 0.2}\n" + hole("a", "[50, 50]"))
    # 6 deep and a step of 0.2 found: 5.8, and nothing that says to make it 6 again.
    assert sizes.mm(made.feature("e").made.cuts[0].work.depth) == pytest.approx(5.8)
    assert not [each for each in checks.part(made) if "Make the depth" in each.cure]


# --- speeds, reach and floors --------------------------------------------------------------------


def spun(old, new, machine="", features=None):
    text = HEAD.replace(old, new)
    assert text != HEAD
    features = hole("a", "[50, 50]", diameter=9) if features is None else features
    made = checks.part(part.loads(text + machine + features))
    return [each for each in made if each.topic == "speeds of the drawer"]


def test_a_speed_above_what_is_marked_or_what_the_spindle_has_stops():
    fast = "spindle_speed = 24000\nmaximum_spindle_speed = 18000\nchip_load = 0.1"
    machine = "[machine]\nslowest = 6000\nfastest = 10000\n"
    marked, spindle = spun("spindle_speed = 18000\nchip_load = 0.1", fast, machine)
    assert marked.weight == spindle.weight == Weight.STOP
    assert "24000 rev/min is more than the 18000 rev/min marked on it" in marked.what
    assert "the spindle turns at most 10000 rev/min" in spindle.what


def test_drills_are_compared_with_the_spindle_too():
    machine = "[machine]\nslowest = 6000\nfastest = 18000\n"
    (finding,) = (
        each
        for each in checks.part(part.loads(HEAD + machine + hole("a", "[50, 50]")))
        if each.topic == "speeds of the drawer"
    )
    assert finding.weight == Weight.STOP
    assert "3000 rev/min is asked for, and the spindle turns at least 6000 rev/min" in finding.what


def test_a_speed_that_could_not_be_checked_is_noted():
    (finding,) = spun("maximum_ramp_angle = 45", "maximum_ramp_angle = 44")
    assert finding.weight == Weight.NOTE
    marked = "maximum_ramp_angle = 45\nmaximum_spindle_speed = 24000"
    assert spun("maximum_ramp_angle = 45", marked) == []


def test_a_drill_without_a_length_is_noted_and_so_is_a_vee_without_a_reach():
    made = part.loads(HEAD.replace("length = 30\n", "") + hole("a", "[50, 50]"))
    (finding,) = checks.part(made)
    assert finding.weight == Weight.NOTE
    # The point of 118° is 8 / 2 / tan 59° = 2.403 high, and the drill goes 0.5 through 20.
    assert finding.what == (
        "drill 8: The length of the drill's flutes is not given, so whether it is long enough for "
        "a (22.903 mm) was not checked."
    )
    assert finding.cure == "Measure it: length."
    lines = CONE.format(face="A").format(name="f", at="[100, 50]")
    assert any(
        "vee: The cutter's reach is not given, so whether it is long enough for f (4.800 mm)"
        in each.what
        for each in checks.part(part.loads(HEAD + SHOP + lines))
    )
    short = SHOP.replace("included_angle = 90", "included_angle = 90\nreach = 4")
    (finding, *_) = checks.part(part.loads(HEAD + short + lines))
    # z = (12.6 - 3)/2.
    assert "vee goes 4.800 mm deep and it reaches 4.000 mm" in finding.what


def test_what_a_cutter_does_not_tell_is_asked_once_for_all_that_it_makes():
    mill = '[[cutter]]\nname = "m"\nkind = "end mill"\ndiameter = 6\nflutes = 2\n'
    mill += "spindle_speed = 12000\nchip_load = 0.1\nmaximum_spindle_speed = 18000\n"
    mill += "centre_cutting = false\n"
    bore = '[[feature]]\nname = "{}"\nkind = "bore"\ncutter = "m"\nat = [{}, 50]\n'
    made = part.loads(
        HEAD
        + mill
        + bore.format("wide", 60)
        + "diameter = 30\ndepth = 12\nmax_ramp_angle = 2\n"
        + bore.format("finished", 120)
        + "diameter = 20\ndepth = 9\nfinishing = 0.3\n"
    )
    told = checks.part(made)
    (short,) = (each for each in told if each.topic == "reach")
    assert short.weight == Weight.NOTE
    assert short.what == (
        "m: The length of the cutter's flutes and reach is not given, so whether it is long enough "
        "for wide (12.000 mm) and finished (9.000 mm) was not checked."
    )
    assert short.cure == "Measure it as it is clamped: cutting_length and reach."
    (ramp,) = (each for each in told if "that was not given" in each.what)
    assert ramp.cure == "Ask its maker, and never plunge with it: maximum_ramp_angle."
    assert ramp.weight == Weight.LOOK
    assert re.search(r"the ramp is wide \(.*°\) and finished \(.*°\)\.", ramp.what)


def test_which_cut_of_a_feature_is_meant_is_told_where_it_is_not_every_one():
    mill = '[[cutter]]\nname = "m"\nkind = "end mill"\ndiameter = 6\nflutes = 2\n'
    bore = '[[feature]]\nname = "b"\nkind = "bore"\ncutter = "m"\nat = [60, 50]\ndepth = 18\n'
    made = part.loads(f"{HEAD}{mill}{bore}diameter = 7\nfinishing = 0.3\npitch = 5\n")
    (plunge,) = (each for each in checks.part(made) if "is a plunge" in each.what)
    # By hand: 7 - 2 x 0.3, and atan(5/(0.4 pi)).
    assert plunge.what.startswith("b: rough bore 6.400 mm: The axis runs on a circle of only 0.400")
    assert "a ramp of 75.89°" in plunge.what
    made = part.loads(f"{HEAD}{mill}{bore}diameter = 7\npitch = 5\n")
    (plunge,) = (each for each in checks.part(made) if "is a plunge" in each.what)
    assert plunge.what.startswith("b: The axis runs on a circle of only 1.000 mm")


def test_a_mill_that_cannot_plunge_relieves_no_corners():
    small = (
        '[[cutter]]\nname = "2"\nkind = "end mill"\ndiameter = 2\nflutes = 2\n'
        "cutting_length = 12\nreach = 12\ncentre_cutting = {}\n"
    )
    nut = POCKET.format(face="A").format(name="f", at="[100, 50]") + 'relief_cutter = "2"\n'
    made = checks.part(part.loads(HEAD + SHOP + small.format("false") + nut))
    assert any(each.weight == Weight.STOP and "no edge in its middle" in each.what for each in made)
    made = checks.part(part.loads(HEAD + SHOP + small.format("true") + nut))
    assert made.worst != Weight.STOP
    (finding,) = (each for each in made if "feed down" in each.what)
    assert "Give it spindle_speed and plunge_feed" in finding.cure
    short = small.replace("reach = 12", "reach = 4").replace("= 12", "= 3")
    made = checks.part(part.loads(HEAD + SHOP + short.format("true") + nut))
    assert any("the cutter reaches 4.000 mm" in each.what for each in made)


def test_a_point_that_goes_through_the_plate_stops():
    drill = '[[cutter]]\nname = "3"\nkind = "drill"\ndiameter = 3\nlength = 30\n'
    nut = POCKET.format(face="A").format(name="f", at="[100, 50]") + 'relief_cutter = "3"\n'
    # 8.8 deep, and a point of 0.901 below that, in 9.5.
    text = (HEAD + SHOP).replace("thickness = 20", "thickness = 9.5")
    made = checks.part(part.loads(text + drill + nut))
    assert any("goes 9.701 mm deep in the corners" in each.what for each in made)


@pytest.mark.parametrize(
    "lines",
    [
        counterbored("A", 40, 19.95),
        bored("B", 40, 19.95),
        # 8 mm wide, the point is 2.403 high: 17.55 + 2.4 = 19.95.
        hole("f", "[50, 50]", depth=17.547),
    ],
)
def test_a_floor_of_almost_nothing_is_told(lines):
    made = checks.part(part.loads(HEAD + lines.format(name="f", at="[100, 50]")))
    assert any("f: only 0.050 mm of the plate is left between" in each.what for each in made)


# --- edges, pins and clamps ----------------------------------------------------------------------

EDGE = '[[feature]]\nname = "{name}"\nkind = "edge"\nface = "{face}"\ncutter = "{cutter}"\n{more}'
CHAMFER = """[[cutter]]
name = "chamfer"
kind = "form"
shape = "straight"
begin_diameter = 4
flank_angle = 45
arc_height = 10
"""


@pytest.mark.parametrize(("thickness", "meets"), [(8, True), (12, False)])
def test_edges_of_both_faces_that_meet_are_told(thickness, meets):
    # 6 of the wall from above and 5.5 from below.
    text = HEAD.replace("thickness = 20", f"thickness = {thickness}") + CHAMFER
    text += EDGE.format(name="up", face="A", cutter="round", more="")
    text += EDGE.format(name="down", face="B", cutter="chamfer", more="offset = 3\ndepth = 5.5\n")
    met = [each for each in checks.part(part.loads(text)) if each.topic == "both faces"]
    assert [each.what.startswith("up and down: The cuts from both faces meet") for each in met] == (
        [True] if meets else []
    )


def test_two_edges_of_one_face_are_looked_at():
    text = CHAMFER + EDGE.format(name="up", face="A", cutter="round", more="")
    text += EDGE.format(name="too", face="A", cutter="chamfer", more="offset = 3\ndepth = 5.5\n")
    (finding,) = found(text, "both faces")
    assert "up and too all run round the edge of face A" in finding.what


SQUARE = """[[fastener]]
name = "S"
kind = "square nut"
across_flats = 24
height = 10
thread = "M16"
[[feature]]
name = "n"
kind = "counterbore"
fastener = "S"
cutter = "5"
hole_cutter = "5"
turned = {turned}
at = [50, 50]
"""


@pytest.mark.parametrize(
    ("turned", "at", "hit"),
    [
        # 24 + 0.2 + 5 (1 - cos 45°) = 25.664 across: 12.832 to a flat; turned 45° its flats lie
        # along X and Y, and its corner is cut as far as 10.332 + 2.5 cos 45° = 12.1 in either.
        (45, "[61, 61]", True),
        (45, "[63.2, 63.2]", False),
        (45, "[63.7, 50]", True),
        (45, "[63.9, 50]", False),
        # Standing on a corner it reaches 10.332 √2 + 2.5 = 17.111 along X.
        (0, "[68, 50]", True),
        (0, "[68.2, 50]", False),
        (0, "[61, 61]", False),
    ],
)
@pytest.mark.parametrize("size", ["size = [2, 2]", "diameter = 2"])
def test_a_clamp_beside_a_square_pocket(turned, at, hit, size):
    if size == "diameter = 2" and at == "[63.2, 63.2]":
        at = "[63.2, 63.3]"
    clamp = f'[[keep_clear]]\nname = "clamp"\nat = {at}\n{size}\n'
    clear = found(clamp + SQUARE.format(turned=turned), "keep clear")
    assert bool(clear) == hit, clear


@pytest.mark.parametrize(("x", "told"), [(58.5, None), (58.3, "runs 0.200 mm into clamp")])
def test_a_wide_shank_is_kept_clear_of_a_clamp(x, told):
    # The axis runs 1.5 from the middle and the shank is 6 from there: to X 57.5. The clamp begins
    # 1 before its own middle.
    text = HEAD.replace("reach = 30", "reach = 30\nshank_diameter = 12")
    clamp = f'[[keep_clear]]\nname = "clamp"\nat = [{x}, 50]\ndiameter = 2\n'
    made = part.loads(text + clamp + bored("A", 8).format(name="f", at="[50, 50]"))
    clear = [each.what for each in checks.part(made) if each.topic == "keep clear"]
    assert [told in each for each in clear] == ([True] if told else [])


def test_a_clamp_over_the_holes_that_register_is_no_pin():
    clamp = '[[keep_clear]]\nname = "pin block"\nface = "A"\nat = [20, 50]\nsize = [20, 20]\n'
    (finding,) = found(TURN.format(pin=7.98, more="") + clamp + BOTH, "keep clear")
    assert "into pin block" in finding.what


def test_a_pin_is_compared_with_the_drill_and_not_with_the_drawing():
    text = HEAD.replace("diameter = 8\nlength", "diameter = 7.99\nlength")
    made = checks.part(part.loads(text + TURN.format(pin=8, more="") + BOTH))
    (finding,) = (each for each in made if each.topic == "registration")
    assert finding.weight == Weight.STOP
    assert "a pin of 8.000 mm does not enter a hole of 7.990 mm" in finding.what
    assert finding.cure


@pytest.mark.parametrize(("depth", "weight"), [(1, "STOP"), (6, "LOOK"), (8, None)])
def test_pins_want_holes_that_are_deep_enough(depth, weight):
    features = BOTH.replace('face = "A"\nat', f'depth = {depth}\nface = "A"\nat')
    shallow = [each for each in turned(features=features) if "rides up" in each.what]
    assert [each.weight.name for each in shallow] == ([weight] if weight else [])


def test_what_just_touches_is_not_told_as_nought():
    (finding,) = found(hole("a", "[50, 4]"), "walls of a part")
    assert "just reaches the plate's lower edge" in finding.what
    (finding,) = found(hole("a", "[50, 50]") + hole("b", "[58, 50]"), "walls of a part")
    assert finding.what == "a and b touch."
    for cut in (hole("a", "[50, 4]"), hole("a", "[50, 50]") + hole("b", "[58, 50]")):
        assert "0.000" not in str(checks.part(part.loads(HEAD + cut)))


# --- lines to paste ------------------------------------------------------------------------------


TURNED = HEAD + hole("a", "[50, 50]") + hole("b", "[150, 50]", face="B")


def registering(text):
    (finding,) = (
        each for each in checks.part(part.loads(text)) if "nothing registers it" in each.what
    )
    return finding


@pytest.mark.parametrize("turn", ["", '[turn]\nabout = "X"\n'])
def test_lines_that_register_a_part_can_be_pasted_and_say_what_to_fill_in(turn):
    text = TURNED.replace("[plate]", f"{turn}[plate]") if turn else TURNED
    finding = registering(text)
    assert finding.weight == Weight.LOOK
    assert finding.lines in str(finding)
    assert "<pre class='line'># " in finding._repr_html_()
    if turn:
        keys, holes = finding.lines.split("# At the end of the file:")
        pasted = text.replace('about = "X"\n', f'about = "X"\n{keys}') + holes
    else:
        pasted = text + finding.lines
    with pytest.raises(part.PartError) as told:
        part.loads(pasted)
    reasons = {fault.where: fault.reason for fault in told.value.faults}
    assert reasons == {
        "the file, turn, pin_diameter": "is to be filled in: what the pins measure, in mm.",
        "feature 'dowel holes', diameter": (
            "is to be filled in: of the holes, in mm: the pins' and what they go in with."
        ),
        "feature 'dowel holes', at": (
            "is to be filled in: X and Y of both in mm, within 200.00 mm by 100.00 mm, written "
            "[[X, Y], [X, Y]]."
        ),
    }
    filled = re.sub(r'pin_diameter = ".*"', "pin_diameter = 7.98", pasted)
    filled = re.sub(r'diameter = "fill in.*"', "diameter = 8.02", filled)
    filled = re.sub(r'at = "fill in.*"', "at = [[10, 80], [190, 80]]", filled)
    made = part.loads(filled)
    # A plate turned over on pins 180 apart.
    assert sizes.mm(made.registration.distance) == pytest.approx(180)
    assert not made.unknown
    assert made.turn.about == ("X" if turn else "Y")


def test_a_name_that_is_taken_is_not_pasted_again():
    text = TURNED.replace('name = "a"', 'name = "dowel holes"')
    assert 'registers = "dowel holes 2"' in registering(text).lines
