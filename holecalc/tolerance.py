r"""What tolerances on the inputs do to a result.

A tolerance is a size either way (``"0.1 mm"``), or a pair (``("-0.2 mm", "+0.1 mm")``). For any
function of sizes, :func:`spread` takes the result

- at every combination of the ends: the *worst case*, exact where the result rises or falls
  steadily with each input between its ends, as all results in holecalc do for tolerances that
  are small beside the sizes;
- with one input moved at a time: how much each contributes, and the *root-sum-square*
  :math:`\sqrt{\sum_i e_i^2}` of the half-ranges :math:`e_i`, which is what to expect when the
  inputs vary independently and none is systematically off.
"""

from __future__ import annotations

import html
import itertools
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from holecalc import sizes
from holecalc.sizes import Quantity, Size

__all__ = ["PlusMinus", "Spread", "ToleranceError", "plus_minus", "spread"]

_MOST = 12

_EITHER_WAY = re.compile(r"\s*(?:±|\+\s*/\s*[-−–])\s*")

_ONE_WAY = re.compile(r"\s*\+(?!\s*/)")


class ToleranceError(ValueError):
    """There is no result at an end of the tolerances; the message says where, and the cure."""


@dataclass(frozen=True)
class PlusMinus:
    """How far below and above its nominal a size may be.

    Parameters
    ----------
    below, above : pint.Quantity
        The deviations of the two ends, `below` not more than `above`.
    """

    below: Quantity
    above: Quantity

    def __str__(self) -> str:
        if self.below == -self.above:
            return f"±{_fine(self.above)}"
        below, above = (
            f"{'+' if end.magnitude > 0 else ''}{_fine(end)}" for end in (self.below, self.above)
        )
        return f"{below} to {above}"


def plus_minus(
    value: Any,
    like: Quantity,
    *,
    read: Callable[[Size, str | None], Quantity] | None = None,
) -> PlusMinus:
    """Read a tolerance for a size.

    Parameters
    ----------
    value : size, pair of sizes, or PlusMinus
        One size, with or without ``±`` or ``+/-``, for the same either way; or the two
        deviations. A ``+`` alone says one end and keeps quiet of the other, so it is refused.
        Bare numbers are in the unit of `like`, or in degrees.
    like : pint.Quantity
        The size the tolerance is for.
    read : callable, optional
        Turns what was typed, and the unit of bare numbers, into a quantity; needed for what is
        neither length, angle nor count, such as :func:`holecalc.sizes.feed` for a feed.

    Returns
    -------
    PlusMinus

    Raises
    ------
    holecalc.sizes.SizeError
        It cannot be read, or has a sign where it stands for both ways.

    Examples
    --------
    >>> print(plus_minus("±0.1 mm", sizes.length("6 mm")))
    ±0.100 mm
    >>> print(plus_minus(("-0.2 mm", "0 mm"), sizes.length("6 mm")))
    -0.200 mm to 0.000 mm
    >>> print(plus_minus("+/-50 mm/min", sizes.feed("2400 mm/min"), read=sizes.feed))
    ±50 mm/min
    """
    if isinstance(value, PlusMinus):
        return value
    if read is None:
        read = _reader(like)
    unit = sizes.unit_of(like)
    if isinstance(value, tuple | list):
        if len(value) != 2:
            raise sizes.SizeError(
                f"{value!r} is no tolerance: a pair has two deviations, below and above."
            )
        one, other = (read(end, unit) for end in value)
        return PlusMinus(min(one, other), max(one, other))
    if isinstance(value, str) and _ONE_WAY.match(value):
        raise sizes.SizeError(
            f"{value!r} says only how far above. Write '±{value.strip().lstrip('+').strip()}' for "
            f"the same either way, or give a pair, such as ('0', {value.strip()!r})."
        )
    size = read(_EITHER_WAY.sub("", value, count=1) if isinstance(value, str) else value, unit)
    if size.magnitude < 0:
        raise sizes.SizeError(
            f"{value!r} is no tolerance: a size either way cannot be negative. Give a pair for "
            "different deviations below and above."
        )
    return PlusMinus(-size, size)


@dataclass(frozen=True)
class Spread:
    """A result with what the tolerances make of it.

    Parameters
    ----------
    nominal : pint.Quantity
        The result at the nominal sizes.
    least, most : pint.Quantity
        The worst case.
    rss : pint.Quantity
        The root-sum-square of the contributions, about `middle`.
    middle : pint.Quantity
        The nominal, shifted where tolerances are not the same either way.
    contributions : mapping of str to pint.Quantity
        For each input, half of what the result moves over its range.
    """

    nominal: Quantity
    least: Quantity
    most: Quantity
    rss: Quantity
    middle: Quantity
    contributions: Mapping[str, Quantity]

    def rows(self) -> list[tuple[str, str]]:
        """The whole as lines of label and text."""
        rows = [
            ("nominal", _fine(self.nominal)),
            ("worst case", f"{_fine(self.least)} to {_fine(self.most)}"),
            ("root-sum-square", f"{_fine(self.middle)} ± {_fine(self.rss)}"),
        ]
        ranked = sorted(self.contributions.items(), key=lambda item: -item[1])
        rows += [(f"from {name.replace('_', ' ')}", f"± {_fine(part)}") for name, part in ranked]
        return rows

    def __str__(self) -> str:
        width = max(len(label) for label, _ in self.rows())
        return "\n".join(f"{label:<{width}}  {text}" for label, text in self.rows())

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td style='text-align:left'>{html.escape(label)}</td>"
            f"<td>{html.escape(text)}</td></tr>"
            for label, text in self.rows()
        )
        return f"<table>{rows}</table>"


def spread(
    function: Callable[..., Quantity],
    nominal: Mapping[str, Quantity],
    tolerances: Mapping[str, Any],
) -> Spread:
    """The worst case and root-sum-square of a function of sizes.

    Parameters
    ----------
    function : callable
        Takes the sizes by name, returns one quantity.
    nominal : mapping of str to pint.Quantity
        The sizes.
    tolerances : mapping of str to tolerance
        For some or all of the names, as :func:`plus_minus` reads them.

    Returns
    -------
    Spread

    Raises
    ------
    holecalc.sizes.SizeError
        A tolerance cannot be read.
    ToleranceError
        The function has no result at an end of the tolerances.
    ValueError
        More than 12 tolerances at once, which would be more than 4096 combinations.
    KeyError
        A tolerance is for a name that `nominal` does not have.

    Examples
    --------
    >>> print(spread(
    ...     lambda plate, pocket: plate - pocket,
    ...     {"plate": sizes.length("18 mm"), "pocket": sizes.length("11.5 mm")},
    ...     {"plate": "0.3 mm", "pocket": "0.4 mm"},
    ... ))
    nominal          6.500 mm
    worst case       5.800 mm to 7.200 mm
    root-sum-square  6.500 mm ± 0.500 mm
    from pocket      ± 0.400 mm
    from plate       ± 0.300 mm
    """
    if len(tolerances) > _MOST:
        raise ValueError(f"{len(tolerances)} tolerances at once; {_MOST} is the most.")
    ends = {
        name: _ends(nominal[name], plus_minus(value, nominal[name]))
        for name, value in tolerances.items()
    }
    centre = function(**nominal)

    def at(**moved: Quantity) -> Quantity:
        try:
            return function(**{**nominal, **moved})
        except ValueError as error:
            raise _no_corner(moved, error) from error

    corners = [
        at(**dict(zip(ends, corner, strict=True))) for corner in itertools.product(*ends.values())
    ]
    contributions, shift = {}, 0 * centre
    for name, (low, high) in ends.items():
        at_low, at_high = at(**{name: low}), at(**{name: high})
        contributions[name] = abs(at_high - at_low) / 2
        shift = shift + (at_high + at_low) / 2 - centre
    unit = centre.units
    squares = sum(part.m_as(unit) ** 2 for part in contributions.values())
    return Spread(
        nominal=centre,
        least=min([centre, *corners]),
        most=max([centre, *corners]),
        rss=sizes.ureg.Quantity(math.sqrt(squares), unit),
        middle=centre + shift,
        contributions=contributions,
    )


def _ends(nominal: Quantity, allowed: PlusMinus) -> tuple[Quantity, Quantity]:
    return nominal + allowed.below, nominal + allowed.above


def _no_corner(moved: Mapping[str, Quantity], error: ValueError) -> ToleranceError:
    where = ", ".join(f"{name.replace('_', ' ')} {_fine(end)}" for name, end in moved.items())
    return ToleranceError(
        f"at the end of the tolerances where {where}, there is no result: {error} Where a size can "
        'only be off one way, give its tolerance as a pair, such as ("0 mm", "+0.1 mm").'
    )


def _reader(like: Quantity) -> Callable[[Size, str | None], Quantity]:
    if like.check("[length]"):
        return sizes.length
    if like.units in (sizes.ureg.degree, sizes.ureg.radian):
        return lambda value, _unit: sizes.angle(value)
    if like.units == sizes.ureg.dimensionless:
        return lambda value, _unit: sizes.count(value)
    raise sizes.SizeError(
        f"a tolerance for {like} cannot be read, since that is neither length, angle nor count. "
        "Say with read= how to, such as read=sizes.feed for a feed."
    )


def _fine(quantity: Quantity) -> str:
    if quantity.check("[length]") or quantity.units in (sizes.ureg.degree, sizes.ureg.radian):
        return sizes.show(quantity, fine=True)
    return sizes.show_rate(quantity)
