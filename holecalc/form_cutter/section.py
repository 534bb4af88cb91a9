"""A form cutter's half section on plain floats, and how its sizes are read.

Millimetres and radians throughout; the picture and the letters are those of
:mod:`holecalc.form_cutter`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from holecalc import sizes
from holecalc.form_cutter import outline
from holecalc.form_cutter.outline import Arc, Line, Segment
from holecalc.sizes import Quantity, Size

__all__ = [
    "NOTHING",
    "QUARTER",
    "SHAPES",
    "FormCutterError",
    "Section",
    "arc_reach",
    "at_least_0",
    "flank_reach",
    "more_than_0",
    "read_arc",
    "read_flank_angle",
    "refuse_unknown",
]

_fine = partial(sizes.show, fine=True)

QUARTER = math.pi / 2
NOTHING = 1e-6
"""Lengths below this are rounding [mm]."""
SHAPES = ("concave", "convex", "straight")


class FormCutterError(ValueError):
    """The sizes do not describe a form cutter or an edge; the message says why."""


@dataclass(frozen=True)
class Section:
    """A cutter's half section on plain floats [mm, rad]."""

    shape: str
    stub: float
    begin: outline.Point
    end: outline.Point
    centre: outline.Point | None
    radius: float | None
    angle: float
    largest: float
    shoulder: float | None
    shank: float | None

    @property
    def flank(self) -> Segment:
        """The arc, or the straight flank."""
        if self.centre is None:
            return Line(self.begin, self.end, "flank")
        return Arc(self.begin, self.end, self.centre, "arc")

    def flutes(self, shoulder: float) -> list[Segment]:
        """From the tip to the top of the shoulder."""
        top = self.end[1]
        return [
            Line((0.0, 0.0), (self.stub, 0.0), "tip"),
            Line((self.stub, 0.0), (self.stub, self.begin[1]), "stub"),
            Line((self.stub, self.begin[1]), self.begin, "ledge"),
            self.flank,
            Line(self.end, (self.largest, top), "land"),
            Line((self.largest, top), (self.largest, top + shoulder), "shoulder"),
        ]

    def tangent_angle(self, at: outline.Point) -> float:
        """Of the flank to the axis, at one of its points."""
        if self.centre is None or self.radius is None:
            return self.angle
        return math.acos(min(1.0, max(0.0, abs(at[0] - self.centre[0]) / self.radius)))

    def silhouette(self, offset: float, depth: float) -> list[Segment]:
        """What the cutter sweeps, in the plate's coordinates."""
        # A shoulder that was not measured is taken to reach above the face.
        shoulder = max(depth - self.end[1], 0.0) + 1 if self.shoulder is None else self.shoulder
        parts = self.flutes(shoulder)
        top = parts[-1].end
        if self.shoulder is not None and top[1] < depth:
            shank = self.shank or 0.0
            parts.append(Line(top, (shank, top[1]), "back"))
            parts.append(Line((shank, top[1]), (shank, depth + 1), "shank"))
        return [part.moved(-offset, -depth) for part in parts if part.length > outline.CLOSE]


def refuse_unknown(shape: str) -> None:
    """Refuse what is no shape of a cutter."""
    if shape not in SHAPES:
        raise FormCutterError(
            f"{shape!r} is no shape of a cutter. Say 'concave' (rounds over), 'convex' (cuts a "
            "cove) or 'straight' (chamfers)."
        )


def at_least_0(label: str, value: Size, like: Quantity | None = None) -> Quantity:
    """A length that may be 0, which needs no unit where there is another to take it from."""
    if like is not None and isinstance(value, int | float) and value == 0:
        return 0 * like
    size = sizes.length(value)
    if size.magnitude < 0:
        raise FormCutterError(f"the {label} is {_fine(size)}; it cannot be negative.")
    return size


def more_than_0(label: str, value: Size) -> Quantity:
    """A length that may not be 0."""
    size = at_least_0(label, value)
    if size.magnitude == 0:
        raise FormCutterError(f"the {label} is {_fine(size)}; it must be more than 0.")
    return size


def read_flank_angle(flank_angle: Size) -> Quantity:
    """The angle of a straight flank to the axis."""
    angle = sizes.angle(flank_angle)
    if not 0 < sizes.rad(angle) < QUARTER:
        raise FormCutterError(
            f"a flank's angle to the axis is between 0° and 90°, not {sizes.show(angle)}. It is "
            "half the included angle."
        )
    return angle


def flank_reach(
    begin: Quantity, angle: float, arc_height: Size | None, largest: Size | None
) -> tuple[float, float]:
    """How far a straight flank reaches out, and its height [mm]."""
    if arc_height is not None:
        height = sizes.mm(more_than_0("flank's height", arc_height))
        return height * math.tan(angle), height
    if largest is None:
        raise FormCutterError("a straight flank needs its arc_height or its largest_diameter.")
    reach = sizes.mm(sizes.length(largest) - begin) / 2
    if reach <= 0:
        raise FormCutterError(
            f"the largest diameter is {_fine(sizes.length(largest))} and the flank begins at "
            f"{_fine(begin)}; it must be more."
        )
    return reach, reach / math.tan(angle)


def read_arc(
    shape: str,
    radius: Size | None,
    begin: Size | None,
    end: Size | None,
    flank_angle: Size | None,
    arc_height: Size | None,
) -> tuple[Quantity, Quantity, Quantity]:
    """An arc's radius, and its angles to the axis where it begins and ends."""
    if radius is None or flank_angle is not None or arc_height is not None:
        raise FormCutterError(
            f"a {shape} cutter has a radius, and the angles its arc begins and ends at; flank "
            "angle and height are for a straight one. To reconcile a radius with a measured "
            "height, use from_calipers()."
        )
    full = (0, 90) if shape == "concave" else (90, 0)
    first = sizes.angle(full[0] if begin is None else begin)
    last = sizes.angle(full[1] if end is None else end)
    low, high = (first, last) if shape == "concave" else (last, first)
    if not -1e-9 <= sizes.rad(low) < sizes.rad(high) <= QUARTER + 1e-9:
        raise FormCutterError(
            f"a {shape} arc goes from {full[0]}° to {full[1]}° to the axis, or part of the way, "
            f"and not from {sizes.show(first)} to {sizes.show(last)}."
        )
    return more_than_0("radius", radius), first, last


def arc_reach(shape: str, radius: float, first: float, last: float) -> tuple[float, float]:
    """How far an arc reaches out, and its height [mm]."""
    side = 1 if shape == "concave" else -1
    return (
        side * radius * (math.cos(first) - math.cos(last)),
        side * radius * (math.sin(last) - math.sin(first)),
    )
