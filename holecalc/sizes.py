"""Sizes as the shop writes them.

This module owns the one pint registry. It reads the lengths and angles people type
(``1-1/2 in``, ``6,5 mm``, ``15 thou``, ``#7``, ``letter F``, ``41°30'``) with a small grammar of
its own, and writes quantities back the way a drawing does. Text is matched against that grammar
and nothing else: it is never evaluated.

Everywhere in holecalc a *size* is text, a pint quantity, or a number together with the unit the
caller declares. A bare number without a declared unit is refused, since twelve millimetres and
twelve inches are both easy to mean. Angles are the exception: a bare angle is in degrees.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np
import pint

from holecalc import tables

__all__ = [
    "Size",
    "SizeError",
    "angle",
    "count",
    "drills",
    "exact",
    "feed",
    "from_mm",
    "from_rad",
    "length",
    "mm",
    "rad",
    "show",
    "show_rate",
    "shown_in",
    "spindle_speed",
    "surface_speed",
    "system_of",
    "unit_of",
    "ureg",
]

Quantity: TypeAlias = Any
"""A pint quantity of :data:`ureg`; pint's own generics say less than this name does."""

Size: TypeAlias = Any
"""What a person may give for a size: text, a pint quantity, or a number with a declared unit."""


class SizeError(ValueError):
    """What was read is not a size; the message says why, and what would be."""


def _registry() -> pint.UnitRegistry[Any]:
    # The parsed unit definitions are worth caching on disk, but a home that cannot be written
    # or a cache file another process is half-way through writing must not stop anyone.
    try:
        registry: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=":auto:")
        registry.millimeter  # noqa: B018  (the definitions load on first use, so the test is here)
    except Exception:
        registry = pint.UnitRegistry()
    registry.formatter.default_format = "~P"
    return registry


ureg = _registry()
"""The pint registry every quantity in holecalc belongs to."""

_MM, _INCH, _DEGREE, _RADIAN = ureg.millimeter, ureg.inch, ureg.degree, ureg.radian
_ONE_MM, _ONE_DEGREE = ureg.Quantity(1.0, _MM), ureg.Quantity(1.0, _DEGREE)

_LENGTH_UNITS = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), _MM),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), ureg.cm),
    **dict.fromkeys(("um", "µm", "μm", "micron", "microns"), ureg.micrometer),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "''"), _INCH),
    **dict.fromkeys(("thou", "mil", "mils"), ureg.thou),
    **dict.fromkeys(("ft", "foot", "feet"), ureg.foot),
}
_ANGLE_UNITS = {
    **dict.fromkeys(("°", "deg", "deg.", "degs", "degree", "degrees"), _DEGREE),
    **dict.fromkeys(("rad", "radian", "radians"), _RADIAN),
}

_READABLE = frozenset(_LENGTH_UNITS.values())
_SHOWN_IN: ContextVar[str | None] = ContextVar("shown_in", default=None)
_UNIT_TEXT = {ureg.thou: "thou"}
_PLACES = {_MM: 2, _INCH: 4, ureg.thou: 1, ureg.micrometer: 1}

_LONGEST = 60
_CURES = "Write for example 12.6 mm, 1/2 in, 15 thou, #7 or letter F."
_ANGLE_CURES = "Write for example 82°, 82.5 deg, 41°30' or 1.57 rad."

_TYPOGRAPHY = str.maketrans(
    {
        **dict.fromkeys("−–—‐‑", "-"),
        **dict.fromkeys("″”“", '"'),
        **dict.fromkeys("′’‘", "'"),
        **dict.fromkeys("º˚", "°"),
        "⁄": "/",
        **dict.fromkeys("\u00a0\u2009\u202f\t", " "),
        **{
            glyph: f" {numerator}/{denominator}"
            for glyph, numerator, denominator in (
                ("½", 1, 2),
                ("¼", 1, 4),
                ("¾", 3, 4),
                ("⅛", 1, 8),
                ("⅜", 3, 8),
                ("⅝", 5, 8),
                ("⅞", 7, 8),
                ("⅓", 1, 3),
                ("⅔", 2, 3),
            )
        },
    }
)
_DIAMETER_SIGN = re.compile(r"(?:[Øø⌀∅]|dia(?:meter|\.)?(?![a-z]))\s*", re.IGNORECASE)
_DRILL = re.compile(
    r"(?:(?:\#|no\.?|number)\s*(?P<number>[0-9]{1,2})|(?:letter|ltr\.?)\s*(?P<letter>[a-z]))"
    r"(?:\s+drill)?",
    re.IGNORECASE,
)
_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9]+)(?:\s*-\s*|\s+))?(?P<numerator>[0-9]+)\s*/\s*(?P<denominator>[0-9]+)"
)
_DECIMAL = re.compile(r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+")
_REMAINDER = re.compile(r"(?P<size>.*?)\s*\(\s*(?P<rest>[+-].*)\)")
_SEXAGESIMAL = re.compile(
    r"(?P<degrees>[0-9]+)\s*(?:°|deg)\s*(?P<minutes>[0-9]+(?:\.[0-9]*)?)\s*'\s*"
    r"(?:(?P<seconds>[0-9]+(?:\.[0-9]*)?)\s*(?:\"|''))?"
)


@cache
def drills() -> Mapping[str, float]:
    """Diameters [in] of the number and letter drills, by name (``#7``, ``F``).

    References
    ----------
    ASME B94.11M, wire-gauge and letter sizes; see ``references/sources.toml``.

    Examples
    --------
    >>> drills()["#7"]
    0.201
    """
    return MappingProxyType(
        {row["name"]: float(row["diameter_in"]) for row in tables.rows("drills")}
    )


def length(value: Size, unit: str | None = None) -> Quantity:
    """Read a length.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        What was typed or measured: ``1/4``, ``1-1/2 in``, ``.25"``, ``6,5 mm``, ``15 thou``,
        ``#7``, ``No. 7``, ``letter F``, ``⌀ .266`` …; a leading minus is allowed.
    unit : str, optional
        The unit a bare number is in, as declared by the caller (``"mm"``, ``"in"`` …).

    Returns
    -------
    pint.Quantity
        In the unit that was written; a drill's name gives inches.

    Raises
    ------
    SizeError
        The value is not a length, or is a bare number and no unit was declared.

    Examples
    --------
    >>> print(length('1-1/2 in'), length("6,5 mm"), length("#7"), length(".25", "in"))
    1.5 in 6.5 mm 0.201 in 0.25 in
    >>> length("0.5")
    Traceback (most recent call last):
        ...
    holecalc.sizes.SizeError: '0.5' has no unit. Write for example '0.5 mm' or '0.5 in'.
    """
    if isinstance(value, str):
        return _read_length(value, unit)
    return _from_number(value, _ONE_MM, unit, _length_unit, _CURES)


def angle(value: Size) -> Quantity:
    """Read an angle; a bare number is in degrees.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        ``82``, ``82°``, ``82.5 deg``, ``41°30'``, ``1.57 rad`` …

    Returns
    -------
    pint.Quantity
        In degrees, or in radians where radians were written.

    Raises
    ------
    SizeError
        The value is not an angle.

    Examples
    --------
    >>> print(angle(82), angle("41°30'"), angle("1.5 rad"))
    82.0 deg 41.5 deg 1.5 rad
    """
    if isinstance(value, str):
        return _read_angle(value)
    return _from_number(value, _ONE_DEGREE, "°", _angle_unit, _ANGLE_CURES)


def mm(quantity: Quantity) -> Any:
    """The magnitude of a length quantity in millimetres [mm], a float or an array.

    Examples
    --------
    >>> mm(length("1/2 in"))
    12.7
    """
    return quantity.m_as(_MM)


def rad(quantity: Quantity) -> Any:
    """The magnitude of an angle quantity in radians [rad], a float or an array."""
    return quantity.m_as(_RADIAN)


def from_mm(value: Any, unit: Any = "mm") -> Quantity:
    """A length quantity in the person's unit from millimetres [mm].

    Examples
    --------
    >>> print(from_mm(12.7, "in"))
    0.5 in
    """
    return ureg.Quantity(value, _MM).to(_length_unit(unit) if isinstance(unit, str) else unit)


def from_rad(value: Any, unit: Any = "°") -> Quantity:
    """An angle quantity in the person's unit from radians [rad]."""
    return ureg.Quantity(value, _RADIAN).to(_angle_unit(unit) if isinstance(unit, str) else unit)


def show(
    quantity: Quantity,
    unit: str | None = None,
    *,
    fine: bool = False,
    places: int | None = None,
    fraction: int | None = None,
    towards: str = "nearest",
) -> str:
    """Write a length or an angle as the shop does.

    Parameters
    ----------
    quantity : pint.Quantity
        One length or angle.
    unit : str, optional
        The unit to write in; by default that of :func:`shown_in`, else the quantity's own, or
        millimetres where that is one that :func:`length` does not read.
    fine : bool, default False
        Millimetres to 0.001 instead of 0.01, for sizes that are calculated or gauged.
    places : int, optional
        Decimal places. By default millimetres take two, inches four; angles take up to two,
        without trailing zeros.
    fraction : int, optional
        Write inches as the nearest fraction with this largest denominator (a power of two),
        with what the size is off by in brackets.
    towards : {"nearest", "up", "down"}
        How a decimal length is rounded: up for a size that must be at least so much, down for
        one that may be at most so much.

    Returns
    -------
    str
        Text that :func:`length` or :func:`angle` reads back to the printed precision.

    Raises
    ------
    SizeError
        The quantity is neither a length nor an angle, or is not one finite number.

    Examples
    --------
    >>> show(length("12.6 mm")), show(length("12.6 mm"), "in")
    ('12.60 mm', '0.4961 in')
    >>> show(length("0.266 in"), fraction=64)
    '17/64 in (+0.0004 in)'
    >>> show(angle(82))
    '82°'
    """
    if not hasattr(quantity, "is_compatible_with"):
        raise SizeError(f"{quantity!r} is not a quantity. Read it with length() or angle() first.")
    if np.ndim(quantity.magnitude) or not np.isfinite(quantity.magnitude):
        raise SizeError(f"{quantity} is not one finite size. Show one at a time.")
    if _is_angle(quantity):
        return _show_angle(quantity, unit, places)
    if not quantity.check("[length]"):
        raise SizeError(f"{quantity} is neither a length nor an angle.")
    unit = unit or _SHOWN_IN.get()
    if unit is not None:
        target = _length_unit(unit)
    else:
        target = quantity.units if quantity.units in _READABLE else _MM
    value = float(quantity.m_as(target))
    if fraction is not None:
        return _show_fraction(float(quantity.m_as(_INCH)), fraction)
    if places is None:
        places = _PLACES.get(target, 4) + (fine and target == _MM)
    # A little under half a place, so that a size that already is round stays what it is.
    value += {"nearest": 0.0, "up": 0.49, "down": -0.49}[towards] * 10.0**-places
    return f"{_fixed(value, places)} {_UNIT_TEXT.get(target) or format(target, '~P')}"


def exact(quantity: Quantity) -> str:
    """Write a size as the Python that reads back as exactly that size: text, or a bare count.

    Parameters
    ----------
    quantity : pint.Quantity
        One length, angle, count, speed or feed.

    Returns
    -------
    str
        With its quotes.

    Raises
    ------
    SizeError
        It is not one finite quantity.

    Examples
    --------
    >>> exact(length("1/3 in")), exact(length("15 thou")), exact(angle(82)), exact(count(8))
    ("'0.3333333333333333 in'", "'15 thou'", "'82°'", '8')
    """
    if np.ndim(quantity.magnitude) or not np.isfinite(quantity.magnitude):
        raise SizeError(f"{quantity} is not one finite size. Show one at a time.")
    unit = unit_of(quantity)
    if quantity.check("[length]") and quantity.units not in _READABLE:
        quantity = quantity.to(_MM)
    number = np.format_float_positional(quantity.magnitude, trim="-")
    if not unit:
        return number
    return repr(f"{number}°" if unit == "deg" else f"{number} {unit}")


def unit_of(quantity: Quantity) -> str:
    """The name of a quantity's unit, as the functions that read sizes know it.

    Parameters
    ----------
    quantity : pint.Quantity
        A length, an angle, a count, a speed or a feed.

    Returns
    -------
    str
        ``"mm"``, ``"in"``, ``"thou"``, ``"deg"`` …; ``"mm"`` for a length in a unit that
        :func:`length` does not read, and nothing for a count.

    Examples
    --------
    >>> unit_of(length("2 thou")), unit_of(angle(82)), unit_of(ureg.Quantity(0.018, "m"))
    ('thou', 'deg', 'mm')
    """
    if quantity.check("[length]") and quantity.units not in _READABLE:
        return "mm"
    return _UNIT_TEXT.get(quantity.units) or format(quantity.units, "~P")


def system_of(quantity: Quantity) -> str:
    """Which of the two units of a drawing goes with a length: ``"mm"`` or ``"in"``.

    Examples
    --------
    >>> system_of(length("0.66 cm")), system_of(length("2 thou"))
    ('mm', 'in')
    """
    return "in" if quantity.units in (_INCH, ureg.thou, ureg.foot) else "mm"


@contextmanager
def shown_in(unit: str) -> Iterator[None]:
    """Write everything in one unit, where :func:`show` and :func:`show_rate` are not told another.

    What is worked out keeps the units it was given in; a panel or a sheet still speaks one.
    With inches go feeds in inches and surface speeds in feet a minute, and cubic inches; with
    millimetres those in millimetres and metres a minute, and cubic centimetres.

    Parameters
    ----------
    unit : str
        ``"mm"`` or ``"in"``.

    Examples
    --------
    >>> with shown_in("in"):
    ...     print(show(length("12.6 mm")), show_rate(feed("2400 mm/min")))
    0.4961 in 94.49 in/min
    """
    _length_unit(unit)
    token = _SHOWN_IN.set(unit)
    try:
        yield
    finally:
        _SHOWN_IN.reset(token)


def _show_angle(quantity: Quantity, unit: str | None, places: int | None) -> str:
    target = _DEGREE if unit is None else _angle_unit(unit)
    text = _fixed(float(quantity.m_as(target)), 2 if places is None else places)
    if places is None and target == _DEGREE:
        text = text.rstrip("0").rstrip(".")
    return f"{text}°" if target == _DEGREE else f"{text} rad"


def _show_fraction(inches: float, denominator: int) -> str:
    if denominator < 1 or denominator & (denominator - 1) or denominator > 4096:
        raise SizeError(f"a fraction to 1/{denominator} is not in use. Take 8, 16, 32, 64 or 128.")
    steps = round(abs(inches) * denominator)
    off = abs(inches) - steps / denominator
    whole, numerator = divmod(steps, denominator)
    shared = np.gcd(numerator, denominator) if numerator else 1
    part = f"{numerator // shared}/{denominator // shared}" if numerator else ""
    text = f"{whole}-{part}" if whole and part else part or str(whole)
    sign = "-" if inches < 0 and steps else ""
    if inches < 0:
        off = -off
    note = "" if abs(off) < 0.00005 else f" ({off:+.4f} in)"
    return f"{sign}{text} in{note}"


def _fixed(value: float, places: int) -> str:
    # A size half-way between two places comes a rounding error off by some roads; as much outwards,
    # and it is written alike whichever it came by.
    value *= 1 + 3 * math.ulp(1.0)
    text = f"{value:.{places}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _read_length(typed: str, unit: str | None) -> Quantity:
    text = _tidy(typed, _CURES)
    with_remainder = _REMAINDER.fullmatch(text)
    if with_remainder:
        size = _read_length(with_remainder["size"], unit)
        return size + _read_length(with_remainder["rest"], unit).to(size.units)
    sign, text = _sign(text)
    text = _DIAMETER_SIGN.sub("", text, count=1) if _DIAMETER_SIGN.match(text) else text
    drill = _DRILL.fullmatch(text)
    if drill:
        return ureg.Quantity(sign * _drill(drill, typed), _INCH)
    number, rest = _number(text, typed, _CURES)
    if rest:
        found = _LENGTH_UNITS.get(rest.lower())
        if found is None:
            raise SizeError(f"'{typed}' is not a size: '{rest}' is no unit of length. {_CURES}")
    elif unit is None:
        raise SizeError(f"'{typed}' has no unit. Write for example '{text} mm' or '{text} in'.")
    else:
        found = _length_unit(unit)
    return ureg.Quantity(sign * number, found)


def _read_angle(typed: str) -> Quantity:
    text = _tidy(typed, _ANGLE_CURES)
    sign, text = _sign(text)
    parts = _SEXAGESIMAL.fullmatch(text)
    if parts:
        minutes, seconds = float(parts["minutes"]), float(parts["seconds"] or 0)
        if minutes >= 60 or seconds >= 60:
            raise SizeError(
                f"'{typed}' is not an angle: minutes and seconds stay below 60. {_ANGLE_CURES}"
            )
        degrees = float(parts["degrees"]) + minutes / 60 + seconds / 3600
        return ureg.Quantity(sign * degrees, _DEGREE)
    number, rest = _number(text, typed, _ANGLE_CURES)
    unit = _ANGLE_UNITS.get(rest.lower() or "°")
    if unit is None:
        raise SizeError(f"'{typed}' is not an angle: '{rest}' is no unit of angle. {_ANGLE_CURES}")
    return ureg.Quantity(sign * number, unit)


def _tidy(typed: str, cures: str) -> str:
    if len(typed) > _LONGEST:
        raise SizeError(f"'{typed[:20]}…' is not a size: it is {len(typed)} characters. {cures}")
    text = typed.translate(_TYPOGRAPHY).strip()
    if not text:
        raise SizeError(f"nothing was typed. {cures}")
    return text


def _sign(text: str) -> tuple[int, str]:
    if text[0] in "+-":
        return (-1 if text[0] == "-" else 1), text[1:].lstrip()
    return 1, text


def _drill(match: re.Match[str], typed: str) -> float:
    name = f"#{int(match['number'])}" if match["number"] else match["letter"].upper()
    try:
        return drills()[name]
    except KeyError:
        raise SizeError(
            f"'{typed}' is no drill: number drills run from #1 to #80, letters from A to Z."
        ) from None


def _number(text: str, typed: str, cures: str) -> tuple[float, str]:
    """The number a text starts with, and what follows it."""
    fraction = _FRACTION.match(text)
    if fraction:
        whole = int(fraction["whole"] or 0)
        numerator, denominator = int(fraction["numerator"]), int(fraction["denominator"])
        if denominator == 0:
            raise SizeError(f"'{typed}' is not a size: it divides by zero. {cures}")
        if fraction["whole"] and numerator >= denominator:
            raise SizeError(
                f"'{typed}' is not a size: after a whole number the fraction stays below one. "
                f"{cures}"
            )
        return whole + numerator / denominator, text[fraction.end() :].strip()
    decimal = _DECIMAL.match(text)
    if decimal is None:
        raise SizeError(f"'{typed}' is not a size: it does not start with a number. {cures}")
    digits = decimal[0]
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        plain, point = digits.replace(",", ""), digits.replace(",", ".")
        raise SizeError(f"'{typed}' can be read as {plain} or as {point}. Write the one you mean.")
    return float(digits.replace(",", ".")), text[decimal.end() :].strip()


def _from_number(value: Any, kind: Quantity, unit: str | None, find_unit: Any, cures: str) -> Any:
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        if value._REGISTRY is not ureg:
            value = _joined(value, cures)
        if not (value.is_compatible_with(kind) and _is_angle(value) == _is_angle(kind)):
            raise SizeError(f"{value} is not {_named(kind)}. {cures}")
        if isinstance(value.magnitude, float) and np.isfinite(value.magnitude):
            return value
        return ureg.Quantity(_finite(value.magnitude, cures), value.units)
    number = _finite(value, cures)
    if unit is None:
        raise SizeError(f"{value} has no unit. Write for example '{value} mm' or '{value} in'.")
    return ureg.Quantity(number, find_unit(unit))


def _joined(value: Quantity, cures: str) -> Quantity:
    """A quantity of another registry as one of ours, however that registry prints its units."""
    magnitude, units = value.to_tuple()
    ours = pint.util.UnitsContainer(units)
    try:
        ureg.get_dimensionality(ours)
    except pint.UndefinedUnitError:
        raise SizeError(f"{value} is in a unit that is not known here. {cures}") from None
    return ureg.Quantity(magnitude, ours)


def _finite(value: Any, cures: str) -> Any:
    try:
        number = np.asarray(value)
        # Nothing, truth values, bytes, text and complex numbers would all be cast to floats.
        if value is None or number.dtype.kind not in "iufO":
            raise TypeError(value)
        # What was solved must not change when the caller goes on using the array; a copy made
        # here before cannot change, and need not be made again.
        if number.flags.writeable or number.base is not None or number.dtype != float:
            number = number.astype(float)
            number.flags.writeable = False
    except (TypeError, ValueError, OverflowError):
        raise SizeError(f"{value!r} is not a size. {cures}") from None
    # The sum tells in one pass, unless it overflows.
    with np.errstate(over="ignore", invalid="ignore"):
        summed = number.sum()
    if not (np.isfinite(summed) or np.isfinite(number).all()):
        raise SizeError(f"{value!r} is not a finite size. {cures}")
    return number if number.ndim else float(number)


def _length_unit(unit: str) -> Any:
    try:
        return _LENGTH_UNITS[unit.strip().lower()]
    except (KeyError, AttributeError):
        raise SizeError(f"{unit!r} is no unit of length. Use 'mm' or 'in'.") from None


def _angle_unit(unit: str) -> Any:
    try:
        return _ANGLE_UNITS[unit.strip().lower()]
    except (KeyError, AttributeError):
        raise SizeError(f"{unit!r} is no unit of angle. Use 'deg' or 'rad'.") from None


def _is_angle(quantity: Quantity) -> bool:
    # pint counts angles as dimensionless, so the unit itself has to be asked.
    return bool(quantity.units in (_DEGREE, _RADIAN))


def _named(kind: Quantity) -> str:
    return "an angle" if _is_angle(kind) else "a length"


# --- counts, speeds and feeds --------------------------------------------------------------------


@dataclass(frozen=True)
class _Rate:
    """How one kind of rate is read.

    `beside` is the unit of a bare number where a unit of length was declared. In the units of
    `whole` a comma before three digits groups thousands, since nobody asks for thousandths of
    them.
    """

    name: str
    units: Mapping[str, Any]
    beside: Mapping[Any, Any]
    whole: frozenset[Any]
    cures: str


_RPM = ureg.rpm
_MM_MIN, _M_MIN = ureg.millimeter / ureg.minute, ureg.meter / ureg.minute
_INCH_MIN, _FOOT_MIN = ureg.inch / ureg.minute, ureg.foot / ureg.minute

_SPINDLE_SPEED = _Rate(
    "a spindle speed",
    dict.fromkeys(("rpm", "rev/min", "r/min", "u/min", "1/min", "min-1", "/min"), _RPM),
    {},
    frozenset({_RPM}),
    "Write for example 18000 rev/min or 18,000 rpm.",
)
_FEED = _Rate(
    "a feed",
    {
        **dict.fromkeys(("mm/min", "mm/minute"), _MM_MIN),
        **dict.fromkeys(("mm/s", "mm/sec"), ureg.millimeter / ureg.second),
        **dict.fromkeys(("m/min",), _M_MIN),
        **dict.fromkeys(("in/min", "in./min", '"/min', "inch/min", "ipm"), _INCH_MIN),
        **dict.fromkeys(("in/s", "in/sec", "ips"), ureg.inch / ureg.second),
    },
    {_MM: _MM_MIN, _INCH: _INCH_MIN},
    frozenset({_MM_MIN}),
    "Write for example 2400 mm/min or 95 in/min.",
)
_SURFACE_SPEED = _Rate(
    "a surface speed",
    {
        **dict.fromkeys(("m/min", "m/minute"), _M_MIN),
        **dict.fromkeys(("m/s", "m/sec"), ureg.meter / ureg.second),
        **dict.fromkeys(("sfm", "sfpm", "ft/min", "fpm"), _FOOT_MIN),
    },
    {_MM: _M_MIN, _INCH: _FOOT_MIN},
    frozenset({_FOOT_MIN}),
    "Write for example 300 m/min or 1000 sfm.",
)
_COUNT_CURES = "Write a plain number, such as 8 or 2.5."

_RATE_TEXT = {_RPM: "rev/min"}
_OF_AN_EDGE = frozenset(_SURFACE_SPEED.units.values())
_CUBIC_CM, _CUBIC_INCH = ureg.centimeter**3, ureg.inch**3
_VOLUMES = {
    "[length]**3": (_CUBIC_CM, _CUBIC_INCH),
    "[length]**3/[time]": (_CUBIC_CM / ureg.minute, _CUBIC_INCH / ureg.minute),
}
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:[ ,][0-9]{3})+(?![0-9.,])")
_MISGROUPED = re.compile(r"[0-9]+,[0-9]{3}")


def spindle_speed(value: Size) -> Quantity:
    """Read a spindle speed; a bare number is in revolutions a minute, the only unit in use.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        ``18000``, ``18000 rpm``, ``18,000 rev/min``, ``18 000 min⁻¹`` …

    Returns
    -------
    pint.Quantity
        In revolutions a minute.

    Raises
    ------
    SizeError
        The value is not a spindle speed.

    Examples
    --------
    >>> print(spindle_speed("18,000 rev/min"))
    18000.0 rpm
    """
    if isinstance(value, str):
        return _read_rate(value.replace("⁻¹", "-1"), _SPINDLE_SPEED, _RPM)
    return _rate_from_number(value, _SPINDLE_SPEED, _RPM).to(_RPM)


def feed(value: Size, unit: str | None = None) -> Quantity:
    """Read a feed.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        ``2400 mm/min``, ``2,400 mm/min``, ``95 in/min``, ``95 ipm``, ``40 mm/s`` …
    unit : str, optional
        The unit a bare number is in: ``"mm/min"`` or ``"in/min"``, or a declared unit of length,
        which stands for as much a minute.

    Returns
    -------
    pint.Quantity
        In the unit that was written.

    Raises
    ------
    SizeError
        The value is not a feed, or is a bare number and no unit was declared.

    Examples
    --------
    >>> print(feed("2,400 mm/min"), feed("95 ipm"), feed(95, "in"))
    2400.0 mm/min 95.0 in/min 95.0 in/min
    """
    declared = None if unit is None else _rate_unit(unit, _FEED)
    if isinstance(value, str):
        return _read_rate(value, _FEED, declared)
    return _rate_from_number(value, _FEED, declared)


def surface_speed(value: Size, unit: str | None = None) -> Quantity:
    """Read a surface speed: how fast the cutting edge goes past the work.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        ``300 m/min``, ``5 m/s``, ``1000 sfm``, ``1,000 ft/min`` …
    unit : str, optional
        The unit a bare number is in: ``"m/min"`` or ``"ft/min"``, or a declared unit of length:
        millimetres go with metres a minute, inches with feet a minute.

    Returns
    -------
    pint.Quantity
        In the unit that was written.

    Raises
    ------
    SizeError
        The value is not a surface speed, or is a bare number and no unit was declared.

    Examples
    --------
    >>> print(surface_speed("300 m/min"), surface_speed("1,000 sfm"))
    300.0 m/min 1000.0 ft/min
    """
    declared = None if unit is None else _rate_unit(unit, _SURFACE_SPEED)
    if isinstance(value, str):
        return _read_rate(value, _SURFACE_SPEED, declared)
    return _rate_from_number(value, _SURFACE_SPEED, declared)


def count(value: Size) -> Quantity:
    """Read a count, of turns or of flutes, which need not be whole.

    Parameters
    ----------
    value : str, pint.Quantity, number or array
        A plain number.

    Returns
    -------
    pint.Quantity
        Without a unit.

    Raises
    ------
    SizeError
        The value is not a count.

    Examples
    --------
    >>> count("6,5").magnitude, count(8).magnitude
    (6.5, 8.0)
    """
    if isinstance(value, str):
        sign, text = _sign(_tidy(value, _COUNT_CURES))
        number, rest = _number(text, value, _COUNT_CURES)
        if rest:
            raise SizeError(f"'{value}' is not a count: '{rest}' follows it. {_COUNT_CURES}")
        return ureg.Quantity(sign * number, ureg.dimensionless)
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        if not value.units == value.units._REGISTRY.dimensionless:
            raise SizeError(f"{value} is not a count. {_COUNT_CURES}")
        value = value.magnitude
    return ureg.Quantity(_finite(value, _COUNT_CURES), ureg.dimensionless)


def show_rate(quantity: Quantity, unit: str | None = None) -> str:
    """Write a count, a speed, a feed, a time, a volume or a removal rate.

    Whole from a thousand up, else to four figures without trailing zeros: what comes after
    those is beyond what a control or a stopwatch can hold. Times are in minutes and seconds.

    Parameters
    ----------
    quantity : pint.Quantity
        One of these.
    unit : str, optional
        The unit to write a speed or feed in; by default the one that goes with :func:`shown_in`,
        else the quantity's own.

    Returns
    -------
    str
        Text that :func:`spindle_speed`, :func:`feed`, :func:`surface_speed` or :func:`count`
        reads back to the printed precision.

    Raises
    ------
    SizeError
        The quantity is none of these, or is not one finite number.

    Examples
    --------
    >>> show_rate(feed("2400 mm/min")), show_rate(feed("2400 mm/min"), "in/min")
    ('2400 mm/min', '94.49 in/min')
    >>> show_rate(spindle_speed(18000)), show_rate(ureg.Quantity(154.6, "s"))
    ('18000 rev/min', '2 min 35 s')
    """
    if not hasattr(quantity, "is_compatible_with"):
        raise SizeError(f"{quantity!r} is not a quantity. Read it first.")
    if np.ndim(quantity.magnitude) or not np.isfinite(quantity.magnitude):
        raise SizeError(f"{quantity} is not one finite number. Show one at a time.")
    if quantity.check("[time]"):
        return _show_time(float(quantity.m_as(ureg.second)))
    kinds = ("[]", "1/[time]", "[length]/[time]", "[length]**3", "[length]**3/[time]")
    if _is_angle(quantity) or not any(quantity.check(kind) for kind in kinds):
        raise SizeError(f"{quantity} is no count, speed, feed, time or volume.")
    if unit is not None:
        quantity = quantity.to(_named_rate_unit(unit, quantity))
    else:
        quantity = _in_the_unit_shown(quantity)
    text = _RATE_TEXT.get(quantity.units) or format(quantity.units, "~P")
    return f"{_four_figures(float(quantity.magnitude))} {text}".rstrip()


def _in_the_unit_shown(quantity: Quantity) -> Quantity:
    """A speed, a feed or a volume in the unit that goes with :func:`shown_in`."""
    shown = _SHOWN_IN.get()
    if shown is None:
        return quantity
    inches = _length_unit(shown) in (_INCH, ureg.thou, ureg.foot)
    if quantity.check("[length]/[time]"):
        # In metres or feet a minute or a second it is the edge's speed, not the axis's feed.
        beside = _SURFACE_SPEED if quantity.units in _OF_AN_EDGE else _FEED
        return quantity.to(beside.beside[_INCH if inches else _MM])
    for dimension, units in _VOLUMES.items():
        if quantity.check(dimension):
            return quantity.to(units[inches])
    return quantity


def _four_figures(value: float) -> str:
    whole_digits = math.floor(math.log10(abs(value))) + 1 if value else 1
    text = _fixed(value, min(max(0, 4 - whole_digits), 9))
    return text.rstrip("0").rstrip(".") if "." in text else text


def _show_time(seconds: float) -> str:
    if abs(seconds) < 59.95:
        return f"{_fixed(seconds, 1)} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min {rest} s"


def _read_rate(typed: str, rate: _Rate, declared: Any) -> Quantity:
    text = _tidy(typed, rate.cures)
    sign, text = _sign(text)
    grouped = _GROUPED.match(text)
    if grouped:
        unit = _unit_after(text[grouped.end() :], typed, rate, declared)
        if unit in rate.whole or "," not in grouped[0]:
            number = float(re.sub("[ ,]", "", grouped[0]))
            return ureg.Quantity(sign * number, unit)
    number, rest = _number(text, typed, rate.cures)
    unit = _unit_after(rest, typed, rate, declared)
    if unit in rate.whole and _MISGROUPED.match(text):
        raise SizeError(f"'{typed}' is not {rate.name}: a comma groups three digits. {rate.cures}")
    return ureg.Quantity(sign * number, unit)


def _unit_after(rest: str, typed: str, rate: _Rate, declared: Any) -> Any:
    name = rest.strip().lower().replace(" ", "")
    if name:
        unit = rate.units.get(name)
        if unit is None:
            raise SizeError(f"'{typed}' is not {rate.name}: '{name}' is no unit. {rate.cures}")
        return unit
    if declared is None:
        raise SizeError(f"'{typed}' has no unit. {rate.cures}")
    return declared


def _rate_from_number(value: Any, rate: _Rate, declared: Any) -> Quantity:
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        if value._REGISTRY is not ureg:
            value = _joined(value, rate.cures)
        # Root units, not dimensions: pint would take 1/min for a radian a minute, out by 2π.
        root = ureg.Quantity(1.0, next(iter(rate.units.values()))).to_root_units().units
        if value.to_root_units().units != root:
            raise SizeError(f"{value} is not {rate.name}. {rate.cures}")
        return ureg.Quantity(_finite(value.magnitude, rate.cures), value.units)
    number = _finite(value, rate.cures)
    if declared is None:
        raise SizeError(f"{value} has no unit. {rate.cures}")
    return ureg.Quantity(number, declared)


def _rate_unit(unit: str, rate: _Rate) -> Any:
    name = unit.strip().lower()
    found = rate.units.get(name) or rate.beside.get(_LENGTH_UNITS.get(name))
    if found is None:
        raise SizeError(f"{unit!r} is no unit of {rate.name.partition(' ')[2]}. {rate.cures}")
    return found


def _named_rate_unit(unit: str, quantity: Quantity) -> Any:
    for rate in (_SPINDLE_SPEED, _FEED, _SURFACE_SPEED):
        found = rate.units.get(unit.strip().lower())
        if found is not None and quantity.is_compatible_with(found):
            return found
    raise SizeError(f"{unit!r} is no unit for {show_rate(quantity)}.")
