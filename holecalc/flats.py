r"""Pockets with flats, hexagon and square, as a round cutter leaves them.

A cutter of diameter c leaves its radius in every corner. Seen from above, one flat of a pocket
S across flats, with half of it as wide as h = 180°/n from the centre (n flats: 30° for a hexagon,
45° for a square) and half the angle at the corner b = 90° - h:

::

      |<------ x ------>|          x  = q sin h, where the flat ends and the corner's radius starts
      |_________________|_         R  = S / (2 sin b), centre to the corner were it sharp
      |                 |  `.      q  = (S - c) / (2 sin b), centre to where the cutter's axis turns
      |      radius c/2 |    \
      |                 o     |    the sharp corner is (c/2)/sin b from o, the wall only c/2, so
  S/2 |              q /  c/2      that the corner's tip falls short by (c/2)(1/sin b - 1)
      |             /
      |          /                 square to a flat that is (c/2)(1 - sin b): what each flat has
      | h     /                    to stand off for a nut with sharp corners to go in
      |    /
      | /
      o centre

.. math:: S = s + k + c (1 - \sin b)

for a nut s across flats with the clearance k. Instead of standing off, each corner can be
relieved: the cutter goes on along the diagonal as far as the corner. That keeps S = s + k but
takes away part of the flats.

The nut then turns until something stops it: its corners, e across, on the flats or on the
corner's radius; or, where corners were relieved, its flats on the ends of what is left of the
pocket's. Derivations: ``references/derivations-counterbore.md``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from holecalc import sizes
from holecalc.nuts import SIDES, Nut
from holecalc.relations import ANGLE, LENGTH, Condition, NoAnswer, Relations, Variable
from holecalc.sizes import Quantity, Size

__all__ = [
    "HEXAGON",
    "SQUARE",
    "FlatsError",
    "Outline",
    "Relief",
    "Turning",
    "corners",
    "laps",
    "largest_cutter",
    "relief",
    "turning",
]

_fine = partial(sizes.show, fine=True)

_CLOSE = 1e-9
"""Millimetres; what rounding may do to a size, and no person could measure."""


class FlatsError(ValueError):
    """The sizes do not make a pocket with flats; the message says why, and what would."""


def _pocket(title: str, sides: int) -> Relations:
    half = f"pi/{sides}"
    return Relations(
        title,
        Variable("pocket_across_flats", "S", LENGTH, "over two opposite flats of the pocket"),
        Variable("nut_across_flats", "s", LENGTH, "over two opposite flats of the largest nut"),
        Variable(
            "clearance", "k", LENGTH, "room across flats, beyond what the corners need", zero=True
        ),
        Variable(
            "cutter_diameter", "c", LENGTH, "of the cutter; 0 for quite sharp corners", zero=True
        ),
        Variable(
            "stand_off", "f", LENGTH, "how far each flat stands off for the corners", zero=True
        ),
        Variable("across_corners", "e", LENGTH, "over two opposite corners", optional=True),
        Variable(
            "turning_angle",
            "t",
            ANGLE,
            "how far the nut turns either way until its corners meet the flats",
            high=math.pi / sides,
            zero=True,
            optional=True,
        ),
        equations=(
            f"S = s + k + c*(1 - cos({half}))",
            f"f = c/2*(1 - cos({half}))",
            f"S = e*cos({half} - t)",
        ),
        conditions=(
            Condition(
                "s <= e",
                "a nut is wider over its corners than over its flats; measure both again",
            ),
        ),
        settings=("nut_across_flats", "clearance", "cutter_diameter", "across_corners"),
    )


HEXAGON = _pocket("hexagon pocket without relief", 6)
"""What ties a hexagon pocket, its nut, its cutter and the angle the nut turns.

The turning angle is that of corners that meet straight flats. It bounds the true one from above:
corners that reach the cutter's radius first stop earlier, see :func:`turning`.

Examples
--------
>>> pocket = HEXAGON.solve(
...     nut_across_flats="13 mm", clearance=0, cutter_diameter="6 mm", across_corners="14.38 mm"
... )
>>> print(sizes.show(pocket.pocket_across_flats, fine=True), sizes.show(pocket.turning_angle))
13.804 mm 13.73°
"""

SQUARE = _pocket("square pocket without relief", 4)
"""As :data:`HEXAGON`, for a square nut.

Examples
--------
>>> pocket = SQUARE.solve(nut_across_flats="8 mm", clearance="0.2 mm", cutter_diameter="3 mm")
>>> print(sizes.show(pocket.pocket_across_flats, fine=True))
9.079 mm
"""


# --- outlines --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Outline:
    """A pocket seen from above, in plain millimetres and radians about its own centre.

    It is what a round cutter leaves: every point within the cutter's radius of where its axis
    went. The axis runs on a smaller hexagon or square, or stands still for a round outline, which
    is the case without flats; and it goes out to each relief.

    Parameters
    ----------
    sides : int
        6 or 4 flats, or 0 for round.
    across : float
        Across flats, or the diameter [mm].
    corner_radius : float
        Left by the cutter in each corner [mm].
    relief_radius : float
        Of the cutter that relieved the corners [mm]; 0 for none.
    relief_centre : float
        How far out on the diagonals its axis went [mm].
    turned : float
        Of one corner from the X axis [rad].
    """

    sides: int
    across: float
    corner_radius: float = 0.0
    relief_radius: float = 0.0
    relief_centre: float = 0.0
    turned: float = 0.0

    @property
    def apothem(self) -> float:
        """Centre to flat, or the radius [mm]."""
        return self.across / 2

    @property
    def half(self) -> float:
        """Half of a flat, as an angle at the centre [rad]."""
        return math.pi / self.sides

    @property
    def corner_centre(self) -> float:
        """How far out the cutter's axis turns in each corner [mm], q."""
        if not self.sides:
            return 0.0
        return (self.apothem - self._radius) / math.cos(self.half)

    @property
    def reach(self) -> float:
        """The farthest point from the centre [mm]."""
        return max(
            self.corner_centre + self._radius,
            self.relief_centre + self.relief_radius if self.relief_radius else 0.0,
        )

    @property
    def _radius(self) -> float:
        return self.corner_radius if self.sides else self.apothem

    @cached_property
    def flat_end(self) -> tuple[float, float] | None:
        """Where a relief meets what the cutter left: angle off the diagonal [rad], radius [mm].

        That is a corner of the plate which points at the nut. None without relief.
        """
        if not self.relief_radius:
            return None
        out, small = self.relief_centre, self.relief_radius
        above = self.apothem - out * math.cos(self.half)
        if above < small:
            along = out * math.sin(self.half) - math.sqrt(small**2 - above**2)
            if along <= self.corner_centre * math.sin(self.half) + _CLOSE:
                return self.half - math.atan2(along, self.apothem), math.hypot(along, self.apothem)
        # A small relief in a large corner meets the corner's radius instead of the flat: two
        # circles, of which the line through both centres is the diagonal.
        q, r = self.corner_centre, self.corner_radius
        on = (out**2 - q**2 + r**2 - small**2) / (2 * (out - q))
        beside = math.sqrt(max(r**2 - (on - q) ** 2, 0.0))
        return math.atan2(beside, on), math.hypot(on, beside)

    @property
    def flat_left(self) -> float:
        """Length of each flat that is still straight [mm]."""
        left = self.corner_centre * math.sin(self.half)
        if self.flat_end is not None:
            angle, radius = self.flat_end
            left = min(left, radius * math.sin(self.half - angle))
        return 2 * left

    def radial(self, direction: float) -> float:
        """From the centre to the wall, in a direction from the X axis [mm]."""
        if not self.sides:
            return self.apothem
        off = abs((direction - self.turned + self.half) % (2 * self.half) - self.half)
        q, r = self.corner_centre, self.corner_radius
        wall = self.apothem / math.cos(self.half - off)
        if off < self.half - math.atan2(q * math.sin(self.half), self.apothem):
            wall = _far_side(q, r, off)
        if self.flat_end is not None and off < self.flat_end[0]:
            wall = max(wall, _far_side(self.relief_centre, self.relief_radius, off))
        return wall

    def angle_at(self, radius: float) -> float | None:
        """How far off the diagonal a point at this radius meets the wall [rad].

        None where it meets none, in any direction.
        """
        if radius <= self.apothem:
            return None
        q, r = self.corner_centre, self.corner_radius
        met = 0.0
        if radius < q + r + _CLOSE:
            on_flat = self.half - math.acos(min(self.apothem / radius, 1.0))
            ends = self.half - math.atan2(q * math.sin(self.half), self.apothem)
            met = on_flat if on_flat >= ends else _beside(q, r, radius)
        if self.relief_radius:
            met = max(met, _beside(self.relief_centre, self.relief_radius, radius))
        return met

    @property
    def area(self) -> float:
        """Of the outline [mm²].

        The axis's hexagon or square, widened by the cutter's radius all round, and what the
        reliefs take besides: each is swept from the centre, the circle's part and the part that
        was gone already.
        """
        if not self.sides:
            return math.pi * self.apothem**2
        h, r, q = self.half, self.corner_radius, self.corner_centre
        inner = self.apothem - r
        area = self.sides * math.tan(h) * (inner**2 + 2 * inner * r) + math.pi * r**2
        if self.flat_end is None:
            return area
        angle, radius = self.flat_end
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        new = _sweep(self.relief_centre, self.relief_radius, x, y)
        ends = h - math.atan2(q * math.sin(h), self.apothem)
        if angle <= ends + _CLOSE:
            gone = _sweep(q, r, x, y)
        else:
            along = q * math.sin(h) - radius * math.sin(h - angle)
            gone = (r**2 * h + q * r * math.sin(h)) / 2 + self.apothem * along / 2
        return area + 2 * self.sides * (new - gone)

    @cached_property
    def pieces(self) -> tuple[tuple[NDArray[np.float64], float], ...]:
        """Where each cutter's axis went, as corners [mm], and the cutter's radius [mm]."""
        if not self.sides:
            return ((np.zeros((1, 2)), self.apothem),)
        found = [(self.corner_centre * self._diagonals(), self.corner_radius)]
        if self.relief_radius:
            found += [
                (centre[np.newaxis], self.relief_radius)
                for centre in self.relief_centre * self._diagonals()
            ]
        return tuple(found)

    def _diagonals(self) -> NDArray[np.float64]:
        angles = self.turned + 2 * self.half * np.arange(self.sides)
        return np.column_stack([np.cos(angles), np.sin(angles)])

    def contains(self, other: Outline) -> bool:
        """Whether another outline about the same centre lies inside this one.

        Each piece of it has to lie inside one piece of this.
        """
        return all(
            any(
                np.all(_signed_distance(axis, ours) + radius <= our_radius + _CLOSE)
                for ours, our_radius in self.pieces
            )
            for axis, radius in other.pieces
        )

    def gap(self, other: Outline, along: float, across: float) -> float:
        """The least distance to an outline whose centre is elsewhere [mm]; not above 0 if none.

        Parameters
        ----------
        along, across : float
            Of the other centre from this one, in X and Y [mm].
        """
        away = np.array([along, across])
        return min(
            _apart(ours, theirs + away) - our_radius - their_radius
            for ours, our_radius in self.pieces
            for theirs, their_radius in other.pieces
        )

    def gap_to_box(self, half: tuple[float, float], along: float, across: float) -> float:
        """The least distance to a box along X and Y [mm]; not above 0 if they meet.

        Parameters
        ----------
        half : (float, float)
            Of the box's size in X and Y [mm].
        along, across : float
            Of the box's middle from this centre, in X and Y [mm].
        """
        box = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half + np.array([along, across])
        return min(_apart(ours, box) - radius for ours, radius in self.pieces)

    def extent(self, direction: float) -> float:
        """How far it reaches in a direction from the X axis [mm], measured along it."""
        towards = np.array([math.cos(direction), math.sin(direction)])
        return float(max(np.max(axis @ towards) + radius for axis, radius in self.pieces))


def _far_side(centre: float, radius: float, off: float) -> float:
    """From the origin to the far side of a circle on the axis, in a direction off the axis."""
    inside = radius**2 - (centre * math.sin(off)) ** 2
    return centre * math.cos(off) + math.sqrt(inside) if inside >= 0 else 0.0


def _beside(centre: float, radius: float, out: float) -> float:
    """Off the axis [rad], where a circle on it is this far from the origin; 0 beyond its end."""
    if out >= centre + radius:
        return 0.0
    return math.acos((centre**2 + out**2 - radius**2) / (2 * centre * out))


def _sweep(centre: float, radius: float, x: float, y: float) -> float:
    """Swept from the origin along a circle on the X axis, from the axis to a point [mm²]."""
    around = math.atan2(y, x - centre)
    return (radius**2 * around + centre * radius * math.sin(around)) / 2


def _edges(polygon: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Edges, and their outward normals, of a polygon given anticlockwise."""
    edges = np.roll(polygon, -1, axis=0) - polygon
    length = np.hypot(edges[:, 0], edges[:, 1])[:, np.newaxis]
    return edges, np.column_stack([edges[:, 1], -edges[:, 0]]) / length


def _signed_distance(points: NDArray[np.float64], polygon: NDArray[np.float64]) -> Any:
    """Of points from a convex polygon; negative inside."""
    if np.ptp(polygon, axis=0).max() < _CLOSE:
        return np.hypot(*(points - polygon[0]).T)
    edges, normals = _edges(polygon)
    to = points[:, np.newaxis] - polygon
    inside = np.max(np.sum(to * normals, axis=-1), axis=-1)
    along = np.clip(np.sum(to * edges, axis=-1) / np.sum(edges**2, axis=-1), 0.0, 1.0)
    nearest = to - along[..., np.newaxis] * edges
    outside = np.min(np.hypot(nearest[..., 0], nearest[..., 1]), axis=-1)
    return np.where(inside <= 0, inside, outside)


def _apart(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Between two convex polygons; 0 where they overlap."""
    if not any(_separates(normal, one, other) for normal in _normals(one, other)):
        return 0.0
    return float(min(_signed_distance(one, other).min(), _signed_distance(other, one).min()))


def _normals(*polygons: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    points = [polygon[0] for polygon in polygons if np.ptp(polygon, axis=0).max() < _CLOSE]
    for polygon in polygons:
        if np.ptp(polygon, axis=0).max() >= _CLOSE:
            yield from _edges(polygon)[1]
    if len(points) == 2:
        yield points[1] - points[0]


def _separates(
    normal: NDArray[np.float64], one: NDArray[np.float64], other: NDArray[np.float64]
) -> bool:
    ours, theirs = one @ normal, other @ normal
    return bool(ours.max() < theirs.min() or theirs.max() < ours.min())


def laps(shape: str, across_flats: Size, cutter_diameter: Size) -> tuple[Quantity, ...]:
    r"""The laps that clear a pocket which was opened round, as wide as it is across its flats.

    The last lap follows the flats, and clears what lies within c of them. A narrow cutter then
    leaves islands on the diagonals, outside the round opening, unless laps go before it:

    ::

              .  corner of the pocket, (S/2)/sin b from the centre
         ____.   what the last lap clears, c wide
        |   /
        |  x     island, from S/2 as far as (S/2 - c)/sin b
        | /
        |/
        o------ S/2, the round opening

    with b half the angle at a corner, 45° for a square and 60° for a hexagon. One stands where
    c < (S/2)(1 - sin b). Laps whose flats are no more than (c/2)(1 + sin b) apart leave none
    between them; they are taken c/20 closer than that, as the rings of a bore are.

    Parameters
    ----------
    shape : {"hexagon", "square"}
        Of the pocket.
    across_flats : size
        Of the pocket.
    cutter_diameter : size
        Of the cutter.

    Returns
    -------
    tuple of pint.Quantity
        Across the flats of the axis's path, from the middle outwards.

    Raises
    ------
    FlatsError
        The cutter does not go into the pocket.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> [sizes.show(lap) for lap in laps("hexagon", "13.8 mm", "6 mm")]
    ['7.80 mm']
    >>> [sizes.show(lap) for lap in laps("square", "24.8 mm", "2 mm")]
    ['19.34 mm', '21.07 mm', '22.80 mm']
    """
    sides = _sides(shape)
    flats, cutter = _more_than_0(across_flats, "pocket"), _more_than_0(cutter_diameter, "cutter")
    apothem, wide, cosine = sizes.mm(flats) / 2, sizes.mm(cutter), math.cos(math.pi / sides)
    last = apothem - wide / 2
    if last <= _CLOSE:
        raise FlatsError(
            f"a {_fine(cutter)} cutter does not go round in a pocket of {_fine(flats)} across "
            "flats. Take a smaller one."
        )
    overlap = wide / 20
    first = apothem * cosine + wide / 2 - overlap
    most = wide / 2 * (1 + cosine) - overlap
    further = max(0, math.ceil((last - first) / most - _CLOSE))
    step = (last - first) / further if further else 0.0
    paths = [last - step * index for index in range(further, -1, -1)]
    return tuple(sizes.from_mm(2 * path, flats.units) for path in paths)


# --- relief ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Relief:
    """Corners relieved by a round cutter that goes out along the diagonals.

    ::

              ___ bite: past each flat, (c/2)(1 - sin b) where the circle runs through the corner
         flat     .--.
        ________.'    '.  corner
         left  |   o----|-.     o  the cutter's axis, centre_radius from the pocket's middle
               '.  | c/2  |
                 '-|---- '

    Parameters
    ----------
    shape : str
        ``"hexagon"`` or ``"square"``.
    across_flats : pint.Quantity
        Of the pocket.
    cutter_diameter : pint.Quantity
        Of the cutter that makes the relief.
    centre_radius : pint.Quantity
        From the pocket's middle to the cutter's axis, on each diagonal.
    reach : pint.Quantity
        From the pocket's middle to the farthest point of each relief.
    bite : pint.Quantity
        How far each relief goes past the flats; 0 where it does not.
    flat_left : pint.Quantity
        How much of each flat stays straight, at most: the pocket's own cutter may leave less.
    """

    shape: str
    across_flats: Quantity
    cutter_diameter: Quantity
    centre_radius: Quantity
    reach: Quantity
    bite: Quantity
    flat_left: Quantity

    @property
    def circle_diameter(self) -> Quantity:
        """Of the circle all the reliefs' centres lie on."""
        return 2 * self.centre_radius

    def centres(self, turned: Size = 0) -> Quantity:
        """Where the cutter's axis goes, as X and Y from the pocket's middle.

        Parameters
        ----------
        turned : angle, default 0
            Of one corner from the X axis.

        Examples
        --------
        >>> centres = relief("hexagon", "13.2 mm", "6 mm").centres()
        >>> print(centres[1].round(3))
        [2.311 4.002] mm
        """
        return _around(SIDES[self.shape], self.centre_radius, turned)

    def __str__(self) -> str:
        return (
            f"{_fine(self.cutter_diameter)} circles, centres {_fine(self.centre_radius)} out on "
            f"the diagonals; {_fine(self.bite)} past the flats, which keep "
            f"{_fine(self.flat_left)} each"
        )


def relief(
    shape: str, across_flats: Size, cutter_diameter: Size, *, reach: Size | None = None
) -> Relief:
    r"""Where a cutter has to go to relieve the corners of a pocket.

    For a circle through the corner the axis stands :math:`S/(2 \sin b) - c/2` from the middle.
    Its circle cuts each flat twice: in the corner, and c/2 along the flat from there, so that
    every flat loses that length at both ends. A smaller cutter or a smaller reach takes less.

    Parameters
    ----------
    shape : {"hexagon", "square"}
        Of the pocket.
    across_flats : size
        Of the pocket.
    cutter_diameter : size
        Of the cutter that makes the relief.
    reach : size, optional
        How far out each relief goes, from the pocket's middle. By default to the pocket's own
        corner; what the nut needs is half its sharp corners, and a little room.

    Returns
    -------
    Relief

    Raises
    ------
    FlatsError
        The cutter does not go into the pocket, or nothing is left of the flats.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(relief("hexagon", "13.2 mm", "6 mm"))
    6.000 mm circles, centres 4.621 mm out on the diagonals; 0.402 mm past the flats, which keep
    1.621 mm each
    """
    sides = _sides(shape)
    flats, cutter = _more_than_0(across_flats, "pocket"), _more_than_0(cutter_diameter, "cutter")
    apothem, radius, half = sizes.mm(flats) / 2, sizes.mm(cutter) / 2, math.pi / sides
    corner = apothem / math.cos(half)
    if radius >= apothem:
        raise FlatsError(
            f"a {_fine(cutter)} cutter does not fit a pocket of {_fine(flats)} across flats. "
            "Take a smaller one."
        )
    out = corner if reach is None else sizes.mm(sizes.length(reach))
    if out <= radius:
        raise FlatsError(
            f"a relief that reaches {_shown(out, flats)} with a {_fine(cutter)} cutter does not "
            f"leave the middle. The pocket's own corner is {_shown(corner, flats)} out."
        )
    centre = out - radius
    above = apothem - centre * math.cos(half)
    bite = max(radius - above, 0.0)
    left = apothem * math.tan(half)
    if bite:
        left = min(left, centre * math.sin(half) - math.sqrt(radius**2 - above**2))
    if left <= _CLOSE:
        raise FlatsError(
            f"reliefs of {_fine(cutter)} in a {shape} of {_fine(flats)} across flats run into "
            "each other: no flat is left to hold a nut. Take a smaller cutter for the corners."
        )

    def of(value: float) -> Quantity:
        return sizes.from_mm(value, flats.units)

    return Relief(shape, flats, cutter, of(centre), of(out), of(bite), of(2 * left))


# --- the nut in its pocket -------------------------------------------------------------------


@dataclass(frozen=True)
class Turning:
    """How far a nut turns in its pocket, either way from where its flats are parallel.

    Parameters
    ----------
    most : pint.Quantity or None
        The smallest nut there may be, with its corners rounded to the least across corners.
        None where it spins.
    least : pint.Quantity or None
        The largest nut, with sharp corners. None where even that spins.
    stopped_by : str
        What stops the smallest nut: ``"flats"``, ``"corner radius"``, ``"ends of the flats"``
        (where corners were relieved), or ``"nothing"``.
    """

    most: Quantity | None
    least: Quantity | None
    stopped_by: str

    @property
    def spins(self) -> bool:
        """Whether the smallest nut spins."""
        return self.most is None

    def __str__(self) -> str:
        if self.most is None:
            every = "every nut spins" if self.least is None else "the smallest nuts spin"
            return f"{every}: the corners pass the flats"
        low = sizes.show(self.least, places=1) if self.least is not None else ""
        return (
            f"turns {low} to {sizes.show(self.most, places=1)} either way, then stopped by the "
            f"{self.stopped_by}"
        )


def turning(
    nut: Nut,
    pocket_across_flats: Size,
    *,
    cutter_diameter: Size | None = None,
    relief: Relief | None = None,
) -> Turning:
    r"""How far a nut turns in its pocket before it is held.

    ::

        ____________________ flat           a corner, e/2 from the middle, meets a flat, S/2 from
               .\         |                 it, when it is acos(S/e) from square to it; at first
          e/2 .  \        |                 it was h from square to it, so the nut has turned
             .    \       | S/2
            .  h   \ acos(S/e)                  t = h - acos(S/e)
           .        \     |
          .          \    |                 with h = 30° for a hexagon, 45° for a square
                      \   |
                       `--o

    In a corner that keeps the cutter's radius, sharp corners meet that radius before the flat. A
    relieved corner gives way, so that corners meet nothing there; then the nut's own flats, s/2
    from the middle, meet the ends of what is left of the pocket's, :math:`\rho` from it:

    .. math:: t = \arccos\frac{s}{2\rho} - \arccos\frac{S}{2\rho}

    Parameters
    ----------
    nut : Nut
        Largest and smallest.
    pocket_across_flats : size
        Of the pocket.
    cutter_diameter : size, optional
        That cut it; sharp corners by default.
    relief : Relief, optional
        Of its corners.

    Returns
    -------
    Turning

    Raises
    ------
    FlatsError
        The largest nut does not go in.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    Rigid parts, and a nut in the middle; by symmetry no other place lets it turn farther. How a
    nut's corners are rounded is not known: `most` takes a sharp tip at the least across corners,
    which no rounding outdoes, so the true angle is not larger.

    Examples
    --------
    >>> from holecalc.nuts import hex_nut
    >>> m8 = hex_nut("ISO 4032", "M8")
    >>> print(turning(m8, "13.804 mm", cutter_diameter="6 mm"))
    turns 0.2° to 13.7° either way, then stopped by the flats
    >>> corners = relief("hexagon", "13.2 mm", "6 mm")
    >>> print(turning(m8, "13.2 mm", cutter_diameter="6 mm", relief=corners))
    turns 5.2° to 9.8° either way, then stopped by the ends of the flats
    """
    flats = sizes.length(pocket_across_flats)
    shape = outline(nut.shape, flats, cutter_diameter, relief)
    refuse_what_does_not_go_in(nut, shape, flats)
    most, by = _turn(shape, sizes.mm(nut.across_corners) / 2, sizes.mm(nut.least_across_flats) / 2)
    least, _ = _turn(shape, sizes.mm(nut.sharp_corners) / 2, sizes.mm(nut.across_flats) / 2)
    return Turning(_angle(most), _angle(least), by)


def _turn(shape: Outline, corner: float, flat: float) -> tuple[float | None, str]:
    """How far a nut turns [rad], its corners and flats this far from the middle [mm]."""
    met = shape.angle_at(corner)
    if met is None:
        return None, "nothing"
    ends = shape.half - math.atan2(shape.corner_centre * math.sin(shape.half), shape.apothem)
    by = "flats" if met >= ends - _CLOSE else "corner radius"
    if shape.flat_end is not None:
        off, out = shape.flat_end
        if off > met:
            by = "relief"
        # Farther out than the nut's corners, the plate's corner cannot touch its flats.
        if out <= corner:
            on_flat = math.acos(min(flat / out, 1.0)) - (shape.half - off)
            if on_flat < met:
                met, by = on_flat, "ends of the flats"
    return max(met, 0.0), by


def _angle(value: float | None) -> Quantity | None:
    return None if value is None else sizes.from_rad(value)


def largest_cutter(nut: Nut, turning_angle: Size, *, clearance: Size = 0) -> Quantity:
    """The largest cutter that, without relief, still holds a nut within an angle.

    Parameters
    ----------
    nut : Nut
        The largest nut has to go in, the smallest is to be held.
    turning_angle : angle
        How far it may turn either way.
    clearance : size, optional
        Across flats, beyond what the corners need; none by default.

    Returns
    -------
    pint.Quantity
        Its diameter, in the unit of the nut.

    Raises
    ------
    FlatsError
        Not even quite sharp corners would hold it so.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import hex_nut
    >>> m8 = hex_nut("ISO 4032", "M8")
    >>> print(sizes.show(largest_cutter(m8, 10, clearance="0.2 mm")))
    2.33 mm
    """
    relations = HEXAGON if nut.sides == 6 else SQUARE
    angle = sizes.angle(turning_angle)
    known = {
        "nut_across_flats": nut.across_flats,
        "across_corners": nut.across_corners,
        "clearance": clearance,
    }
    try:
        return relations.solve(turning_angle=angle, **known).cutter_diameter
    except NoAnswer:
        raise FlatsError(
            f"{nut} turns more than {sizes.show(angle)} even in quite sharp corners, since its "
            f"own may be only {_fine(nut.across_corners)} across. Allow a larger angle, or less "
            "clearance."
        ) from None


def corners(shape: str, across_flats: Size, turned: Size = 0) -> Quantity:
    """The corners of a hexagon or square, as X and Y from its middle.

    For the path of a cutter's axis give the pocket's across flats less the cutter's diameter.

    Parameters
    ----------
    shape : {"hexagon", "square"}
        Which.
    across_flats : size
        Over two opposite flats.
    turned : angle, default 0
        Of one corner from the X axis.

    Returns
    -------
    pint.Quantity
        One row for each corner, anticlockwise.

    Raises
    ------
    FlatsError
        There is no such shape, or no size to it.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(corners("square", "10 mm", turned=45)[0].round(3))
    [5.0 5.0] mm
    """
    sides = _sides(shape)
    flats = _more_than_0(across_flats, shape)
    return _around(sides, flats / (2 * math.cos(math.pi / sides)), turned)


def outline(
    shape: str,
    across: Quantity,
    cutter_diameter: Size | None = None,
    relief: Relief | None = None,
    turned: Size = 0,
) -> Outline:
    """The outline of a pocket, from sizes.

    Parameters
    ----------
    shape : {"round", "hexagon", "square"}
        Which.
    across : pint.Quantity
        Diameter, or across flats.
    cutter_diameter : size, optional
        Of the cutter that makes it; sharp corners by default.
    relief : Relief, optional
        Of the corners.
    turned : angle, default 0
        Of one corner from the X axis.

    Returns
    -------
    Outline

    Raises
    ------
    FlatsError
        The cutter does not go in, or the relief is for another pocket.
    holecalc.sizes.SizeError
        A value cannot be read.
    """
    size = _more_than_0(across, shape)
    radius = 0.0 if cutter_diameter is None else sizes.mm(sizes.length(cutter_diameter)) / 2
    if radius < 0 or radius > sizes.mm(size) / 2 + _CLOSE:
        raise FlatsError(
            f"a {_fine(sizes.length(cutter_diameter))} cutter does not go into a {shape} pocket "
            f"of {_fine(size)}. Take a smaller one."
        )
    if shape == "round":
        if relief is not None:
            raise FlatsError("a round pocket has no corners to relieve. Leave the relief out.")
        return Outline(0, sizes.mm(size))
    sides = _sides(shape)
    reliefs = (0.0, 0.0)
    if relief is not None:
        if relief.shape != shape or abs(sizes.mm(relief.across_flats - size)) > 1e-6:
            raise FlatsError(
                f"the relief is for a {relief.shape} of {_fine(relief.across_flats)} and the "
                f"pocket is a {shape} of {_fine(size)}. Work it out for this one."
            )
        reliefs = (sizes.mm(relief.cutter_diameter) / 2, sizes.mm(relief.centre_radius))
    made = Outline(sides, sizes.mm(size), radius, *reliefs, sizes.rad(sizes.angle(turned)))
    if relief is not None and sum(reliefs) <= made.corner_centre + radius + _CLOSE:
        raise FlatsError(
            f"the relief reaches {_fine(relief.reach)} and the pocket's own cutter reaches "
            f"{_shown(made.corner_centre + radius, size)} already. Go farther out, or do without."
        )
    if relief is not None and reliefs[1] - reliefs[0] >= made.corner_centre + radius:
        raise FlatsError(
            f"a relief of {_fine(relief.cutter_diameter)} does not touch what the pocket's own "
            "cutter takes, and leaves metal between. Take a larger cutter for it."
        )
    return made


def refuse_what_does_not_go_in(nut: Nut, shape: Outline, across_flats: Quantity) -> None:
    """Raise where the largest nut, with sharp corners, does not go into an outline.

    Parameters
    ----------
    nut : Nut
        The nut.
    shape : Outline
        The pocket.
    across_flats : pint.Quantity
        Of the pocket, for the message.

    Raises
    ------
    FlatsError
        It does not go in; the message says what would.
    """
    flat, corner = sizes.mm(nut.across_flats) / 2, sizes.mm(nut.sharp_corners) / 2
    if flat > shape.apothem + _CLOSE:
        raise FlatsError(
            f"{nut} is {_fine(nut.across_flats)} across flats and the pocket "
            f"{_fine(across_flats)}. Make the pocket wider."
        )
    own = shape.corner_centre + shape.corner_radius
    if corner <= own + 1e-6:
        return
    if not shape.relief_radius:
        needed = nut.across_flats + sizes.from_mm(
            2 * shape.corner_radius * (1 - math.cos(shape.half)), nut.across_flats.units
        )
        raise FlatsError(
            f"the corners of {nut} do not go in: sharp, they are {_fine(nut.sharp_corners)} "
            f"across, and the cutter's radius leaves {_shown(2 * own, across_flats)}. Make the "
            f"pocket {_fine(needed)} across flats, or relieve its corners."
        )
    # The nut's flat runs out of what the pocket's own cutter took, and has to be in the relief
    # from there to the nut's corner.
    q, r = shape.corner_centre, shape.corner_radius
    leaves = q * math.sin(shape.half) + math.sqrt(
        max(r**2 - (flat - q * math.cos(shape.half)) ** 2, 0.0)
    )
    out, small = shape.relief_centre, shape.relief_radius
    reach = math.sqrt(max(small**2 - (flat - out * math.cos(shape.half)) ** 2, 0.0))
    start, end = out * math.sin(shape.half) - reach, out * math.sin(shape.half) + reach
    if start > leaves + 1e-6 or end < flat * math.tan(shape.half) - 1e-6:
        raise FlatsError(
            f"the corners of {nut} do not go in: they need {_fine(nut.sharp_corners)} across, and "
            f"the reliefs reach {_shown(2 * (out + small), across_flats)} but leave metal beside "
            "the corners. Take a larger cutter for the relief, or go farther out."
        )


def _sides(shape: str) -> int:
    if shape not in SIDES:
        raise FlatsError(f"a pocket with flats is a hexagon or a square, not {shape!r}.")
    return SIDES[shape]


def _more_than_0(value: Size, label: str) -> Quantity:
    size = sizes.length(value)
    if not size.magnitude > 0:
        raise FlatsError(f"the {label} is {sizes.show(size)} across; it must be more than 0.")
    return size


def _around(sides: int, out: Quantity, turned: Size) -> Quantity:
    angles = sizes.rad(sizes.angle(turned)) + 2 * math.pi / sides * np.arange(sides)
    # Rounding leaves 1e-16 where a coordinate is 0, which nobody wants to read.
    return out * np.column_stack([np.cos(angles), np.sin(angles)]).round(15) + 0.0 * out


def _shown(value: float, like: Quantity) -> str:
    return _fine(sizes.from_mm(value, like.units))
