"""Bearing and shear-out against hand arithmetic and a numerical area."""

import math

import numpy as np
import pytest

from holecalc import holding, sizes
from holecalc.holding import CAUTION, HoldingError

FLANGE = {"outside_diameter": "22 mm", "inside_diameter": "10 mm", "plate_under": "16 mm"}


def test_a_flange_by_hand():
    # 2000 / (pi/4 (22² - 10²)) = 2000 / 301.59; 2000 / (pi 22 16) = 2000 / 1105.84
    held = holding.holding("2 kN", **FLANGE, bearing_strength="5 MPa", shear_strength="4 MPa")
    assert held.pressure.m_as("MPa") == pytest.approx(6.631, abs=0.001)
    assert held.shear.m_as("MPa") == pytest.approx(1.809, abs=0.001)
    assert held.load_to_bed.m_as("N") == pytest.approx(1508, abs=0.5)
    assert held.load_to_shear.m_as("N") == pytest.approx(4423, abs=0.5)
    assert f"{held.load_to_bed.units:~P}" == "kN"


def test_the_ring_by_counting_squares():
    grid = np.arange(-11, 11, 0.02) + 0.01
    x, y = np.meshgrid(grid, grid)
    radius = np.hypot(x, y)
    area = ((radius < 11) & (radius > 5)).sum() * 0.02**2
    held = holding.holding("1 N", **FLANGE)
    assert held.bearing_area.m_as("mm**2") == pytest.approx(area, rel=1e-3)


def test_inches_and_pounds():
    held = holding.holding(
        "450 lb", outside_diameter="7/8 in", inside_diameter="0.4 in", plate_under="1/2 in"
    )
    assert held.pressure.m_as("psi") == pytest.approx(450 / (math.pi / 4 * (0.875**2 - 0.4**2)))
    assert f"{held.pressure.units:~P}" == "psi"
    metric = holding.holding(
        "450 lb", outside_diameter="22.225 mm", inside_diameter="10.16 mm", plate_under="12.7 mm"
    )
    assert metric.pressure.m_as("psi") == pytest.approx(held.pressure.m_as("psi"))
    assert metric.shear.m_as("psi") == pytest.approx(held.shear.m_as("psi"))


@pytest.mark.parametrize(
    ("text", "newtons"),
    [
        ("2 kN", 2000),
        ("2,5 kN", 2500),
        ("800N", 800),
        ("100 lbf", 444.82),
        ("10 kgf", 98.07),
        (sizes.ureg.Quantity(3.0, "kN"), 3000),
    ],
)
def test_forces_are_read(text, newtons):
    assert holding.force(text).m_as("N") == pytest.approx(newtons, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "pascal"), [("5 MPa", 5e6), ("5 N/mm2", 5e6), ("5 N/mm²", 5e6), ("1 ksi", 6.895e6)]
)
def test_stresses_are_read(text, pascal):
    assert holding.stress(text).m_as("Pa") == pytest.approx(pascal, rel=1e-3)


@pytest.mark.parametrize(
    "text",
    ["", "kN", "5", "5 MPa", "0 N", "-3 kN", 5.5, None, "9**9 N", "1e400 N", "5 furlongs"],
)
def test_what_is_no_force_is_refused(text):
    with pytest.raises(HoldingError):
        holding.force(text)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"inside_diameter": "22 mm"}, "has nothing to bear on"),
        ({"inside_diameter": "-1 mm"}, "has nothing to bear on"),
        ({"plate_under": "0 mm"}, "no plate is left"),
        ({"bearing_strength": "5 kN"}, "'5 kN' is not a stress"),
    ],
)
def test_fastenings_that_cannot_be(change, words):
    with pytest.raises(HoldingError, match=words):
        holding.holding("2 kN", **{**FLANGE, **change})


def test_starting_strengths_are_marked_and_in_order():
    strengths = holding.starting_strengths()
    assert {strength.source for strength in strengths.values()} == {"common practice, no source"}
    for strength in strengths.values():
        assert strength.shear <= strength.bearing
    soft, hard = strengths["MDF"], strengths["aluminium 6061-T6"]
    assert soft.bearing < hard.bearing


def test_the_caution_is_always_told():
    held = holding.holding("2 kN", **FLANGE, bearing_strength="5 MPa")
    assert str(held).endswith(CAUTION)
    assert "licensed engineer" in held._repr_html_()
    assert "133 % of 5 MPa" in str(held)
    assert held.load_to_shear is None
