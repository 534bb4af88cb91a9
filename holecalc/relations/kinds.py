"""What a quantity measures: its units, how it is read, how close is close enough."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from holecalc import sizes
from holecalc.sizes import Quantity, Size


@dataclass(frozen=True)
class Kind:
    """What a quantity measures.

    Parameters
    ----------
    name : str
        ``"length"``, ``"angle"`` …
    base : pint.Unit
        The unit equations are computed in.
    unit : pint.Unit
        The unit answers come in when none was typed.
    read : callable
        Turns what was typed, and the declared unit, into a quantity.
    close : float
        How far apart two values may be [base unit] and still agree, given that people type
        rounded numbers.
    steps : mapping of str to float
        For a unit, the step that a sensitivity is told for.
    inch_unit : pint.Unit, optional
        In place of `unit` where what was typed is in inches or feet.
    """

    name: str
    base: Any
    unit: Any
    read: Callable[[Size, str | None], Quantity] = field(repr=False)
    close: float
    steps: Mapping[str, float]
    inch_unit: Any = None


_MM, _DEGREE, _RADIAN = sizes.ureg.millimeter, sizes.ureg.degree, sizes.ureg.radian
_INCH, _FOOT, _MINUTE = sizes.ureg.inch, sizes.ureg.foot, sizes.ureg.minute

LENGTH = Kind("length", _MM, _MM, sizes.length, 0.002, {"mm": 0.1, "in": 0.001}, inch_unit=_INCH)
"""Lengths, in millimetres inside; typed values agree within two micrometres."""

ANGLE = Kind(
    "angle",
    _RADIAN,
    _DEGREE,
    lambda value, _unit: sizes.angle(value),
    1e-4,
    {"deg": 1.0, "rad": 0.01},
)
"""Angles, in radians inside; typed values agree within six thousandths of a degree."""

COUNT = Kind(
    "count",
    sizes.ureg.dimensionless,
    sizes.ureg.dimensionless,
    lambda value, _unit: sizes.count(value),
    0.001,
    {"": 1.0},
)
"""Counts, of turns or of flutes; they need not be whole."""

SPINDLE_SPEED = Kind(
    "spindle speed",
    sizes.ureg.rpm,
    sizes.ureg.rpm,
    lambda value, _unit: sizes.spindle_speed(value),
    1.0,
    {"rpm": 100.0},
)
"""Spindle speeds, in revolutions a minute; typed values agree within one."""

FEED_RATE = Kind(
    "feed",
    _MM / _MINUTE,
    _MM / _MINUTE,
    sizes.feed,
    1.0,
    {"mm/min": 100.0, "in/min": 1.0},
    inch_unit=_INCH / _MINUTE,
)
"""Feeds, in millimetres a minute inside; typed values agree within one millimetre a minute."""

SURFACE_SPEED = Kind(
    "surface speed",
    _MM / _MINUTE,
    sizes.ureg.meter / _MINUTE,
    sizes.surface_speed,
    500.0,
    {"m/min": 10.0, "ft/min": 10.0},
    inch_unit=_FOOT / _MINUTE,
)
"""Surface speeds, in millimetres a minute inside, so that π times a diameter times a spindle
speed needs no factor; typed values agree within half a metre a minute."""


def is_inches(unit: Any) -> bool:
    """Whether a unit counts in inches, feet or thousandths of an inch."""
    _, parts = sizes.ureg.Quantity(1.0, unit).to_tuple()
    return any(name in ("inch", "foot", "thou") for name, _ in parts)


def shown_unit(kind: Kind, units: Mapping[str, Any]) -> Quantity:
    """One base unit of a kind, in the unit a person used."""
    unit = units.get(kind.name) or kind.unit
    return sizes.ureg.Quantity(1.0, kind.base).to(unit)


def brief(quantity: Quantity) -> str:
    """A quantity as text; of an array how many there are, and the ends."""
    magnitude = quantity.magnitude
    if np.ndim(magnitude):
        ends = f"{brief(quantity.min())} to {brief(quantity.max())}"
        return f"{np.size(magnitude)} values from {ends}"
    if quantity.check("[length]") or quantity.units in (_DEGREE, _RADIAN):
        return sizes.show(quantity, fine=True)
    return sizes.show_rate(quantity)
