"""Traced points of a cutter's edge: heights and diameters as a person pastes them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from holecalc import sizes
from holecalc.sizes import Quantity, Size

__all__ = ["ArcFitError", "Flags", "Floats", "Points", "Trace", "read_trace"]

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]

_fine = partial(sizes.show, fine=True)

MOST_ROWS = 5000


class ArcFitError(ValueError):
    """The points cannot be read or do not make an arc; the message names the row."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Measured points of a cutter's edge, as :func:`read_trace` reads them.

    Parameters
    ----------
    rows : tuple of int
        The row each point stands in, counted from 1 as a spreadsheet does.
    heights, diameters : pint.Quantity
        Arrays: above the cutter's tip, and there across.
    """

    rows: tuple[int, ...]
    heights: Quantity
    diameters: Quantity

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def unit(self) -> str:
        """The unit of the table."""
        return f"{self.diameters.units:~P}"

    @property
    def xy(self) -> tuple[Floats, Floats]:
        """Radius and height of each point [mm]."""
        return sizes.mm(self.diameters) / 2, sizes.mm(self.heights)

    def only(self, which: Flags) -> Trace:
        """The points for which `which` is true."""
        rows = tuple(row for row, wanted in zip(self.rows, which, strict=True) if wanted)
        return Trace(rows, self.heights[which], self.diameters[which])

    def told(self, index: int) -> str:
        """One point in words, with its row."""
        return (
            f"row {self.rows[index]} (height {_fine(self.heights[index])}, "
            f"diameter {_fine(self.diameters[index])})"
        )


Points: TypeAlias = Trace | str | Path | Iterable[Sequence[Size]]

_COLUMN_UNIT = re.compile(r"(?:[\[(]\s*|[_ ])(mm|in|inch|inches|\"|thou|cm)\s*[\])]?$", re.I)
_QUOTED = re.compile(r'"([^"]*)"\s*[,;\t]\s*"([^"]*)"')


def read_trace(source: Points, unit: str | None = None) -> Trace:
    """Read a table of heights and diameters.

    Each row holds a height above the cutter's tip and the diameter there, parted by a tab, a
    semicolon, a comma or blanks. Each size carries its unit, or the heading of its column does
    (``height [mm]; diameter [mm]``), or `unit` is declared for the whole table. Where a heading
    names the columns they may stand in either order. Rows that start with ``#`` are passed over.

    Parameters
    ----------
    source : str, pathlib.Path, Trace, or pairs of sizes
        Text as pasted, the path of a CSV file, or (height, diameter) pairs.
    unit : str, optional
        The unit of bare numbers.

    Returns
    -------
    Trace

    Raises
    ------
    ArcFitError
        A row does not hold a height and a diameter, is in another unit than the rows before it,
        or has a negative height; the message names the row.
    OSError
        The file cannot be read.

    Examples
    --------
    >>> trace = read_trace('''
    ... height [mm]; diameter [mm]
    ... 0,5; 12,71
    ... 1,0; 12,86
    ... ''')
    >>> trace.rows, trace.told(0)
    ((3, 4), 'row 3 (height 0.500 mm, diameter 12.710 mm)')
    """
    if isinstance(source, Trace):
        return source
    if isinstance(source, Path):
        source = source.read_text(encoding="utf-8-sig")
    if isinstance(source, str):
        rows, pairs, unit = _table(source, unit)
    else:
        pairs = [tuple(pair) for pair in source]
        rows = list(range(1, len(pairs) + 1))
    if len(rows) > MOST_ROWS:
        raise ArcFitError(
            f"the table has {len(rows)} rows; {MOST_ROWS} is the most. Thin the points out."
        )
    if not rows:
        raise ArcFitError("the table holds no points. Give rows of a height and a diameter.")
    heights, diameters = [], []
    first: Any = None
    for row, pair in zip(rows, pairs, strict=True):
        height, diameter = _point(row, pair, unit)
        for size in (height, diameter):
            first = size.units if first is None else first
            if size.units != first:
                raise ArcFitError(
                    f"row {row} has {sizes.show(size)} and what stands before it is in "
                    f"{first:~P}: mixed units in one table are too easily a slip. Write the "
                    "whole table in one unit."
                )
        heights.append(height.magnitude)
        diameters.append(diameter.magnitude)
    quantity = sizes.ureg.Quantity
    return Trace(
        tuple(rows), quantity(np.array(heights), first), quantity(np.array(diameters), first)
    )


def _point(row: int, pair: Sequence[Size], unit: str | None) -> tuple[Quantity, Quantity]:
    if len(pair) != 2:
        raise ArcFitError(
            f"row {row} holds {len(pair)} values; it takes a height and a diameter. Where a size "
            "has a blank or a comma in it, put a semicolon between the two."
        )
    try:
        height, diameter = (sizes.length(cell, unit) for cell in pair)
    except sizes.SizeError as error:
        raise ArcFitError(f"row {row}: {error}") from None
    if height.magnitude < 0:
        raise ArcFitError(
            f"row {row}: the height is {sizes.show(height)}, which is below the cutter's tip. "
            "Measure heights from the tip, upwards."
        )
    if diameter.magnitude < 0:
        raise ArcFitError(
            f"row {row}: the diameter is {sizes.show(diameter)}; it cannot be negative."
        )
    return height, diameter


def _table(text: str, unit: str | None) -> tuple[list[int], list[tuple[str, ...]], str | None]:
    rows: list[int] = []
    pairs: list[tuple[str, ...]] = []
    swapped = False
    for number, line in enumerate(text.splitlines(), start=1):
        line = line.strip().lstrip("\ufeff")
        if not line or line.startswith("#"):
            continue
        cells = _cells(line)
        if not pairs and not re.search(r"[0-9]", line):
            swapped, unit = _heading(number, cells, unit)
            continue
        rows.append(number)
        pairs.append(tuple(reversed(cells)) if swapped else tuple(cells))
    return rows, pairs, unit


def _cells(line: str) -> list[str]:
    """A row's cells; a comma parts cells only where it cannot be a decimal comma."""
    quoted = _QUOTED.fullmatch(line)
    if quoted:
        return [cell.strip() for cell in quoted.groups()]
    if re.search(r"[\t;]", line):
        cells = [cell.strip() for cell in re.split(r"[\t;]", line)]
        return cells[:-1] if len(cells) == 3 and not cells[-1] else cells
    if re.search(r",\s|\s,", line):
        return re.split(r"\s*,\s+|\s+,\s*", line)
    words = line.split()
    if len(words) == 4 and not any(character.isdigit() for character in words[1] + words[3]):
        return [" ".join(words[:2]), " ".join(words[2:])]
    if len(words) != 2 and line.count(",") == 1:
        return line.split(",")
    return words


def _heading(row: int, cells: Sequence[str], unit: str | None) -> tuple[bool, str | None]:
    """Whether the diameter stands first, and the unit the headings declare."""
    names = [cell.lower() for cell in cells]
    diameter_first = bool(names) and re.match(r"[ø⌀∅d]", names[0]) is not None
    known = [any(re.match(pattern, name) for name in names) for pattern in (r"h", r"(?:[ø⌀∅]|d)")]
    if len(cells) != 2 or not all(known):
        raise ArcFitError(
            f"row {row} is neither numbers nor a heading of a height and a diameter column: "
            f"'{' '.join(cells)[:40]}'. Head the columns 'height [mm]; diameter [mm]', or leave "
            "the heading out."
        )
    declared = [match[1] for name in names if (match := _COLUMN_UNIT.search(name))]
    units = {str(sizes.length(1.0, name).units) for name in declared}
    if unit is not None:
        units.add(str(sizes.length(1.0, unit).units))
    if len(units) > 1:
        raise ArcFitError(
            f"row {row}: the headings and what was declared name {len(units)} units, "
            f"{' and '.join(sorted(units))}. Write the whole table in one unit."
        )
    return diameter_first, declared[0] if declared else unit
