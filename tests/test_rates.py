"""Counts, speeds and feeds: what people type, what is written back, and the kinds made of them."""

from contextlib import suppress

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecalc import relations, sizes
from holecalc.relations import COUNT, FEED_RATE, LENGTH, SPINDLE_SPEED, SURFACE_SPEED
from holecalc.sizes import SizeError, count, feed, show_rate, spindle_speed, surface_speed, ureg


def told(value):
    """A name without an address, which would be another in each process that collects."""
    return getattr(value, "__name__", repr(value))


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("18000 rpm", 18000),
        ("18,000 rev/min", 18000),
        ("18 000 rev/min", 18000),
        ("18 000 r/min", 18000),
        ("18000", 18000),
        ("18000 min⁻¹", 18000),
        ("18000 1/min", 18000),
        ("18000 RPM", 18000),
        ("120,000 rpm", 120000),
        ("954.9 rpm", 954.9),
        (" 900rpm ", 900),
        (18000, 18000),
        (ureg.Quantity(300, "revolution/second"), 18000),
        (pint.UnitRegistry().Quantity(18000, "rpm"), 18000),
    ],
    ids=told,
)
def test_a_spindle_speed_is_read(typed, value):
    read = spindle_speed(typed)
    assert read.m_as("rpm") == pytest.approx(value)
    assert read.units == ureg.rpm


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [
        ("2400 mm/min", 2400, "mm/min"),
        ("2,400 mm/min", 2400, "mm/min"),
        ("2 400 mm/min", 2400, "mm/min"),
        ("2400 mm / min", 2400, "mm/min"),
        ("2,4 m/min", 2.4, "m/min"),
        ("2.4 m/min", 2.4, "m/min"),
        ("1200,5 mm/min", 1200.5, "mm/min"),
        ("40 mm/s", 40, "mm/s"),
        ("95 in/min", 95, "in/min"),
        ('95 "/min', 95, "in/min"),
        ("95ipm", 95, "in/min"),
        ("1-1/2 in/min", 1.5, "in/min"),
        ("7 1/2 in/min", 7.5, "in/min"),
        (".5 in/s", 0.5, "in/s"),
    ],
)
def test_a_feed_is_read_in_the_unit_that_was_written(typed, value, unit):
    read = feed(typed)
    assert read.magnitude == pytest.approx(value)
    assert read.units == ureg.Quantity(1, unit).units


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [
        ("300 m/min", 300, "m/min"),
        ("5 m/s", 5, "m/s"),
        ("1000 sfm", 1000, "ft/min"),
        ("1,000 sfm", 1000, "ft/min"),
        ("1,000 ft/min", 1000, "ft/min"),
        ("850.5 SFM", 850.5, "ft/min"),
    ],
)
def test_a_surface_speed_is_read_in_the_unit_that_was_written(typed, value, unit):
    read = surface_speed(typed)
    assert read.magnitude == pytest.approx(value)
    assert read.units == ureg.Quantity(1, unit).units


@pytest.mark.parametrize(
    ("read", "declared", "unit"),
    [
        (feed, "mm", "mm/min"),
        (feed, "in", "in/min"),
        (feed, "in/min", "in/min"),
        (surface_speed, "mm", "m/min"),
        (surface_speed, "in", "ft/min"),
        (surface_speed, "sfm", "ft/min"),
    ],
)
@pytest.mark.parametrize("typed", ["95", 95, 95.0], ids=told)
def test_a_bare_number_takes_the_declared_unit(read, declared, unit, typed):
    assert read(typed, declared) == ureg.Quantity(95.0, unit)


@pytest.mark.parametrize(
    ("typed", "value"), [("8", 8), (8, 8), ("6,5", 6.5), ("6.667", 6.667), ("1-1/2", 1.5)], ids=told
)
def test_a_count_is_read(typed, value):
    assert count(typed).m_as("") == pytest.approx(value)


def test_arrays_are_read():
    assert count(np.array([1, 2])).m_as("").tolist() == [1, 2]
    assert feed(ureg.Quantity(np.array([1.0, 2.0]), "mm/min")).magnitude.tolist() == [1, 2]
    assert feed([1, 2], "in").magnitude.tolist() == [1, 2]


@pytest.mark.parametrize(
    ("read", "typed", "why"),
    [
        (feed, "2400", "has no unit"),
        (feed, 2400, "has no unit"),
        (feed, "2,400 m/min", "can be read as 2400 or as 2.400"),
        (feed, "1,200 in/min", "can be read as 1200 or as 1.200"),
        (feed, "2400 mm", "'mm' is no unit"),
        (feed, "300 sfm", "'sfm' is no unit"),
        (feed, "fast", "does not start with a number"),
        (feed, "", "nothing was typed"),
        (feed, "9**9**9 mm/min", "is no unit"),
        (feed, "9" * 70 + " mm/min", "characters"),
        (feed, ureg.Quantity(1.0, "mm"), "is not a feed"),
        (feed, ureg.Quantity(1.0, "rpm"), "is not a feed"),
        (feed, ureg.Quantity(np.nan, "mm/min"), "finite"),
        (feed, "2400,0000 mm/min", "a comma groups three digits"),
        (surface_speed, "300", "has no unit"),
        (surface_speed, "1,200 m/min", "can be read as"),
        (surface_speed, ureg.Quantity(1.0, "rpm"), "is not a surface speed"),
        (spindle_speed, "18,0000 rpm", "a comma groups three digits"),
        (spindle_speed, "18000 mm", "'mm' is no unit"),
        (spindle_speed, True, "is not a size"),
        (spindle_speed, None, "is not a size"),
        # pint would take these for radians, and be out by 2 pi.
        (spindle_speed, ureg.Quantity(300.0, "1/s"), "is not a spindle speed"),
        (spindle_speed, ureg.Quantity(300.0, "Hz"), "is not a spindle speed"),
        (count, "8 turns", "'turns' follows it"),
        (count, "8 mm", "'mm' follows it"),
        (count, "many", "does not start with a number"),
        (count, ureg.Quantity(8.0, "mm"), "is not a count"),
        (count, ureg.Quantity(8.0, "deg"), "is not a count"),
    ],
    ids=told,
)
def test_what_is_none_is_refused_and_told_why(read, typed, why):
    with pytest.raises(SizeError, match=why):
        read(typed)


@pytest.mark.parametrize("declared", ["deg", "rpm", "furlong"])
def test_a_declared_unit_that_is_no_unit_of_feed_is_refused(declared):
    with pytest.raises(SizeError, match="is no unit of feed"):
        feed(5, declared)


@pytest.mark.parametrize(
    ("quantity", "unit", "text"),
    [
        (spindle_speed(18000), None, "18000 rev/min"),
        (spindle_speed(11936.62), None, "11937 rev/min"),
        (feed("2400 mm/min"), None, "2400 mm/min"),
        (feed("2400 mm/min"), "in/min", "94.49 in/min"),
        (feed("0.5 in/s"), "in/min", "30 in/min"),
        (feed("-3 mm/min"), None, "-3 mm/min"),
        (surface_speed("1000 sfm"), None, "1000 ft/min"),
        (surface_speed("1000 sfm"), "m/min", "304.8 m/min"),
        (count(8), None, "8"),
        (count(20 / 3), None, "6.667"),
        (count(0), None, "0"),
        (count(999.99), None, "1000"),
        (count(0.012345), None, "0.01235"),
        (ureg.Quantity(35.24, "s"), None, "35.2 s"),
        (ureg.Quantity(59.96, "s"), None, "1 min 0 s"),
        (ureg.Quantity(154.6, "s"), None, "2 min 35 s"),
        (ureg.Quantity(2.0, "hour"), None, "2 h 0 min"),
        (ureg.Quantity(13.351, "cm**3/min"), None, "13.35 cm³/min"),
        (ureg.Quantity(0.5, "in**3"), None, "0.5 in³"),
    ],
)
def test_a_rate_is_written(quantity, unit, text):
    assert show_rate(quantity, unit) == text


@pytest.mark.parametrize(
    ("quantity", "unit"),
    [
        (5, None),
        ("5 mm/min", None),
        (sizes.length("5 mm"), None),
        (sizes.angle(5), None),
        (ureg.Quantity(5.0, "kg"), None),
        (ureg.Quantity(np.inf, "mm/min"), None),
        (ureg.Quantity([1.0, 2.0], "mm/min"), None),
        (feed("5 mm/min"), "rpm"),
        (feed("5 mm/min"), "mm"),
        (count(5), "mm/min"),
    ],
    ids=told,
)
def test_what_cannot_be_written_as_a_rate_is_refused(quantity, unit):
    with pytest.raises(SizeError):
        show_rate(quantity, unit)


@pytest.mark.parametrize(
    ("quantity", "metric", "inch"),
    [
        (feed("2400 mm/min"), "2400 mm/min", "94.49 in/min"),
        (feed("40 mm/s"), "2400 mm/min", "94.49 in/min"),
        (feed("100 in/min"), "2540 mm/min", "100 in/min"),
        (feed("2 in/s"), "3048 mm/min", "120 in/min"),
        (surface_speed("300 m/min"), "300 m/min", "984.3 ft/min"),
        (surface_speed("5 m/s"), "300 m/min", "984.3 ft/min"),
        (surface_speed("1000 sfm"), "304.8 m/min", "1000 ft/min"),
        (ureg.Quantity(16.387064, "cm**3"), "16.39 cm³", "1 in³"),
        (ureg.Quantity(16387.064, "mm**3"), "16.39 cm³", "1 in³"),
        (ureg.Quantity(2.0, "in**3/min"), "32.77 cm³/min", "2 in³/min"),
        (spindle_speed(18000), "18000 rev/min", "18000 rev/min"),
        (count(8), "8", "8"),
        (ureg.Quantity(154.6, "s"), "2 min 35 s", "2 min 35 s"),
    ],
)
def test_a_rate_follows_the_unit_that_everything_is_shown_in(quantity, metric, inch):
    # By hand: 25.4 mm to the inch, 12 in to the foot, 16.387064 cm³ to the cubic inch.
    with sizes.shown_in("mm"):
        assert show_rate(quantity) == metric
    for unit in ("in", "thou", "ft"):
        with sizes.shown_in(unit):
            assert show_rate(quantity) == inch


def test_a_unit_asked_for_goes_before_the_one_everything_is_shown_in():
    with sizes.shown_in("in"):
        assert show_rate(feed("2400 mm/min"), "mm/min") == "2400 mm/min"
    assert show_rate(feed("2400 mm/min")) == "2400 mm/min"


@given(st.floats(1e-3, 1e6), st.sampled_from(["mm/min", "in/min", "m/min", "mm/s", "in/s"]))
def test_a_written_feed_reads_back_to_four_figures(value, unit):
    quantity = feed(value, unit)
    assert feed(show_rate(quantity)).m_as(unit) == pytest.approx(value, rel=5.1e-4)


@given(st.floats(1, 1e6))
def test_a_written_spindle_speed_reads_back(value):
    assert spindle_speed(show_rate(spindle_speed(value))).m == pytest.approx(value, rel=5.1e-4)


@given(st.text(alphabet="0123456789.,- /minrevpsftq#'\"⁻¹", max_size=14))
def test_any_text_is_read_or_refused(text):
    for read in (feed, surface_speed, spindle_speed, count):
        with suppress(SizeError):
            assert np.isfinite(read(text).magnitude)


# --- the kinds made of them ---


def relation():
    return relations.Relations(
        "rates",
        relations.Variable("length", "a", LENGTH, "a length", optional=True),
        relations.Variable("turns", "n", COUNT, "a count", optional=True),
        relations.Variable("feed", "F", FEED_RATE, "a feed", optional=True),
        relations.Variable("spindle_speed", "s", SPINDLE_SPEED, "a speed", optional=True),
        relations.Variable("surface_speed", "v", SURFACE_SPEED, "a speed", optional=True),
        equations=("F = n*s*a", "v = pi*a*s"),
    )


@pytest.mark.parametrize(
    ("typed", "feed_unit", "speed_unit"),
    [
        ("0.5 mm", "mm/min", "m/min"),
        ("1/64 in", "in/min", "ft/min"),
        ("15 thou", "in/min", "ft/min"),
        ("0.001 ft", "in/min", "ft/min"),
    ],
)
def test_rates_come_in_the_system_the_length_was_typed_in(typed, feed_unit, speed_unit):
    found = relation().solve(length=typed, turns=2, spindle_speed=1000)
    assert f"{found.feed.units:~P}" == feed_unit
    assert f"{found.surface_speed.units:~P}" == speed_unit
    assert found.feed.m_as("mm/min") == pytest.approx(2000 * sizes.mm(sizes.length(typed)))


def test_a_length_comes_in_the_system_the_feed_was_typed_in():
    found = relation().solve(feed="30 in/min", turns=2, spindle_speed=1000)
    assert f"{found.length.units:~P}" == "in"
    assert found.length.magnitude == pytest.approx(0.015)


def test_the_unit_asked_for_goes_before_the_one_typed():
    found = relation().solve(unit="mm", feed="30 in/min", turns=2, spindle_speed=1000)
    assert f"{found.length.units:~P}" == "mm"
    assert f"{found.feed.units:~P}" == "in/min"


def test_rates_are_told_explained_and_weighed():
    found = relation().solve(length="0.25 mm", turns=1, spindle_speed="18,000 rpm")
    assert "4500 mm/min" in repr(found)
    assert "18000 rev/min" in str(found.explain("feed"))
    assert found.explain("feed")._repr_latex_()
    assert found.sensitivity("feed")["spindle_speed"].m_as("mm/min/rpm") == pytest.approx(0.25)
    assert "100 rpm more spindle speed" in str(found.sensitivity("feed"))
