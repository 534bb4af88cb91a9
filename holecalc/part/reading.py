"""Reading a part file: every value with its line, everything wrong gathered.

A fault names the line, what it concerns and why; a reader goes on after one, so that a person
sees all of them at once.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from holecalc import sizes
from holecalc.part.positions import MOST, BoltCircle, Grid, Line, Pair, Points, Positions
from holecalc.sizes import Quantity

__all__ = ["Book", "Fault", "PartError", "Table", "lines_of"]

T = TypeVar("T")
Path = tuple[str | int, ...]

MOST_FAULTS = 200
FARTHEST = 100_000.0
"""Millimetres; no plate in a small shop is larger."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a part file.

    Parameters
    ----------
    line : int
        Where, from 1.
    where : str
        What it concerns.
    reason : str
        Why, and what would do.
    """

    line: int
    where: str
    reason: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.where}: {self.reason}"


class PartError(ValueError):
    """The part file cannot be used; the message lists all that is wrong, line by line.

    Attributes
    ----------
    file : str
        Its name.
    faults : tuple of Fault
        What is wrong.
    """

    def __init__(self, file: str, faults: Sequence[Fault]) -> None:
        self.file = file
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line))
        super().__init__(
            "\n".join(
                f"{file}:{fault.line}: {fault.where}: {fault.reason}" for fault in self.faults
            )
        )


_HEADER = re.compile(r"\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
KEY = re.compile(r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+))*)\s*=""")
_STRINGS = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'|#.*')


def lines_of(text: str) -> dict[Path, int]:
    r"""The line, from 1, on which each table and key of a TOML text begins.

    Keys inside an inline table are found under the key that holds it.

    Examples
    --------
    >>> lines_of('unit = "mm"\n[[feature]]\nname = "a"\n')
    {('unit',): 1, ('feature', 0): 2, ('feature', 0, 'name'): 3}
    """
    lines: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    depth, quotes = 0, ""
    for number, line in enumerate(text.split("\n"), start=1):
        if quotes:
            if quotes in line:
                quotes = ""
            continue
        if depth == 0:
            header, key = _HEADER.match(line), KEY.match(line)
            if header and not key:
                table = _resolved(_split(header[2]), counts, array=header[1] == "[[")
                lines.setdefault(table, number)
                continue
            if key:
                path = table
                for piece in _split(key[1]):
                    path = (*path, piece)
                    lines.setdefault(path, number)
        for mark in ('"""', "'''"):
            if line.count(mark) % 2:
                quotes = mark
        bare = _STRINGS.sub("", line)
        depth = max(0, depth + sum(map(bare.count, "[{")) - sum(map(bare.count, "]}")))
    return lines


def _split(key: str) -> list[str]:
    return [piece.strip().strip("\"'") for piece in key.split(".")]


def _resolved(names: Sequence[str], counts: dict[Path, int], *, array: bool) -> Path:
    path: Path = ()
    for index, name in enumerate(names):
        path = (*path, name)
        if array and index == len(names) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


FILL_IN = "fill in: "
"""How a value begins that says what is to be written in its place."""


@dataclass
class Book:
    """What is shared while one file is read: its unit, its lines, what was found wrong."""

    unit: str
    lines: Mapping[Path, int]
    faults: list[Fault] = field(default_factory=list)
    unknown: list[Fault] = field(default_factory=list)

    def line(self, path: Path) -> int:
        """The line of a key, or of the nearest that holds it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


class Table:
    """One table of the file, asked key by key; what is never asked for is told as unknown."""

    def __init__(self, book: Book, values: Mapping[str, Any], path: Path, label: str) -> None:
        self.book, self.values, self.path, self.label = book, values, path, label
        self.asked: set[str] = set()
        self.sound = True

    @property
    def line(self) -> int:
        """Where the table begins."""
        return self.book.line(self.path)

    def fail(self, key: str, reason: str) -> None:
        """Keep a fault."""
        self.sound = False
        where = f"{self.label}, {key}" if key else self.label
        if len(self.book.faults) < MOST_FAULTS:
            line = self.book.line((*self.path, key) if key else self.path)
            self.book.faults.append(Fault(line, where, reason))

    def has(self, key: str) -> bool:
        """Whether the key is there."""
        self.asked.add(key)
        return key in self.values

    def _value(self, key: str, required: bool) -> Any:
        if not self.has(key):
            if required:
                self.fail("", f"{key} is missing.")
            return None
        return self.values[key]

    def _read(self, key: str, read: Callable[[Any], T], required: bool) -> T | None:
        value = self._value(key, required)
        if value is None or self._is_to_fill_in(key, value):
            return None
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.fail(key, f"{_short(value)} is not a size. Write text or a number.")
            return None
        return self.made(lambda: read(value), key)

    def _is_to_fill_in(self, key: str, value: Any) -> bool:
        """Whether it only says what to write there, as lines to be copied do."""
        if not isinstance(value, str) or not value.startswith(FILL_IN):
            return False
        self.fail(key, f"is to be filled in: {value.removeprefix(FILL_IN)}.")
        return True

    def made(self, make: Callable[[], T], key: str = "") -> T | None:
        """What a call gives, or a fault where it refuses."""
        try:
            return make()
        except (ValueError, OverflowError) as error:
            self.fail(key, str(error))
        return None

    def length(
        self, key: str, *, required: bool = False, zero: bool = False, signed: bool = False
    ) -> Quantity:
        """A length, or None; more than 0 unless told otherwise."""
        size = self._read(key, lambda value: sizes.length(value, self.book.unit), required)
        if size is None:
            return None
        if abs(sizes.mm(size)) > FARTHEST:
            self.fail(key, f"{sizes.show(size)} is larger than any plate.")
            return None
        if not signed and (size.magnitude < 0 or (size.magnitude == 0 and not zero)):
            least = "0 or more" if zero else "more than 0"
            self.fail(key, f"{sizes.show(size)} is given; it must be {least}.")
            return None
        return size

    def angle(self, key: str, *, required: bool = False) -> Quantity:
        """An angle, or None."""
        return self._read(key, sizes.angle, required)

    def size(self, key: str, read: Callable[[Any], Quantity]) -> Quantity:
        """What a function reads, such as a force, or None."""
        return self._read(key, read, False)

    def spindle_speed(self, key: str) -> Quantity:
        """A spindle speed, or None."""
        return self._positive(key, self._read(key, sizes.spindle_speed, False))

    def feed(self, key: str) -> Quantity:
        """A feed, or None."""
        return self._positive(key, self._read(key, lambda v: sizes.feed(v, self.book.unit), False))

    def _positive(self, key: str, rate: Quantity) -> Quantity:
        if rate is not None and not rate.magnitude > 0:
            self.fail(key, f"{sizes.show_rate(rate)} is given; it must be more than 0.")
            return None
        return rate

    def text(self, key: str, *, required: bool = False, default: str = "") -> str:
        """Some text."""
        value = self._value(key, required)
        if value is None:
            return default
        if not isinstance(value, str) or (required and not value.strip()):
            self.fail(key, f"{_short(value)} is not text.")
            return default
        return value

    def choice(self, key: str, choices: Iterable[str], *, default: str | None = None) -> str:
        """One of a few words."""
        known = tuple(choices)
        typed = self.text(key, required=default is None, default=default or "")
        if typed in known:
            return typed
        if self.has(key) and isinstance(self.values[key], str):
            near = difflib.get_close_matches(typed, known, 1, 0.6)
            meant = f" Perhaps {near[0]!r}?" if near else ""
            self.fail(key, f"{_short(typed)} is none of {', '.join(known)}.{meant}")
        return known[0]

    def integer(self, key: str, *, required: bool = False, default: int = 1, least: int = 1) -> int:
        """A whole number."""
        value = self._value(key, required)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST:
            self.fail(key, f"{_short(value)} is no whole number from {least} to {MOST}.")
            return default
        return value

    def flag(self, key: str, *, default: bool) -> bool:
        """True or false."""
        value = self._value(key, False)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fail(key, f"{_short(value)} is neither true nor false.")
            return default
        return value

    def pair(self, key: str, *, required: bool = True, positive: bool = False) -> Pair | None:
        """Two lengths in brackets."""
        value = self._value(key, required)
        return None if value is None else self._pair(key, value, positive=positive)

    def _pair(self, key: str, value: Any, *, positive: bool = False) -> Pair | None:
        if not isinstance(value, list) or len(value) != 2:
            self.fail(key, f"{_short(value)} is not a pair such as [100, 50].")
            return None
        read = []
        for axis, coordinate in zip("XY", value, strict=True):
            inner = Table(self.book, {key: coordinate}, self.path, f"{self.label}, {axis} of")
            read.append(inner.length(key, required=True, signed=not positive))
            self.sound = self.sound and inner.sound
        return None if None in read else (read[0], read[1])

    def tables(self, key: str) -> list[Table]:
        """A list of tables, ``[[key]]``."""
        value = self._value(key, False)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
            self.fail(key, f"write each {key} as a table of its own, under [[{key}]].")
            return []
        found = []
        for index, each in enumerate(value):
            name = each.get("name")
            label = f"{key} {_short(name)}" if isinstance(name, str) else f"{key} {index + 1}"
            found.append(Table(self.book, each, (*self.path, key, index), label))
        return found

    def table(self, key: str, *, required: bool = False) -> Table | None:
        """One table, ``[key]``."""
        value = self._value(key, required)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.fail(key, f"{_short(value)} is not a table; write it under [{key}].")
            return None
        return Table(self.book, value, (*self.path, key), f"{self.label}, {key}".lstrip(", "))

    def positions(self, key: str) -> Positions | None:
        """Positions, as :mod:`holecalc.part.positions` has them."""
        value = self._value(key, True)
        if value is None or self._is_to_fill_in(key, value):
            return None
        if isinstance(value, list):
            several = bool(value) and all(isinstance(each, list) for each in value)
            pairs = [self._pair(key, each) for each in (value if several else [value])]
            if len(pairs) > MOST:
                self.fail(key, f"{len(pairs)} positions are more than {MOST}.")
            found = [pair for pair in pairs if pair is not None]
            return Points(tuple(found)) if len(found) == len(pairs) else None
        inner = self.table(key)
        if inner is None:
            return None
        made = _pattern(inner)
        inner.done()
        self.sound = self.sound and inner.sound
        return made if inner.sound else None

    def done(self) -> None:
        """Tell what was never asked for."""
        for key in self.values:
            if key not in self.asked:
                near = difflib.get_close_matches(str(key), self.asked, 1, 0.7)
                meant = f" Perhaps {near[0]} is meant?" if near else ""
                line = self.book.line((*self.path, key))
                self.book.unknown.append(
                    Fault(line, f"{self.label}, {_short(key)}", f"not known here, kept.{meant}")
                )


PATTERNS = ("bolt circle", "line", "grid")


def _pattern(table: Table) -> Positions | None:
    pattern = table.choice("pattern", PATTERNS)
    if pattern == "bolt circle":
        centre = table.pair("centre")
        across = table.length("diameter", required=True)
        count = table.integer("count", required=True)
        start = table.angle("start") if table.has("start") else sizes.angle(0)
        return BoltCircle(centre, across, count, start) if centre and table.sound else None
    if pattern == "line":
        begin, step = table.pair("start"), table.pair("step")
        count = table.integer("count", required=True)
        return Line(begin, step, count) if begin and step else None
    begin, step = table.pair("start"), table.pair("step")
    columns = table.integer("columns", required=True)
    rows = table.integer("rows", required=True)
    turned = table.angle("turned") if table.has("turned") else sizes.angle(0)
    if columns * rows > MOST:
        table.fail("rows", f"{columns} by {rows} positions are more than {MOST}.")
    return Grid(begin, step, (columns, rows), turned) if begin and step else None


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}…"
