"""Lines and arcs: closed forms against sampling, and what a profile refuses."""

import math

import numpy as np
import pytest

from holecalc.form_cutter import Arc, Line, OutlineError, Profile
from holecalc.form_cutter.outline import area_beside, edge_left, nearest, within

SQUARE = (
    Line((0, 0), (2, 0), "tip"),
    Line((2, 0), (2, 3), "side"),
    Line((2, 3), (0, 3), "top"),
    Line((0, 3), (0, 0), "axis"),
)
# A quarter about (4, 1) with radius 2, from its left to its top: as a concave cutter has it.
QUARTER = Arc((2, 1), (4, 3), (4, 1), "arc")


def along(segment, count=2001):
    """Points along a piece."""
    part = np.linspace(0, 1, count)
    if isinstance(segment, Line):
        ends = np.array([segment.start, segment.end])
        return ends[0] + part[:, None] * (ends[1] - ends[0])
    x, y = np.array(segment.start) - segment.centre
    turn = part * segment.sweep
    spun = np.column_stack(
        [x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)]
    )
    return spun + segment.centre


@pytest.mark.parametrize("segment", [QUARTER, Line((1, 2), (4, 7)), Arc((4, 3), (2, 1), (4, 1))])
def test_length_and_area_against_sampling(segment):
    points = along(segment)
    steps = np.diff(points, axis=0)
    middle = (points[1:] + points[:-1]) / 2
    assert segment.length == pytest.approx(np.sum(np.hypot(*steps.T)), rel=1e-6)
    assert segment.area == pytest.approx(np.sum(middle[:, 0] * steps[:, 1]), rel=1e-6)
    assert points[-1] == pytest.approx(segment.end)


def test_bulge_is_the_tangent_of_a_quarter_of_the_sweep():
    # From its left to its top the arc turns clockwise by 90°.
    assert QUARTER.sweep == pytest.approx(-math.pi / 2)
    assert QUARTER.bulge == pytest.approx(-math.tan(math.radians(22.5)))
    assert Line((0, 0), (1, 1)).bulge == 0


@pytest.mark.parametrize("segment", [QUARTER, Line((2, 1), (4, 3))])
@pytest.mark.parametrize("axis", [0, 1])
def test_crossing_lies_on_the_piece(segment, axis):
    value = segment.start[axis] + 0.7
    point = segment.crossing(axis, value)
    assert point[axis] == pytest.approx(value)
    gaps = np.hypot(*(along(segment, 20001) - point).T)
    assert gaps.min() < 1e-4


@pytest.mark.parametrize("segment", [QUARTER, Line((2, 1), (4, 3))])
def test_within_keeps_what_lies_between(segment):
    kept = within(segment, 0, 2.5, 3.5)
    assert kept.start[0] == pytest.approx(2.5)
    assert kept.end[0] == pytest.approx(3.5)
    assert within(segment, 0, 5, 6) is None
    assert within(segment, 1, -3, 0.5) is None
    assert within(segment, 0, 0, 9) == segment
    assert within(segment, 0, 4, 9) is None


def test_a_piece_along_the_cut_is_not_within():
    assert within(Line((1, 0), (1, 5)), 0, 1, 9) is None


@pytest.mark.parametrize("segment", [QUARTER, Line((2, 1), (4, 3))])
def test_moved_and_turned_over(segment):
    moved = segment.moved(1, -2)
    assert moved.start == (3, -1)
    assert moved.length == pytest.approx(segment.length)
    over = segment.turned_over(10)
    assert over.start == (segment.end[0], -10 - segment.end[1])
    assert over.end == (segment.start[0], -10 - segment.start[1])
    assert over.turned_over(10) == segment


def test_nearest_along_a_ray():
    # From the centre every way to the arc is its radius; away from it there is nothing.
    slope = math.sqrt(0.5)
    assert nearest([QUARTER], (4, 1), (-slope, slope)) == pytest.approx(2)
    assert nearest([QUARTER], (4, 1), (slope, -slope)) == math.inf
    assert nearest([Line((0, 2), (5, 2))], (1, 0), (0, 1)) == pytest.approx(2)
    assert nearest([Line((0, 2), (5, 2))], (9, 0), (0, 1)) == math.inf
    assert nearest([Line((0, 2), (5, 2))], (1, 0), (1, 0)) == math.inf


def test_an_arc_ends_as_far_from_its_centre_as_it_starts():
    with pytest.raises(OutlineError, match="both must be as far"):
        Arc((2, 1), (4, 4), (4, 1))


def test_an_arc_stays_in_one_quadrant():
    with pytest.raises(OutlineError, match="two quadrants"):
        Arc((2, 1), (4 + math.sqrt(2), 1 + math.sqrt(2)), (4, 1))


def test_a_closed_profile_is_taken_and_told():
    profile = Profile(SQUARE)
    assert len(profile) == 4
    assert profile.area == pytest.approx(6)
    assert "side      (2.000, 0.000) to (2.000, 3.000)" in str(profile)


@pytest.mark.parametrize(
    ("segments", "message"),
    [
        ((), "holds nothing"),
        ((SQUARE[0], *SQUARE[2:]), r"open: top starts 3\.000000 mm from where tip ended"),
        (SQUARE[:3], "open: tip starts"),
        (
            (SQUARE[0], Line((2, 0), (2, 0), "stub"), *SQUARE[1:]),
            "stub has no length",
        ),
        (
            (
                Line((0, 0), (2, 0), "tip"),
                Line((2, 0), (2, 3), "side"),
                Line((2, 3), (1, 2), "back"),
                Line((1, 2), (0, 2), "top"),
                Line((0, 2), (0, 0), "axis"),
            ),
            "back goes back towards the tip",
        ),
        (
            (
                Line((0, 0), (2, 0), "tip"),
                Line((2, 0), (-1, 3), "side"),
                Line((-1, 3), (0, 0), "axis"),
            ),
            "side crosses the axis",
        ),
    ],
)
def test_a_profile_that_is_open_or_out_of_order_is_refused(segments, message):
    with pytest.raises(OutlineError, match=message):
        Profile(segments)


def test_edge_left_of_an_untouched_plate_is_its_wall():
    path = edge_left([Line((-5, -20), (-5, 1), "stub")], wall=0.0, thickness=10)
    assert path == (Line((0.0, -10), (0.0, 0.0), "wall"),)
    assert area_beside(path, 0.0) == 0


def test_edge_left_beside_a_quarter():
    arc = QUARTER.moved(-2, -3)
    path = edge_left([arc], wall=0.0, thickness=10)
    assert [piece.part for piece in path] == ["wall", "arc"]
    # A square of R less a quarter circle: R² (1 - π/4).
    assert area_beside(path, 0.0) == pytest.approx(4 * (1 - math.pi / 4))
