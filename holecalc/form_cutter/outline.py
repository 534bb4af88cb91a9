r"""Outlines of lines and arcs in a plane, as a cutter's half section and a plate's edge are.

Everything here is plain floats in millimetres. `across` is measured from the cutter's axis or
from the plate's wall, `up` from the cutter's tip or from the plate's face. An arc stays within
one quadrant of its circle, so that along it both coordinates only rise or only fall: then a
straight cut through the plane meets it once at most, and everything below has a closed form.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeAlias

__all__ = ["Arc", "Line", "OutlineError", "Point", "Profile", "Segment", "area_beside", "nearest"]

Point: TypeAlias = tuple[float, float]
"""(across, up) [mm]."""

CLOSE = 1e-6
"""Points nearer than this are one [mm]."""


class OutlineError(ValueError):
    """The lines and arcs do not make the outline that they should; the message says where."""


@dataclass(frozen=True)
class Line:
    """A straight piece.

    Parameters
    ----------
    start, end : Point
        Its ends [mm].
    part : str
        What of the cutter or the plate it is.
    """

    start: Point
    end: Point
    part: str = ""

    @property
    def length(self) -> float:
        """From end to end [mm]."""
        return math.dist(self.start, self.end)

    @property
    def bulge(self) -> float:
        """Of a polyline that is drawn along it."""
        return 0.0

    @property
    def area(self) -> float:
        r""":math:`\int across\, d(up)` along it [mm²]."""
        return (self.start[0] + self.end[0]) / 2 * (self.end[1] - self.start[1])

    def crossing(self, axis: int, value: float) -> Point:
        """Where one of its coordinates has a value that lies between those of its ends."""
        (a, b), other = (self.start, self.end), 1 - axis
        part = (value - a[axis]) / (b[axis] - a[axis])
        at = a[other] + part * (b[other] - a[other])
        return (value, at) if axis == 0 else (at, value)

    def moved(self, across: float, up: float) -> Line:
        """The same piece elsewhere."""
        return replace(self, start=_moved(self.start, across, up), end=_moved(self.end, across, up))

    def turned_over(self, thickness: float) -> Line:
        """The same piece on the other face of a plate, still going up."""
        return replace(self, start=_turned(self.end, thickness), end=_turned(self.start, thickness))

    def hits(self, origin: Point, direction: Point) -> Iterator[float]:
        """How far along a ray it is met [mm]."""
        (x, y), (dx, dy) = origin, direction
        ex, ey = self.end[0] - self.start[0], self.end[1] - self.start[1]
        square = dx * ey - dy * ex
        if abs(square) < 1e-12:
            return
        sx, sy = self.start[0] - x, self.start[1] - y
        along, part = (sx * ey - sy * ex) / square, (sx * dy - sy * dx) / square
        if -1e-9 <= part <= 1 + 1e-9:
            yield along


@dataclass(frozen=True)
class Arc:
    """A circular piece within one quadrant of its circle.

    Parameters
    ----------
    start, end, centre : Point
        Its ends and the circle's centre [mm]; of the two arcs between the ends the short one.
    part : str
        What of the cutter or the plate it is.
    """

    start: Point
    end: Point
    centre: Point
    part: str = ""

    def __post_init__(self) -> None:
        first, last = (math.dist(end, self.centre) for end in (self.start, self.end))
        if abs(first - last) > CLOSE:
            raise OutlineError(
                f"an arc's ends lie {first:.6f} and {last:.6f} mm from its centre; both must be "
                "as far."
            )
        for axis in (0, 1):
            a, b = (end[axis] - self.centre[axis] for end in (self.start, self.end))
            if min(a, b) < -CLOSE and max(a, b) > CLOSE:
                raise OutlineError("an arc runs through two quadrants of its circle. Divide it.")

    @property
    def radius(self) -> float:
        """Of its circle [mm]."""
        return math.dist(self.start, self.centre)

    @cached_property
    def sweep(self) -> float:
        """From start to end seen from the centre, counter-clockwise positive [rad]."""
        (ax, ay), (bx, by) = (
            (end[0] - self.centre[0], end[1] - self.centre[1]) for end in (self.start, self.end)
        )
        return math.atan2(ax * by - ay * bx, ax * bx + ay * by)

    @property
    def length(self) -> float:
        """Along it [mm]."""
        return abs(self.sweep) * self.radius

    @property
    def bulge(self) -> float:
        """Of a polyline that is drawn along it: the tangent of a quarter of the sweep."""
        return math.tan(self.sweep / 4)

    @property
    def area(self) -> float:
        r""":math:`\int across\, d(up)` along it [mm²]."""
        first = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        last = first + self.sweep
        swung = math.sin(last) * math.cos(last) - math.sin(first) * math.cos(first)
        beside = self.centre[0] * (self.end[1] - self.start[1])
        return beside + self.radius**2 / 2 * (self.sweep + swung)

    def crossing(self, axis: int, value: float) -> Point:
        """Where one of its coordinates has a value that lies between those of its ends."""
        other = 1 - axis
        away = value - self.centre[axis]
        middle = (self.start[other] + self.end[other]) / 2 - self.centre[other]
        beside = math.copysign(math.sqrt(max(self.radius**2 - away**2, 0.0)), middle)
        at = self.centre[other] + beside
        return (value, at) if axis == 0 else (at, value)

    def moved(self, across: float, up: float) -> Arc:
        """The same piece elsewhere."""
        start, end, centre = (_moved(p, across, up) for p in (self.start, self.end, self.centre))
        return replace(self, start=start, end=end, centre=centre)

    def turned_over(self, thickness: float) -> Arc:
        """The same piece on the other face of a plate, still going up."""
        end, start, centre = (_turned(p, thickness) for p in (self.start, self.end, self.centre))
        return replace(self, start=start, end=end, centre=centre)

    def hits(self, origin: Point, direction: Point) -> Iterator[float]:
        """How far along a ray it is met [mm]."""
        x, y = origin[0] - self.centre[0], origin[1] - self.centre[1]
        towards = x * direction[0] + y * direction[1]
        inside = towards**2 - (x * x + y * y - self.radius**2)
        if inside < 0:
            return
        low = [min(self.start[i], self.end[i]) - CLOSE for i in (0, 1)]
        high = [max(self.start[i], self.end[i]) + CLOSE for i in (0, 1)]
        for along in (-towards - math.sqrt(inside), -towards + math.sqrt(inside)):
            at = (origin[0] + along * direction[0], origin[1] + along * direction[1])
            if all(low[i] <= at[i] <= high[i] for i in (0, 1)):
                yield along


Segment: TypeAlias = Line | Arc


@dataclass(frozen=True)
class Profile:
    """A closed outline, checked: each piece starts where the one before it ended.

    Parameters
    ----------
    segments : tuple of Line or Arc
        The pieces, from the tip on the axis to the shank, and back along the axis.
    unit : str
        The unit of the person, for export.
    name : str
        What it is of.

    Raises
    ------
    OutlineError
        It is not closed, goes back towards the tip before the shank, crosses the axis, or holds
        a piece without length.
    """

    segments: tuple[Segment, ...]
    unit: str = "mm"
    name: str = ""

    def __post_init__(self) -> None:
        if not self.segments:
            raise OutlineError("the profile holds nothing.")
        before = self.segments[-1]
        for segment in self.segments:
            gap = math.dist(before.end, segment.start)
            if gap > CLOSE:
                raise OutlineError(
                    f"the profile is open: {segment.part or 'a piece'} starts {gap:.6f} mm from "
                    f"where {before.part or 'the piece before it'} ended."
                )
            if segment.length <= CLOSE:
                raise OutlineError(f"{segment.part or 'a piece'} has no length.")
            if min(segment.start[0], segment.end[0]) < -CLOSE:
                raise OutlineError(f"{segment.part or 'a piece'} crosses the axis.")
            before = segment
        for segment in self.segments[:-1]:
            if segment.end[1] < segment.start[1] - CLOSE:
                raise OutlineError(
                    f"{segment.part or 'a piece'} goes back towards the tip, from "
                    f"{segment.start[1]:.3f} to {segment.end[1]:.3f} mm."
                )

    def __iter__(self) -> Iterator[Segment]:
        return iter(self.segments)

    def __len__(self) -> int:
        return len(self.segments)

    @property
    def area(self) -> float:
        """Enclosed [mm²]."""
        return abs(sum(segment.area for segment in self.segments))

    def __str__(self) -> str:
        lines = []
        for segment in self.segments:
            (x1, y1), (x2, y2) = segment.start, segment.end
            line = f"{segment.part:<9} ({x1:.3f}, {y1:.3f}) to ({x2:.3f}, {y2:.3f})"
            if isinstance(segment, Arc):
                x, y = segment.centre
                line += f", radius {segment.radius:.3f} about ({x:.3f}, {y:.3f})"
            lines.append(line)
        return "\n".join([*lines, "(radius, height) in mm"])


def within(segment: Segment, axis: int, low: float, high: float) -> Segment | None:
    """The part of a piece between two values of one coordinate, or None."""
    ends = []
    values = segment.start[axis], segment.end[axis]
    if max(values) < low or min(values) > high or (max(values) <= low < min(values) + CLOSE):
        return None
    for end in (segment.start, segment.end):
        if end[axis] < low:
            ends.append(segment.crossing(axis, low))
        elif end[axis] > high:
            ends.append(segment.crossing(axis, high))
        else:
            ends.append(end)
    cut = replace(segment, start=ends[0], end=ends[1])
    return cut if cut.length > CLOSE else None


def edge_left(
    silhouette: Sequence[Segment], *, wall: float, thickness: float
) -> tuple[Segment, ...]:
    """What is left of a plate's edge beside a cutter's silhouette.

    The plate lies at ``across >= wall`` and ``-thickness <= up <= 0``, the cutter's axis on its
    other side.

    Parameters
    ----------
    silhouette : sequence of Segment
        The cutter's, from the tip upwards, in the plate's coordinates.
    wall, thickness : float
        Of the plate [mm].

    Returns
    -------
    tuple of Segment
        From the bottom of the wall up to the face; pieces of the wall are called so.
    """
    pieces: list[Segment] = []
    for segment in silhouette:
        part: Segment | None = within(segment, 0, wall, math.inf)
        if part is not None:
            part = within(part, 1, -thickness, 0.0)
        if part is not None:
            pieces.append(part)
    # A piece of the silhouette that runs along the face is the face itself.
    while pieces and min(pieces[-1].start[1], pieces[-1].end[1]) > -CLOSE:
        pieces.pop()
    path: list[Segment] = []
    at: Point = (wall, -thickness)
    for piece in pieces:
        if piece.start[1] > at[1] + CLOSE:
            path.append(Line(at, piece.start, "wall"))
        path.append(piece)
        at = piece.end
    if at[1] < -CLOSE:
        path.append(Line(at, (at[0], 0.0), "wall"))
    return tuple(path)


def area_beside(outline: Iterable[Segment], wall: float) -> float:
    """Between a plate's wall and an outline that goes up from it [mm²]."""
    return sum(s.area - wall * (s.end[1] - s.start[1]) for s in outline)


def nearest(outline: Iterable[Segment], origin: Point, direction: Point) -> float:
    """How far from a point an outline is first met along a direction [mm]; infinite if never."""
    hits = (along for segment in outline for along in segment.hits(origin, direction))
    return min((along for along in hits if along > -CLOSE), default=math.inf)


def _moved(point: Point, across: float, up: float) -> Point:
    return point[0] + across, point[1] + up


def _turned(point: Point, thickness: float) -> Point:
    return point[0], -thickness - point[1]
