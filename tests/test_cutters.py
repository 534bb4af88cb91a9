"""Vee cutters, and the flat that a rounded tip acts as, against the shape itself."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecalc import sizes
from holecalc.cutters import CutterError, Drill, EndMill, VeeCutter, flat_of_rounded_tip
from holecalc.sizes import SizeError, angle, length


@pytest.mark.parametrize(
    ("radius", "degrees", "flat"),
    [
        # Plane trigonometry: 2 ρ (1 - sin(A/2)) / cos(A/2).
        (0.5, 90, 0.4142),
        (0.25, 60, 0.2887),
        # By hand: at 2 asin(3/5) the half angle has sine 3/5 and cosine 4/5.
        (1.0, math.degrees(2 * math.asin(0.6)), 1.0),
        (0.0, 90, 0.0),
    ],
)
def test_a_rounded_tip_acts_as_a_flat(radius, degrees, flat):
    told = flat_of_rounded_tip(length(radius, "mm"), degrees)
    assert sizes.mm(told) == pytest.approx(flat, abs=0.00005)


def test_the_flat_comes_in_the_unit_of_the_radius():
    assert flat_of_rounded_tip("0.020 in", "90°").units == length("1 in").units


def tip_profile(radius: float, degrees: float, diameters: np.ndarray) -> np.ndarray:
    """Height above the tip of a ball of a radius with the cone that touches it, sampled.

    The tip is built here from its pieces: a ball standing on its lowest point, and the cone
    whose flank keeps the ball's radius as its distance from the ball's centre.
    """
    r = diameters / 2
    half = math.radians(degrees) / 2
    apex = radius - radius / math.sin(half)
    cone = apex + r / math.tan(half)
    ball = radius - np.sqrt(np.maximum(radius**2 - r**2, 0))
    return np.where(r < radius * math.cos(half), ball, cone)


@given(radius=st.floats(0.05, 5), degrees=st.floats(20, 160))
@settings(deadline=None)
def test_above_the_round_the_flat_cuts_what_the_rounded_tip_cuts(radius, degrees):
    flat = sizes.mm(flat_of_rounded_tip(length(radius, "mm"), degrees))
    start = 2 * radius * math.cos(math.radians(degrees) / 2)
    diameters = np.linspace(start, start + 20, 50)
    height = (diameters - flat) / 2 / math.tan(math.radians(degrees) / 2)
    np.testing.assert_allclose(height, tip_profile(radius, degrees, diameters), atol=1e-9)
    # Below it, the round is wider than the flat's cone there is deep: it cuts less away.
    inside = np.linspace(0, start * 0.999, 20)
    cone = (inside - flat) / 2 / math.tan(math.radians(degrees) / 2)
    assert np.all(tip_profile(radius, degrees, inside) >= cone - 1e-9)


@given(radius=st.floats(0.05, 2), degrees=st.floats(20, 160))
@settings(deadline=None)
def test_the_flanks_start_where_the_round_ends(radius, degrees):
    cutter = VeeCutter("100 mm", degrees, tip_radius=length(radius, "mm"))
    half = math.radians(degrees) / 2
    # Where round and flank meet, the round is as steep as the flank.
    r = sizes.mm(cutter.flank_start_diameter) / 2
    steepness = r / math.sqrt(radius**2 - r**2)
    assert steepness == pytest.approx(1 / math.tan(half), rel=1e-9)
    assert cutter.flank_start_diameter >= cutter.tip_diameter


def test_a_flat_tip_starts_its_flanks_at_the_flat_and_a_sharp_one_at_nothing():
    assert VeeCutter("10 mm", 90, tip_diameter="0.2 mm").flank_start_diameter == length("0.2 mm")
    assert sizes.mm(VeeCutter("10 mm", 90).flank_start_diameter) == 0


def test_a_cutter_keeps_the_units_it_was_measured_in():
    cutter = VeeCutter("1/2 in", "82 deg", tip_diameter="0.5 mm", name="no. 3")
    assert cutter.cutting_diameter.units == length("1 in").units
    assert cutter.tip_diameter.units == length("1 mm").units
    assert cutter.included_angle == angle(82)
    assert cutter == VeeCutter("0.5 in", 82, tip_diameter="0.5 mm", name="no. 3")


def test_cutters_compare_by_their_dimensions_and_not_by_their_names():
    one, other = (VeeCutter("10 mm", 90, name=name) for name in ("one", "other"))
    assert one == other
    assert hash(one) == hash(other)
    assert one != VeeCutter("10 mm", 91, name="one")
    one_mill, other_mill = (EndMill("6 mm", flutes=2, name=name) for name in ("one", "other"))
    assert one_mill == other_mill
    assert one_mill != EndMill("6 mm", flutes=3, name="one")


@given(
    tip=st.floats(0, 2),
    rounded=st.booleans(),
    degrees=st.floats(20, 160),
    diameters=st.lists(st.floats(0, 40), min_size=1, max_size=8),
)
@settings(deadline=None)
def test_the_height_at_a_diameter_is_that_of_the_tips_pieces(tip, rounded, degrees, diameters):
    kind = "tip_radius" if rounded else "tip_diameter"
    cutter = VeeCutter("50 mm", degrees, **{kind: length(tip, "mm")})
    across = np.array(diameters)
    if rounded:
        wanted = tip_profile(tip, degrees, across)
    else:
        slope = math.tan(math.radians(degrees) / 2)
        wanted = np.array([0 if each <= tip else (each - tip) / 2 / slope for each in across])
    height = cutter.height_at(length(across, "mm"))
    np.testing.assert_allclose(sizes.mm(height), wanted, atol=1e-9)
    # And back, where the cutter is not flat.
    beyond = across > sizes.mm(cutter.tip_diameter)
    back = sizes.mm(cutter.diameter_at(height))
    np.testing.assert_allclose(back[beyond], across[beyond], atol=1e-5)


def test_a_cutter_is_as_wide_as_its_flat_at_its_tip():
    cutter = VeeCutter("1/2 in", 90, tip_diameter="0.1 in")
    for at in ("0 in", "-1 in"):
        assert cutter.diameter_at(at).m_as("in") == pytest.approx(0.1)
    assert cutter.height_at("0.3 in").m_as("in") == pytest.approx(0.1)
    assert sizes.mm(VeeCutter("10 mm", 90, tip_radius="1 mm").diameter_at("0 mm")) == 0


@pytest.mark.parametrize(
    ("arguments", "options", "reason"),
    [
        (("10 mm", 0), {}, "between 0° and 180°"),
        (("10 mm", 180), {}, "between 0° and 180°"),
        (("10 mm", -90), {}, "between 0° and 180°"),
        (("0 mm", 90), {}, "it must be larger"),
        (("-10 mm", 90), {}, "it must be larger"),
        (("10 mm", 90), {"tip_diameter": "10 mm"}, "flanks start at 10.00 mm"),
        (("10 mm", 90), {"tip_diameter": "-1 mm"}, "tip flat is -1.00 mm"),
        (("10 mm", 90), {"tip_radius": "-1 mm"}, "tip radius is -1.00 mm"),
        # 2 ρ cos 45° = 11.31 mm
        (("10 mm", 90), {"tip_radius": "8 mm"}, "flanks start at 11.31 mm"),
        (("10 mm", 90), {"tip_diameter": "1 mm", "tip_radius": "1 mm"}, "Give the one it has"),
    ],
)
def test_dimensions_that_are_no_cutter_are_refused_with_the_reason(arguments, options, reason):
    with pytest.raises(CutterError, match=reason):
        VeeCutter(*arguments, **options)


@pytest.mark.parametrize(
    "arguments", [("ten", 90), (10, 90), ("10 mm", "wide"), (None, 90), ("10 mm", None)]
)
def test_what_is_no_size_is_refused(arguments):
    with pytest.raises(SizeError):
        VeeCutter(*arguments)


@pytest.mark.parametrize(
    "cutter",
    [
        VeeCutter("12.7 mm", 90),
        VeeCutter("1/2 in", 82, tip_diameter="0.020 in"),
        VeeCutter("10 mm", 60, tip_radius="0.25 mm", name="engraver"),
        # None of these is what it is when rounded to so many places.
        VeeCutter("1/3 in", "41°20'", tip_diameter="1.23456 thou"),
        VeeCutter(length(10 / 3, "mm"), "1.234567 rad", tip_radius="0.0123456 mm"),
        VeeCutter("1.27 cm", 90, tip_diameter=length(1e-7, "mm")),
        EndMill("6 mm", flutes=2),
        EndMill(
            "1/3 in",
            flutes=1,
            cutting_length="22.1234 mm",
            reach="1-1/3 in",
            shank_diameter="6.3512 mm",
            maximum_spindle_speed="24,001 rpm",
            maximum_ramp_angle="3.333°",
            centre_cutting=False,
            dead_diameter="12.34 thou",
            name="old",
        ),
    ],
    ids=repr,
)
def test_a_cutter_is_written_as_the_python_that_makes_it(cutter):
    again = eval(repr(cutter), {"VeeCutter": VeeCutter, "EndMill": EndMill})
    assert again == cutter
    assert again.name == cutter.name


# --- drills ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter", "point_angle", "height"),
    # By hand: (d / 2) / tan(A / 2).
    [("10 mm", 118, 3.00430), ("10 mm", 90, 5), ("1/4 in", 140, 1.15561), ("6 mm", 180, 0)],
)
def test_a_drill_has_a_point(diameter, point_angle, height):
    drill = Drill(diameter, point_angle=point_angle)
    assert sizes.mm(drill.point_height) == pytest.approx(height, abs=1e-5)


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"diameter": "0 mm"}, "more than 0"),
        ({"diameter": "6 mm", "length": "0 mm"}, "more than 0"),
        ({"diameter": "6 mm", "point_angle": 0}, "between 0° and 180°"),
        ({"diameter": "6 mm", "point_angle": 181}, "Most drills have 118° or 140°"),
    ],
)
def test_what_is_no_drill_is_refused(given, reason):
    with pytest.raises(ValueError, match=reason):
        Drill(**given)
