"""Places on a plate as people type them: ``150, 100``, or several, ``150, 100; 50, 100``.

What a part file has in brackets is read as well, and a pattern such as a bolt circle only so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, TypeAlias

import tomlkit
from tomlkit.exceptions import TOMLKitError

from holecalc import sizes
from holecalc.sizes import SizeError

__all__ = ["PlaceError", "as_value", "in_unit", "read", "read_size", "written"]

Value: TypeAlias = str | int | float

EXAMPLES = (
    "Type X and Y, such as “40, 35”; put a semicolon between places, “20, 90; 220, 90”; a unit "
    "goes behind each size, “1-1/2 in, 2 in”. A pattern is typed as in the file: "
    '{pattern = "bolt circle", centre = [150, 100], diameter = 120, count = 4, start = 45}.'
)

_AXES = re.compile(r"^\s*[Xx]\s*[=:]?\s*(?P<x>.*?)[\s,]+[Yy]\s*[=:]?\s*(?P<y>.*?)\s*$")
_BETWEEN_BRACKETS = re.compile(r"([\])])\s*,?\s*([\[(])")


class PlaceError(ValueError):
    """It is no place; the message says why, and how one is typed."""


def as_value(text: str) -> Value | None:
    """What was typed in a field, for a part file: a number where it is one written plainly.

    Examples
    --------
    >>> as_value("12.6"), as_value("12.60"), as_value("8"), as_value(" 1/4 in"), as_value("")
    (12.6, '12.60', 8, '1/4 in', None)
    """
    text = text.strip()
    for number in (int, float):
        with suppress(ValueError):
            if str(number(text)) == text and "n" not in text:
                return number(text)
    return text or None


def read(text: str, unit: str) -> list[Any] | dict[str, Any]:
    """Places as a part file has them.

    Parameters
    ----------
    text : str
        As typed: plainly, or in a part file's brackets.
    unit : {"mm", "in"}
        What a bare number is in.

    Returns
    -------
    list or dict
        One pair, a list of pairs, or a pattern; sizes as they were typed.

    Raises
    ------
    PlaceError
        It cannot be read.

    Examples
    --------
    >>> read("150, 100", "mm"), read("150 100; 50 100", "mm"), read("1-1/2 in, 2 in", "in")
    ([150, 100], [[150, 100], [50, 100]], ['1-1/2 in', '2 in'])
    >>> read("X 6,5 mm, Y 35", "mm"), read("[[20, 90], [220, 90]]", "mm")
    (['6,5 mm', 35], [[20, 90], [220, 90]])
    """
    for as_in_file in (text, f"[{text}]"):
        with suppress(TOMLKitError, ValueError):
            value = tomlkit.parse(f"at = {as_in_file}").unwrap()["at"]
            if isinstance(value, dict) or _is_places(value):
                return value  # type: ignore[no-any-return]
    places = [each for each in re.split(r"[;\n]", _plain(text)) if each.strip()]
    if not places:
        raise PlaceError(f"no place is typed. {EXAMPLES}")
    pairs = [_pair(each, unit) for each in places]
    return pairs if len(pairs) > 1 else pairs[0]


def _is_places(value: Any) -> bool:
    def is_pair(each: Any) -> bool:
        return (
            isinstance(each, list)
            and len(each) == 2
            and all(isinstance(size, str | int | float) for size in each)
        )

    return is_pair(value) or (isinstance(value, list) and bool(value) and all(map(is_pair, value)))


def _plain(text: str) -> str:
    """Without brackets, which only say again what belongs together."""
    return re.sub(r"[\[\]()]", " ", _BETWEEN_BRACKETS.sub(r"\1;\2", text))


def _pair(place: str, unit: str) -> list[Value]:
    place = place.strip().strip(",").strip()
    with_axes = _AXES.match(place)
    halves = [(with_axes["x"], with_axes["y"])] if with_axes is not None else list(_halves(place))
    readable = [both for both in halves if all(_is_size(size, unit) for size in both)]
    if not readable:
        raise PlaceError(_why_not(place, halves, unit))
    x, y = readable[0]
    # Without a comma, 1 1/2 is one size as well; with several, 150,100 may be two.
    unsure = with_axes is None and (
        len(readable) > 1
        or ("," not in place and _is_size(place, unit))
        or any("," in size and _is_bare(size) for size in (x, y))
    )
    if unsure:
        raise PlaceError(
            f"“{place}” can be read in more than one way. Put a comma and a blank between X and "
            "Y, a semicolon between places, and write decimals with a point."
        )
    _refuse_half_a_unit(place, x, y, unit)
    return [value for value in map(as_value, (x, y)) if value is not None]


def _halves(place: str) -> Iterator[tuple[str, str]]:
    """The ways to part a place in two: at a comma with a blank, at the only comma, at a blank."""
    for between in (r"\s*,\s+|\s+,", r",", r"\s+"):
        found = [each.span() for each in re.finditer(between, place)]
        if between == r"\s+":
            yield from ((place[:begin], place[end:]) for begin, end in found)
        elif len(found) == 1:
            ((begin, end),) = found
            yield place[:begin], place[end:]
            return
        elif found:
            return


def _is_size(text: str, unit: str) -> bool:
    try:
        sizes.length(text, unit)
    except SizeError:
        return False
    return True


def _is_bare(text: str) -> bool:
    try:
        sizes.length(text)
    except SizeError:
        return True
    return False


def _refuse_half_a_unit(place: str, x: str, y: str, unit: str) -> None:
    """“150, 100 mm” means both, and would be read as 150 of another unit."""
    bare = [_is_bare(x), _is_bare(y)]
    if bare[0] is bare[1]:
        return
    told = sizes.unit_of(sizes.length(y if bare[0] else x))
    if told != unit:
        raise PlaceError(
            f"“{place}” has a unit behind one of two sizes, and a bare number is in {unit} here. "
            f"Type it behind both: {x} {told}, {y}."
            if bare[0]
            else f"“{place}” has a unit behind one of two sizes, and a bare number is in {unit} "
            f"here. Type it behind both: {x}, {y} {told}."
        )


def _why_not(place: str, halves: list[tuple[str, str]], unit: str) -> str:
    commas = [each for each in re.split(r"\s*,\s*", place) if each]
    if len(commas) > 2 and all(_is_size(each, unit) for each in commas):
        return f"“{place}” has {len(commas)} sizes, and a place has two, X and Y. {EXAMPLES}"
    if _is_size(place, unit) and len(commas) == 1:
        return f"“{place}” is one size, and a place has two, X and Y. {EXAMPLES}"
    if len(halves) == 1:
        for axis, size in zip("XY", halves[0], strict=True):
            try:
                sizes.length(size, unit)
            except SizeError as error:
                return f"“{place}” is no place: {axis}, {error}"
    return f"“{place}” is no place. {EXAMPLES}"


def read_size(text: str, unit: str) -> list[Any]:
    """A plate's length and width, as a part file has them.

    Examples
    --------
    >>> read_size("300 x 200", "mm"), read_size("12 in × 8 in", "mm")
    ([300, 200], ['12 in', '8 in'])
    """
    sides = [as_value(side) for side in re.split(r"[x×]", text.strip(" []"))]
    if len(sides) == 2 and None not in sides:
        return sides
    with suppress(PlaceError):
        value = read(text, unit)
        if isinstance(value, list) and not isinstance(value[0], list):
            return value
    raise PlaceError(f"{text.strip()!r} is no plate's size. Type two sizes: 300 x 200.")


def in_unit(value: Any, unit: str) -> Any:
    """Places with the unit behind bare numbers; as they stand for an empty unit."""
    if isinstance(value, list):
        return [in_unit(each, unit) for each in value]
    if isinstance(value, dict):
        return {
            key: in_unit(each, unit) if isinstance(each, list) or key == "diameter" else each
            for key, each in value.items()
        }
    return f"{value} {unit}" if unit and _is_bare(value) else value


def written(value: Any) -> str:
    """Places as they are typed, so that :func:`read` has them again.

    Examples
    --------
    >>> written([150, 100]), written([["1-1/2", 2], [4, 2]])
    ('150, 100', '1-1/2, 2; 4, 2')
    >>> print(written({"pattern": "line", "start": [20, 20], "step": [10, 0], "count": 3}))
    {pattern = "line", start = [20, 20], step = [10, 0], count = 3}
    """
    if isinstance(value, dict):
        table = tomlkit.inline_table()
        table.update(value)
        return str(table.as_string())
    if not _is_places(value):
        return str(tomlkit.item(value).as_string())
    pairs = value if isinstance(value[0], list) else [value]
    return "; ".join(", ".join(map(str, pair)) for pair in pairs)
