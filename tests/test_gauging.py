"""Gauging a cone with balls, and putting a part right after it was measured."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from holecalc import sizes
from holecalc.countersink import CUT
from holecalc.gauging import BALL, TWO_BALLS, correct
from holecalc.helix import BORE
from holecalc.relations import NoAnswer, RelationsError, Solution, TooFewGivens
from holecalc.sizes import SizeError, length
from holecalc.stack import DEPTHS
from project import check_values

BALLS = [row for row in check_values("gauging-balls") if row["protrusion"]]
PAIRS = [row for row in check_values("gauging-balls") if row["height_difference"]]


def ball_known(row: dict[str, str]) -> dict[str, Any]:
    unit = row["unit"]
    return {
        "ball_diameter": f"{row['ball_diameter']} {unit}",
        "top_diameter": f"{row['top_diameter']} {unit}",
        "included_angle": f"{row['included_angle_deg']}°",
        "protrusion": f"{row['protrusion']} {unit}",
    }


@pytest.mark.parametrize("row", BALLS, ids=lambda row: row["included_angle_deg"])
@pytest.mark.parametrize(
    "unknown", ["protrusion", "top_diameter", "ball_diameter", "included_angle"]
)
def test_worked_balls_come_out_and_back_for_each_quantity(row, unknown):
    known = ball_known(row)
    wanted = known.pop(unknown)
    found = BALL.solve(**known)[unknown]
    place = 0.00005 if row["unit"] == "in" else 0.0005
    if unknown == "included_angle":
        assert found.m_as("deg") == pytest.approx(float(row["included_angle_deg"]), abs=0.05)
    else:
        # The protrusion is printed to half a place; the others follow it at most twice as far.
        assert found.m_as(row["unit"]) == pytest.approx(
            length(wanted).m_as(row["unit"]), abs=place * (1 if unknown == "protrusion" else 2)
        )


@pytest.mark.parametrize("row", PAIRS, ids=lambda row: row["included_angle_deg"])
def test_two_worked_balls_tell_the_angle(row):
    unit = row["unit"]
    known = {
        "large_ball_diameter": f"{row['ball_diameter']} {unit}",
        "small_ball_diameter": f"{row['small_ball_diameter']} {unit}",
    }
    cone = TWO_BALLS.solve(**known, height_difference=f"{row['height_difference']} {unit}")
    assert cone.included_angle.m_as("deg") == pytest.approx(
        float(row["included_angle_deg"]), abs=0.02
    )
    back = TWO_BALLS.solve(**known, included_angle=float(row["included_angle_deg"]))
    assert back.height_difference.m_as(unit) == pytest.approx(
        float(row["height_difference"]), abs=0.0005
    )


@given(ball=st.floats(1, 30), degrees=st.floats(30, 150), room=st.floats(1.0, 3.0))
@settings(deadline=None)
def test_a_ball_lies_where_it_would_come_to_rest_in_the_cone(ball, degrees, room):
    """Lowered until some point of its surface meets the cone, found by looking at them all."""
    half = math.radians(degrees) / 2
    top = ball * math.cos(half) * room
    told = BALL.solve(
        ball_diameter=length(ball, "mm"), top_diameter=length(top, "mm"), included_angle=degrees
    )

    def least_centre_height(r: float) -> float:
        # The ball's lower half at radius r must not lie below the cone's surface there.
        cone = -(top / 2 - r) / math.tan(half)
        return cone + math.sqrt(max((ball / 2) ** 2 - r**2, 0))

    best = minimize_scalar(
        lambda r: -least_centre_height(r),
        bounds=(0, ball / 2),
        method="bounded",
        options={"xatol": 1e-10},
    )
    assert sizes.mm(told.protrusion) == pytest.approx(-best.fun + ball / 2, abs=1e-7)
    assert sizes.mm(told.contact_diameter) == pytest.approx(2 * best.x, abs=1e-3 * ball)


@pytest.mark.parametrize(
    ("known", "contact"),
    [
        # 12 mm at 90° touches at 8.485 mm: outside a top of 8.4 mm, inside one of 8.5 mm.
        ({"ball_diameter": "12 mm", "top_diameter": "8.4 mm"}, "8.485 mm"),
        ({"ball_diameter": "20 mm", "top_diameter": "12.6 mm"}, "14.142 mm"),
    ],
)
def test_a_ball_too_large_for_the_cone_is_said_with_its_circle(known, contact):
    with pytest.raises(NoAnswer, match="too large for the cone") as caught:
        BALL.solve(**known, included_angle=90)
    assert contact in str(caught.value)
    assert "smaller ball" in str(caught.value)


@pytest.mark.parametrize("top", ["8.486 mm", "12.6 mm"])
def test_a_ball_that_touches_inside_the_face_is_answered(top):
    BALL.solve(ball_diameter="12 mm", top_diameter=top, included_angle=90)


def test_a_ball_that_drops_on_the_holes_edge_is_said_with_its_circle():
    known = {"top_diameter": "12.6 mm", "included_angle": 90, "hole_diameter": "6.6 mm"}
    # 9 mm touches at 6.364 mm, below the cone's end; 9.4 mm at 6.647 mm.
    with pytest.raises(NoAnswer, match="too small for the cone") as caught:
        BALL.solve(ball_diameter="9 mm", **known)
    assert "6.364 mm" in str(caught.value)
    assert "6.600 mm" in str(caught.value)
    BALL.solve(ball_diameter="9.4 mm", **known)


def test_a_ball_out_of_the_cone_in_an_array_is_said():
    with pytest.raises(RelationsError):
        BALL.solve(
            ball_diameter=length([12.0, 20.0], "mm"), top_diameter="12.6 mm", included_angle=90
        )


def test_a_ball_below_the_face_has_a_negative_protrusion():
    # A 3 mm ball in a 90° cone of 12.6: 1.5 (1 + √2) - 6.3.
    told = BALL.solve(ball_diameter="3 mm", top_diameter="12.6 mm", included_angle=90)
    assert sizes.mm(told.protrusion) == pytest.approx(1.5 * (1 + math.sqrt(2)) - 6.3)


def test_one_ball_alone_is_too_little():
    with pytest.raises(TooFewGivens) as caught:
        BALL.solve(ball_diameter="12 mm", top_diameter="12.6 mm")
    assert set(caught.value.would_do) == {"included_angle", "protrusion", "contact_diameter"}


@pytest.mark.parametrize("difference", ["2 mm", "4 mm", "0 mm"])
def test_two_balls_too_close_in_height_fit_no_cone(difference):
    """However wide the cone, 12 and 8 mm differ by more than (12 - 8) / 2 · 2 = 4 mm."""
    with pytest.raises(RelationsError):
        TWO_BALLS.solve(
            large_ball_diameter="12 mm", small_ball_diameter="8 mm", height_difference=difference
        )


# --- putting it right ------------------------------------------------------------------------


def planned(**changed: Any) -> Solution:
    return CUT.solve(
        **{
            "top_diameter": "12.6 mm",
            "circle_diameter": "4 mm",
            "tip_diameter": "0.2 mm",
            "included_angle": 90,
            "hole_diameter": "6.6 mm",
            **changed,
        }
    )


class Machine:
    """Cuts what it is told, but for errors of its own that it does not know of [mm]."""

    def __init__(self, zero: float = 0, worn: float = 0, oversize: float = 0) -> None:
        self.zero, self.worn, self.oversize = zero, worn, oversize

    def cut(self, depth: float, circle: float, *, tip: float = 0.2, degrees: float = 90) -> float:
        """The top diameter of the part that comes off it.

        `zero` sets the tip that much too deep, `worn` is what is missing at its end, which it
        does not know of either, and `oversize` is what the circle comes out large.
        """
        slope = math.tan(math.radians(degrees) / 2)
        # A tip worn short by w was touched off on its worn end: its flat has grown by 2 w tan.
        flat = tip + 2 * self.worn * slope
        return circle + self.oversize + flat + 2 * (depth + self.zero) * slope


@pytest.mark.parametrize("degrees", [60, 82, 90, 120])
@pytest.mark.parametrize(
    "machine",
    [
        Machine(zero=0.1),
        Machine(zero=-0.13),
        Machine(worn=0.07),
        Machine(oversize=0.2),
        Machine(zero=-0.2, worn=0.05, oversize=-0.1),
    ],
    ids=["deep zero", "shallow zero", "worn tip", "large circle", "all of them"],
)
@pytest.mark.parametrize("change", ["depth", "circle_diameter"])
def test_one_correction_cures_a_standing_error_and_a_second_says_leave_it(machine, degrees, change):
    plan = planned(included_angle=degrees)
    set_to = {"depth": sizes.mm(plan.depth), "circle_diameter": 4.0}
    first = machine.cut(set_to["depth"], set_to["circle_diameter"], degrees=degrees)
    told = correct(plan, change=change, top_diameter=length(first, "mm"))
    assert told.change == change
    assert sizes.mm(told.old) == pytest.approx(set_to[change])
    # The operator turns the one knob by as much as the correction says.
    set_to[change] += sizes.mm(told.new) - sizes.mm(told.old)
    second = machine.cut(set_to["depth"], set_to["circle_diameter"], degrees=degrees)
    assert second == pytest.approx(12.6, abs=1e-9)
    leave = correct(plan, change=change, top_diameter=length(second, "mm"), plus_minus="0.001 mm")
    assert leave.old == leave.new
    assert str(leave).startswith("leave ")


def test_a_correction_tells_what_to_turn_by_how_much_and_why():
    told = correct(planned(), top_diameter="12.80 mm")
    # 0.2 mm large, and 0.1 mm of depth moves it by 0.2 mm at 90°.
    text = str(told)
    assert text.startswith("depth: from 4.200 mm to 4.100 mm. ")
    assert "0.200 mm large" in text
    assert "0.1 mm less deep makes it 0.200 mm smaller" in text
    small = correct(planned(), top_diameter="12.50 mm").why
    assert "0.100 mm small; 0.1 mm deeper makes it 0.200 mm larger." in small


def test_a_correction_says_which_way_to_turn_a_circle():
    large = correct(planned(), change="circle_diameter", top_diameter="12.80 mm")
    # The top grows as the circle does: D = C + T + 2 z tan(A/2).
    assert str(large) == (
        "circle diameter: from 4.000 mm to 3.800 mm. top diameter came out 0.200 mm large; "
        "0.1 mm less circle diameter makes it 0.100 mm smaller."
    )
    small = correct(planned(), change="circle_diameter", top_diameter="12.50 mm")
    assert small.why.endswith("0.1 mm more circle diameter makes it 0.100 mm larger.")


def test_a_correction_says_which_way_to_turn_a_path():
    bore = BORE.solve(bore_diameter="47 mm", cutter_diameter="12 mm", depth="10 mm", passes=5)
    large = correct(bore, change="path_diameter", bore_diameter="47.06 mm")
    assert str(large) == (
        "path diameter: from 35.000 mm to 34.940 mm. bore diameter came out 0.060 mm large; "
        "0.1 mm less path diameter makes it 0.100 mm smaller."
    )
    small = correct(bore, change="path_diameter", bore_diameter="46.92 mm")
    assert small.why.endswith("0.1 mm more path diameter makes it 0.100 mm larger.")


def test_a_result_that_shrinks_as_the_depth_grows_is_told_so():
    # The web is what the pocket leaves of the plate: 20 - 8 = 12.
    pocket = DEPTHS.solve(
        plate_thickness="20 mm", depth="8 mm", height="5 mm", below=0, other_depth=0
    )
    thin = correct(pocket, web="11.8 mm")
    assert str(thin) == (
        "depth: from 8.000 mm to 7.800 mm. web came out 0.200 mm small; "
        "0.1 mm less deep makes it 0.100 mm larger."
    )
    thick = correct(pocket, web="12.3 mm")
    assert thick.why.endswith("0.1 mm deeper makes it 0.100 mm smaller.")


def test_a_correction_comes_in_the_units_of_the_plan():
    plan = CUT.solve(
        top_diameter="0.500 in", circle_diameter="1/8 in", tip_diameter=0, included_angle=82
    )
    told = correct(plan, top_diameter="0.504 in")
    assert told.new.units == length("1 in").units
    # 0.004 in large: 0.004 / (2 tan 41°) = 0.0023 in less deep.
    assert (told.old - told.new).m_as("in") == pytest.approx(0.004 / 2 / math.tan(math.radians(41)))
    assert "0.001 in less deep makes it 0.0017 in smaller" in told.why
    # A bare measurement is in the plan's own unit.
    assert correct(plan, top_diameter=0.504) == told


@pytest.mark.parametrize(
    ("measured", "changed"),
    [("12.62 mm", False), ("12.58 mm", False), ("12.63 mm", True), ("12.57 mm", True)],
)
def test_what_is_within_the_measuring_uncertainty_is_left(measured, changed):
    told = correct(planned(), top_diameter=measured, plus_minus="0.025 mm")
    assert (told.old != told.new) is changed
    if not changed:
        assert "as planned within ±0.025 mm" in str(told)


@pytest.mark.parametrize(
    ("measured", "doubt", "changed"),
    [
        # What floats make of 12.65 - 12.6 is a hair more than 0.05.
        ("12.65 mm", "±0.05 mm", False),
        ("12.55 mm", "0.05 mm", False),
        ("12.7 mm", "0.1 mm", False),
        ("12.5 mm", "+/-0.1 mm", False),
        ("12.651 mm", "±0.05 mm", True),
        ("12.549 mm", "±0.05 mm", True),
        # It may come out large but not small.
        ("12.65 mm", ("0 mm", "0.05 mm"), False),
        ("12.59 mm", ("0 mm", "0.05 mm"), True),
        ("12.651 mm", ("0 mm", "0.05 mm"), True),
        ("12.65 mm", 0.05, False),
    ],
)
def test_the_ends_of_the_measuring_uncertainty_belong_to_it(measured, doubt, changed):
    told = correct(planned(), top_diameter=measured, plus_minus=doubt)
    assert (told.old != told.new) is changed


@pytest.mark.parametrize("doubt", ["-0.05 mm", "+0.05 mm", "much", "5°"])
def test_an_uncertainty_that_is_no_tolerance_is_refused(doubt):
    with pytest.raises(SizeError):
        correct(planned(), top_diameter="12.7 mm", plus_minus=doubt)


@pytest.mark.parametrize("measured", ["12.6004 mm", "12.5996 mm", "12.6 mm"])
def test_what_is_written_as_nothing_is_as_planned(measured):
    told = correct(planned(), top_diameter=measured)
    assert told.new == told.old
    assert told.why == "top diameter came out as planned."


def test_a_plan_in_thousandths_of_an_inch_is_corrected_in_them():
    plan = CUT.solve(
        top_diameter="500 thou", circle_diameter="125 thou", tip_diameter=0, included_angle=90
    )
    # 4 thou large: 2 thou less deep at 90°; a bare measurement is in thou too.
    told = correct(plan, top_diameter=504, plus_minus=1)
    assert str(told).startswith("depth: from 187.5 thou to 185.5 thou. ")
    assert "1 thou less deep makes it 2.0 thou smaller" in told.why


def test_the_cones_depth_can_be_measured_too():
    # The cone depth is (D - d) / 2 at 90°: 3 mm planned, 3.1 mm measured, 0.1 mm less deep.
    told = correct(planned(), cone_depth="3.1 mm")
    assert sizes.mm(told.old - told.new) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({}, "was given 0"),
        ({"top_diameter": "12.7 mm", "cone_depth": "3 mm"}, "was given 2"),
        ({"depth": "4.2 mm"}, "cannot be measured here"),
        ({"protrusion": "4.2 mm"}, "cannot be measured here"),
        ({"top_diameter": "12.7 mm", "change": "cone_depth"}, "is not set at the machine"),
        ({"top_diameter": "12.7 mm", "change": "feed"}, "is not set at the machine"),
    ],
)
def test_what_cannot_be_corrected_is_refused_with_the_reason(given, reason):
    with pytest.raises(TypeError, match=reason):
        correct(planned(), **given)


@pytest.mark.parametrize("value", ["wide", None, "82 deg"])
def test_a_measurement_that_is_no_size_is_refused(value):
    with pytest.raises(SizeError):
        correct(planned(), top_diameter=value)


def test_an_error_too_large_to_put_right_has_no_answer():
    with pytest.raises(RelationsError):
        correct(planned(), top_diameter="25 mm")


def test_a_setting_that_does_not_move_what_was_measured_is_refused():
    with pytest.raises(TypeError, match=r"'hole_diameter' does not move top_diameter\. These do: "):
        correct(planned(), change="hole_diameter", top_diameter="12.7 mm")
