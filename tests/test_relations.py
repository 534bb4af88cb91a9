"""Relations solved any way round, against independent solvers and against themselves."""

import ast
import itertools
import math
import re
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, fsolve

import holecalc.relations
from holecalc import sizes
from holecalc.countersink import CUT
from holecalc.gauging import BALL, TWO_BALLS
from holecalc.helix import BORE
from holecalc.relations import (
    ANGLE,
    COUNT,
    FEED_RATE,
    LENGTH,
    Condition,
    Contradiction,
    NoAnswer,
    OutOfRange,
    Relations,
    RelationsError,
    SeveralAnswers,
    TooFewGivens,
    Variable,
    roots,
)
from holecalc.relations.closed_forms import closed_forms
from holecalc.sizes import SizeError, angle, length, ureg
from holecalc.tolerance import ToleranceError
from project import ROOT

# --- every determining subset of the real relations ------------------------------------------
#
# The equations stand here once more, written by hand as plain Python, in millimetres and radians.


def cut_residuals(v: Mapping[str, float]) -> list[float]:
    slope = math.tan(v["included_angle"] / 2)
    return [
        v["circle_diameter"] + v["tip_diameter"] + 2 * v["depth"] * slope - v["top_diameter"],
        v["top_diameter"] - v["circle_diameter"] - v["face_cutting_diameter"],
        v["hole_diameter"] - v["circle_diameter"] - v["hole_cutting_diameter"],
        (v["top_diameter"] - v["hole_diameter"]) / (2 * slope) - v["cone_depth"],
    ]


def ball_residuals(v: Mapping[str, float]) -> list[float]:
    half = v["included_angle"] / 2
    centre_above_apex = v["ball_diameter"] / 2 / math.sin(half)
    face_above_apex = v["top_diameter"] / 2 / math.tan(half)
    return [
        centre_above_apex + v["ball_diameter"] / 2 - face_above_apex - v["protrusion"],
        v["ball_diameter"] * math.cos(half) - v["contact_diameter"],
    ]


def two_ball_residuals(v: Mapping[str, float]) -> list[float]:
    def top_above_apex(ball: float) -> float:
        return ball / 2 + ball / 2 / math.sin(v["included_angle"] / 2)

    return [
        top_above_apex(v["large_ball_diameter"])
        - top_above_apex(v["small_ball_diameter"])
        - v["height_difference"]
    ]


def cut_truth(angle_deg: float = 77.0) -> dict[str, float]:
    top, circle, tip, hole, slope = 14.3, 3.7, 0.45, 7.9, math.tan(math.radians(angle_deg) / 2)
    return {
        "top_diameter": top,
        "circle_diameter": circle,
        "tip_diameter": tip,
        "depth": (top - circle - tip) / 2 / slope,
        "included_angle": math.radians(angle_deg),
        "hole_diameter": hole,
        "cone_depth": (top - hole) / 2 / slope,
        "face_cutting_diameter": top - circle,
        "hole_cutting_diameter": hole - circle,
    }


def ball_truth() -> dict[str, float]:
    # The included angle of a cone with sin(A/2) = 3/5, cos(A/2) = 4/5, tan(A/2) = 3/4.
    return {
        "ball_diameter": 6.0,
        "top_diameter": 9.0,
        "included_angle": 2 * math.asin(0.6),
        "protrusion": 3 + 5 - 6.0,
        "contact_diameter": 4.8,
        "hole_diameter": 3.1,
    }


def two_ball_truth() -> dict[str, float]:
    return {
        "large_ball_diameter": 12.0,
        "small_ball_diameter": 8.0,
        "height_difference": 2 + 2 / 0.6,
        "included_angle": 2 * math.asin(0.6),
    }


SYSTEMS = {
    "CUT": (CUT, cut_residuals, cut_truth()),
    "BALL": (BALL, ball_residuals, ball_truth()),
    "TWO_BALLS": (TWO_BALLS, two_ball_residuals, two_ball_truth()),
}


def quantities(relations: Relations, values: Mapping[str, float]) -> dict[str, object]:
    """Millimetres and radians as quantities."""
    units = {"length": "mm", "angle": "rad"}
    return {
        name: ureg.Quantity(value, units[relations.variables[name].kind.name])
        for name, value in values.items()
    }


def determined(
    residuals: Callable[[Mapping[str, float]], list[float]],
    truth: Mapping[str, float],
    given: tuple[str, ...],
) -> set[str]:
    """What follows from the givens: no motion that keeps the equations true moves it."""
    step = 1e-6
    free = [name for name in truth if name not in given]
    if not free:
        return set(truth)
    columns = []
    for name in free:
        above = residuals({**truth, name: truth[name] + step})
        below = residuals({**truth, name: truth[name] - step})
        columns.append((np.array(above) - np.array(below)) / (2 * step))
    _, strengths, motions = np.linalg.svd(np.array(columns).T)
    still_possible = motions[np.sum(strengths > 1e-6) :]
    fixed = np.all(np.abs(still_possible) < 1e-5, axis=0)
    return {*given, *(name for name, is_fixed in zip(free, fixed, strict=True) if is_fixed)}


def test_the_hand_written_equations_hold_at_the_truths():
    for _, residuals, truth in SYSTEMS.values():
        assert residuals(truth) == pytest.approx([0] * len(residuals(truth)), abs=1e-12)


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_subset_that_determines_the_rest_is_solved_and_no_other(system):
    relations, residuals, truth = SYSTEMS[system]
    known = quantities(relations, truth)
    required = {name for name, variable in relations.variables.items() if not variable.optional}
    solved = 0
    for size in range(len(truth) + 1):
        for names in itertools.combinations(truth, size):
            follows = determined(residuals, truth, names)
            if required <= follows:
                found = relations.solutions(**{name: known[name] for name in names})
                best = min(found, key=lambda s: abs(s.base[size_of_all(s)] - truth[size_of_all(s)]))
                assert set(best) == follows, names
                for name in best:
                    assert best.base[name] == pytest.approx(truth[name], abs=1e-7), (names, name)
                solved += 1
            else:
                with pytest.raises(TooFewGivens) as caught:
                    relations.solve(**{name: known[name] for name in names})
                would = {
                    other
                    for other in truth
                    if other not in names
                    and required <= determined(residuals, truth, (*names, other))
                }
                assert set(caught.value.would_do) == would, names
    # Counted by hand for TWO_BALLS: all four, or any three of the four.
    assert solved == {"CUT": 209, "BALL": 30, "TWO_BALLS": 5}[system]


def size_of_all(solution: Mapping[str, object]) -> str:
    """The quantity by which the right one of several solutions is picked."""
    return "included_angle" if "included_angle" in solution else next(iter(solution))


@given(
    top=st.floats(3, 60),
    circle=st.floats(0, 0.9),
    tip=st.floats(0, 0.9),
    degrees=st.floats(20, 160),
    hole=st.floats(0.1, 0.99),
)
@settings(deadline=None)
def test_any_cut_comes_back_from_any_pair_of_unknowns(top, circle, tip, degrees, hole):
    """Circle, tip and hole as fractions of what is left of the top diameter."""
    circle *= top
    tip *= top - circle
    depth = (top - circle - tip) / 2 / math.tan(math.radians(degrees) / 2)
    truth = {
        "top_diameter": top,
        "circle_diameter": circle,
        "tip_diameter": tip,
        "depth": depth,
        "included_angle": math.radians(degrees),
        "hole_diameter": hole * top,
    }
    known = quantities(CUT, truth)
    for name in ("top_diameter", "circle_diameter", "tip_diameter", "depth", "included_angle"):
        found = CUT.solve(**{other: value for other, value in known.items() if other != name})
        assert found.base[name] == pytest.approx(truth[name], rel=1e-9, abs=1e-7)


@given(a=st.floats(20, 160), ball=st.floats(1, 30), room=st.floats(1.01, 4))
@settings(deadline=None, max_examples=40)
def test_any_ball_that_sits_in_the_cone_comes_back_from_its_protrusion(a, ball, room):
    half = math.radians(a) / 2
    contact = ball * math.cos(half)
    top = contact * room
    protrusion = ball / 2 * (1 + 1 / math.sin(half)) - top / 2 / math.tan(half)
    known = quantities(
        BALL,
        {
            "ball_diameter": ball,
            "top_diameter": top,
            "included_angle": 2 * half,
            "protrusion": protrusion,
        },
    )
    for name in ("ball_diameter", "top_diameter", "included_angle"):
        given = {other: value for other, value in known.items() if other != name}
        answers = [found.base[name] for found in BALL.solutions(**given)]
        wanted = known[name].magnitude
        assert min(abs(answer - wanted) for answer in answers) <= 1e-5 * max(1, wanted)
        # And the ball really does touch inside the cone in every answer.
        for found in BALL.solutions(**given):
            assert found.base["contact_diameter"] <= found.base["top_diameter"] + 0.001


def test_a_ball_that_touches_just_inside_the_face_tells_the_angle():
    half = math.radians(158) / 2
    top = 5 * math.cos(half) * 1.001
    protrusion = 2.5 * (1 + 1 / math.sin(half)) - top / 2 / math.tan(half)
    found = BALL.solutions(
        ball_diameter="5 mm", top_diameter=length(top, "mm"), protrusion=length(protrusion, "mm")
    )
    assert any(one.included_angle.m_as("deg") == pytest.approx(158, abs=0.01) for one in found)


@given(a=st.floats(20, 160), ball=st.floats(1, 30), room=st.floats(1.0001, 4))
@settings(deadline=None, max_examples=60)
def test_the_angle_from_a_ball_is_the_half_tangent_form(a, ball, room):
    """A = 4 atan((2p - B ± sqrt(D² - 4Bp + 4p²)) / (B + D)), derived by hand."""
    half = math.radians(a) / 2
    top = ball * math.cos(half) * room
    p = ball / 2 * (1 + 1 / math.sin(half)) - top / 2 / math.tan(half)
    root = math.sqrt(top**2 - 4 * ball * p + 4 * p**2)
    by_hand = [4 * math.atan((2 * p - ball + sign * root) / (ball + top)) for sign in (-1, 1)]
    told = [
        found.base["included_angle"]
        for found in BALL.solutions(
            ball_diameter=length(ball, "mm"),
            top_diameter=length(top, "mm"),
            protrusion=length(p, "mm"),
        )
    ]
    for one in told:
        assert min(abs(one - other) for other in by_hand) < 1e-9
    # Where the ball touches near the rim the two meet; closer than this they are told as one.
    assert min(abs(one - 2 * half) for one in told) <= ANGLE.close


def test_a_ball_as_wide_as_the_cone_tells_one_angle_and_not_also_none():
    """With B = D the half tangent equation has t = 0 besides, which the ball's has not."""
    known = {"ball_diameter": "12.7 mm", "included_angle": 82}
    there = BALL.solve(**known, top_diameter="12.7 mm")
    (back,) = BALL.solutions(
        ball_diameter="12.7 mm", top_diameter="12.7 mm", protrusion=there.protrusion
    )
    assert back.included_angle.m_as("deg") == pytest.approx(82, abs=1e-9)


# --- arrays ----------------------------------------------------------------------------------


def test_arrays_broadcast_against_each_other():
    tops = np.array([10.0, 12.6, 20.0])
    angles = np.array([[60.0], [90.0]])
    cut = CUT.solve(
        top_diameter=length(tops, "mm"),
        circle_diameter="4 mm",
        tip_diameter=0,
        included_angle=angle(angles),
    )
    wanted = (tops - 4) / 2 / np.tan(np.radians(angles) / 2)
    np.testing.assert_allclose(cut.depth.m_as("mm"), wanted, rtol=1e-13)
    assert cut.depth.magnitude.shape == (2, 3)
    assert cut.face_cutting_diameter.magnitude.shape == (3,)


@pytest.mark.parametrize(
    "unknown", ["top_diameter", "circle_diameter", "tip_diameter", "depth", "included_angle"]
)
def test_an_array_is_solved_as_each_of_its_elements_is(unknown):
    many = {
        "top_diameter": np.array([10.0, 12.6, 20.0]),
        "circle_diameter": np.array([0.0, 4.0, 7.0]),
        "tip_diameter": np.array([0.1, 0.0, 0.5]),
        "included_angle": np.radians([60.0, 90.0, 100.0]),
    }
    slope = np.tan(many["included_angle"] / 2)
    many["depth"] = (
        (many["top_diameter"] - many["circle_diameter"] - many["tip_diameter"]) / 2 / slope
    )
    del many[unknown]
    together = CUT.solve(**quantities(CUT, many))
    for k in range(3):
        alone = CUT.solve(**quantities(CUT, {name: float(v[k]) for name, v in many.items()}))
        for name in alone:
            assert np.broadcast_to(together.base[name], 3)[k] == pytest.approx(
                alone.base[name], rel=1e-12, abs=1e-12
            )


def test_arrays_that_do_not_fit_together_are_refused():
    with pytest.raises(ValueError, match="broadcast"):
        CUT.solve(
            top_diameter=length([10.0, 12.0], "mm"),
            circle_diameter=length([1.0, 2.0, 3.0], "mm"),
            tip_diameter=0,
            included_angle=90,
        )


def test_an_element_without_an_answer_is_named():
    with pytest.raises(RelationsError) as caught:
        CUT.solve(
            top_diameter=length([10.0, 2.0, 12.0, 3.0], "mm"),
            circle_diameter="4 mm",
            tip_diameter=0,
            included_angle=90,
        )
    assert "2 of the values given have no answer, number 1 (counting from 0)" in str(caught.value)


def test_an_element_that_contradicts_is_told_with_its_numbers():
    with pytest.raises(Contradiction, match=r"circle diameter 3\.000 mm") as caught:
        CUT.solve(
            top_diameter="12 mm",
            circle_diameter=length([4.0, 3.0], "mm"),
            tip_diameter=0,
            included_angle=90,
            depth="4 mm",
        )
    assert "1.000 mm apart" in str(caught.value)


# --- relations of our own: chains, joint systems, roots --------------------------------------


def lengths(*symbols: str, **options: object) -> list[Variable]:
    return [Variable(f"{s}_value", s, LENGTH, f"the {s}", **options) for s in symbols]


KEPLER = Relations(
    "Kepler's equation",
    Variable("mean", "M", ANGLE, "mean anomaly", zero=True, high=math.pi),
    Variable("eccentric", "E", ANGLE, "eccentric anomaly", zero=True, high=math.pi),
    *lengths("e"),
    equations=("M = E - e*sin(E)",),
)


@given(degrees=st.floats(0, 179), e=st.floats(0.01, 0.95))
@settings(deadline=None, max_examples=40)
def test_a_root_without_closed_form_agrees_with_brentq(degrees, e):
    mean = math.radians(degrees)
    wanted = brentq(lambda E: E - e * math.sin(E) - mean, 0, math.pi, xtol=1e-14)
    found = KEPLER.solve(mean=degrees, e_value=length(e, "mm"))
    assert found.base["eccentric"] == pytest.approx(wanted, abs=1e-8)


def test_roots_of_arrays_are_found_element_by_element():
    mean, e = np.radians([[10.0], [40.0], [100.0], [179.0]]), np.array([0.0001, 0.3, 0.5, 0.95])
    found = KEPLER.solve(mean=angle(np.degrees(mean)), e_value=length(e, "mm"))
    wanted = [
        [brentq(lambda E, m=m, k=k: E - k * math.sin(E) - m, 0, math.pi, xtol=1e-14) for k in e]
        for (m,) in mean
    ]
    np.testing.assert_allclose(found.base["eccentric"], wanted, atol=1e-8)


def test_every_root_in_range_is_told():
    wavy = Relations("wavy", *lengths("x"), *lengths("y"), equations=("y = sin(x) + x/10",))
    found = wavy.solutions(y_value="0.5 mm")
    # By hand: sin x = 0.5 - x/10 needs x between -5 and 15; sampled finely there, with brentq.
    x = np.linspace(1e-6, 15, 100_001)
    f = np.sin(x) + x / 10 - 0.5
    wanted = [
        brentq(lambda u: math.sin(u) + u / 10 - 0.5, x[i], x[i + 1])
        for i in np.flatnonzero(np.signbit(f[:-1]) != np.signbit(f[1:]))
    ]
    assert len(wanted) == 5
    assert [solution.base["x_value"] for solution in found] == pytest.approx(wanted, abs=1e-8)
    with pytest.raises(SeveralAnswers, match="5 answers fit wavy") as caught:
        wavy.solve(y_value="0.5 mm")
    assert len(caught.value.solutions) == 5


def test_a_pole_is_not_taken_for_a_root():
    pole = Relations(
        "pole", *lengths("x", high=3.0), *lengths("y"), equations=("y = x + sin(x) + tan(x)",)
    )

    def apart(x: float) -> float:
        return x + math.sin(x) + math.tan(x) - 1

    # The pole of the tangent at pi / 2 changes sign as well.
    wanted = [brentq(apart, 0, 1.5), brentq(apart, 1.6, 3)]
    found = [one.base["x_value"] for one in pole.solutions(y_value="1 mm")]
    assert found == pytest.approx(wanted, abs=1e-8)


@pytest.mark.parametrize(
    ("low", "high", "x"),
    [(0.0, math.inf, 2.0), (-math.inf, math.inf, -2.0), (-math.inf, 0.0, -2.0), (-3.0, 3.0, -2.0)],
)
def test_roots_are_looked_for_in_the_permitted_range(low, high, x):
    relations = Relations(
        "transcendental",
        *lengths("x", low=low, high=high),
        *lengths("y", low=-math.inf),
        equations=("y = x + exp(x)",),
    )
    y = x + math.exp(x)
    assert relations.solve(y_value=length(y, "mm")).base["x_value"] == pytest.approx(x, abs=1e-8)


def test_a_million_elements_are_scanned_a_part_at_a_time(monkeypatch):
    mean, e = np.radians(np.linspace(1, 179, 101)), np.array([[0.1], [0.9]])
    known = {"mean": angle(np.degrees(mean)), "e_value": length(e, "mm")}
    whole = KEPLER.solve(**known).base["eccentric"]
    largest = []

    class Watched:
        def __init__(self, residual):
            self.names, self.residual = residual.names, residual

        def __call__(self, values):
            value = self.residual(values)
            largest.append(np.size(value))
            return value

    find = roots.find_roots
    monkeypatch.setattr(
        "holecalc.relations.arithmetic.find_roots", lambda f, v, at: find(Watched(f), v, at)
    )
    monkeypatch.setattr(roots, "AT_ONCE", 20_000)
    np.testing.assert_array_equal(KEPLER.solve(**known).base["eccentric"], whole)
    assert 2001 < max(largest) <= 20_000
    assert whole.shape == (2, 101)


# By the second degree these say v = u² whatever a and b are, which is only seen in numbers.
SAME_TWICE = Relations(
    "the same twice",
    *lengths("a"),
    *lengths("b", low=-math.inf),
    *lengths("u", "v"),
    equations=("u = sqrt(a - 5) + b", "v = a - 5 + 2*b*sqrt(a - 5) + b**2"),
)


def test_what_every_value_fits_is_not_determined():
    with pytest.raises(TooFewGivens, match="b value open: every value of it fits") as caught:
        SAME_TWICE.solutions(u_value="3 mm", v_value="9 mm")
    assert "Give it as well: b_value (the b)" in str(caught.value)
    assert caught.value.would_do == ("b_value",)
    found = SAME_TWICE.solve(u_value="3 mm", v_value="9 mm", b_value="1 mm")
    assert found.base["a_value"] == pytest.approx(9)
    with pytest.raises(TooFewGivens, match=r"v value 9\.000 mm"):
        SAME_TWICE.solutions(u_value="3 mm", v_value=length([10.0, 9.0], "mm"))


def test_givens_that_contradict_each_other_have_no_hundreds_of_answers():
    with pytest.raises(NoAnswer, match=r"u value 3\.000 mm, v value 10\.000 mm"):
        SAME_TWICE.solutions(u_value="3 mm", v_value="10 mm")


@pytest.mark.parametrize(("high", "count"), [(37.0, 12), (40.0, 13)])
def test_more_than_a_dozen_roots_are_not_told_as_answers(high, count):
    """sin(x) + x/1000 = 0.2 has two roots in each turn of 2π, the 13th near 12π + 0.16 = 37.9."""
    xs = np.linspace(0, high, 100_001)
    assert np.count_nonzero(np.diff(np.sign(np.sin(xs) + xs / 1000 - 0.2))) == count
    wavy = Relations(
        "long wave", *lengths("x", high=high), *lengths("y"), equations=("y = sin(x) + x/1000",)
    )
    if count <= 12:
        assert len(wavy.solutions(y_value="0.2 mm")) == count
    else:
        with pytest.raises(TooFewGivens, match="more than 12 do"):
            wavy.solutions(y_value="0.2 mm")


def test_a_root_on_a_permitted_limit_is_found():
    assert KEPLER.solve(mean=0, e_value="0.5 mm").base["eccentric"] == pytest.approx(0, abs=1e-9)


PARABOLA = Relations(
    "parabola", *lengths("x"), *lengths("y", low=-math.inf), equations=("y = (x - 1)*(x - 3)",)
)


def test_two_permitted_answers_are_both_told_and_carried():
    with pytest.raises(SeveralAnswers) as caught:
        PARABOLA.solve(y_value="-0.5 mm")
    roots = [2 - math.sqrt(0.5), 2 + math.sqrt(0.5)]
    assert [s.base["x_value"] for s in caught.value.solutions] == pytest.approx(roots)
    message = str(caught.value)
    assert "x value 1.293 mm" in message
    assert "x value 2.707 mm" in message
    assert "Give one more quantity" in message


@pytest.mark.parametrize(
    ("y", "x"), [(8, 5), (3, 4), (-1, 2)], ids=["one negative", "one is 0", "double"]
)
def test_only_one_permitted_answer_is_an_answer(y, x):
    assert PARABOLA.solve(y_value=length(y, "mm")).base["x_value"] == pytest.approx(x)


def test_no_real_answer_is_said():
    with pytest.raises(NoAnswer, match=r"no real x value fits y value -2\.000 mm"):
        PARABOLA.solve(y_value="-2 mm")


def test_several_or_no_answers_in_an_array_are_counted_and_placed():
    ok, several, none = 8.0, -0.5, -2.0
    values = length([ok, several, several], "mm")
    with pytest.raises(SeveralAnswers, match=r"2 of the values .* number 1 \(counting from 0\)"):
        PARABOLA.solve(y_value=values)
    with pytest.raises(NoAnswer, match=r"1 of the values .* number 2 \(counting from 0\)"):
        PARABOLA.solve(y_value=length([ok, ok, none], "mm"))
    assert PARABOLA.solve(y_value=length([8.0, 15.0], "mm")).base["x_value"] == pytest.approx(
        [5, 6]
    )


CHAIN = Relations(
    "chain",
    *lengths("a", "b", "c", "g", "k"),
    equations=("b = 2*a", "c = b**2", "g = c + 1", "k = sqrt(g)"),
)


@pytest.mark.parametrize("name", ["a", "b", "c", "g", "k"])
def test_a_value_is_carried_along_a_chain_either_way(name):
    truth = {"a": 1.5, "b": 3.0, "c": 9.0, "g": 10.0, "k": math.sqrt(10)}
    found = CHAIN.solve(**{f"{name}_value": length(truth[name], "mm")})
    for symbol, value in truth.items():
        assert found.base[f"{symbol}_value"] == pytest.approx(value, rel=1e-12)


TRIPLE = Relations(
    "three together",
    *lengths("a", "b", "c", "p", "q", "s"),
    equations=("p = a + b**2", "q = b + c", "s = a*c + b"),
)
TRIPLE_KNOWN = {"p_value": "11 mm", "q_value": "4.5 mm", "s_value": "6 mm"}  # a 2, b 3, c 1.5


def test_three_equations_are_solved_together():
    found = TRIPLE.solutions(**TRIPLE_KNOWN)
    triples = [tuple(one.base[f"{x}_value"] for x in "abc") for one in found]
    assert any(np.allclose(triple, (2, 3, 1.5), atol=1e-8) for triple in triples)

    def apart(v: np.ndarray) -> list[float]:
        a, b, c = v
        return [a + b**2 - 11, b + c - 4.5, a * c + b - 6]

    # Every positive solution that scipy finds from a grid of starts is among the ones told.
    for start in itertools.product([0.5, 2.0, 6.0], repeat=3):
        root, _, good, _ = fsolve(apart, start, full_output=True)
        if good == 1 and np.all(root > 1e-9) and np.max(np.abs(apart(root))) < 1e-9:
            assert any(np.allclose(triple, root, atol=1e-6) for triple in triples)
    for triple in triples:
        assert apart(np.array(triple)) == pytest.approx([0, 0, 0], abs=1e-8)


PAIR = Relations("pair", *lengths("a", "b", "s", "p"), equations=("s = a + b", "p = a*b"))


def test_a_sum_and_a_product_give_both_orders():
    found = PAIR.solutions(s_value="5 mm", p_value="6 mm")
    assert sorted(round(s.base["a_value"], 9) for s in found) == [2, 3]
    assert all(s.base["a_value"] + s.base["b_value"] == pytest.approx(5) for s in found)
    assert PAIR.solve(s_value="4 mm", p_value="4 mm").base["a_value"] == pytest.approx(2)
    with pytest.raises(NoAnswer, match="no real"):
        PAIR.solve(s_value="4 mm", p_value="5 mm")


def test_a_joint_system_without_closed_form_is_solved():
    joint = Relations(
        "joint", *lengths("a", "b", "s", "p"), equations=("s = a + b", "p = a + sin(a) + exp(b)")
    )
    a, b = 1.2, 0.7
    found = joint.solutions(
        s_value=length(a + b, "mm"), p_value=length(a + math.sin(a) + math.exp(b), "mm")
    )
    assert any(
        s.base["a_value"] == pytest.approx(a, abs=1e-8)
        and s.base["b_value"] == pytest.approx(b, abs=1e-8)
        for s in found
    )


def test_equations_that_say_the_same_do_not_fix_two_unknowns():
    twice = Relations(
        "twice the same", *lengths("a", "b", "s", "u"), equations=("s = a + b", "u = 2*a + 2*b")
    )
    with pytest.raises(TooFewGivens) as caught:
        twice.solve(s_value="3 mm", u_value="6 mm")
    assert set(caught.value.would_do) == {"a_value", "b_value"}
    assert twice.solve(s_value="3 mm", u_value="6 mm", a_value="1 mm").base["b_value"] == 2
    with pytest.raises(Contradiction, match=r"1\.000 mm apart"):
        twice.solve(s_value="3 mm", u_value="7 mm", a_value="1 mm")


QUOTIENT = Relations(
    "quotient",
    *lengths("a"),
    *lengths("b", zero=True),
    *lengths("q"),
    equations=("q = a/b",),
)


@pytest.mark.parametrize(
    "known",
    [
        {"a_value": "1 mm", "b_value": 0},
        {"a_value": "1 mm", "b_value": 0, "q_value": "3 mm"},
        {"b_value": 0, "q_value": "3 mm"},
        {"a_value": "1 mm", "b_value": length([1.0, 0.0], "mm")},
        {"a_value": "1 mm", "b_value": length([1.0, 0.0], "mm"), "q_value": "1 mm"},
    ],
    ids=["forward", "all given", "backward", "array", "array, all given"],
)
def test_a_division_by_zero_has_no_answer(known):
    with pytest.raises(NoAnswer):
        QUOTIENT.solve(**known)


def test_a_number_too_large_for_a_float_has_no_answer():
    cube = Relations("cube", *lengths("a", "v"), equations=("v = a**3",))
    with pytest.raises(NoAnswer):
        cube.solve(a_value=length(1e200, "mm"))
    assert cube.solve(v_value="27 mm").base["a_value"] == pytest.approx(3)


# --- closed forms ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("a*x + b", 1),
        ("a/x - b", 1),
        ("x**2 - a", 2),
        ("a*x - b/x + 1", 2),
        ("(x**3 - a*x)/x", 2),
        ("tan(x/3) - a", 1),
        ("exp(a*x) - b", 1),
        ("log(x) - b", 1),
        ("sqrt(a**2 - x**2) - b", 2),
        ("x - sqrt(x) - b", 2),
        ("a*sin(x/3) + b*cos(x/3) - 1", 2),
        ("a/sin(x/3) - b/tan(x/3) - 1", 2),
        ("a*sin(x/3 - 1) + b*cos(x/3 - 1)", 2),
        # Of too high a degree, under two roots or two functions, or in an exponent.
        ("x**3 + a*x - b", 0),
        ("x**5 - x - a", 0),
        ("tan(x/3)**3 + a*tan(x/3) - b", 0),
        ("x - sqrt(x**3 + a)", 0),
        ("sqrt(x + a) + sqrt(x + b) - 1", 0),
        ("sqrt(x + sqrt(x)) - a", 0),
        ("x - a*sin(x)", 0),
        ("a*sin(x) + b*sin(x/2)", 0),
        ("a*sin(x/3) + b*exp(x)", 0),
        ("a*sin(x/3)**2 + b*cos(x/3) - tan(x/3)", 0),
        ("a*cos(b*x) + sin(b*x)", 0),
        ("x**x - a", 0),
        ("2**x - a", 0),
        ("abs(x) - a", 0),
        # Between these limits there is more than one turn, of which the forms tell one.
        ("sin(3*x) - a", 0),
        ("a*sin(3*x) + b*cos(3*x) - 1", 0),
    ],
)
def test_closed_forms_are_asked_for_only_where_they_are_quick(text, count):
    import sympy

    a, b, x = sympy.symbols("a b x", real=True)
    expression = sympy.sympify(text, {"a": a, "b": b, "x": x})
    found = closed_forms(expression, x, 0.0, math.pi)
    assert len(found.forms) == count
    # What is told makes the expression zero, at numbers where it is real and no root is negative.
    at = {a: sympy.Float("1.7"), b: sympy.Float("0.6")}
    for form in found.forms:
        value = complex(form.subs(at))
        if abs(value.imag) > 1e-12:
            continue
        put_in = {**at, x: value.real}
        if found.root is not None and float(sympy.re(found.root.subs(put_in))) < 0:
            continue
        assert abs(complex(expression.subs(put_in))) < 1e-9, form


def test_a_cubic_is_never_solved_in_closed_form(monkeypatch):
    """Not by a clock: sympy is not asked at all for what it would search long for."""
    import sympy

    asked = []
    solve = sympy.solve
    monkeypatch.setattr(sympy, "solve", lambda e, x, **how: asked.append(e) or solve(e, x, **how))
    cubic = Relations("cubic", *lengths(*"abcpqs"), equations=TRIPLE.equations)
    assert len(cubic.solutions(**TRIPLE_KNOWN)) == len(TRIPLE.solutions(**TRIPLE_KNOWN))
    assert asked
    for expression in asked:
        numerator = sympy.fraction(sympy.together(expression))[0]
        assert all(sympy.Poly(numerator, x).degree() <= 2 for x in numerator.free_symbols)


SAGITTA = Relations("sagitta", *lengths("R", "x", "y"), equations=("y = R - sqrt(R**2 - x**2)",))


@pytest.mark.parametrize(
    "known",
    [
        {"R_value": "10 mm", "y_value": "2 mm"},
        {"x_value": "6 mm", "y_value": "2 mm"},
        {"x_value": length([6.0, 6.0], "mm"), "y_value": "2 mm"},
    ],
    ids=["half chord", "radius", "radius of arrays"],
)
def test_what_stands_under_one_square_root_is_found(known):
    """A 6-8-10 triangle."""
    found = SAGITTA.solve(**known)
    assert found.base["R_value"] == pytest.approx(10, rel=1e-12)
    assert found.base["x_value"] == pytest.approx(6, rel=1e-12)


@pytest.mark.parametrize(
    "known", [{"R_value": "10 mm", "y_value": "12 mm"}, {"x_value": "6 mm", "y_value": "8 mm"}]
)
def test_what_squaring_lets_in_is_no_answer(known):
    """An arc is at most as high as its radius, where y = R - sqrt(…) says so."""
    with pytest.raises(NoAnswer, match="no real"):
        SAGITTA.solve(**known)


def test_an_angle_of_more_than_one_turn_is_told_in_all_its_values():
    turning = Relations(
        "turning",
        Variable("turn", "t", ANGLE, "a full turn", zero=True, high=2 * math.pi),
        *lengths("y", low=-math.inf),
        equations=("y = sin(t)",),
    )
    found = [one.turn.m_as("deg") for one in turning.solutions(y_value="-0.5 mm")]
    assert found == pytest.approx([210, 330], abs=1e-6)


# --- what is said when it does not work ------------------------------------------------------


def test_too_few_givens_names_which_single_one_would_do():
    with pytest.raises(TooFewGivens) as caught:
        CUT.solve(top_diameter="12.6 mm", circle_diameter="4 mm", included_angle=90)
    assert caught.value.would_do == ("tip_diameter", "depth")
    message = str(caught.value)
    assert "Give one of: tip_diameter (" in message
    assert "depth (cutter's tip below the face)" in message


def test_much_too_few_givens_says_at_least_two():
    with pytest.raises(TooFewGivens, match="Give at least two more of:") as caught:
        CUT.solve(top_diameter="12.6 mm")
    assert caught.value.would_do == ()
    with pytest.raises(TooFewGivens, match="nothing alone"):
        CUT.solve()


def test_a_contradiction_names_the_givens_and_the_amount():
    # 4 + 0.2 + 2 z at 90° is 12.6 at z = 4.2; a depth of 4.3 makes it 12.8.
    with pytest.raises(Contradiction) as caught:
        CUT.solve(
            top_diameter="12.6 mm",
            circle_diameter="4 mm",
            tip_diameter="0.2 mm",
            included_angle=90,
            depth="4.3 mm",
            hole_diameter="6.6 mm",
        )
    message = str(caught.value)
    for part in (
        "top diameter 12.600 mm",
        "circle diameter 4.000 mm",
        "tip diameter 0.200 mm",
        "included angle 90°",
        "depth 4.300 mm",
        "0.200 mm apart",
    ):
        assert part in message
    assert "hole diameter" not in message


def test_a_contradiction_by_way_of_what_was_found_names_what_that_came_from():
    with pytest.raises(Contradiction, match=r"0\.500 mm apart") as caught:
        CUT.solve(
            top_diameter="12.6 mm",
            hole_cutting_diameter="3 mm",
            hole_diameter="6.6 mm",
            face_cutting_diameter="8.5 mm",
            tip_diameter=0,
            included_angle=90,
        )
    message = str(caught.value)
    assert "hole cutting diameter 3.000 mm" in message
    assert "face cutting diameter 8.500 mm" in message
    assert "tip diameter" not in message


@pytest.mark.parametrize(("depth", "agrees"), [("4.201 mm", True), ("4.202 mm", False)])
def test_rounded_givens_agree_within_two_micrometres_of_the_result(depth, agrees):
    """At 90° the top diameter moves by twice the depth."""
    known = {
        "top_diameter": "12.6 mm",
        "circle_diameter": "4 mm",
        "tip_diameter": "0.2 mm",
        "included_angle": 90,
        "depth": depth,
    }
    if agrees:
        CUT.solve(**known)
    else:
        with pytest.raises(Contradiction):
            CUT.solve(**known)


HELIX = {"bore_diameter": "9 mm", "cutter_diameter": "6 mm", "depth": "20 mm", "passes": 8}
# tan r = 2.5/(3π) and tan e = 2.5/(9π): 14.856° at the axis, 5.053° at the wall.


@pytest.mark.parametrize("typed", ["14.9°", "14,9 deg", "14.9", 14.9, "14.86°", "14.856"], ids=repr)
def test_an_angle_typed_with_decimals_may_be_rounded(typed):
    found = BORE.solve(**HELIX, ramp_angle=typed)
    assert found.ramp_angle.m_as("deg") == pytest.approx(14.856, abs=0.0045)
    assert found.base["path_length"] == pytest.approx(8 * math.hypot(3 * math.pi, 2.5), rel=3e-4)


def test_an_angle_that_was_rounded_is_told_as_the_others_give_it():
    found = BORE.solve(**HELIX, ramp_angle="14.9°", edge_ramp_angle="5.1°")
    assert found.base["ramp_angle"] == pytest.approx(math.atan(2.5 / 3 / math.pi), rel=1e-12)
    assert found.base["edge_ramp_angle"] == pytest.approx(math.atan(2.5 / 9 / math.pi), rel=1e-12)
    assert found.given == tuple(HELIX)


@pytest.mark.parametrize(
    "typed", ["14.8°", "15.0°", 15, 15.0, "15", "14.84°", "14.90°", "14°54'", "0.26 rad"], ids=repr
)
def test_an_angle_that_rounding_does_not_explain_contradicts(typed):
    with pytest.raises(Contradiction, match="ramp angle"):
        BORE.solve(**HELIX, ramp_angle=typed)


def test_a_value_that_would_have_to_be_negative_is_told():
    with pytest.raises(
        NoAnswer, match=r"depth would have to be -1\.000 mm, and it must be more than 0"
    ) as caught:
        CUT.solve(top_diameter="4 mm", circle_diameter="6 mm", tip_diameter=0, included_angle=90)
    assert "circle diameter 6.000 mm" in str(caught.value)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("top_diameter", "0 mm", "more than 0"),
        ("top_diameter", "-1 mm", "more than 0"),
        ("circle_diameter", "-0.1 mm", "at least 0"),
        ("included_angle", 0, "more than 0 and less than 180°"),
        ("included_angle", 180, "more than 0 and less than 180°"),
        ("included_angle", -90, "more than 0 and less than 180°"),
        ("top_diameter", length([3.0, -2.0], "mm"), "top diameter is -2.000 mm"),
    ],
    ids=str,
)
def test_a_given_out_of_range_is_told_with_the_range(name, value, said):
    known = {
        "top_diameter": "12.6 mm",
        "circle_diameter": "4 mm",
        "tip_diameter": 0,
        "included_angle": 90,
    }
    with pytest.raises(OutOfRange) as caught:
        CUT.solve(**{**known, name: value})
    assert said in str(caught.value)
    assert name.replace("_", " ") in str(caught.value)


def test_a_condition_that_fails_is_told_with_the_numbers():
    bounded = Relations(
        "bounded",
        *lengths("a", "b"),
        equations=("b = 2*a",),
        conditions=(Condition("b <= 4", "b is too long; shorten a"),),
    )
    assert bounded.solve(a_value="2 mm").base["b_value"] == 4
    with pytest.raises(NoAnswer, match=r"b is too long; shorten a \(b value 6\.000 mm\)"):
        bounded.solve(a_value="3 mm")


@pytest.mark.parametrize("value", ["twelve", None, True, float("nan"), 12.6, "82 deg"])
def test_a_given_that_is_no_size_is_refused_with_its_name(value):
    with pytest.raises(SizeError, match="top diameter"):
        CUT.solve(top_diameter=value, circle_diameter="4 mm", tip_diameter=0, included_angle=90)


def test_an_unknown_name_is_a_type_error_that_lists_the_names():
    with pytest.raises(TypeError, match=r"has no quantity 'top'. It has top_diameter, "):
        CUT.solve(top="12.6 mm")


def test_every_error_is_a_relations_error():
    kinds = (TooFewGivens, Contradiction, NoAnswer, SeveralAnswers, OutOfRange)
    assert all(issubclass(kind, RelationsError) for kind in kinds)
    assert issubclass(RelationsError, ValueError)


# --- units -----------------------------------------------------------------------------------


def test_answers_come_in_the_unit_of_the_first_length_given():
    known = {"tip_diameter": 0, "included_angle": 90}
    inch = CUT.solve(top_diameter="0.5 in", circle_diameter="3.175 mm", **known)
    metric = CUT.solve(circle_diameter="3.175 mm", top_diameter="0.5 in", **known)
    assert inch.depth.units == ureg.inch
    assert metric.depth.units == ureg.millimeter
    assert inch.depth.magnitude == pytest.approx(0.1875, abs=1e-12)
    assert metric.depth.magnitude == pytest.approx(0.1875 * 25.4, abs=1e-12)
    assert inch.circle_diameter.units == ureg.inch


def test_angles_come_in_degrees_unless_radians_were_typed():
    sizes_only = {"top_diameter": "12.6 mm", "circle_diameter": "4 mm", "tip_diameter": "0.2 mm"}
    assert CUT.solve(**sizes_only, depth="4.2 mm").included_angle.m_as("deg") == pytest.approx(90)
    assert CUT.solve(**sizes_only, depth="4.2 mm").included_angle.units == ureg.degree
    assert CUT.solve(**sizes_only, included_angle="1.5 rad").included_angle.units == ureg.radian


def test_a_declared_unit_is_that_of_bare_numbers_and_answers():
    cut = CUT.solve(
        unit="in", top_diameter=0.5, circle_diameter="3.175 mm", tip_diameter=0, included_angle=90
    )
    assert cut.depth.units == ureg.inch
    assert cut.depth.magnitude == pytest.approx(0.1875, abs=1e-12)
    with pytest.raises(SizeError, match="no unit of length"):
        CUT.solve(unit="parsec", top_diameter=1)


def test_quantities_of_another_registry_are_taken():
    import pint

    other = pint.UnitRegistry()
    cut = CUT.solve(
        top_diameter=other.Quantity(12.6, "mm"),
        circle_diameter=other.Quantity(0.4, "cm"),
        tip_diameter=0,
        included_angle=other.Quantity(math.pi / 2, "rad"),
    )
    assert sizes.mm(cut.depth) == pytest.approx(4.3)


# --- the solution ----------------------------------------------------------------------------


@pytest.fixture(name="cut", scope="module")
def _cut():
    return CUT.solve(
        top_diameter="12.6 mm",
        circle_diameter="4 mm",
        tip_diameter="0.2 mm",
        included_angle=60,
        hole_diameter="6.6 mm",
    )


def test_a_solution_reads_by_name_and_as_a_mapping(cut):
    assert cut["depth"] == cut.depth
    assert set(cut) == set(CUT.variables)
    assert len(cut) == 9
    assert dict(cut)["depth"] == cut.depth
    assert cut.given == (
        "top_diameter",
        "circle_diameter",
        "tip_diameter",
        "included_angle",
        "hole_diameter",
    )
    assert "depth" in dir(cut)
    assert list(cut.givens()) == list(cut.given)


def test_what_does_not_follow_says_what_would_give_it():
    cut = CUT.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter=0, included_angle=90
    )
    assert "cone_depth" not in cut
    with pytest.raises(KeyError, match="does not follow from the givens") as caught:
        cut["cone_depth"]
    assert "hole_diameter" in str(caught.value)
    with pytest.raises(AttributeError, match="hole_diameter"):
        _ = cut.cone_depth
    with pytest.raises(AttributeError, match="has no quantity 'colour'"):
        _ = cut.colour


def test_changed_solves_again_with_the_rest_as_given(cut):
    deeper = cut.changed(top_diameter="13 mm")
    assert sizes.mm(deeper.depth) == pytest.approx(8.8 / 2 / math.tan(math.radians(30)))
    assert deeper.given == cut.given


def worked_out(put_in: str) -> float:
    """What a line of an explanation comes to: its units dropped, its degrees made radians."""
    text = re.sub(r"([\d.]+)°", r"radians(\1)", re.sub(r" mm\b", "", put_in))
    return float(eval(text, {"tan": math.tan, "atan": math.atan, "radians": math.radians}))


@pytest.mark.parametrize("name", ["depth", "cone_depth", "hole_cutting_diameter"])
def test_explain_tells_the_equation_the_numbers_and_the_result(cut, name):
    equation, put_in, result = str(cut.explain(name)).splitlines()
    assert equation.startswith(f"{CUT.variables[name].symbol} = ")
    assert result.strip() == f"= {sizes.show(cut[name], fine=True)}"
    assert worked_out(put_in.strip().removeprefix("= ")) == pytest.approx(
        sizes.mm(cut[name]), abs=0.002
    )


def test_every_explanation_of_every_way_to_solve_a_cut_comes_to_its_result():
    """With a cut of round numbers, so that what is printed is exact."""
    top, circle, tip, hole = 14.0, 4.0, 0.4, 8.0
    truth = {
        "top_diameter": top,
        "circle_diameter": circle,
        "tip_diameter": tip,
        "depth": (top - circle - tip) / 2,
        "included_angle": math.radians(90),
        "hole_diameter": hole,
        "cone_depth": (top - hole) / 2,
        "face_cutting_diameter": top - circle,
        "hole_cutting_diameter": hole - circle,
    }
    known = quantities(CUT, truth)
    lines = 0
    for size in (4, 5):
        for names in itertools.combinations(truth, size):
            try:
                solution = CUT.solve(**{name: known[name] for name in names})
            except TooFewGivens:
                continue
            for name in solution:
                told = str(solution.explain(name))
                blocks = re.findall(r"^(\w) = .*\n +(= .+)\n +(= .+)$", told, re.MULTILINE)
                assert blocks or name in solution.given
                for symbol, put_in, result in blocks:
                    unit = math.degrees(1) if symbol == "A" else 1.0
                    came_to = worked_out(put_in[2:]) * unit
                    assert came_to == pytest.approx(float(result.rstrip("° m")[2:]), abs=1e-6), told
                    lines += 1
    assert lines > 500


def test_explain_works_out_first_what_it_rests_on():
    cut = CUT.solve(
        face_cutting_diameter="8.6 mm",
        circle_diameter="4 mm",
        tip_diameter="0.2 mm",
        included_angle=90,
    )
    told = str(cut.explain("depth"))
    assert told.index("12.600 mm") < told.index("= 4.200 mm")
    assert str(cut.explain("circle_diameter")) == "circle_diameter: 4.000 mm (given)"
    with pytest.raises(KeyError):
        cut.explain("cone_depth")


def test_a_number_raised_to_a_power_stands_in_brackets_with_its_unit():
    told = SAGITTA.solve(x_value="6 mm", y_value="2 mm").explain("R_value")
    assert "= ((6.000 mm)**2 + (2.000 mm)**2)/(2*2.000 mm)" in str(told)
    latex = told._repr_latex_()
    assert r"\left(6.000\,\mathrm{mm}\right)^{2}" in latex
    assert r"{2 \cdot 2.000\,\mathrm{mm}}" in latex


def test_a_count_raised_to_a_power_and_an_angle_are_bracketed_as_they_need():
    powers = Relations(
        "powers",
        Variable("turns", "n", COUNT, "turns"),
        Variable("slope", "s", ANGLE, "slope", high=math.pi),
        *lengths("y", "w"),
        equations=("y = w*n**2*s**2",),
    )
    told = powers.solve(turns=3, slope=60, w_value="2 mm").explain("y_value")
    assert "= 3**2*(60°)**2*2.000 mm" in str(told)
    assert r"3^{2} \cdot \left(60^{\circ}\right)^{2}" in told._repr_latex_()


def test_a_negative_number_stands_in_brackets():
    below = BALL.solve(ball_diameter="6 mm", protrusion="-1.5 mm", included_angle=90)
    told = below.explain("top_diameter")
    assert "- 2*(-1.500 mm)*sin(90°/2)" in str(told)
    assert r"- 2 \cdot \left(-1.500\,\mathrm{mm}\right) \cdot \sin" in told._repr_latex_()
    bare = Relations("bare", *lengths("a", "b", low=-math.inf), equations=("a = b",))
    assert str(bare.solve(b_value="-3 mm").explain("a_value")) == "a = b\n  = -3.000 mm"


def test_the_angle_of_a_cut_is_explained_with_what_is_taken_away_last():
    cut = CUT.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", depth="4.2 mm"
    )
    assert str(cut.explain("included_angle")).startswith("A = 2*atan((D - C - T)/(2*z))\n")
    cut = cut.relations.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle=90
    )
    assert str(cut.explain("depth")).startswith("z = (D - C - T)/(2*tan(A/2))\n")


def test_the_angle_from_a_ball_is_explained_in_closed_form():
    ball = BALL.solve(ball_diameter="12 mm", top_diameter="12.6 mm", protrusion="8.185 mm")
    equation, put_in, result = str(ball.explain("included_angle")).splitlines()
    assert equation == "A = 4*atan((2*p + sqrt(D**2 + 4*p**2 - 4*B*p) - B)/(B + D))"
    assert "(12.600 mm)**2 + 4*(8.185 mm)**2" in put_in
    assert result.strip() == f"= {sizes.show(ball.included_angle, fine=True)}"


@pytest.mark.parametrize("name", ["depth", "cone_depth"])
def test_explain_in_latex_carries_the_same_numbers(cut, name):
    latex = cut.explain(name)._repr_latex_()
    assert latex.startswith("$$")
    assert latex.endswith("$$")
    number, unit = sizes.show(cut[name], fine=True).split()
    assert rf"{number}\,\mathrm{{{unit}}}" in latex
    assert r"60^{\circ}" in latex
    assert r"12.600\,\mathrm{mm}" in latex


def test_explain_of_a_numeric_root_names_the_equation():
    told = str(KEPLER.solve(mean=40, e_value="0.5 mm").explain("eccentric"))
    assert "root of M = E - e*sin(E)" in told
    assert "66.21°" in told


def test_the_pieces_shown_in_a_notebook_hold_every_number(cut):
    for text in (repr(cut), cut._repr_html_()):
        for name in cut:
            assert sizes.show(cut[name], fine=True) in text
    assert "give enough of these" in CUT._repr_html_()


def test_symbols_are_escaped_in_html():
    risky = Relations(
        "a < b & c", Variable("a", "a", LENGTH, "less < than"), equations=("a = 2*a",)
    )
    assert "<caption>a &lt; b &amp; c" in risky._repr_html_()


# --- sensitivity and spread ------------------------------------------------------------------


def central_differences(solution, name: str) -> dict[str, float]:
    """d name / d given, in base units."""
    relations = solution.relations
    slopes = {}
    for moved in solution.given:
        step = 1e-5
        values = {other: solution.base[other] for other in solution.given}
        ends = []
        for sign in (1, -1):
            there = quantities(relations, {**values, moved: values[moved] + sign * step})
            ends.append(relations.solve(**there).base[name])
        slopes[moved] = (ends[0] - ends[1]) / (2 * step)
    return slopes


SOLVED = {
    "depth of a cut": lambda: CUT.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle=60
    ),
    "angle of a cut": lambda: CUT.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", depth="5 mm"
    ),
    "joint cut": lambda: CUT.solve(
        depth="5 mm",
        cone_depth="3 mm",
        hole_diameter="6.6 mm",
        tip_diameter="0.2 mm",
        included_angle=82,
    ),
    "ball": lambda: BALL.solve(ball_diameter="12 mm", top_diameter="12.6 mm", included_angle=90),
    "angle from a ball": lambda: BALL.solve(
        ball_diameter="12 mm", top_diameter="12.6 mm", protrusion="8.185 mm"
    ),
    "two balls": lambda: TWO_BALLS.solve(
        large_ball_diameter="12 mm", small_ball_diameter="8 mm", height_difference="4.83 mm"
    ),
    "numeric root": lambda: KEPLER.solve(mean=40, e_value="0.5 mm"),
}


@pytest.mark.parametrize("which", SOLVED)
def test_sensitivity_agrees_with_central_differences(which):
    solution = SOLVED[which]()
    for name in solution:
        if name in solution.given:
            continue
        told = solution.sensitivity(name).base
        wanted = central_differences(solution, name)
        for moved, slope in wanted.items():
            assert told.get(moved, 0.0) == pytest.approx(slope, rel=1e-5, abs=1e-6), (name, moved)


def test_sensitivity_of_a_joint_system_agrees_with_the_inverse_jacobian():
    for solution in TRIPLE.solutions(**TRIPLE_KNOWN):
        a, b, c = (solution.base[f"{symbol}_value"] for symbol in "abc")
        # d(p, q, s) / d(a, b, c) by hand; its inverse is what is asked.
        inverse = np.linalg.inv([[1, 2 * b, 0], [0, 1, 1], [c, 1, a]])
        for row, symbol in zip(inverse, "abc", strict=True):
            told = solution.sensitivity(f"{symbol}_value").base
            assert [told[f"{x}_value"] for x in "pqs"] == pytest.approx(row, rel=1e-9)


def test_sensitivity_is_told_in_steps_a_person_can_picture(cut):
    told = dict(cut.sensitivity("depth").rows())
    # dz/dD = 1 / (2 tan 30°) = 0.8660; dz/dA = -(D - C - T) / (4 sin² 30°) per radian.
    assert told["0.1 mm more top diameter"] == "+0.0866 mm"
    per_degree = -(12.6 - 4 - 0.2) / 4 / 0.25 * math.pi / 180
    assert told["1 deg more included angle"] == f"{per_degree:+.4f} mm"
    assert [abs(float(text.split()[0])) for text in told.values()] == sorted(
        (abs(float(text.split()[0])) for text in told.values()), reverse=True
    )
    assert "hole diameter" not in str(cut.sensitivity("depth"))


def test_sensitivity_in_inches_is_told_per_thou():
    cut = CUT.solve(
        top_diameter="0.5 in", circle_diameter="1/8 in", tip_diameter=0, included_angle=90
    )
    assert dict(cut.sensitivity("depth").rows())["0.001 in more top diameter"] == "+0.0005 in"
    derivative = cut.sensitivity("depth")["included_angle"]
    assert derivative.m_as("in/deg") == pytest.approx(-(0.375 / 2) / math.degrees(1), rel=1e-9)


def test_sensitivity_of_arrays_is_that_of_each_element():
    tops = np.array([10.0, 12.6, 20.0])
    known = {"circle_diameter": "4 mm", "tip_diameter": 0, "included_angle": 90}
    many = CUT.solve(top_diameter=length(tops, "mm"), **known).sensitivity("depth")
    for k, top in enumerate(tops):
        one = CUT.solve(top_diameter=length(top, "mm"), **known).sensitivity("depth")
        for moved in one:
            assert np.broadcast_to(many.base[moved], 3)[k] == pytest.approx(one.base[moved])


@given(
    top=st.floats(0.01, 0.3),
    tip=st.floats(0.0, 0.2),
    degrees=st.floats(0.1, 2),
    skew=st.booleans(),
)
@settings(deadline=None, max_examples=15)
def test_spread_agrees_with_a_grid_of_everything_between_the_ends(top, tip, degrees, skew):
    solution = CUT.solve(
        top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle=82
    )
    told = solution.spread(
        "depth",
        top_diameter=("0 mm", f"{top:.6f} mm") if skew else f"±{top:.6f} mm",
        tip_diameter=f"{tip:.6f} mm",
        included_angle=f"{degrees:.6f} deg",
    )
    top, tip, degrees = (round(value, 6) for value in (top, tip, degrees))
    tops = 12.6 + np.linspace(0.0 if skew else -top, top, 21)
    tips = 0.2 + np.linspace(-tip, tip, 21)
    angles = np.radians(82 + np.linspace(-degrees, degrees, 21))
    every = (tops[:, None, None] - 4 - tips[:, None]) / 2 / np.tan(angles / 2)
    assert sizes.mm(told.least) == pytest.approx(every.min(), abs=1e-9)
    assert sizes.mm(told.most) == pytest.approx(every.max(), abs=1e-9)
    # One at a time, the rest at their nominal.
    slope = math.tan(math.radians(41))
    half = {
        "top_diameter": np.ptp(tops) / 2 / (2 * slope),
        "tip_diameter": tip / (2 * slope),
        "included_angle": np.ptp(8.4 / 2 / np.tan(angles / 2)) / 2,
    }
    for name, value in half.items():
        assert sizes.mm(told.contributions[name]) == pytest.approx(value, abs=1e-9)
    assert sizes.mm(told.rss) == pytest.approx(math.hypot(*half.values()), abs=1e-9)


def test_only_givens_have_tolerances(cut):
    with pytest.raises(TypeError, match="'depth' is not one of the givens"):
        cut.spread("depth", depth="0.1 mm")
    with pytest.raises(SizeError):
        cut.spread("depth", top_diameter="wide")


def test_a_spread_reads_each_tolerance_by_its_kind():
    feeding = Relations(
        "feeding",
        Variable("feed", "F", FEED_RATE, "feed"),
        Variable("teeth", "z", COUNT, "teeth"),
        Variable("each", "G", FEED_RATE, "feed for each tooth"),
        equations=("F = z*G",),
    )
    told = feeding.solve(feed="2400 mm/min", teeth=4).spread("each", feed="+/-120", teeth=1)
    assert told.least.m_as("mm/min") == pytest.approx(2280 / 5)
    assert told.most.m_as("mm/min") == pytest.approx(2520 / 3)
    assert "456 mm/min to 840 mm/min" in str(told)
    inch = feeding.solve(feed="100 in/min", teeth=4).spread("each", feed=("-5 ipm", "0 ipm"))
    assert inch.least.m_as("in/min") == pytest.approx(95 / 4)


def test_a_tolerance_that_makes_no_sense_below_says_to_give_a_pair():
    plunge = CUT.solve(
        top_diameter="12.6 mm", circle_diameter="0 mm", tip_diameter="0.2 mm", included_angle=90
    )
    with pytest.raises(ToleranceError, match=r"circle diameter -0\.100 mm") as caught:
        plunge.spread("depth", circle_diameter="±0.1 mm", top_diameter="0.1 mm")
    message = str(caught.value)
    assert "it must be at least 0" in message
    assert 'as a pair, such as ("0 mm", "+0.1 mm")' in message
    told = plunge.spread("depth", circle_diameter=("0 mm", "+0.1 mm"), top_diameter="0.1 mm")
    assert sizes.mm(told.least) == pytest.approx((12.5 - 0.1 - 0.2) / 2)


# --- the package -----------------------------------------------------------------------------


def test_each_module_imports_only_those_told_above_it():
    order = re.findall(r"^``(\w+)``", str(holecalc.relations.__doc__), re.MULTILINE)
    folder = ROOT / "holecalc" / "relations"
    assert sorted([*order, "__init__"]) == sorted(path.stem for path in folder.glob("*.py"))
    for place, name in enumerate(order):
        tree = ast.parse((folder / f"{name}.py").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                module = node.module.removeprefix("holecalc.relations")
                if module != node.module:
                    assert module.removeprefix(".") in order[:place], (name, node.module)


def test_sympy_and_scipy_are_left_alone_until_something_is_solved():
    code = "import sys, holecalc.countersink; print({'sympy', 'scipy.optimize'} & {*sys.modules})"
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert told.stdout.strip() == "set()", told.stderr


# --- threads ---------------------------------------------------------------------------------


def test_solving_from_many_threads_at_once_gives_everyone_their_answer():
    shared = Relations(
        "shared",
        *lengths("a", "b", "c", "s", "p"),
        equations=("s = a + b", "p = a + b*c", "c = a + sin(a)"),
    )
    start = threading.Barrier(8)
    wrong: list[object] = []

    def work(k: int) -> None:
        a, b = 1.0 + 0.1 * k, 0.5 + 0.1 * k
        c = a + math.sin(a)
        known = {"a": a, "b": b, "c": c, "s": a + b, "p": a + b * c}
        try:
            start.wait(timeout=60)
            for names in (("a", "b"), ("a", "s"), ("c", "b"), ("a", "p"), ("c", "p")):
                found = shared.solve(**{f"{n}_value": length(known[n], "mm") for n in names})
                for name, value in known.items():
                    if abs(found.base[f"{name}_value"] - value) > 1e-6:
                        wrong.append((names, name))
                found.sensitivity("b_value" if "b" not in names else "p_value")
                str(found.explain("p_value" if "p" not in names else "b_value"))
        except Exception as error:
            wrong.append(error)

    threads = [threading.Thread(target=work, args=(k,)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    assert wrong == []


def test_latex_puts_a_sign_between_numbers_that_are_multiplied():
    area = Relations(
        "strip",
        Variable("length", "a", LENGTH, "along"),
        Variable("width", "b", LENGTH, "across"),
        Variable("third", "c", LENGTH, "made up"),
        equations=["c = a*b"],
    )
    told = area.solve(length="2 mm", width="3 mm").explain("third")._repr_latex_()
    assert r"2.000\,\mathrm{mm} \cdot 3.000\,\mathrm{mm}" in told
    assert "= a b" in told
