"""The order of work: nothing before what it needs, and as few cutter changes as can be."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecalc import checks, cutting, demo, part, sheet, sizes
from holecalc.export import dxf
from holecalc.plan import fewest_changes, plan


def changes(chains, order, loaded):
    count = 0
    for chain, index in order:
        cutter = chains[chain][index]
        count += cutter != loaded
        loaded = cutter
    return count


def in_order(chains, order):
    at = [0] * len(chains)
    for chain, index in order:
        if at[chain] != index:
            return False
        at[chain] += 1
    return at == [len(chain) for chain in chains]


CUTTERS = st.sampled_from(["mill", "drill", "vee"])


@given(
    st.lists(st.lists(CUTTERS, min_size=1, max_size=3), max_size=3),
    st.none() | CUTTERS,
)
@settings(max_examples=80, deadline=None)
def test_no_other_order_changes_the_cutter_less_often(chains, loaded):
    """Every merging of the chains there is, tried out."""
    found = fewest_changes(chains, loaded)
    assert in_order(chains, found)
    labels = [index for index, chain in enumerate(chains) for _ in chain]
    best = math.inf
    for merging in set(itertools.permutations(labels)):
        at = [0] * len(chains)
        order = []
        for chain in merging:
            order.append((chain, at[chain]))
            at[chain] += 1
        best = min(best, changes(chains, order, loaded))
    assert changes(chains, found, loaded) == best


def test_many_different_chains_are_still_merged_in_order():
    cutters = "abcdefghi"
    chains = [list(each) for each in itertools.permutations(cutters, 3)]
    found = fewest_changes(chains)
    assert in_order(chains, found)


@pytest.mark.parametrize("name", demo.names())
def test_what_registers_is_cut_first_and_edges_last(name):
    made = plan(part.loads(demo.text(name)))
    for setup in made.setups:
        kinds = [operation.feature.kind for operation in setup.operations]
        edges = [index for index, kind in enumerate(kinds) if kind == "edge"]
        assert edges == list(range(len(kinds) - len(edges), len(kinds)))
    registers = made.part.turn.registers
    names = [operation.feature.name for operation in made.setups[0].operations]
    count = names.count(registers)
    assert count > 0
    assert set(names[:count]) == {registers}
    assert [operation.number for operation in made.operations] == list(
        range(1, len(made.operations) + 1)
    )


def test_cuts_of_a_feature_keep_their_order():
    made = plan(part.loads(demo.text("bearing-plate")))
    for feature in made.part.features:
        whats = [each.cut.what for each in made.operations if each.feature is feature]
        assert whats == [cut.what for cut in feature.made.cuts]


def test_positions_are_in_the_coordinates_of_the_setup():
    made = plan(part.loads(demo.text("bearing-plate")))
    nuts = [each for each in made.operations if each.feature.name == "leg T-nuts"]
    # Turned about Y on a plate 240 long: X becomes 240 - X, by hand.
    assert nuts[0].xy.tolist() == [[200, 35], [40, 35], [120, 155]]


def test_numbers_of_a_bore_are_those_of_its_module():
    made = part.loads(demo.text("bearing-plate"))
    operation = next(
        each for each in plan(made).operations if each.cut.what == "finish bore 47.00 mm"
    )
    bore = operation.cut.work
    run = cutting.run(bore, spindle_speed=14000, chip_load="0.25 mm")
    assert operation.time.m_as("s") == pytest.approx(run.time.m_as("s"))
    assert operation.circles == (35.0,)
    typed = dict(operation.settings)
    assert typed["path diameter"] == "35.000 mm"
    assert typed["depth"] == "20.300 mm"
    assert typed["axis feed"] == sizes.show_rate(run.rings[0].axis_feed)


def test_lengths_and_times_by_hand():
    made = plan(part.loads(demo.text("bearing-plate")))
    sink = next(each for each in made.operations if "countersink" in each.cut.what)
    # Two turns down of pi 3.4 along and 2.25 down each, and a flat one; at 600 mm/min.
    turn = math.pi * 3.4
    length = 2 * math.hypot(turn, 2.25) + turn
    assert sizes.mm(sink.length) == pytest.approx(length)
    assert sink.time.m_as("s") == pytest.approx(length / 10)
    edge = next(each for each in made.operations if each.feature.name == "upper edge")
    # Three passes round 240 by 180; the corners' quarters make one circle of the offset.
    offsets = [3.857, 3.412, 3.2]
    length = sum(2 * (240 + 180) + 2 * math.pi * offset for offset in offsets)
    assert sizes.mm(edge.length) == pytest.approx(length, abs=0.02)
    total = sum(each.time.m_as("s") * each.count for each in made.operations)
    assert made.time.m_as("s") == pytest.approx(total)


def test_flats_of_a_hexagon_by_hand():
    made = plan(part.loads(demo.text("table-insert")))
    flats = next(each for each in made.operations if "hexagon" in each.cut.what)
    # A hexagon 0.4627 - 0.125 across flats has sides of that over sqrt 3.
    across = sizes.mm(flats.cut.work.step.across) - 3.175
    assert sizes.mm(flats.length) == pytest.approx(6 * across / math.sqrt(3))
    assert dict(flats.settings)["feed"] == "72 in/min"  # 18000 × 1 × 0.004, by hand


def test_a_cutter_without_a_feed_is_timed_from_starting_values_and_says_so():
    text = demo.text("bearing-plate").replace("spindle_speed = 14000\nchip_load = 0.25\n", "")
    operation = next(
        each for each in plan(part.loads(text)).operations if each.cutter.name == "12 mm end mill"
    )
    assert operation.time is not None
    assert dict(operation.settings)["note"] == "speed and feed: starting values"
    text = text.replace('material = "plywood"', 'material = "moon rock"')
    operation = next(
        each for each in plan(part.loads(text)).operations if each.cutter.name == "12 mm end mill"
    )
    assert operation.time is None
    assert dict(operation.settings)["axis feed"] == "not told"


def test_in_a_file_in_inches_every_number_is_in_inches():
    for operation in plan(part.loads(demo.text("table-insert"))).operations:
        for label, text in operation.settings:
            assert "mm" not in text, (label, text)


# --- speeds and feeds, each by hand --------------------------------------------------------------

HEAD = """
part = "p"
unit = "mm"
[plate]
material = "plywood"
size = [200, 100]
thickness = 25
"""
MILL = '[[cutter]]\nname = "{name}"\nkind = "end mill"\ndiameter = {diameter}\nflutes = 2\n{more}\n'
NUT = """[[fastener]]
name = "nut"
kind = "{shape} nut"
across_flats = {across}
height = 10
thread = "{thread}"
[[feature]]
name = "n"
kind = "counterbore"
fastener = "nut"
cutter = "{cutter}"
hole_cutter = "6"
at = [50, 50]
"""
SIX = MILL.format(name="6", diameter=6, more="spindle_speed = 12000\nfeed = 1200")


def operations(*texts):
    return {
        each.cut.what.split(" ")[0]: each for each in plan(part.loads("".join(texts))).operations
    }


def test_corners_are_plunged_at_the_plunge_feed():
    nut = NUT.format(shape="hexagon", across=13, thread="M8", cutter="6") + 'relief_cutter = "2"\n'
    rates = "spindle_speed = 12000\nfeed = 1200\n"
    small = MILL.format(name="2", diameter=2, more=rates + "plunge_feed = 300")
    relieved = operations(HEAD, SIX, small, nut)["corners"]
    assert dict(relieved.settings)["feed down"] == "300 mm/min"
    # Six plunges of 10 and the recess of 0.5 mm each, at 300 mm/min.
    deep = sizes.mm(relieved.cut.work.step.depth)
    assert relieved.count == 6
    assert relieved.time.m_as("s") == pytest.approx(deep / 300 * 60)
    # The feed along a wall is never typed for it.
    small = MILL.format(name="2", diameter=2, more=rates)
    relieved = operations(HEAD, SIX, small, nut)["corners"]
    assert dict(relieved.settings)["feed down"] == "not told"
    assert relieved.time is None


def test_laps_of_a_wide_square_with_a_narrow_cutter():
    rates = "spindle_speed = 12000\nfeed = 1200"
    small = MILL.format(name="2", diameter=2, more=rates)
    nut = NUT.format(shape="square", across=24, thread="M16", cutter="2")
    flats = operations(HEAD, SIX, small, nut)["square"]
    typed = dict(flats.settings)
    # S = 24 + 0.2 + 2 (1 - cos 45°) = 24.786; the last lap runs 2 less, the first on
    # S cos 45° + 2 - 0.2 = 19.326, and one halfway between.
    assert typed["lap 3, flats of the path"] == "22.786 mm"
    assert typed["lap 2, flats of the path"] == "21.056 mm"
    assert typed["lap 1, flats of the path"] == "19.326 mm"
    assert sizes.mm(flats.length) == pytest.approx(4 * (22.786 + 21.056 + 19.326), abs=0.01)
    # 12000 × 2 × chip is 1200: the feed of the wall, which on a straight is that of the axis.
    assert flats.time.m_as("s") == pytest.approx(sizes.mm(flats.length) / 20)


BORE = '[[feature]]\nname = "b"\nkind = "bore"\ndiameter = 20\ncutter = "4"\nat = [50, 50]\n'
MACHINE = "[machine]\nslowest = 6000\nfastest = 18000\n"


def bored(more, machine=""):
    mill = MILL.format(name="4", diameter=4, more=more)
    operation = operations(HEAD, machine, mill, BORE)["bore"]
    return operation, dict(operation.settings)


def test_a_feed_alone_gets_no_speed_of_another_source():
    for machine in ("", MACHINE):
        operation, typed = bored("feed = 1000", machine)
        assert typed["spindle"] == "not told"
        assert operation.spindle_speed is None
        # The wall's feed is theirs, and the axis's follows without the speed: 1000 × P/D.
        last = max(label for label in typed if label.endswith("axis feed"))
        assert typed[last] == "800 mm/min"  # 16/20
        assert operation.time is not None


def test_a_starting_speed_is_never_more_than_a_spindle_that_is_known():
    operation, typed = bored("")
    assert (typed["spindle"], typed["axis feed"]) == ("not told", "not told")
    assert operation.time is None
    operation, typed = bored("", MACHINE)
    assert typed["note"] == "speed and feed: starting values"
    assert operation.spindle_speed.m_as("rpm") <= 18000
    operation, typed = bored("spindle_speed = 9000")
    assert typed["note"] == "feed: starting values"
    assert typed["spindle"] == "9000 rev/min"
    operation, typed = bored("chip_load = 0.1", MACHINE)
    assert typed["note"] == "speed: starting values"


def test_flats_have_the_speed_and_feed_of_the_bore_by_the_same_cutter():
    four = MILL.format(name="4", diameter=4, more="")
    nut = NUT.format(shape="hexagon", across=13, thread="M8", cutter="4")
    made = operations(HEAD, MACHINE, SIX, four, nut)
    flats, bore = dict(made["hexagon"].settings), dict(made["nut,"].settings)
    assert flats["spindle"] == bore["spindle"] != "not told"
    assert flats["note"] == bore["note"] == "speed and feed: starting values"
    assert made["hexagon"].time is not None


def test_moves_between_by_hand():
    head = """
part = "p"
unit = "mm"
[machine]
rapid = "3 m/min"
[plate]
size = [200, 100]
thickness = 20
[[cutter]]
name = "drill"
kind = "drill"
diameter = 8
feed = 300
[[feature]]
name = "holes"
kind = "hole"
diameter = 8
at = [[30, 40], [60, 80]]
"""
    made = plan(part.loads(head))
    # From the zero to (30, 40) and on by (30, 40): 50 mm each, at 50 mm/s.
    assert sizes.mm(made.setups[0].moves) == pytest.approx(100)
    assert made.setups[0].moves_time.m_as("s") == pytest.approx(2)
    assert "and about 2 s of moves between" in made.duration
    without = plan(part.loads(head.replace('rapid = "3 m/min"', "")))
    assert without.setups[0].moves_time is None
    assert without.duration.endswith("of cutting, without the moves between")
    untimed = plan(part.loads(head.replace("feed = 300", "")))
    # Nothing was timed, and 0.0 s would be a number.
    assert untimed.duration == (
        "the cutting is not timed, since no feed is told: type feed for drill; "
        "about 2 s of moves between"
    )


def test_what_to_type_so_that_all_is_timed():
    four = MILL.format(name="4", diameter=4, more="chip_load = 0.1")
    made = plan(part.loads(HEAD + SIX + four + BORE))
    assert made.duration == (
        "the cutting is not timed, since no feed is told: type spindle_speed for 4"
    )
    both = HEAD + four + MILL.format(name="8", diameter=8, more="feed = 1000") + BORE
    made = plan(part.loads(both + BORE.replace('"b"', '"c"').replace('"4"', '"8"')))
    timed = next(each for each in made.operations if each.feature.name == "c")
    assert made.duration == (
        f"{sizes.show_rate(timed.time)} of cutting, without the moves between; "
        "1 operation is not timed, since no feed is told: type spindle_speed for 4"
    )
    assert timed.untold_feed == ""


def test_nothing_planned_takes_no_time_and_says_nothing_of_feeds():
    made = plan(part.loads(HEAD + BORE))
    assert made.operations == ()
    assert made.duration == "nothing is planned"


RELIEVED = [
    (
        'hole_cutter = "1/8 end mill"\nat = {pattern = "line"',
        'hole_cutter = "1/8 end mill"\nrelief_cutter = "1/16"\nturned = 15\nat = {pattern = "line"',
    ),
    (
        '[[cutter]]\nname = "1/4 end mill"',
        '[[cutter]]\nname = "1/16"\nkind = "end mill"\ndiameter = "1/16"\nflutes = 2\n'
        'cutting_length = 0.3\nplunge_feed = "10 in/min"\n\n[[cutter]]\nname = "1/4 end mill"',
    ),
]


def relieved(*changes):
    text = demo.text("table-insert")
    for old, new in (*RELIEVED, *changes):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return part.loads(text, "insert.toml")


def test_corners_of_a_hexagon_are_relieved_at_each_corner():
    made = relieved()
    operation = next(each for each in plan(made).operations if "relieved" in each.cut.what)
    # By hand: across corners is the flats' 0.446 in over cos 30°; a 1/16 in circle through each
    # corner has its centre 1/32 in short of that. Turned over about X, 15° is -15°.
    out = 25.4 * (0.446 / math.sqrt(3) - 1 / 32)
    width = 4 * 25.4
    expected = [
        (x + out * math.cos(angle), width - 25.4 + out * math.sin(angle))
        for x in (1.5 * 25.4, 4.5 * 25.4)
        for angle in (math.radians(-15 + 60 * corner) for corner in range(6))
    ]
    assert operation.xy == pytest.approx(np.array(expected), abs=1e-6)
    assert operation.count == 12
    assert operation.circles == ()
    # 0.246 in deep at 10 in/min.
    assert operation.time.m_as("s") == pytest.approx(0.246 / 10 * 60)
    order = [each.cut.what for each in plan(made).operations if each.feature.name == "fence nuts"]
    assert [what.split(" ")[0] for what in order] == ["bore", "nut,", "hexagon", "corners"]
    drawn = dxf.drawing(made)
    layer = dxf.layer_of(operation)
    kinds = [each.dxftype() for each in drawn.modelspace() if each.dxf.layer == layer]
    assert kinds == ["POINT"] * 12
    page = sheet.html_text(made)
    assert "3 fence nuts, corners relieved</p>" in page
    radius = sizes.mm(sizes.length("1/32 in"))
    # Six round each of two nuts, in the views of both setups.
    assert page.count(f'r="{radius:.3f}"') == 24
    assert "fence nuts" not in str(checks.part(made)).replace("corner", "")


def test_a_relief_cutter_that_does_not_reach_is_told():
    findings = checks.part(relieved(("cutting_length = 0.3\n", "cutting_length = 0.2\n")))
    assert "0.2460 in deep and the flutes are 0.2000 in long" in findings[0].what
    short = ("cutting_length = 0.3\n", "cutting_length = 0.2\nreach = 0.2\n")
    assert checks.part(relieved(short)).worst is checks.Weight.STOP


def test_a_pocket_is_checked_with_its_own_cutter_and_not_with_that_of_its_corners():
    short = ("cutting_length = 0.6\nreach = 0.9\n", "cutting_length = 0.2\nreach = 0.22\n")
    findings = checks.part(relieved(short))
    assert any("cutter reaches 0.2200 in" in each.what for each in findings)
