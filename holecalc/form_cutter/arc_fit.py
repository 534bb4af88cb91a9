r"""Circles and lines through measured points of a cutter's edge.

A point of the edge is a height above the cutter's tip and a diameter there. In the plane of
radius r (half the diameter) and height h the edge of a form cutter is an arc, or a straight
flank. The arc is fitted *geometrically*: the squares summed are those of the points' distances
from the circle, square to it,

.. math:: \min_{r_c,\,h_c,\,R} \sum_i w_i \left(
    \sqrt{(r_i - r_c)^2 + (h_i - h_c)^2} - R \right)^2

::

        h ^                 o  measured point i
          |              .'    its distance from the circle,
          |    . - ~ o'            e = |point - centre| - R,
          |  o               is what is squared and summed
          | /   \
          o      \ R
          |       + centre (r_c, h_c)
          +--------------------> r

The tempting alternative, an algebraic fit of :math:`a(r^2 + h^2) + b r + c h + d = 0`, is linear
and needs no start, but what it sums are the squares of the equation's error, which is not a
distance; on a short arc its radius comes out too small. It is used here to start from, and for
nothing else.

Standard errors follow from the measuring uncertainty, or from the scatter where none is stated.
Points that do not belong are found by a fit that half of the points cannot pull away, and are
named in the result. Derivations: ``references/derivations-form-cutter.md``.

References
----------
W. Gander, G. H. Golub, R. Strebel: Least-squares fitting of circles and ellipses. BIT 34 (1994)
558-578.
P. J. Rousseeuw, A. M. Leroy: Robust Regression and Outlier Detection. Wiley 1987 (from memory).
"""

from __future__ import annotations

import bisect
import itertools
import math
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any, Protocol, TypeAlias

import numpy as np

from holecalc import sizes
from holecalc.form_cutter.trace import (
    MOST_ROWS,
    ArcFitError,
    Flags,
    Floats,
    Points,
    Trace,
    read_trace,
)
from holecalc.sizes import Quantity, Size

__all__ = [
    "ArcFit",
    "LeftOut",
    "LineFit",
    "Settle",
    "fit_arc",
    "fit_line",
]

_fine = partial(sizes.show, fine=True)

_MOST_STARTS = 4000
_MOST_DISTANCES = 4_000_000
"""Starts times points that are held in memory at once."""
_FALSE_ALARM = 0.01
"""Chance that a trace without a stray point has one named."""

WITHIN = "0.1 mm"
"""How well a radius should be known where nothing else is said (common practice, no source)."""


# --- what is fitted ------------------------------------------------------------------------------


class _Model(Protocol):
    """A curve with some free numbers, told by each point's signed distance from it."""

    free: int
    sample: int

    def start(self, x: Floats, y: Floats) -> Floats: ...

    def through(self, x: Floats, y: Floats) -> Floats: ...

    def distances(self, full: Floats, x: Floats, y: Floats) -> Floats: ...

    def full(self, theta: Floats) -> Floats: ...

    def normals(self, full: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]: ...

    def jacobian(self, full: Floats, x: Floats, y: Floats) -> Floats: ...


class _Circle:
    r"""A circle (r_c, h_c, R) of which some is held: every hold is linear in these three.

    .. math:: (r_c, h_c, R) = B \theta + b

    Free, B is the identity. A held radius takes R out of θ; tangency to the line r = t ties
    r_c = t ± R, to the line h = t ties h_c = t ± R.
    """

    sample = 3

    def __init__(self, basis: Floats, fixed: Floats) -> None:
        self.basis, self.fixed = basis, fixed
        self.free = basis.shape[1]

    def start(self, x: Floats, y: Floats) -> Floats:
        circle = _algebraic_circle(x, y)
        return np.asarray(np.linalg.lstsq(self.basis, circle - self.fixed, rcond=None)[0])

    def through(self, x: Floats, y: Floats) -> Floats:
        """Circles through three points each; not finite where the three lie on a line."""
        (x1, x2, x3), (y1, y2, y3) = x.T, y.T
        a, b, c, d = x2 - x1, y2 - y1, x3 - x1, y3 - y1
        with np.errstate(all="ignore"):
            twice = 2 * (a * d - b * c)
            u = (d * (a * a + b * b) - b * (c * c + d * d)) / twice
            v = (a * (c * c + d * d) - c * (a * a + b * b)) / twice
        return np.stack([x1 + u, y1 + v, np.hypot(u, v)], axis=-1)

    def full(self, theta: Floats) -> Floats:
        return np.asarray(self.basis @ theta + self.fixed)

    def distances(self, full: Floats, x: Floats, y: Floats) -> Floats:
        return np.asarray(np.hypot(x - full[..., 0], y - full[..., 1]) - full[..., 2])

    def normals(self, full: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        away = np.maximum(np.hypot(x - full[0], y - full[1]), 1e-300)
        return (x - full[0]) / away, (y - full[1]) / away

    def jacobian(self, full: Floats, x: Floats, y: Floats) -> Floats:
        return np.asarray(self.whole_jacobian(full, x, y) @ self.basis)

    def whole_jacobian(self, full: Floats, x: Floats, y: Floats) -> Floats:
        """Of the distances by (r_c, h_c, R), held or not."""
        along, up = self.normals(full, x, y)
        return np.column_stack([-along, -up, -np.ones_like(x)])


class _Line:
    """A line x cos(a) + y sin(a) = p, as (a, p)."""

    free = 2
    sample = 2

    def start(self, x: Floats, y: Floats) -> Floats:
        _, _, axes = np.linalg.svd(np.column_stack([x - x.mean(), y - y.mean()]))
        normal = axes[1]
        return np.array([math.atan2(normal[1], normal[0]), normal @ np.array([x.mean(), y.mean()])])

    def through(self, x: Floats, y: Floats) -> Floats:
        turn = np.arctan2(x[:, 0] - x[:, 1], y[:, 1] - y[:, 0])
        return np.stack([turn, x[:, 0] * np.cos(turn) + y[:, 0] * np.sin(turn)], axis=-1)

    def full(self, theta: Floats) -> Floats:
        return theta

    def distances(self, full: Floats, x: Floats, y: Floats) -> Floats:
        return np.asarray(x * np.cos(full[..., 0]) + y * np.sin(full[..., 0]) - full[..., 1])

    def normals(self, full: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        return np.full_like(x, math.cos(full[0])), np.full_like(x, math.sin(full[0]))

    def jacobian(self, full: Floats, x: Floats, y: Floats) -> Floats:
        turn = full[0]
        return np.column_stack([y * math.cos(turn) - x * math.sin(turn), -np.ones_like(x)])


def _algebraic_circle(x: Floats, y: Floats) -> Floats:
    """Taubin's algebraic circle (from memory): of these the one least drawn to small radii.

    A start for the geometric fit, not an answer.
    """
    mean_x, mean_y = x.mean(), y.mean()
    u, v = x - mean_x, y - mean_y
    square = u * u + v * v
    mean_square = square.mean()
    scaled = (square - mean_square) / (2 * math.sqrt(mean_square))
    _, _, axes = np.linalg.svd(np.column_stack([scaled, u, v]), full_matrices=False)
    a, b, c = axes[-1]
    # Of points on a line `a` is nothing; a circle as good as straight is a start all the same.
    a = math.copysign(max(abs(a), 1e-9), a) / (2 * math.sqrt(mean_square))
    centre_u, centre_v = -b / (2 * a), -c / (2 * a)
    radius = math.sqrt(centre_u**2 + centre_v**2 + mean_square)
    return np.array([centre_u + mean_x, centre_v + mean_y, radius])


@dataclass(frozen=True, eq=False)
class _Solved:
    """A model at its least squares.

    `doubt` is each point's standard uncertainty square to the curve (1 where none is stated),
    `used` says which points were fitted, `errors` are all the points' distances.
    """

    full: Floats
    errors: Floats
    doubt: Floats
    used: Flags
    jacobian: Floats
    whole: Floats
    stated: bool
    free: int

    @property
    def count(self) -> int:
        return int(self.used.sum())

    @property
    def freedom(self) -> int:
        return self.count - self.free

    @property
    def chi_square(self) -> float:
        return float(np.sum((self.errors / self.doubt)[self.used] ** 2))

    @cached_property
    def inverse(self) -> Floats:
        """Of the normal matrix: the covariance for points of the doubt assumed."""
        weighted = self.jacobian[self.used] / self.doubt[self.used, None]
        try:
            return np.asarray(np.linalg.inv(weighted.T @ weighted))
        except np.linalg.LinAlgError:
            raise ArcFitError(
                "the points do not fix the curve: too few of them differ. Measure at other heights."
            ) from None

    @property
    def scale(self) -> float:
        """What the doubt has to be multiplied by, and is where the scatter is significant."""
        if self.freedom < 1:
            return 1.0 if self.stated else math.nan
        scatter = math.sqrt(self.chi_square / self.freedom)
        return 1.0 if self.stated and not self.contradicts else scatter

    @property
    def contradicts(self) -> bool:
        """Whether the scatter is more than the stated doubt can explain (1 in 40)."""
        from scipy.special import chdtri

        if not self.stated or self.freedom < 1:
            return False
        return self.chi_square > float(chdtri(self.freedom, 0.025))

    def quantile(self, confidence: float) -> float:
        """Standard errors either way for a confidence, given where the scale comes from."""
        below = 0.5 + confidence / 2
        if self.stated and not self.contradicts:
            return _normal_quantile(below)
        return _t_quantile(below, self.freedom) if self.freedom else math.nan

    @property
    def covariance(self) -> Floats:
        return self.inverse * self.scale**2

    def belongs(self) -> Flags:
        """Which points, used or not, the fit through the used ones could have produced."""
        if self.freedom < 1 and not self.stated:
            return np.ones_like(self.used)
        weighted = self.jacobian / self.doubt[:, None]
        leverage = np.einsum("ij,jk,ik->i", weighted, self.inverse, weighted)
        # A point that was fitted has drawn the curve towards itself; one that was not, has not.
        room = np.where(self.used, np.maximum(1 - leverage, 0.0), 1 + leverage)
        reach = self.quantile(1 - _FALSE_ALARM / len(self.errors)) * self.scale
        # Rounding alone must not make strays of points that lie exactly on the curve.
        return np.asarray(np.abs(self.errors) <= reach * np.sqrt(room) * self.doubt + 1e-9)


def _normal_quantile(below: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(below))


def _t_quantile(below: float, freedom: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(freedom, below))


_Uncertainty: TypeAlias = tuple[float, float] | None
"""Of a point's radius and of its height [mm], or None where none was stated."""


def _solve(model: _Model, x: Floats, y: Floats, used: Flags, uncertainty: _Uncertainty) -> _Solved:
    """Least squares through the used points, each weighted by its doubt square to the curve."""
    from scipy.optimize import least_squares

    in_x, in_y = x[used], y[used]
    theta = model.start(in_x, in_y)
    across, upwards = uncertainty or (1.0, 1.0)
    doubt = np.full_like(x, across)
    # Where heights and radii are not known equally well, a point's doubt depends on which way
    # the curve runs there, so fit and weights are found in turn.
    for _ in range(30):
        sigma = doubt[used]
        theta = least_squares(
            lambda t: model.distances(model.full(t), in_x, in_y) / sigma,  # noqa: B023
            theta,
            lambda t: model.jacobian(model.full(t), in_x, in_y) / sigma[:, None],  # noqa: B023
            method="lm",
            xtol=1e-13,
            ftol=1e-13,
            gtol=1e-13,
        ).x
        if across == upwards:
            break
        along, up = model.normals(model.full(theta), x, y)
        new = np.hypot(along * across, up * upwards)
        settled = np.allclose(new, doubt, rtol=1e-9, atol=0)
        doubt = new
        if settled:
            break
    full = model.full(theta)
    whole = model.whole_jacobian(full, x, y) if isinstance(model, _Circle) else np.empty((0, 0))
    return _Solved(
        full=full,
        errors=model.distances(full, x, y),
        doubt=doubt,
        used=used,
        jacobian=model.jacobian(full, x, y),
        whole=whole,
        stated=uncertainty is not None,
        free=model.free,
    )


def _solve_without_strays(
    model: _Model, x: Floats, y: Floats, uncertainty: _Uncertainty
) -> _Solved:
    """Least squares through the points that belong together; the others are not used.

    1. With a stated uncertainty that all points keep to, that is all.
    2. Else start from the points about the curve that two thirds of them lie closest to (least
       quantile of squares), which a third of strays cannot pull away, and take in every point
       that the fit so far could have produced, until nothing changes.
    """
    everything = np.ones(len(x), dtype=bool)
    solved = _solve(model, x, y, everything, uncertainty)
    # One point more than needed shows that something is off, but not which.
    kept_to = solved.stated and not solved.contradicts
    if solved.freedom < 2 or (kept_to and solved.belongs().all()):
        return solved
    used = _core(model, x, y)
    seen: set[bytes] = set()
    while used.tobytes() not in seen:
        seen.add(used.tobytes())
        solved = _solve(model, x, y, used, uncertainty)
        used = solved.belongs()
        if used.sum() <= model.free:
            return _solve(model, x, y, everything, uncertainty)
    return solved


def _core(model: _Model, x: Floats, y: Floats) -> Flags:
    """Points about the curve that two thirds of them lie closest to.

    Half of them would do against more strays, but of few points half so often lie on one curve
    by mere chance that good ones would be called strays.
    """
    count = len(x)
    most = max(math.ceil(count * 2 / 3), model.sample + 1)
    if math.comb(count, model.sample) <= _MOST_STARTS:
        picks = np.array(list(itertools.combinations(range(count), model.sample)))
    else:
        # A fixed seed: the same table has to give the same answer every time.
        draw = np.random.default_rng(1994)
        starts = min(_MOST_STARTS, _MOST_DISTANCES // count)
        picks = np.argsort(draw.random((starts, count)), axis=1)[:, : model.sample]
    curves = model.through(x[picks], y[picks])
    curves = curves[np.isfinite(curves).all(axis=1)]
    distances = np.abs(model.distances(curves[:, None, :], x[None, :], y[None, :]))
    reach = np.partition(distances, most - 1, axis=1)[:, most - 1]
    best = int(np.argmin(reach))
    # Two thirds of a normal distribution lie within 0.967 standard deviations, and 2.5 of those
    # hold 99 in 100; the second factor is Rousseeuw and Leroy's for small samples.
    scale = reach[best] / 0.967 * (1 + 5 / max(count - model.sample, 1))
    used: Flags = distances[best] <= max(2.5 * scale, 1e-9)
    return used


# --- results -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LeftOut:
    """A point that does not belong to the curve.

    Parameters
    ----------
    row : int
        Its row in the table.
    told : str
        The row with its height and diameter.
    off : pint.Quantity
        How far it lies off the curve; positive on the outside of a circle.
    """

    row: int
    told: str
    off: Quantity

    def __str__(self) -> str:
        return f"{self.told} lies {_fine(abs(self.off))} off"


@dataclass(frozen=True)
class Settle:
    """What it takes to know a radius well enough.

    Parameters
    ----------
    within : pint.Quantity
        How well, as the half-width of the 95 % interval.
    now : pint.Quantity
        The half-width that there is.
    more_points : int or None
        Further points over the same sweep that would do; None where that is past all patience.
    sweep : pint.Quantity or None
        The sweep over which as many points as there are would do; None where not even a quarter
        does.
    points_over_a_quarter : int or None
        How many points over a quarter circle would do; None where that is past all patience.
    """

    within: Quantity
    now: Quantity
    more_points: int | None
    sweep: Quantity | None
    points_over_a_quarter: int | None

    @property
    def settled(self) -> bool:
        """Whether it is known well enough already."""
        return bool(self.now <= self.within)

    def __str__(self) -> str:
        if self.settled:
            return f"the radius is known within {_fine(self.now)}"
        ways = []
        if self.more_points is not None:
            ways.append(f"{self.more_points} more points over the same sweep")
        if self.sweep is not None:
            ways.append(f"as many points over {sizes.show(self.sweep, places=0)}")
        if self.sweep is None and self.points_over_a_quarter is not None:
            ways.append(f"{self.points_over_a_quarter} points over a full quarter")
        take = f"take {', or '.join(ways)}" if ways else "measure better"
        return (
            f"the radius is known only within {_fine(self.now)}; to know it within "
            f"{_fine(self.within)} {take}"
        )


@dataclass(frozen=True, eq=False)
class _Fit:
    """What the fit of an arc and that of a line have in common."""

    trace: Trace
    solved: _Solved

    @property
    def residuals(self) -> Quantity:
        """Each row's distance from the curve, left out or not."""
        return self.in_unit(self.solved.errors)

    @property
    def used(self) -> Flags:
        """Which rows were fitted."""
        return self.solved.used

    @property
    def sum_of_squares(self) -> float:
        """Of the fitted rows' distances [mm²]."""
        return float(np.sum(self.solved.errors[self.solved.used] ** 2))

    @property
    def scatter(self) -> Quantity | None:
        """Standard deviation of the fitted rows about the curve; None where nothing is over."""
        if self.solved.freedom < 1:
            return None
        return self.in_unit(math.sqrt(self.sum_of_squares / self.solved.freedom))

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """The rows that do not belong to the curve."""
        return tuple(
            LeftOut(self.trace.rows[i], self.trace.told(i), self.in_unit(self.solved.errors[i]))
            for i in map(int, np.flatnonzero(~self.solved.used))
        )

    def in_unit(self, value: Any) -> Quantity:
        return sizes.from_mm(value, self.trace.diameters.units)

    def notes(self) -> tuple[str, ...]:
        """What has to be said about the fit, strays apart; none means that there is nothing."""
        solved, notes = self.solved, []
        if solved.freedom < 1:
            notes.append(
                f"{solved.count} points fix the curve and none is over, so nothing checks them."
            )
        if solved.contradicts:
            stated = self.in_unit(float(np.sqrt(np.mean(solved.doubt[solved.used] ** 2))))
            notes.append(
                f"the points scatter by {_fine(self.scatter)} and their uncertainty was stated as "
                f"{_fine(stated)}: the measuring was worse, or the edge is not of this shape. "
                "The standard errors are from the scatter."
            )
        return tuple(notes)

    @property
    def summary(self) -> str:
        """What was found, in a line or two."""
        raise NotImplementedError

    def __str__(self) -> str:
        strays = [f"left out: {stray}." for stray in self.left_out]
        return "\n".join([self.summary, *strays, *self.notes()])


@dataclass(frozen=True, eq=False)
class ArcFit(_Fit):
    """A circle fitted to traced points, as :func:`fit_arc` returns it.

    Attributes
    ----------
    trace : Trace
        The points.
    radius_held : bool
        Whether the radius was given.
    covariance : numpy.ndarray
        Of the centre's radius, the centre's height and the arc's radius, in this order [mm²].
    """

    circle: _Circle
    covariance: Floats
    radius_held: bool

    @property
    def radius(self) -> Quantity:
        """Of the arc."""
        return self.in_unit(float(self.solved.full[2]))

    @property
    def centre_diameter(self) -> Quantity:
        """Twice the distance of the arc's centre from the cutter's axis."""
        return self.in_unit(2 * float(self.solved.full[0]))

    @property
    def centre_height(self) -> Quantity:
        """Of the arc's centre above the cutter's tip."""
        return self.in_unit(float(self.solved.full[1]))

    @property
    def radius_error(self) -> Quantity:
        """Standard error of the radius; not a number where nothing tells it."""
        return self.in_unit(math.sqrt(self.covariance[2, 2]))

    @property
    def centre_diameter_error(self) -> Quantity:
        """Standard error of :attr:`centre_diameter`."""
        return self.in_unit(2 * math.sqrt(self.covariance[0, 0]))

    @property
    def centre_height_error(self) -> Quantity:
        """Standard error of :attr:`centre_height`."""
        return self.in_unit(math.sqrt(self.covariance[1, 1]))

    @property
    def sweep(self) -> Quantity:
        """The angle that the fitted points cover, seen from the centre."""
        return sizes.from_rad(self._angles[1])

    @property
    def shape(self) -> str:
        """``"concave"`` where the cutter's edge is hollow (rounding over), else ``"convex"``."""
        x, y = (values[self.solved.used] for values in self.trace.xy)
        order = np.argsort(x + y)
        ends_x, ends_y = x[order[[0, -1]]], y[order[[0, -1]]]
        # The cutter's body is above and towards the axis from its edge.
        centre = self.solved.full[:2]
        side = (ends_x[1] - ends_x[0]) * (centre[1] - ends_y[0]) - (ends_y[1] - ends_y[0]) * (
            centre[0] - ends_x[0]
        )
        return "convex" if side > 0 else "concave"

    @cached_property
    def _angles(self) -> tuple[float, float]:
        """Middle of the fitted points' directions from the centre, and what they cover [rad]."""
        x, y = (values[self.solved.used] for values in self.trace.xy)
        angles = np.sort(np.arctan2(y - self.solved.full[1], x - self.solved.full[0]))
        gaps = np.diff(angles, append=angles[0] + 2 * math.pi)
        widest = int(np.argmax(gaps))
        sweep = 2 * math.pi - float(gaps[widest])
        return float(angles[(widest + 1) % len(angles)]) + sweep / 2, sweep

    def interval(self, confidence: float = 0.95) -> tuple[Quantity, Quantity]:
        r"""Between what radii the true one lies.

        What a short arc fixes is its curvature 1/R, whose errors are even either way; so the
        interval is even in 1/R and longer towards large radii:

        .. math:: \frac{R}{1 + q s_R / R} \quad\text{to}\quad \frac{R}{1 - q s_R / R}

        Parameters
        ----------
        confidence : float
            Of how many such intervals the true radius lies inside.

        Returns
        -------
        tuple of pint.Quantity
            The upper one infinite where the points could as well lie on a line.
        """
        radius = float(self.solved.full[2])
        part = self.solved.quantile(confidence) * math.sqrt(self.covariance[2, 2]) / radius
        low = radius / (1 + part)
        high = radius / (1 - part) if part < 1 else math.inf
        return self.in_unit(low), self.in_unit(high if not math.isnan(part) else math.nan)

    def settle(self, within: Size = WITHIN) -> Settle:
        """What it takes to know the radius within a half-width of its 95 % interval.

        Points are taken as evenly spread and as uncertain as those there are.

        Parameters
        ----------
        within : size
            The half-width wanted.

        Returns
        -------
        Settle

        Raises
        ------
        holecalc.sizes.SizeError
            It cannot be read.
        """
        wanted = sizes.length(within)
        target = sizes.mm(wanted)
        if target <= 0:
            raise ArcFitError(
                f"a radius cannot be known within {sizes.show(wanted)}. Give more than 0."
            )
        count, (middle, sweep) = self.solved.count, self._angles
        doubt = float(np.sqrt(np.mean(self.solved.doubt[self.solved.used] ** 2)))
        each = doubt * self.solved.scale
        now = 1.96 * math.sqrt(self.covariance[2, 2])

        def half_width(points: int, over: float) -> float:
            # Of evenly spread points the normal matrix is that of the mean point, times as many.
            angles = middle + over * (np.linspace(0.0, 1.0, points) - 0.5)
            rows = np.column_stack([np.cos(angles), np.sin(angles), np.ones(points)])
            rows = rows @ self.circle.basis
            inverse = self.circle.basis @ np.linalg.pinv(rows.T @ rows) @ self.circle.basis.T
            return 1.96 * each * math.sqrt(inverse[2, 2])

        quarter = math.pi / 2
        if self.radius_held or math.isnan(each) or now <= target:
            return Settle(wanted, self.in_unit(now), 0, self.sweep, None)
        more = math.ceil(count * (now / target) ** 2) - count
        over: float | None = None
        if sweep < quarter and half_width(count, quarter) <= target:
            from scipy.optimize import brentq

            if half_width(count, sweep) > target:
                over = brentq(lambda turn: half_width(count, turn) - target, sweep, quarter)
            else:
                over = sweep
        counts = range(self.circle.free + 1, MOST_ROWS + 1)
        enough = bisect.bisect_left(
            counts, True, key=lambda points: half_width(points, quarter) <= target
        )
        return Settle(
            wanted,
            self.in_unit(now),
            more if more <= MOST_ROWS else None,
            None if over is None else sizes.from_rad(over),
            counts[enough] if enough < len(counts) else None,
        )

    def notes(self, within: Size = WITHIN) -> tuple[str, ...]:
        """What has to be said about the fit, strays apart; none means that there is nothing.

        Parameters
        ----------
        within : size
            How well the radius should be known.
        """
        notes = [*super().notes()]
        settle = self.settle(within)
        if not self.radius_held and not settle.settled and math.isfinite(settle.now.magnitude):
            notes.append(f"weak: {settle}.")
        changes = self._sign_changes()
        if changes is not None:
            notes.append(
                f"the distances change sign only {changes[0]} times where chance gives about "
                f"{changes[1]}: the edge is not quite a circle, or heights and diameters are not "
                "to the same scale."
            )
        return tuple(notes)

    def _sign_changes(self) -> tuple[int, int] | None:
        """How often neighbours lie on different sides, where that is too seldom for chance."""
        used = self.solved.used
        x, y = (values[used] for values in self.trace.xy)
        middle, _ = self._angles
        turn = np.arctan2(y - self.solved.full[1], x - self.solved.full[0]) - middle
        order = np.argsort((turn + math.pi) % (2 * math.pi))
        errors = self.solved.errors[used][order]
        pairs = len(errors) - 1
        changes = int(np.sum(np.diff(np.sign(errors)) != 0))
        seldom = pairs / 2 - 2.6 * math.sqrt(pairs) / 2
        small = float(np.max(np.abs(errors))) < 1e-6
        return None if changes >= seldom or small else (changes, round(pairs / 2))

    @property
    def summary(self) -> str:
        """What was found, in two lines."""
        error = self.covariance[2, 2]
        if self.radius_held:
            known = "held"
        elif math.isnan(error):
            known = "its standard error unknown"
        else:
            low, high = self.interval()
            upper = _fine(high) if math.isfinite(high.magnitude) else "no upper limit"
            known = f"standard error {_fine(self.radius_error)}, 95 %: {_fine(low)} to {upper}"
        lines = [
            f"{self.shape} arc of radius {_fine(self.radius)} ({known})",
            f"centre {_fine(self.centre_diameter)} across and {_fine(self.centre_height)} above "
            f"the tip, from {self.solved.count} of {len(self.trace)} rows over "
            f"{sizes.show(self.sweep, places=0)}",
        ]
        if self.scatter is not None:
            lines[1] += f"; scatter {_fine(self.scatter)}"
        return "\n".join(lines)


@dataclass(frozen=True, eq=False)
class LineFit(_Fit):
    """A straight flank fitted to traced points, as :func:`fit_line` returns it."""

    @property
    def flank_angle(self) -> Quantity:
        """Between the flank and the cutter's axis; negative where diameters fall with height."""
        turn = float(self.solved.full[0])
        # The flank runs square to the normal; of its two directions the one that goes up.
        along, up = -math.sin(turn), math.cos(turn)
        return sizes.from_rad(math.atan2(along, up) if up > 0 else math.atan2(-along, -up))

    @property
    def flank_angle_error(self) -> Quantity:
        """Standard error of :attr:`flank_angle`; not a number where nothing tells it."""
        return sizes.from_rad(math.sqrt(self.solved.covariance[0, 0]))

    def radius_at(self, height: Any) -> Any:
        """Of the flank at a height, both [mm]."""
        turn, away = self.solved.full
        return (away - height * math.sin(turn)) / math.cos(turn)

    @property
    def summary(self) -> str:
        """What was found, in a line."""
        error = self.flank_angle_error
        known = (
            f"standard error {sizes.show(error)}"
            if math.isfinite(error.magnitude)
            else "its standard error unknown"
        )
        line = (
            f"straight flank at {sizes.show(self.flank_angle)} to the axis ({known}), from "
            f"{self.solved.count} of {len(self.trace)} rows"
        )
        if self.scatter is not None:
            line += f"; scatter {_fine(self.scatter)}"
        return line


# --- fitting -------------------------------------------------------------------------------------


def fit_arc(
    points: Points,
    *,
    uncertainty: Size | None = None,
    height_uncertainty: Size | None = None,
    radius: Size | None = None,
    tangent_diameter: Size | None = None,
    tangent_height: Size | None = None,
    held_uncertainty: Size | None = None,
    unit: str | None = None,
    keep_all: bool = False,
) -> ArcFit:
    r"""Fit a circle to traced points by geometric least squares.

    Uncertainties are *standard* uncertainties, about half of what one would call plus or minus.
    They are of a point's place in the plane of radius and height; a diameter read to 0.02 mm
    puts its radius to 0.01 mm.

    Parameters
    ----------
    points : Trace, str, pathlib.Path, or pairs of sizes
        As :func:`read_trace` takes them.
    uncertainty : size, optional
        Standard uncertainty of each point's radius, and of its height unless that is given.
        Without it the scatter of the points tells it.
    height_uncertainty : size, optional
        Of each point's height, where that differs.
    radius : size, optional
        Hold the arc's radius, such as the one marked on the cutter.
    tangent_diameter : size, optional
        Make the arc tangent to the cylinder of this diameter: the stub of a rounding-over
        cutter, the shoulder of a cove cutter.
    tangent_height : size, optional
        Make the arc tangent to the plane at this height: where a rounding-over cutter's arc runs
        out level, or a cove cutter's arc starts.
    held_uncertainty : size, optional
        Standard uncertainty of each of what is held (radius, radius of the cylinder, height);
        exact by default.
    unit : str, optional
        Of bare numbers in `points`.
    keep_all : bool, default False
        Fit every point, also those that do not belong.

    Returns
    -------
    ArcFit
        With the points that do not belong to the arc named and left out of the fit.

    Raises
    ------
    ArcFitError
        A row cannot be read; fewer than three points; points on a line; nothing is left free to
        fit.
    holecalc.sizes.SizeError
        Another size cannot be read.

    Notes
    -----
    Standard errors are linear estimates. On arcs of 60° and more, with points that scatter by a
    hundredth of the radius or less, 95 % intervals hold the true radius 95 times in 100; the
    tests check that. A trace without strays has a good point called one once in 100 times where
    the uncertainty is stated, and up to three times where it is not; so state it. Up to a third
    of the points may be strays; more cannot be told from bad measuring and show as scatter.

    References
    ----------
    W. Gander, G. H. Golub, R. Strebel: Least-squares fitting of circles and ellipses. BIT 34
    (1994) 558-578.

    Examples
    --------
    >>> fit = fit_arc(
    ...     "0 12.70; 1 12.86; 2 13.35; 3 14.21; 4 15.54; 5 17.58; 6 21.24".replace("; ", "\n"),
    ...     unit="mm", uncertainty="0.01 mm",
    ... )
    >>> print(fit)
    concave arc of radius 6.359 mm (standard error 0.048 mm, 95 %: 6.266 mm to 6.455 mm)
    centre 25.418 mm across and -0.006 mm above the tip, from 7 of 7 rows over 71°; scatter 0.001 mm
    """
    trace = read_trace(points, unit)
    x, y = trace.xy
    held = radius is not None
    circle, moved = _circle(x, y, radius, tangent_diameter, tangent_height)
    _refuse_few(trace)
    if not held:
        _refuse_exact_line(trace)
    stated = _uncertainty(uncertainty, height_uncertainty)
    if keep_all:
        solved = _solve(circle, x, y, np.ones(len(trace), dtype=bool), stated)
    else:
        solved = _solve_without_strays(circle, x, y, stated)
    if circle.free == 3:
        _refuse_line(trace.only(solved.used), stated)
        _refuse_shapeless(solved)
    if solved.full[2] <= 0:
        raise ArcFitError(
            "no circle through these points touches what it was to be tangent to. Check the "
            "diameter and the height of the lines, or fit without them."
        )
    doubt = 0.0 if held_uncertainty is None else sizes.mm(sizes.length(held_uncertainty))
    return ArcFit(trace, solved, circle, _covariance(circle, solved, moved, doubt), held)


def fit_line(
    points: Points,
    *,
    uncertainty: Size | None = None,
    height_uncertainty: Size | None = None,
    unit: str | None = None,
    keep_all: bool = False,
) -> LineFit:
    """Fit a straight flank to traced points, square to it.

    Parameters
    ----------
    points, uncertainty, height_uncertainty, unit, keep_all
        As for :func:`fit_arc`.

    Returns
    -------
    LineFit

    Raises
    ------
    ArcFitError
        A row cannot be read; fewer than three points.
    holecalc.sizes.SizeError
        An uncertainty cannot be read.

    Examples
    --------
    >>> print(fit_line([(0, 10), (1, 12.02), (2, 13.98), (3, 16.01)], unit="mm"))
    straight flank at 44.99° to the axis (standard error 0.13°), from 4 of 4 rows; \
scatter 0.007 mm
    """
    trace = read_trace(points, unit)
    x, y = trace.xy
    _refuse_few(trace)
    stated = _uncertainty(uncertainty, height_uncertainty)
    model = _Line()
    if keep_all:
        return LineFit(trace, _solve(model, x, y, np.ones(len(trace), dtype=bool), stated))
    return LineFit(trace, _solve_without_strays(model, x, y, stated))


def _circle(
    x: Floats,
    y: Floats,
    radius: Size | None,
    tangent_diameter: Size | None,
    tangent_height: Size | None,
) -> tuple[_Circle, list[int]]:
    """The circle's holds, and which of (r_c, h_c, R) each held number moves."""
    columns, fixed, moved = [], np.zeros(3), []
    grows = np.zeros(3)
    for axis, (line, values) in enumerate(((tangent_diameter, x), (tangent_height, y))):
        if line is None:
            columns.append(np.eye(3)[axis])
            continue
        at = sizes.mm(sizes.length(line)) / (2 if axis == 0 else 1)
        # The points lie on the side of the line that the centre lies on.
        grows[axis] = 1.0 if float(np.mean(values)) >= at else -1.0
        fixed[axis] = at
        moved.append(axis)
    if radius is None:
        grows[2] = 1.0
        columns.append(grows)
    else:
        held = sizes.length(radius)
        if held.magnitude <= 0:
            raise ArcFitError(f"the radius held is {sizes.show(held)}; it must be more than 0.")
        fixed = fixed + sizes.mm(held) * (grows + np.array([0.0, 0.0, 1.0]))
        moved.append(2)
    if not columns:
        raise ArcFitError(
            "the radius and both tangent lines fix the arc, and nothing is left to fit. Hold one "
            "less."
        )
    return _Circle(np.column_stack(columns), fixed), moved


def _covariance(circle: _Circle, solved: _Solved, moved: list[int], doubt: float) -> Floats:
    r"""Covariance of (r_c, h_c, R), with the doubt of what is held carried through.

    A held number that is off by δ moves b, and the fit gives way by

    .. math:: \delta\theta = -(J^T W J)^{-1} J^T W J_{whole}\, \delta b
    """
    basis = circle.basis
    total = basis @ solved.covariance @ basis.T
    weights = (solved.used / solved.doubt**2)[:, None]
    gives_way = solved.inverse @ solved.jacobian.T @ (weights * solved.whole)
    stays = np.eye(3) - basis @ gives_way
    for axis in moved:
        step = stays @ np.eye(3)[axis] * doubt
        total = total + np.outer(step, step)
    return np.asarray(total)


def _uncertainty(uncertainty: Size | None, height: Size | None) -> _Uncertainty:
    if uncertainty is None:
        if height is not None:
            raise ArcFitError(
                "an uncertainty of the heights was given and none of the radii. Give both."
            )
        return None
    both = [sizes.length(uncertainty)]
    both.append(both[0] if height is None else sizes.length(height))
    for size in both:
        if size.magnitude <= 0:
            raise ArcFitError(
                f"a measuring uncertainty of {sizes.show(size)} says that nothing was measured "
                "wrong. Give more than 0, or none to take it from the scatter."
            )
    return sizes.mm(both[0]), sizes.mm(both[1])


def _refuse_few(trace: Trace) -> None:
    different = len({*zip(*trace.xy, strict=True)})
    if different < 3:
        raise ArcFitError(
            f"row {trace.rows[-1]} is the last, and the table has only {different} different "
            f"point{'s' if different > 1 else ''}; a fit takes three at least, and six or more "
            "to check each other. Measure at more heights."
        )


def _refuse_exact_line(trace: Trace) -> None:
    along, across = _main_axes(trace)
    if float(np.ptp(across)) <= 1e-7 * float(np.ptp(along)):
        raise ArcFitError(
            f"rows {trace.rows[0]} to {trace.rows[-1]} lie on a line and not on an arc. If the "
            "edge is straight, its shape is 'straight'; else measure further round the arc."
        )


def _refuse_line(trace: Trace, uncertainty: _Uncertainty) -> None:
    """Refuse points that could as well lie on a line: their curvature has to differ from none.

    In axes along and across the points, the curvature is the square term of a parabola through
    them, whose standard error is that of a linear fit: the circle's own is no guide where its
    radius may as well be infinite.
    """
    along, across = _main_axes(trace)
    length = float(np.ptp(along))
    # Points as far round as this are on no parabola, and on no line either.
    if float(np.ptp(across)) > 0.25 * length:
        return
    design = np.vander(along / length, 3)
    terms, *_ = np.linalg.lstsq(design, across, rcond=None)
    over = len(trace) - 3
    if uncertainty is not None:
        each, reach = max(uncertainty), _normal_quantile(0.975)
    elif over:
        each = math.sqrt(float(np.sum((across - design @ terms) ** 2)) / over)
        reach = _t_quantile(0.975, over)
    else:
        return
    # Over the length of 1 that `along` is scaled to, the bow of a parabola is a quarter of its
    # square term.
    bow = abs(float(terms[0])) / 4
    error = reach * each * math.sqrt(float(np.linalg.inv(design.T @ design)[0, 0])) / 4
    if bow < error:
        unit = trace.diameters.units
        raise ArcFitError(
            f"rows {trace.rows[0]} to {trace.rows[-1]} could as well lie on a line: their bow is "
            f"{_fine(sizes.from_mm(bow, unit))} and uncertain by "
            f"{_fine(sizes.from_mm(error, unit))}. If the edge is straight, its shape is "
            "'straight'; else measure further round the arc, or better."
        )


def _refuse_shapeless(solved: _Solved) -> None:
    """Refuse points that are all over the place: their radius is uncertain by all of itself."""
    if solved.freedom < 1:
        return
    # Rounding may leave next to nothing of the normal matrix, and a negative variance.
    variance, radius = float(solved.covariance[2, 2]), float(solved.full[2])
    if not 0 <= variance < (radius / solved.quantile(0.95)) ** 2:
        raise ArcFitError(
            "the points show no arc: its radius would be uncertain by more than itself. Give only "
            "the rows of the arc, and look for slips among them."
        )


def _main_axes(trace: Trace) -> tuple[Floats, Floats]:
    """The points along the line that they lie closest to, and across it [mm]."""
    x, y = trace.xy
    middle = np.column_stack([x - x.mean(), y - y.mean()])
    _, _, axes = np.linalg.svd(middle, full_matrices=False)
    return middle @ axes[0], middle @ axes[1]
