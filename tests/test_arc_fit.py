"""Circles and lines through points: published fits, other solvers, and many noisy trials."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from holecalc import sizes
from holecalc.form_cutter import ArcFitError, fit_arc, fit_line
from project import check_values

R, NOISE = 6.35, 0.02
CENTRE = (20.0, 10.0)


def arc(sweep, count=15, *, radius=R, noise=0.0, seed=0, middle=135.0, centre=CENTRE):
    """Points (height, diameter) on an arc, as fit_arc() takes them; sizes in mm, angles in °."""
    draw = np.random.default_rng(seed)
    full = sweep >= 360
    turn = np.linspace(-sweep / 2, sweep / 2, count + full)[:count]
    turn = np.radians(turn + middle)
    x = centre[0] + radius * np.cos(turn) + draw.normal(0, noise, count)
    y = centre[1] + radius * np.sin(turn) + draw.normal(0, noise, count)
    return [(float(h), float(2 * r)) for h, r in zip(y, x, strict=True)]


def mm(quantity):
    return sizes.mm(quantity)


def found(fit):
    return np.array([mm(fit.centre_diameter) / 2, mm(fit.centre_height), mm(fit.radius)])


def plane(points):
    heights, diameters = np.array(points).T
    return diameters / 2, heights


# --- published: Gander, Golub, Strebel (1994) ---


@pytest.fixture(scope="module")
def published():
    rows = check_values("gander-golub-strebel-1994")
    return [(float(row["y"]), 2 * float(row["x"])) for row in rows]


def test_six_points_of_gander_golub_strebel(published):
    fit = fit_arc(published, unit="mm")
    assert found(fit) == pytest.approx([4.7398, 2.9835, 4.7142], abs=5e-5)
    assert fit.sum_of_squares == pytest.approx(1.2276, abs=5e-5)
    assert fit.left_out == ()


def test_the_algebraic_fit_of_the_same_points_is_another_circle(published):
    # Gander, Golub, Strebel 1994: a(x² + y²) + b·x + c = 0 with the coefficients' norm at 1.
    x, y = plane(published)
    _, _, rows = np.linalg.svd(np.column_stack([x * x + y * y, x, y, np.ones_like(x)]))
    a, b, c, d = rows[-1]
    centre = np.array([-b / (2 * a), -c / (2 * a)])
    radius = math.sqrt(centre @ centre - d / a)
    assert [*centre, radius] == pytest.approx([5.3794, 7.2532, 3.0370], abs=5e-5)
    # And further from the points: the sum of the squares of their distances says so.
    distances = np.hypot(x - centre[0], y - centre[1]) - radius
    assert np.sum(distances**2) > 2 * fit_arc(published, unit="mm").sum_of_squares


# --- other solvers ---


@pytest.mark.parametrize("sweep", [20, 45, 60, 90, 135, 180, 270, 360])
@pytest.mark.parametrize("seed", [1, 2])
def test_agrees_with_scipy_over_centre_and_radius(sweep, seed):
    # scipy.optimize.least_squares, derivatives by differences, started from the true circle.
    points = arc(sweep, noise=0.005, seed=seed)
    x, y = plane(points)
    other = least_squares(
        lambda p: np.hypot(x - p[0], y - p[1]) - p[2], [*CENTRE, R], xtol=1e-15, ftol=1e-15
    )
    fit = fit_arc(points, unit="mm", uncertainty="0.005 mm", keep_all=True)
    assert found(fit) == pytest.approx(other.x, abs=2e-6)
    assert fit.sum_of_squares == pytest.approx(2 * other.cost, rel=1e-9)


@pytest.mark.parametrize("sweep", [20, 60, 90, 180, 360])
def test_agrees_with_orthogonal_distance_regression(sweep):
    # odrpack (ODRPACK95; Zwolak, Boggs, Watson 2007): an implicit model, both coordinates wrong.
    import odrpack

    points = arc(sweep, noise=0.004, seed=7)
    x, y = plane(points)
    other = odrpack.odr_fit(
        lambda data, p: np.hypot(data[0] - p[0], data[1] - p[1]) - p[2],
        np.vstack([x, y]),
        np.zeros(len(x)),
        beta0=np.array([*CENTRE, R]),
        task="implicit-ODR",
        partol=1e-13,
        sstol=1e-13,
    )
    fit = fit_arc(points, unit="mm", keep_all=True)
    assert found(fit) == pytest.approx(other.beta, abs=2e-5)


@pytest.mark.parametrize("sweep", [20, 60, 90, 360])
@pytest.mark.parametrize(("across", "up"), [(0.004, 0.004), (0.004, 0.001), (0.002, 0.01)])
def test_agrees_with_a_fit_over_every_points_foot(sweep, across, up):
    """The same minimum as when each point's place on the circle is a free number too."""
    draw = np.random.default_rng(sweep)
    turns = np.radians(135 + np.linspace(-sweep / 2, sweep / 2, 16)[:15])
    x = CENTRE[0] + R * np.cos(turns) + draw.normal(0, across, 15)
    y = CENTRE[1] + R * np.sin(turns) + draw.normal(0, up, 15)

    def misfit(p):
        centre_x, centre_y, radius, *feet = p
        return np.concatenate(
            [
                (x - centre_x - radius * np.cos(feet)) / across,
                (y - centre_y - radius * np.sin(feet)) / up,
            ]
        )

    other = least_squares(misfit, [*CENTRE, R, *turns], xtol=1e-15, ftol=1e-15)
    fit = fit_arc(
        np.column_stack([y, 2 * x]).tolist(),
        unit="mm",
        uncertainty=f"{across} mm",
        height_uncertainty=f"{up} mm",
        keep_all=True,
    )
    # Where the coordinates are not equally uncertain, weights along the curve's normal are only
    # the first order of what each point's own foot makes of it.
    close = 1e-6 if across == up else 0.05 * mm(fit.radius_error)
    assert found(fit) == pytest.approx(other.x[:3], abs=close)


def test_exact_points_give_the_exact_circle():
    for sweep in (5, 30, 90, 360):
        fit = fit_arc(arc(sweep), unit="mm")
        assert found(fit) == pytest.approx([*CENTRE, R], abs=1e-6)
        assert fit.left_out == ()


def test_a_circle_can_stand_anywhere_and_be_any_size():
    for radius, centre in ((0.8, (0.9, 0.0)), (250.0, (255.0, 3.0))):
        fit = fit_arc(arc(90, radius=radius, centre=centre, middle=120), unit="mm")
        assert found(fit) == pytest.approx([*centre, radius], rel=1e-8, abs=1e-7)


# --- standard errors ---


def trials(sweep, count, stated, points=15):
    """Fits of as many noisy traces of one arc."""
    uncertainty = f"{NOISE} mm" if stated else None
    return [
        fit_arc(
            arc(sweep, points, noise=NOISE, seed=1000 * sweep + i),
            unit="mm",
            uncertainty=uncertainty,
        )
        for i in range(count)
    ]


@pytest.mark.parametrize("stated", [True, False], ids=["uncertainty stated", "from the scatter"])
@pytest.mark.parametrize("sweep", [60, 90, 180])
def test_radius_is_unbiased_and_its_interval_honest(sweep, stated):
    # 700 trials: were coverage 95 %, it would come out between 93 and 97 % 99 times in 100.
    fits = trials(sweep, 700, stated)
    radii = np.array([mm(fit.radius) for fit in fits])
    errors = np.array([mm(fit.radius_error) for fit in fits])
    inside = [mm(low) <= R <= mm(high) for low, high in (fit.interval() for fit in fits)]
    assert 0.93 <= np.mean(inside) <= 0.97
    standard_error = radii.std() / math.sqrt(len(radii))
    # Of second order in the noise the radius is off by some s²/R (Chernov 2010, from memory).
    assert abs(radii.mean() - R) < 3 * standard_error + 2 * radii.std() ** 2 / R
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(radii.std(), rel=0.1)


def test_centre_errors_and_covariance_are_honest():
    fits = trials(75, 300, stated=True)
    places = np.array([found(fit) for fit in fits])
    scatter = np.cov(places.T)
    told = np.mean([fit.covariance for fit in fits], axis=0)
    assert told == pytest.approx(scatter, rel=0.2, abs=0.03 * np.max(scatter))
    fit = fits[0]
    assert mm(fit.centre_diameter_error) == pytest.approx(2 * math.sqrt(fit.covariance[0, 0]))
    assert mm(fit.centre_height_error) == pytest.approx(math.sqrt(fit.covariance[1, 1]))


def test_standard_errors_by_hand_on_a_full_circle():
    # n points all round: r_c and h_c each σ √(2/n), R σ √(1/n) (normal equations by hand).
    fit = fit_arc(arc(360, 16), unit="mm", uncertainty="0.02 mm")
    assert mm(fit.radius_error) == pytest.approx(0.02 / 4, rel=1e-6)
    assert mm(fit.centre_height_error) == pytest.approx(0.02 * math.sqrt(2 / 16), rel=1e-6)
    assert abs(fit.covariance[0, 1]) < 1e-12


def test_interval_is_even_in_the_curvature():
    fit = fit_arc(arc(60, noise=NOISE, seed=4), unit="mm", uncertainty=f"{NOISE} mm")
    low, high = (1 / mm(end) for end in fit.interval(0.9))
    middle = 1 / mm(fit.radius)
    assert low - middle == pytest.approx(middle - high)
    assert (low - middle) * mm(fit.radius) ** 2 == pytest.approx(1.644854 * mm(fit.radius_error))


def test_heights_known_worse_than_radii_count_less():
    # A height off near the top of the arc, where the edge runs level and heights tell it.
    points = arc(80, 20)
    points[0] = (points[0][0] + 0.02, points[0][1])
    even, uneven = (
        fit_arc(points, unit="mm", uncertainty="0.01 mm", keep_all=True, **more)
        for more in ({}, {"height_uncertainty": "0.1 mm"})
    )
    assert abs(found(uneven)[2] - R) < 0.6 * abs(found(even)[2] - R)


def test_scatter_beyond_the_stated_uncertainty_is_said_and_counted():
    points = arc(90, 20, noise=0.05, seed=2)
    fit = fit_arc(points, unit="mm", uncertainty="0.01 mm", keep_all=True)
    free = fit_arc(points, unit="mm", keep_all=True)
    assert "the points scatter by 0.0" in str(fit)
    assert "stated as 0.010 mm" in str(fit)
    assert mm(fit.radius_error) == pytest.approx(mm(free.radius_error))


def test_three_points_fix_a_circle_and_nothing_checks_them():
    fit = fit_arc([(0, 12.7), (2.5, 14), (5, 18)], unit="mm")
    assert "none is over, so nothing checks them" in str(fit)
    assert "its standard error unknown" in str(fit)
    assert math.isnan(mm(fit.radius_error))
    assert fit.scatter is None
    stated = fit_arc([(0, 12.7), (2.5, 14), (5, 18)], unit="mm", uncertainty="0.02 mm")
    assert mm(stated.radius_error) > 0


# --- held and tangent ---


def test_a_held_radius_is_held():
    points = arc(40, 20, radius=6.35, noise=0.01, seed=5)
    fit = fit_arc(points, unit="mm", uncertainty="0.01 mm", radius="1/4 in")
    assert mm(fit.radius) == pytest.approx(6.35, abs=1e-12)
    assert mm(fit.radius_error) == 0
    assert "(held)" in str(fit)
    free = fit_arc(points, unit="mm", uncertainty="0.01 mm")
    assert mm(fit.centre_height_error) < 0.2 * mm(free.centre_height_error)
    assert fit.sum_of_squares >= free.sum_of_squares


@pytest.mark.parametrize("middle", [135, 315], ids=["concave", "convex"])
@pytest.mark.parametrize("lines", ["cylinder", "level", "both"])
def test_tangent_fits_touch_their_lines(middle, lines):
    points = arc(60, 15, noise=0.02, seed=6, middle=middle)
    side = 1 if middle == 135 else -1
    cylinder = CENTRE[0] - side * R
    level = CENTRE[1] + side * R
    tangents = {}
    if lines != "level":
        tangents["tangent_diameter"] = f"{2 * cylinder} mm"
    if lines != "cylinder":
        tangents["tangent_height"] = f"{level} mm"
    fit = fit_arc(points, unit="mm", uncertainty="0.02 mm", **tangents)
    x, y, radius = found(fit)
    if "tangent_diameter" in tangents:
        assert abs(x - cylinder) == pytest.approx(radius, abs=1e-9)
    if "tangent_height" in tangents:
        assert abs(y - level) == pytest.approx(radius, abs=1e-9)
    free = fit_arc(points, unit="mm", uncertainty="0.02 mm")
    assert mm(fit.radius_error) < mm(free.radius_error)
    assert abs(radius - R) < 4 * mm(fit.radius_error)
    # Against scipy over what is free.
    px, py = plane(points)

    def misfit(p):
        r = p[-1]
        cx = cylinder + side * r if lines != "level" else p[0]
        cy = level - side * r if lines != "cylinder" else p[-2]
        return np.hypot(px - cx, py - cy) - r

    start = {"cylinder": [CENTRE[1], R], "level": [CENTRE[0], R], "both": [R]}[lines]
    other = least_squares(misfit, start, xtol=1e-15, ftol=1e-15)
    assert radius == pytest.approx(other.x[-1], abs=1e-6)


def test_doubt_about_what_is_held_is_carried_through():
    """Against moving the held line by its uncertainty and fitting again."""
    points = arc(60, 15, noise=0.02, seed=6)
    cylinder = 2 * (CENTRE[0] - R)
    sure, unsure, moved = (
        fit_arc(points, unit="mm", uncertainty="0.02 mm", **more)
        for more in (
            {"tangent_diameter": f"{cylinder} mm"},
            {"tangent_diameter": f"{cylinder} mm", "held_uncertainty": "0.001 mm"},
            {"tangent_diameter": f"{cylinder + 0.002} mm"},
        )
    )
    step = found(moved) - found(sure)
    added = np.sqrt(np.diag(unsure.covariance - sure.covariance))
    assert added == pytest.approx(np.abs(step), rel=0.02)


def test_a_held_radius_that_is_doubted_keeps_its_doubt():
    fit = fit_arc(
        arc(60), unit="mm", uncertainty="0.02 mm", radius="6.35 mm", held_uncertainty="0.05 mm"
    )
    assert mm(fit.radius_error) == pytest.approx(0.05)


# --- strays ---


@pytest.mark.parametrize("stated", [True, False])
def test_strays_are_named_with_their_row_and_left_out(stated):
    points = arc(80, 16, noise=0.01, seed=8)
    clean = fit_arc(points, unit="mm", uncertainty="0.01 mm")
    for row, off in ((3, 0.3), (9, -0.25), (14, 0.5)):
        height, diameter = points[row - 1]
        points[row - 1] = (height, diameter + 2 * off)
    fit = fit_arc(points, unit="mm", uncertainty="0.01 mm" if stated else None)
    assert [stray.row for stray in fit.left_out] == [3, 9, 14]
    assert "left out: row 3 (height" in str(fit)
    assert "13 of 16 rows" in str(fit)
    assert found(fit) == pytest.approx(found(clean), abs=4 * mm(clean.radius_error))
    # Their distances are told as well as those of the others.
    assert np.all(np.abs(mm(fit.residuals)[[2, 8, 13]]) > 0.08)


def test_keep_all_fits_every_point():
    points = arc(80, 16, noise=0.01, seed=8)
    points[2] = (points[2][0], points[2][1] + 0.6)
    kept, left = (
        fit_arc(points, unit="mm", uncertainty="0.01 mm", keep_all=keep) for keep in (True, False)
    )
    assert kept.left_out == ()
    assert kept.sum_of_squares > 5 * left.sum_of_squares
    assert found(kept)[1] != pytest.approx(found(left)[1], abs=0.01)


def test_a_clean_trace_seldom_has_a_point_called_stray():
    fits = trials(90, 200, stated=True)
    assert sum(bool(fit.left_out) for fit in fits) <= 8
    assert max(len(fit.left_out) for fit in fits) <= 2


def test_the_same_table_gives_the_same_answer():
    # More points than there are combinations tried, so the start is drawn.
    points = arc(90, 60, noise=0.01, seed=9)
    points[30] = (points[30][0], points[30][1] + 1)
    first, second = (fit_arc(points, unit="mm") for _ in range(2))
    assert found(first).tolist() == found(second).tolist()
    assert [stray.row for stray in first.left_out] == [31]


def test_too_many_strays_show_as_scatter():
    points = arc(80, 12)
    for row, off in enumerate((3, -4, 2, -3, 4, -2, 3, 1)):
        points[row] = (points[row][0], points[row][1] + off)
    fit = fit_arc(points, unit="mm", uncertainty="0.01 mm")
    assert "or the edge is not of this shape" in str(fit)


def test_residuals_that_keep_their_sign_are_remarked_on():
    # An ellipse, as of a photograph taken askew: 3 % less high than wide.
    points = [(height * 0.97, diameter) for height, diameter in arc(90, 40)]
    assert "change sign only" in str(fit_arc(points, unit="mm"))
    assert "change sign" not in str(fit_arc(arc(90, 40, noise=0.01), unit="mm"))
    assert "change sign" not in str(fit_arc(arc(90, 40), unit="mm"))


# --- weak arcs ---


def test_a_short_arc_says_that_it_is_weak_and_what_would_settle_it():
    fit = fit_arc(arc(30, 10, noise=0.01, seed=11), unit="mm", uncertainty="0.01 mm")
    assert "weak: the radius is known only within" in str(fit)
    settle = fit.settle("0.1 mm")
    assert not settle.settled
    assert mm(settle.now) == pytest.approx(1.96 * mm(fit.radius_error))
    # As many more points as said do settle it; so does the sweep.
    more = fit_arc(arc(30, 10 + settle.more_points), unit="mm", uncertainty="0.01 mm")
    assert 1.96 * mm(more.radius_error) == pytest.approx(0.1, rel=0.15)
    assert settle.more_points > 100
    sweep = settle.sweep.m_as("deg")
    assert 50 < sweep < 90
    wider = fit_arc(arc(sweep, 10), unit="mm", uncertainty="0.01 mm")
    assert 1.96 * mm(wider.radius_error) == pytest.approx(0.1, rel=0.03)
    quarter = fit_arc(arc(90, settle.points_over_a_quarter), unit="mm", uncertainty="0.01 mm")
    assert 1.96 * mm(quarter.radius_error) <= 0.1
    assert settle.points_over_a_quarter < 10
    assert f"{settle.more_points} more points over the same sweep" in str(settle)
    assert f"as many points over {sweep:.0f}°" in str(settle)


def test_where_no_quarter_would_do_the_points_that_would_are_told():
    fit = fit_arc(arc(40, 6, noise=0.05, seed=1), unit="mm", uncertainty="0.05 mm")
    settle = fit.settle("0.05 mm")
    assert settle.sweep is None
    enough = settle.points_over_a_quarter
    assert f"{enough} points over a full quarter" in str(settle)
    for count, does in ((enough, True), (enough - 1, False)):
        quarter = fit_arc(arc(90, count), unit="mm", uncertainty="0.05 mm")
        assert (1.96 * mm(quarter.radius_error) <= 0.05) == does


def test_a_good_arc_is_settled_and_a_target_of_nothing_refused():
    fit = fit_arc(arc(90, 20), unit="mm", uncertainty="0.01 mm")
    assert fit.settle().settled
    assert fit.notes() == ()
    with pytest.raises(ArcFitError, match="cannot be known within"):
        fit.settle("0 mm")


def test_the_interval_of_a_hopeless_arc_has_no_upper_end():
    # Known to a fifth at best: curved for all that, but not with every certainty.
    fit = fit_arc(arc(18, 12), unit="mm", uncertainty="0.02 mm")
    assert math.isfinite(mm(fit.interval(0.95)[1]))
    assert math.isinf(mm(fit.interval(1 - 1e-9)[1]))


def test_where_no_number_of_points_would_do_better_measuring_is_asked_for():
    fit = fit_arc(arc(60, 8, noise=0.5, seed=2), unit="mm", uncertainty="0.5 mm")
    assert "measure better" in str(fit.settle("0.001 mm"))


# --- lines ---


def test_a_line_is_fitted_square_to_it():
    draw = np.random.default_rng(2)
    along = np.linspace(0, 10, 30)
    tilt = math.radians(30)
    x = 5 + along * math.sin(tilt) + draw.normal(0, 0.01, 30)
    y = 2 + along * math.cos(tilt) + draw.normal(0, 0.01, 30)
    fit = fit_line(np.column_stack([y, 2 * x]).tolist(), unit="mm", uncertainty="0.01 mm")
    # Main axis of the points' covariance (total least squares).
    values, axes = np.linalg.eigh(np.cov(x, y))
    main = axes[:, np.argmax(values)]
    assert fit.flank_angle.m_as("rad") == pytest.approx(math.atan(main[0] / main[1]), abs=1e-9)
    # A slope's standard error by hand: σ / √Σ(s - mean s)².
    by_hand = 0.01 / math.sqrt(np.sum((along - along.mean()) ** 2))
    assert fit.flank_angle_error.m_as("rad") == pytest.approx(by_hand, rel=1e-2)
    assert mm(fit.scatter) == pytest.approx(0.01, rel=0.3)
    assert fit.radius_at(2.0) == pytest.approx(5.0, abs=0.02)


def test_a_stray_off_a_line_is_named():
    points = [(h, 10 + 2 * h) for h in range(8)]
    points[3] = (3, 16.5)
    fit = fit_line(points, unit="mm")
    assert [stray.row for stray in fit.left_out] == [4]
    assert fit.flank_angle.m_as("deg") == pytest.approx(45)
    assert fit_line(points, unit="mm", keep_all=True).left_out == ()


def test_three_exact_points_on_a_line():
    fit = fit_line([(0, 10), (1, 12), (2, 14)], unit="mm")
    assert fit.flank_angle.m_as("deg") == pytest.approx(45)
    assert "straight flank at 45° to the axis" in str(fit)


# --- refused ---


@pytest.mark.parametrize("points", [[(0, 10)], [(0, 10), (1, 11)], [(0, 10), (1, 11), (1, 11)]])
@pytest.mark.parametrize("fit", [fit_arc, fit_line])
def test_fewer_than_three_points_are_refused(fit, points):
    with pytest.raises(ArcFitError, match=rf"row {len(points)} is the last, .* takes three"):
        fit(points, unit="mm")


def test_points_on_a_line_are_refused_with_their_rows():
    with pytest.raises(ArcFitError, match="rows 1 to 5 lie on a line and not on an arc"):
        fit_arc([(h, 10 + 2 * h) for h in range(5)], unit="mm")


@pytest.mark.parametrize("stated", ["0.01 mm", None])
def test_points_that_may_as_well_lie_on_a_line_are_refused_with_their_bow(stated):
    draw = np.random.default_rng(5)
    points = [(h, 10 + 2 * h + draw.normal(0, 0.02)) for h in np.linspace(0, 8, 9).tolist()]
    with pytest.raises(ArcFitError, match=r"rows 1 to 9 could as well lie on a line: their bow"):
        fit_arc(points, unit="mm", uncertainty=stated)


def test_points_all_round_are_not_taken_for_a_line():
    assert found(fit_arc(arc(360, 8), unit="mm")) == pytest.approx([*CENTRE, R])


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"uncertainty": "0 mm"}, "says that nothing was measured wrong"),
        ({"height_uncertainty": "0.1 mm"}, "none of the radii"),
        ({"radius": "-1 mm"}, "must be more than 0"),
        (
            {"radius": "6 mm", "tangent_diameter": "27.3 mm", "tangent_height": "16.35 mm"},
            "nothing is left to fit",
        ),
    ],
)
def test_what_cannot_be_held_or_stated_is_refused(more, message):
    with pytest.raises(ArcFitError, match=message):
        fit_arc(arc(60), unit="mm", **more)


def test_answers_come_in_the_unit_of_the_table():
    points = [(h / 25.4, d / 25.4) for h, d in arc(90)]
    fit = fit_arc(points, unit="in", uncertainty="0.001 in")
    assert f"{fit.radius.units:~P}" == "in"
    assert fit.radius.magnitude == pytest.approx(0.25)
    assert "radius 0.2500 in" in str(fit)


def test_a_short_arcs_standard_error_by_hand():
    # 12√5 u / (√n φ²), see references/derivations-form-cutter.md; for many points and few degrees.
    fit = fit_arc(arc(20, 400), unit="mm", uncertainty="0.01 mm")
    by_hand = 12 * math.sqrt(5) * 0.01 / (math.sqrt(400) * math.radians(20) ** 2)
    assert mm(fit.radius_error) == pytest.approx(by_hand, rel=0.01)
