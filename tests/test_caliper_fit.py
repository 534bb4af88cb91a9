"""More measurements than needed: against weighted least squares by hand, and with one off."""

import numpy as np
import pytest

from holecalc import sizes
from holecalc.form_cutter import UNCERTAINTIES, CaliperError, FormCutter, FormCutterError

TRUE = {
    "stub_diameter": 12.7,
    "begin_diameter": 12.7,
    "largest_diameter": 25.4,
    "arc_height": 6.35,
    "marked_radius": 6.35,
}
DOUBT = {name: sizes.mm(sizes.length(UNCERTAINTIES[name])) for name in TRUE}


def measured(shape="concave", off=None, **more):
    sizes_read = {name: TRUE[name] + (off or {}).get(name, 0.0) for name in TRUE}
    return FormCutter.from_calipers(
        shape, **{name: f"{value} mm" for name, value in sizes_read.items()}, **more
    )


def mm(quantity):
    return sizes.mm(quantity)


def test_exact_measurements_give_the_exact_cutter():
    cutter = measured()
    assert mm(cutter.radius) == pytest.approx(6.35, abs=1e-9)
    assert mm(cutter.begin_diameter) == pytest.approx(12.7, abs=1e-9)
    assert mm(cutter.largest_diameter) == pytest.approx(25.4, abs=1e-9)
    assert cutter.evidence.agrees
    assert "agree within" in str(cutter.evidence)


@pytest.mark.parametrize("shape", ["concave", "convex"])
def test_best_profile_is_weighted_least_squares(shape):
    """Against numpy's normal equations: a quarter's dimensions are linear in d/2 and R."""
    draw = np.random.default_rng(4)
    off = {name: draw.normal(0, doubt) for name, doubt in DOUBT.items()}
    cutter = measured(shape, off)
    design = np.array([[2, 0], [2, 0], [2, 2], [0, 1], [0, 1]])
    values = np.array([TRUE[name] + off[name] for name in TRUE])
    weights = 1 / np.array([DOUBT[name] for name in TRUE])
    best, *_ = np.linalg.lstsq(design * weights[:, None], values * weights, rcond=None)
    assert mm(cutter.begin_diameter) == pytest.approx(2 * best[0], abs=1e-8)
    assert mm(cutter.radius) == pytest.approx(best[1], abs=1e-8)
    covariance = np.linalg.inv((design * weights[:, None]).T @ (design * weights[:, None]))
    assert mm(cutter.evidence.errors["radius"]) == pytest.approx(covariance[1, 1] ** 0.5, rel=1e-6)
    for row, value, expected in zip(cutter.evidence.rows, values, design @ best, strict=True):
        assert mm(row.best) == pytest.approx(expected, abs=1e-8)
        assert mm(row.off) == pytest.approx(value - expected, abs=1e-8)


def test_what_the_others_say_is_what_they_say_without_it():
    off = {"largest_diameter": 0.3, "arc_height": -0.1}
    report = measured(off=off).evidence
    for name in TRUE:
        left = {n: f"{TRUE[n] + off.get(n, 0)} mm" for n in TRUE if n != name}
        without = FormCutter.from_calipers("concave", **left)
        says = {
            "stub_diameter": without.begin_diameter,
            "begin_diameter": without.begin_diameter,
            "largest_diameter": without.largest_diameter,
            "arc_height": without.arc_height,
            "marked_radius": without.radius,
        }[name]
        assert mm(report[name].others_say) == pytest.approx(mm(says), abs=1e-6)


@pytest.mark.parametrize("name", ["largest_diameter", "arc_height", "marked_radius"])
@pytest.mark.parametrize("sign", [1, -1])
def test_the_measurement_that_is_off_is_the_one_to_measure_again(name, sign):
    # The largest diameter alone tells the radius better than all others, so it takes more.
    off = {name: sign * 12 * DOUBT[name] * (2 if name == "largest_diameter" else 1)}
    report = measured(off=off).evidence
    assert report.measure_again == (name,)
    assert f"measure again: {name.replace('_', ' ')}" in str(report)
    assert mm(report[name].others_say) == pytest.approx(TRUE[name], abs=0.15)


def test_two_that_only_check_each_other_cannot_be_told_apart():
    report = FormCutter.from_calipers(
        "concave",
        begin_diameter="12.7 mm",
        largest_diameter="26.4 mm",
        arc_height="6.35 mm",
        marked_radius="6.35 mm",
    ).evidence
    assert report.measure_again == ("begin_diameter", "largest_diameter")
    assert "it cannot be told which of them is off" in report.verdict


def test_good_measurements_are_seldom_suspected_and_their_errors_honest():
    draw = np.random.default_rng(8)
    suspected, inside, count = 0, 0, 300
    for _ in range(count):
        cutter = measured(off={name: draw.normal(0, doubt) for name, doubt in DOUBT.items()})
        suspected += not cutter.evidence.agrees
        inside += abs(mm(cutter.radius) - 6.35) < 1.96 * mm(cutter.evidence.errors["radius"])
    # 1 in 20 at most are suspected, and 95 in 100 inside.
    assert suspected / count < 0.08
    assert 0.91 < inside / count < 0.985


def test_what_nothing_checks_is_said_so():
    cutter = FormCutter.from_calipers(
        "concave", begin_diameter="12.7 mm", marked_radius="6.35 mm", shoulder_height="1 mm"
    )
    report = cutter.evidence
    assert all(row.others_say is None and row.times == 0 for row in report.rows)
    assert "nothing checks these measurements" in str(report)
    assert "not checked" in str(report)
    assert report.agrees
    assert mm(cutter.shoulder_height) == pytest.approx(1)
    with pytest.raises(KeyError):
        report["stub_diameter"]


def test_stub_apart_from_where_the_arc_begins():
    cutter = FormCutter.from_calipers(
        "concave",
        stub_diameter="4.78 mm",
        begin_diameter="12.7 mm",
        largest_diameter="25.4 mm",
        marked_radius="6.35 mm",
        stub_height="5 mm",
    )
    assert mm(cutter.stub_diameter) == pytest.approx(4.78)
    assert cutter.evidence["stub_diameter"].others_say is None
    assert [part.part for part in cutter.profile()][:4] == ["tip", "stub", "ledge", "arc"]


def test_stub_within_measuring_of_where_the_arc_begins_is_one_surface():
    cutter = measured(off={"stub_diameter": 0.04})
    assert "taken for one surface" in str(cutter.evidence)
    assert mm(cutter.stub_diameter) == mm(cutter.begin_diameter)
    assert 12.7 < mm(cutter.begin_diameter) < 12.74
    alone = FormCutter.from_calipers("concave", stub_diameter="12.7 mm", marked_radius="6.35 mm")
    assert "taken to begin on the stub" in str(alone.evidence)


@pytest.mark.parametrize("shape", ["concave", "convex"])
@pytest.mark.parametrize("sweep", [60, None], ids=["sweep given", "sweep found"])
def test_less_than_a_quarter(shape, sweep):
    # R 10 over 60° by hand: 10 (1 - cos 60°) = 5 wide, 10 sin 60° = 8.6603 high.
    cutter = FormCutter.from_calipers(
        shape,
        begin_diameter="12 mm",
        largest_diameter="22 mm",
        arc_height="8.660254 mm",
        marked_radius="10 mm",
        sweep=sweep,
    )
    assert mm(cutter.radius) == pytest.approx(10, abs=1e-5)
    steep, flat = cutter.begin_angle, cutter.end_angle
    if shape == "convex":
        steep, flat = flat, steep
    assert steep.m_as("deg") == pytest.approx(0, abs=1e-6)
    assert flat.m_as("deg") == pytest.approx(60, abs=1e-4)
    assert mm(cutter.largest_diameter) == pytest.approx(22, abs=1e-5)


def test_an_arc_of_more_than_a_quarter_is_taken_for_a_quarter_and_said_so():
    cutter = FormCutter.from_calipers(
        "concave",
        begin_diameter="12 mm",
        largest_diameter="24.6 mm",
        arc_height="6 mm",
        marked_radius="6 mm",
        sweep=None,
    )
    assert cutter.end_angle.m_as("deg") == pytest.approx(90)
    assert "it is taken for a quarter" in str(cutter.evidence)


def test_a_straight_flank():
    cutter = FormCutter.from_calipers(
        "straight",
        begin_diameter="6 mm",
        largest_diameter="26 mm",
        arc_height="10 mm",
        marked_angle=45,
    )
    assert cutter.end_angle.m_as("deg") == pytest.approx(45)
    assert mm(cutter.arc_height) == pytest.approx(10)
    assert cutter.radius is None
    askew = FormCutter.from_calipers(
        "straight", begin_diameter="6 mm", largest_diameter="26 mm", arc_height="10 mm",
        marked_angle=60,
    )  # fmt: skip
    assert "marked_angle" in askew.evidence.measure_again


def test_uncertainties_weigh():
    off = {"marked_radius": 0.2}
    trusting = measured(off=off, uncertainties={"marked_radius": "0.001 mm"})
    doubting = measured(off=off, uncertainties={"marked_radius": "5 mm"})
    assert mm(trusting.radius) == pytest.approx(6.55, abs=0.001)
    assert mm(doubting.radius) == pytest.approx(6.35, abs=0.001)


def test_answers_come_in_the_unit_that_was_typed():
    cutter = FormCutter.from_calipers(
        "concave", begin_diameter="1/2 in", largest_diameter="1 in", marked_radius="1/4 in"
    )
    assert sizes.show(cutter.radius) == "0.2500 in"
    assert "0.5000 in" in str(cutter.evidence)


@pytest.mark.parametrize(
    ("given", "error", "message"),
    [
        ({}, FormCutterError, "no diameter was given"),
        ({"marked_radius": "6 mm", "arc_height": "6 mm"}, FormCutterError, "no diameter was given"),
        (
            {"largest_diameter": "25 mm"},
            CaliperError,
            r"largest diameter alone do not fix the profile\. Measure one of: begin diameter, arc "
            "height, marked radius",
        ),
        (
            {"begin_diameter": "26 mm", "largest_diameter": "25 mm"},
            FormCutterError,
            r"the begin diameter is 26\.000 mm and the largest diameter 25\.000 mm",
        ),
        (
            {"stub_diameter": "13 mm", "begin_diameter": "12.7 mm", "marked_radius": "6 mm"},
            FormCutterError,
            r"the stub diameter is 13\.000 mm",
        ),
        (
            {"begin_diameter": "12.7 mm", "marked_radius": "-6 mm"},
            FormCutterError,
            r"the marked radius is -6\.000 mm",
        ),
        ({"begin_diameter": "0 mm", "marked_radius": "6 mm"}, FormCutterError, "more than 0"),
        ({"begin_diameter": "12", "marked_radius": "6 mm"}, sizes.SizeError, "has no unit"),
        (
            {"begin_diameter": "12 mm", "marked_angle": 45},
            FormCutterError,
            "a concave cutter has no marked angle",
        ),
        (
            {"begin_diameter": "12 mm", "marked_radius": "6 mm", "sweep": 120},
            FormCutterError,
            "at most 90°, not 120°",
        ),
        (
            {"begin_diameter": "12 mm", "marked_radius": "6 mm",
             "uncertainties": {"marked_radius": "0 mm"}},
            FormCutterError,
            "must be more than 0",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(given, error, message):
    with pytest.raises(error, match=message):
        FormCutter.from_calipers("concave", **given)


def test_other_refusals():
    with pytest.raises(TypeError, match="'shank' is not measured"):
        measured(uncertainties={"shank": "1 mm"})
    with pytest.raises(FormCutterError, match="a straight cutter has no marked radius"):
        FormCutter.from_calipers("straight", begin_diameter="6 mm", marked_radius="6 mm")
    with pytest.raises(FormCutterError, match="no shape of a cutter"):
        FormCutter.from_calipers("ogee", begin_diameter="6 mm")
