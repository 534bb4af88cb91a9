"""What goes wrong with a whole part, each with its number worked out by hand or by brute force."""

import math

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
    assert "single hole" in finding.what


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
        ("diameter = 14", "B", None),
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
    assert all("and 7 like it" in each.what for each in made)


def test_many_thin_walls_are_summed_up():
    text = "".join(hole(f"h{i}", f"[{20 + 9 * (i % 15)}, {20 + 9 * (i // 15)}]") for i in range(60))
    walls = found(text, "walls of a part")
    assert len(walls) == whole.MOST_WALLS + 1


@pytest.mark.parametrize("name", demo.names())
def test_the_demo_parts_can_be_cut(name):
    assert checks.part(part.loads(demo.text(name))).worst != Weight.STOP
