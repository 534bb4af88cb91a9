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

import re
from collections.abc import Mapping
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
    "drills",
    "from_mm",
    "from_rad",
    "length",
    "mm",
    "rad",
    "show",
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
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), ureg.m),
    **dict.fromkeys(("um", "µm", "μm", "micron", "microns"), ureg.micrometer),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "''"), _INCH),
    **dict.fromkeys(("thou", "mil", "mils"), ureg.thou),
    **dict.fromkeys(("ft", "foot", "feet"), ureg.foot),
}
_ANGLE_UNITS = {
    **dict.fromkeys(("°", "deg", "deg.", "degs", "degree", "degrees"), _DEGREE),
    **dict.fromkeys(("rad", "radian", "radians"), _RADIAN),
}

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
) -> str:
    """Write a length or an angle as the shop does.

    Parameters
    ----------
    quantity : pint.Quantity
        One length or angle.
    unit : str, optional
        The unit to write in; the quantity's own by default.
    fine : bool, default False
        Millimetres to 0.001 instead of 0.01, for sizes that are calculated or gauged.
    places : int, optional
        Decimal places. By default millimetres take two, inches four; angles take up to two,
        without trailing zeros.
    fraction : int, optional
        Write inches as the nearest fraction with this largest denominator (a power of two),
        with what the size is off by in brackets.

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
    target = quantity.units if unit is None else _length_unit(unit)
    value = float(quantity.m_as(target))
    if fraction is not None:
        return _show_fraction(float(quantity.m_as(_INCH)), fraction)
    if places is None:
        places = _PLACES.get(target, 4) + (fine and target == _MM)
    return f"{_fixed(value, places)} {_UNIT_TEXT.get(target) or format(target, '~P')}"


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
            value = ureg.Quantity(value.magnitude, str(value.units))
        if not (value.is_compatible_with(kind) and _is_angle(value) == _is_angle(kind)):
            raise SizeError(f"{value} is not {_named(kind)}. {cures}")
        if isinstance(value.magnitude, float) and np.isfinite(value.magnitude):
            return value
        return ureg.Quantity(_finite(value.magnitude, cures), value.units)
    number = _finite(value, cures)
    if unit is None:
        raise SizeError(f"{value} has no unit. Write for example '{value} mm' or '{value} in'.")
    return ureg.Quantity(number, find_unit(unit))


def _finite(value: Any, cures: str) -> Any:
    if isinstance(value, bool) or value is None:
        raise SizeError(f"{value!r} is not a size. {cures}")
    try:
        number = np.asarray(value, dtype=float)
    except (TypeError, ValueError, OverflowError):
        raise SizeError(f"{value!r} is not a size. {cures}") from None
    if not np.all(np.isfinite(number)):
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
