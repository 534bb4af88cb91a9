"""Speeds and feeds against handbook formulas, and times and chips against a sampled cutter."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecalc import cutting, helix, relations, sizes, tables
from holecalc.cutters import EndMill
from holecalc.cutting import BOSS_FEED, FEED, SPEED, CuttingError, run, spindle_speed_for, starting

MM6 = EndMill("6 mm", flutes=1)
NINE = helix.bore(MM6, bore_diameter="9 mm", plate_thickness="20 mm", passes=8)


# --- SPEED and FEED ------------------------------------------------------------------------------


@given(st.floats(0.05, 4), st.floats(10, 3000))
def test_spindle_speed_is_the_shop_formula_in_inches(diameter, surface):
    # N = 12 V / (pi D), any machinist's handbook; from memory.
    speed = SPEED.solve(cutter_diameter=f"{diameter:.9f} in", surface_speed=f"{surface:.9f} sfm")
    assert speed.spindle_speed.m_as("rpm") == pytest.approx(12 * surface / math.pi / diameter)


@given(st.floats(1, 100), st.floats(1, 1000))
def test_spindle_speed_is_the_shop_formula_in_millimetres(diameter, surface):
    # n = 1000 v / (pi d), any machinist's handbook; from memory.
    speed = SPEED.solve(cutter_diameter=f"{diameter:.9f} mm", surface_speed=f"{surface:.9f} m/min")
    assert speed.spindle_speed.m_as("rpm") == pytest.approx(1000 * surface / math.pi / diameter)


def test_surface_speed_comes_in_the_units_of_the_cutter():
    assert f"{SPEED.solve(cutter_diameter='6 mm', spindle_speed=1).surface_speed.units:~P}" == (
        "m/min"
    )
    assert f"{SPEED.solve(cutter_diameter='.25 in', spindle_speed=1).surface_speed.units:~P}" == (
        "ft/min"
    )


@pytest.mark.parametrize(
    ("known", "name", "value", "unit"),
    [
        # Common practice, no source: the worked values of the trade.
        (
            {"spindle_speed": 18000, "flutes": 1, "chip_load": "0.25 mm"},
            "wall_feed",
            4500,
            "mm/min",
        ),
        (
            {"wall_feed": "4500 mm/min", "flutes": 1, "chip_load": "0.25 mm"},
            "spindle_speed",
            18000,
            "rpm",
        ),
        (
            {"wall_feed": "4500 mm/min", "flutes": 1, "spindle_speed": 18000},
            "chip_load",
            0.25,
            "mm",
        ),
        (
            {"wall_feed": "180 in/min", "flutes": 2, "spindle_speed": 18000},
            "chip_load",
            0.005,
            "in",
        ),
        (
            {"wall_feed": "2400 mm/min", "bore_diameter": "9 mm", "cutter_diameter": "6 mm"},
            "axis_feed",
            800,
            "mm/min",
        ),
        (
            {"axis_feed": "800 mm/min", "bore_diameter": "9 mm", "cutter_diameter": "6 mm"},
            "wall_feed",
            2400,
            "mm/min",
        ),
        (
            {"axis_feed": "800 mm/min", "wall_feed": "2400 mm/min", "cutter_diameter": "6 mm"},
            "bore_diameter",
            9,
            "mm",
        ),
        (
            {
                "spindle_speed": 18000,
                "flutes": 1,
                "chip_load": "0.25 mm",
                "bore_diameter": "9 mm",
                "path_diameter": "3 mm",
            },
            "axis_feed",
            1500,
            "mm/min",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_feed_is_solved_for_any_of_its_quantities(known, name, value, unit):
    found = FEED.solve(**known)[name]
    assert f"{found.units:~P}" == unit
    assert found.magnitude == pytest.approx(value)


@pytest.mark.parametrize(
    ("relation", "diameter", "side"), [(FEED, "bore_diameter", -1), (BOSS_FEED, "boss_diameter", 1)]
)
def test_the_axis_feed_is_what_takes_the_wall_by_at_the_wall_feed(relation, diameter, side):
    # Outside check: the same turn takes the same time at the wall and at the axis.
    wide, cutter = 20.0, 6.0
    feed = relation.solve(
        wall_feed="1000 mm/min", cutter_diameter=f"{cutter} mm", **{diameter: f"{wide} mm"}
    )
    turn = np.linspace(0, 2 * math.pi, 5001)
    wall, axis = (
        np.hypot(*(np.diff(radius * f(turn)) for f in (np.cos, np.sin))).sum()
        for radius in (wide / 2, wide / 2 + side * cutter / 2)
    )
    assert axis / feed.axis_feed.m_as("mm/min") == pytest.approx(wall / 1000)


def test_a_feed_with_nothing_to_find_it_from_is_refused():
    with pytest.raises(relations.TooFewGivens, match="wall feed"):
        FEED.solve(spindle_speed=18000, flutes=1)


# --- what spindle and cutter can take ------------------------------------------------------------


@pytest.mark.parametrize(
    ("marked", "slowest", "fastest", "got", "because", "limited"),
    [
        (None, None, None, 26526, "as 500 m/min needs", False),
        (20000, None, 24000, 20000, "at most 20000 rev/min is marked on the cutter; 500", True),
        (30000, None, 24000, 24000, "the spindle turns at most 24000 rev/min; 500 m/min", True),
        (30000, 28000, None, 28000, "the spindle turns at least 28000 rev/min; 500 m/min", True),
        (30000, 8000, 28000, 26526, "as 500 m/min needs", False),
    ],
)
def test_the_spindle_speed_keeps_to_its_limits(marked, slowest, fastest, got, because, limited):
    cutter = EndMill("6 mm", flutes=1, maximum_spindle_speed=marked)
    speed = spindle_speed_for("500 m/min", cutter, slowest=slowest, fastest=fastest)
    assert speed.spindle_speed.m_as("rpm") == pytest.approx(got, abs=1)
    assert speed.because.startswith(because)
    assert speed.limited is limited
    assert speed.surface_speed.m_as("mm/min") == pytest.approx(
        math.pi * 6 * speed.spindle_speed.m_as("rpm")
    )


def test_a_spindle_that_cannot_turn_slowly_enough_for_the_cutter_is_refused():
    cutter = EndMill("50 mm", flutes=2, maximum_spindle_speed=7000)
    with pytest.raises(CuttingError, match="at least 8000 rev/min and at most 7000 rev/min"):
        spindle_speed_for("500 m/min", cutter, slowest=8000)


# --- starting values -----------------------------------------------------------------------------


def test_the_materials_asked_for_are_there():
    assert set(cutting.materials()) == {
        *("HDPE", "acrylic", "polycarbonate", "plywood", "hardwood", "aluminium"),
    }


@pytest.mark.parametrize("row", tables.rows("starting-values"), ids=lambda row: row["name"])
def test_starting_values_are_ranges_of_sensible_size_and_say_what_they_are(row):
    assert row["source"] == "common-practice"
    assert row["name"].startswith(f"{row['material']}, {row['flutes']} flute")
    for column in ("surface_speed", "chip_load_share", "pitch_share", "ramp_angle", "diameter"):
        low, high = (float(row[f"{column}_{end}"]) for end in ("min", "max"))
        assert 0 < low < high
    assert float(row["surface_speed_max"]) <= 1000
    assert float(row["chip_load_share_max"]) <= 0.06
    assert float(row["pitch_share_max"]) <= 1
    cutter = EndMill("6 mm", flutes=int(row["flutes"]))
    told = str(starting(row["material"], cutter))
    assert "common practice, no source; the cutter maker's data go before" in told
    assert row["remark"] in told


def test_starting_values_follow_the_cutter_and_its_unit():
    small, large = (starting("HDPE", EndMill(f"{d} mm", flutes=1)) for d in (3, 6))
    assert large.chip_load.low / small.chip_load.low == pytest.approx(2)
    assert small.spindle_speed.low / large.spindle_speed.low == pytest.approx(2)
    inch = starting("hdpe ", EndMill("1/4 in", flutes=1))
    assert f"{inch.chip_load.low.units:~P} {inch.surface_speed.low.units:~P}" == "in ft/min"
    assert inch.surface_speed.low.m_as("m/min") == pytest.approx(150)
    # The worked feed of the trade, 0.25 mm per tooth at 18,000 with one 6 mm flute, lies within.
    assert large.chip_load.contains(sizes.length("0.25 mm"))
    assert large.spindle_speed.contains(sizes.spindle_speed(18000))


def test_starting_speeds_never_pass_what_is_marked_on_the_cutter():
    cutter = EndMill("6 mm", flutes=1, maximum_spindle_speed=16000)
    told = starting("plywood", cutter, fastest=24000)
    assert told.spindle_speed.high.m_as("rpm") == 16000
    assert "marked on the cutter" in told.limited
    assert starting("plywood", EndMill("12 mm", flutes=2)).limited == ""


@pytest.mark.parametrize(
    ("material", "cutter", "why"),
    [
        ("mild steel", EndMill("6 mm", flutes=2), "there are no starting values for 'mild steel'"),
        ("HDPE", EndMill("6 mm", flutes=4), "for 1 or 2 there are"),
        ("HDPE", EndMill("1 mm", flutes=1), "from 2.00 mm to 13.00 mm"),
        ("HDPE", EndMill("1 in", flutes=1), "and this one is 1.0000 in"),
    ],
)
def test_where_there_is_no_starting_value_it_is_told(material, cutter, why):
    with pytest.raises(CuttingError, match=why):
        starting(material, cutter)


def test_a_range_holds_its_ends():
    span = cutting.Range(sizes.length("1 mm"), sizes.length("3 mm"))
    assert span.middle == sizes.length("2 mm")
    assert span.contains(sizes.length("1 mm"))
    assert span.contains(sizes.length("3 mm"))
    assert not span.contains(sizes.length("3.1 mm"))


# --- a whole bore --------------------------------------------------------------------------------


def test_the_feeds_of_a_bore_are_those_of_the_trade():
    ring = run(NINE, spindle_speed=18000, wall_feed="2400 mm/min").rings[0]
    assert ring.axis_feed.m_as("mm/min") == pytest.approx(800)
    assert ring.ratio == pytest.approx(3)
    same = run(NINE, spindle_speed=18000, chip_load=sizes.length("2400 mm") / 18000).rings[0]
    assert same.axis_feed.m_as("mm/min") == pytest.approx(800)
    back = run(NINE, spindle_speed=18000, axis_feed="800 mm/min").rings[0]
    assert back.wall_feed.m_as("mm/min") == pytest.approx(2400)


def sampled_axis(cut, samples=200_001):
    """Places of the axis from the top to the depth [mm]."""
    turn = np.linspace(0, cut.base["passes"], samples)
    radius = cut.base["path_diameter"] / 2
    return np.array(
        [
            radius * np.cos(2 * np.pi * turn),
            radius * np.sin(2 * np.pi * turn),
            -cut.base["pitch"] * turn,
        ]
    )


@pytest.mark.parametrize(
    ("bore_diameter", "passes"), [("9 mm", 8), ("6.5 mm", 20), ("11.3 mm", 3), ("6.1 mm", 4)]
)
def test_time_and_the_parts_of_the_feed_are_those_of_a_point_going_along(bore_diameter, passes):
    made = helix.bore(MM6, bore_diameter=bore_diameter, depth="20 mm", passes=passes)
    told = run(made, spindle_speed=18000, wall_feed="2400 mm/min").rings[0]
    steps = np.diff(sampled_axis(made.cut), axis=1)
    lengths = np.linalg.norm(steps, axis=0)
    axis_feed = told.axis_feed.m_as("mm/s")
    seconds = lengths.sum() / axis_feed
    assert told.helix_time.m_as("s") == pytest.approx(seconds, rel=1e-6)
    assert told.down_feed.m_as("mm/s") == pytest.approx(20 / seconds, rel=1e-6)
    in_plane = np.hypot(steps[0], steps[1]).sum()
    assert told.plane_feed.m_as("mm/s") == pytest.approx(in_plane / seconds, rel=1e-6)
    flat = math.pi * made.cut.base["path_diameter"]
    assert told.flat_time.m_as("s") == pytest.approx(flat / axis_feed)


@pytest.mark.parametrize(
    ("bore_diameter", "opened", "passes"),
    [("9 mm", None, 8), ("9 mm", "8.6 mm", 8), ("16 mm", "14 mm", 5), ("6.5 mm", None, 20)],
)
def test_chips_are_those_between_two_places_of_the_cutter(bore_diameter, opened, passes):
    # Outside check: the cutter's circle one flute later, and how far its edge has moved outwards
    # along each of its own rays, over what is not open yet. A small feed, since the formula is for
    # an advance that is small beside the cutter.
    made = helix.bore(
        MM6, bore_diameter=bore_diameter, depth="20 mm", passes=passes, pilot_diameter=opened
    )
    told = run(made, spindle_speed=18000, wall_feed="240 mm/min").rings[0]
    cut = made.cut.base
    path, pitch, cutter = cut["path_diameter"] / 2, cut["pitch"], 3.0
    tooth = told.axis_feed.m_as("mm/min") / 18000
    turn = tooth / math.hypot(pitch, 2 * math.pi * path)
    here = np.array([path, 0.0])
    there = path * np.array([math.cos(2 * math.pi * turn), math.sin(2 * math.pi * turn)])
    angles = np.linspace(0, math.pi, 20001)
    rays = np.array([np.cos(angles), np.sin(angles)])
    edge = here[:, None] + cutter * rays
    in_cut = np.hypot(*edge) > made.pilot_diameter.m_as("mm") / 2
    move = there - here
    along = move @ rays
    across = np.abs(move[0] * rays[1] - move[1] * rays[0])
    grown = along + np.sqrt(cutter**2 - across**2) - cutter
    assert told.side_chip.m_as("mm") == pytest.approx(grown[in_cut].max(), rel=0.005)
    assert told.end_chip.m_as("mm") == pytest.approx(pitch * turn, rel=1e-9)
    assert told.thickest_chip == max(told.side_chip, told.end_chip)
    wall = math.hypot(2 * math.pi * (path + cutter) * turn, pitch * turn)
    assert told.wall_chip.m_as("mm") == pytest.approx(wall, rel=1e-9)


def test_a_plunge_cuts_with_its_end():
    cutter = EndMill("1/4 in", flutes=2)
    made = helix.bore(cutter, bore_diameter="0.2656 in", depth="1 in", passes=4)
    told = run(made, spindle_speed=18000, chip_load="0.005 in").rings[0]
    assert told.thickest_chip == told.end_chip
    assert told.ratio == pytest.approx(0.2656 / 0.0156)
    assert f"{told.removal_rate.units:~P}" == "in³/min"
    assert f"{told.axis_feed.units:~P}" == "in/min"


@pytest.mark.parametrize("pilot", [None, "7 mm"])
def test_removal_is_the_volume_of_a_turn_over_its_time(pilot):
    made = helix.bore(MM6, bore_diameter="9 mm", depth="20 mm", passes=8, pilot_diameter=pilot)
    told = run(made, spindle_speed=18000, wall_feed="2400 mm/min").rings[0]
    inner = 0 if pilot is None else 7
    turn = math.pi / 4 * (9**2 - inner**2) * 2.5
    minutes = math.hypot(2.5, math.pi * 3) / 800
    assert told.removal_rate.m_as("mm**3/min") == pytest.approx(turn / minutes)


def test_a_run_adds_up_its_rings():
    cutter = EndMill("12 mm", flutes=2)
    made = helix.bore(cutter, bore_diameter="47 mm", plate_thickness="20 mm", spring_turns=1)
    told = run(made, spindle_speed=16000, chip_load="0.3 mm")
    assert told.surface_speed.m_as("m/min") == pytest.approx(math.pi * 0.012 * 16000)
    assert len(told.rings) == len(made.rings) == 4
    seconds = sum(
        made_ring.cut.path_length / ring.axis_feed
        + made.flat_turns(made_ring) * made_ring.turn_length / ring.axis_feed
        for made_ring, ring in zip(made.rings, told.rings, strict=True)
    )
    assert told.time.m_as("s") == pytest.approx(seconds.m_as("s"))
    assert told.removal_rate.m_as("mm**3/min") == pytest.approx(
        math.pi / 4 * 47**2 * 20 / told.time.m_as("min")
    )
    # The same wall feed everywhere, and an axis feed that grows with the path.
    assert {round(ring.wall_feed.m_as("mm/min"), 6) for ring in told.rings} == {9600.0}
    feeds = [ring.axis_feed.magnitude for ring in told.rings]
    assert feeds == sorted(feeds)


@pytest.mark.parametrize(
    ("options", "error", "why"),
    [
        ({}, CuttingError, "0 of chip_load, wall_feed and axis_feed"),
        ({"chip_load": "0.1 mm", "wall_feed": "1 m/min"}, CuttingError, "2 of chip_load"),
        ({"chip_load": "0 mm"}, relations.OutOfRange, "chip load is 0.000 mm"),
        ({"wall_feed": "2400"}, sizes.SizeError, "wall feed: '2400' has no unit"),
    ],
)
def test_a_run_that_makes_no_sense_is_refused_and_told_why(options, error, why):
    with pytest.raises(error, match=why):
        run(NINE, spindle_speed=18000, **options)
