"""Where a feature stands on the plate: at points, in a line, in a grid, on a bolt circle.

Positions are in X and Y from the plate's datum corner, its lower left one as face A is seen; X is
along the plate's length, Y along its width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from holecalc import sizes
from holecalc.sizes import Quantity

__all__ = ["MOST", "XY", "BoltCircle", "Grid", "Line", "Points", "Positions"]

XY: TypeAlias = "np.ndarray[tuple[int, ...], np.dtype[np.float64]]"
"""One row of X and Y [mm] for each position."""

Pair: TypeAlias = tuple[Quantity, Quantity]

MOST = 10_000
"""More positions than that in one feature are a slip of the keyboard."""


def _mm(pair: Pair) -> XY:
    return np.array([sizes.mm(pair[0]), sizes.mm(pair[1])], dtype=float)


def _told(pair: Pair) -> str:
    return f"X {sizes.show(pair[0])}, Y {sizes.show(pair[1])}"


@dataclass(frozen=True)
class Points:
    """Positions one by one."""

    at: tuple[Pair, ...]

    def xy(self) -> XY:
        """X and Y [mm] of each position."""
        return np.array([_mm(pair) for pair in self.at], dtype=float).reshape(-1, 2)

    def __str__(self) -> str:
        return _told(self.at[0]) if len(self.at) == 1 else f"{len(self.at)} points"


@dataclass(frozen=True)
class Line:
    """Positions in a line, each a step from the one before.

    Examples
    --------
    >>> mm = sizes.length
    >>> Line((mm("10 mm"), mm("5 mm")), (mm("20 mm"), mm("0 mm")), 3).xy().tolist()
    [[10.0, 5.0], [30.0, 5.0], [50.0, 5.0]]
    """

    start: Pair
    step: Pair
    count: int

    def xy(self) -> XY:
        """X and Y [mm] of each position."""
        return np.asarray(_mm(self.start) + np.arange(self.count)[:, None] * _mm(self.step))

    def __str__(self) -> str:
        return f"line of {self.count} from {_told(self.start)} by {_told(self.step)}"


@dataclass(frozen=True)
class Grid:
    """Positions in rows and columns, row by row; the whole may be turned about its start."""

    start: Pair
    step: Pair
    count: tuple[int, int]
    turned: Quantity

    def xy(self) -> XY:
        """X and Y [mm] of each position."""
        rows, columns = np.divmod(np.arange(self.count[0] * self.count[1]), self.count[0])
        apart = np.column_stack([columns, rows]) * _mm(self.step)
        turn = sizes.rad(self.turned)
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = apart[:, 0], apart[:, 1]
        apart = np.column_stack([x * cos - y * sin, x * sin + y * cos])
        return np.asarray(_mm(self.start) + apart)

    def __str__(self) -> str:
        turned = f", turned {sizes.show(self.turned)}" if self.turned.magnitude else ""
        return (
            f"grid of {self.count[0]} by {self.count[1]} from {_told(self.start)} by "
            f"{_told(self.step)}{turned}"
        )


@dataclass(frozen=True)
class BoltCircle:
    r"""Positions evenly round a circle, counter-clockwise from the start angle as face A is seen.

    .. math:: x_i = x_c + \tfrac{B}{2} \cos(s + 360° i/n), \quad
              y_i = y_c + \tfrac{B}{2} \sin(s + 360° i/n)

    ::

                 .--o--.           o     the n positions
               /    |    \\         s     of the first, from the X axis
              o     +-----o--- X    B     diameter
               \\         /
                 `-o--o'

    Examples
    --------
    >>> mm, circle = sizes.length, (sizes.length("50 mm"), sizes.length("40 mm"))
    >>> BoltCircle(circle, mm("20 mm"), 4, sizes.angle(90)).xy().round(9).tolist()
    [[50.0, 50.0], [40.0, 40.0], [50.0, 30.0], [60.0, 40.0]]
    """

    centre: Pair
    diameter: Quantity
    count: int
    start: Quantity

    def xy(self) -> XY:
        """X and Y [mm] of each position."""
        angle = sizes.rad(self.start) + 2 * np.pi * np.arange(self.count) / self.count
        radius = sizes.mm(self.diameter) / 2
        round_ = np.column_stack([np.cos(angle), np.sin(angle)])
        return np.asarray(_mm(self.centre) + radius * round_)

    def __str__(self) -> str:
        return (
            f"{self.count} on a bolt circle of {sizes.show(self.diameter)} about "
            f"{_told(self.centre)}, the first at {sizes.show(self.start)}"
        )


Positions: TypeAlias = Points | Line | Grid | BoltCircle
