"""A part: a plate, two drawers, features at positions, and how it is turned over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import tomlkit
from tomlkit.exceptions import ParseError, TOMLKitError

from holecalc import sizes
from holecalc.part.drawer import Cutter, Fastener, read_cutter, read_fastener
from holecalc.part.features import FACES, Drilled, Feature, Plate, Workshop, read_feature
from holecalc.part.reading import Book, Fault, PartError, Table, lines_of
from holecalc.part.turning import Registration, Setup, TurningError
from holecalc.sizes import Quantity

__all__ = ["KeepClear", "Machine", "Part", "Turn", "loads", "parsed", "read"]

UNITS = ("mm", "in")
BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True)
class KeepClear:
    """A clamp, a screw or a stop that the cutter must stay off.

    Parameters
    ----------
    name : str
        What it is.
    face : {"A", "B"}
        Which is up while it is there.
    at : (pint.Quantity, pint.Quantity)
        Of its middle, in the coordinates of that setup.
    size : (pint.Quantity, pint.Quantity)
        In X and Y.
    round : bool
        Whether it is round, of the first of these diameters.
    pin : bool
        Whether it is a pin that registers the part, and so stands in a hole that was cut.
    """

    name: str
    face: str
    at: tuple[Quantity, Quantity]
    size: tuple[Quantity, Quantity]
    round: bool
    pin: bool = False


@dataclass(frozen=True)
class Machine:
    """What the machine can do.

    Parameters
    ----------
    slowest, fastest : pint.Quantity or None
        Of the spindle.
    rapid : pint.Quantity or None
        Feed of the moves between cuts.
    """

    slowest: Quantity | None = None
    fastest: Quantity | None = None
    rapid: Quantity | None = None


@dataclass(frozen=True)
class Turn:
    """How the part is turned over.

    Parameters
    ----------
    about : {"X", "Y"}
        Along which axis.
    first : {"A", "B"}
        The face that is up first.
    registers : str
        The feature whose holes go on the pins; empty for none.
    pin_diameter : pint.Quantity or None
        As measured.
    told : bool
        Whether the file has a table for it.
    """

    about: str = "Y"
    first: str = "A"
    registers: str = ""
    pin_diameter: Quantity | None = None
    told: bool = False


@dataclass(frozen=True)
class Part:
    """A part, as its file has it.

    Parameters
    ----------
    name, note : str
        As typed.
    unit : {"mm", "in"}
        Of the file and of the sheet.
    plate : Plate
        What it is made of.
    machine : Machine
        What the machine can do.
    turn : Turn
        How it is turned over.
    least_wall : pint.Quantity or None
        The least plate to be left anywhere.
    cutters, fasteners : mapping
        The drawers, by name.
    features : tuple of Feature
        In the order of the file.
    keep_clear : tuple of KeepClear
        Clamps and the like.
    unknown : tuple of Fault
        Keys that nobody knows; they are kept.
    file : str
        The file's name.
    """

    name: str
    note: str
    unit: str
    plate: Plate
    machine: Machine
    turn: Turn
    least_wall: Quantity | None
    cutters: Mapping[str, Cutter]
    fasteners: Mapping[str, Fastener]
    features: tuple[Feature, ...]
    keep_clear: tuple[KeepClear, ...]
    unknown: tuple[Fault, ...]
    file: str

    @cached_property
    def setups(self) -> tuple[Setup, ...]:
        """The setups that are needed, in order."""
        needed = [face for face in FACES if any(each.face == face for each in self.features)]
        if self.turn.first == "B":
            needed.reverse()
        plate = self.plate
        return tuple(
            Setup(number, face, self.turn.about, plate.length, plate.width)
            for number, face in enumerate(needed or [self.turn.first], start=1)
        )

    @property
    def holes(self) -> int:
        """How many there are."""
        return sum(feature.count for feature in self.features if feature.at is not None)

    def feature(self, name: str) -> Feature:
        """A feature by its name."""
        for feature in self.features:
            if feature.name == name:
                return feature
        raise KeyError(name)

    @cached_property
    def registration(self) -> Registration | None:
        """The holes on pins; None where none are named, or they could not be worked out.

        The two farthest apart are taken: they turn the part least.

        Raises
        ------
        TurningError
            They do not register it.
        """
        turn = self.turn
        if not turn.registers or turn.pin_diameter is None:
            return None
        feature = self.feature(turn.registers)
        if feature.at is None or feature.made is None or feature.made.stack is None:
            return None
        holes = feature.at.xy()
        if len(holes) < 2:
            raise TurningError(
                "a single hole, and the part turns about its pin. Take a feature with two."
            )
        apart = np.linalg.norm(holes[:, None] - holes[None, :], axis=2)
        one, other = np.unravel_index(int(apart.argmax()), apart.shape)
        stack = feature.made.stack
        across = stack.hole_diameter if stack.hole_diameter is not None else 2 * stack.reach
        for cut in feature.made.cuts:
            if isinstance(cut.work, Drilled):
                # A drill leaves its own diameter, whatever the drawing calls the hole.
                across = cut.work.drill.diameter
        room = across - turn.pin_diameter
        first, second = (tuple(map(float, holes[index])) for index in (one, other))
        return Registration(first, second, (room, room), across, turn.pin_diameter)  # type: ignore[arg-type]

    def __str__(self) -> str:
        lines = [f"{self.name}: {self.plate}"]
        for feature in self.features:
            where = "all round" if feature.at is None else str(feature.at)
            lines.append(f"  face {feature.face}: {feature.name}, {feature.kind}, {where}")
        return "\n".join(lines)


# --- reading -------------------------------------------------------------------------------------


def loads(text: str, name: str = "part") -> Part:
    """Read a part from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What the file is called, for messages.

    Returns
    -------
    Part

    Raises
    ------
    PartError
        It cannot be used; everything wrong is listed, with lines.

    Examples
    --------
    >>> part = loads('''
    ... part = "bracket"
    ... unit = "mm"
    ... [plate]
    ... size = [120, 80]
    ... thickness = 12
    ... [[cutter]]
    ... name = "6 mm"
    ... kind = "end mill"
    ... diameter = 6
    ... flutes = 2
    ... [[feature]]
    ... name = "holes"
    ... callout = "4X ⌀9 THRU"
    ... at = {pattern = "grid", start = [20, 20], step = [80, 40], columns = 2, rows = 2}
    ... ''')
    >>> print(part)
    bracket: plate, 120.00 mm × 80.00 mm × 12.00 mm
      face A: holes, hole, grid of 2 by 2 from X 20.00 mm, Y 20.00 mm by X 80.00 mm, Y 40.00 mm
    """
    text = text.removeprefix(BYTE_ORDER_MARK)
    return read(parsed(text, name), text, name)


def parsed(text: str, name: str) -> tomlkit.TOMLDocument:
    """The text of a part file as TOML, remarks and all; a :class:`PartError` if it is none."""
    try:
        return tomlkit.parse(text)
    except ParseError as error:
        reason = str(error).split(" at line ")[0]
        raise PartError(
            name, [Fault(error.line, "not TOML", f"{reason}, column {error.col}")]
        ) from None
    # The library lets a few of Python's own errors through on odd input.
    except (TOMLKitError, ValueError, KeyError, TypeError, IndexError, RecursionError) as error:
        raise PartError(name, [Fault(1, "not TOML", str(error) or type(error).__name__)]) from None


def read(document: tomlkit.TOMLDocument, text: str, name: str) -> Part:
    """The part that a parsed text describes; a :class:`PartError` with all that is wrong."""
    book = Book("mm", lines_of(text))
    top = Table(book, document.unwrap(), (), "the file")
    title, note = top.text("part", required=True), top.text("note")
    book.unit = unit = top.choice("unit", UNITS)
    least = top.length("least_wall", zero=True)
    plate = _plate(top)
    machine, turn = _machine(top), _turn(top)
    cutters: dict[str, Cutter] = {}
    for table in top.tables("cutter"):
        cutter = read_cutter(table)
        if cutter is not None and _new(table, cutter.name, cutters):
            cutters[cutter.name] = cutter
    fasteners: dict[str, Fastener] = {}
    fastener_tables = top.tables("fastener")
    for table in fastener_tables:
        named = read_fastener(table)
        if named is not None and _new(table, named[0], fasteners):
            fasteners[named[0]] = named[1]
    features: dict[str, Feature] = {}
    clear = [_keep_clear(table) for table in top.tables("keep_clear")]
    tables = top.tables("feature")
    # A plate or a fastener that cannot be used is told where it stands; features are read all the
    # same, with another in its place, for what is wrong with them.
    inch = sizes.from_mm(25.4)
    shop = Workshop(plate or Plate(inch, inch, inch, ""), cutters, fasteners, unit)
    shop.unusable = {str(each.values.get("name")) for each in fastener_tables} - fasteners.keys()
    with sizes.shown_in(unit):
        for table in tables:
            feature = read_feature(table, shop)
            if feature is not None and _new(table, feature.name, features):
                features[feature.name] = feature
    if not tables and not book.faults:
        top.fail("", "there is no [[feature]].")
    _registers(top, turn, features, book)
    top.done()
    if book.faults or plate is None:
        raise PartError(name, book.faults)
    return Part(
        title,
        note,
        unit,
        plate,
        machine,
        turn,
        least,
        cutters,
        fasteners,
        tuple(features.values()),
        tuple(each for each in clear if each is not None),
        tuple(book.unknown),
        name,
    )


def _new(table: Table, name: str, there: Mapping[str, Any]) -> bool:
    if name in there:
        table.fail("name", f"{name!r} is there already. Give each its own.")
    return name not in there


def _plate(top: Table) -> Plate | None:
    table = top.table("plate", required=True)
    if table is None:
        return None
    size = table.pair("size", positive=True)
    thickness = table.length("thickness", required=True)
    material = table.text("material")
    table.done()
    if size is None or thickness is None:
        return None
    return Plate(*size, thickness, material)


def _machine(top: Table) -> Machine:
    table = top.table("machine")
    if table is None:
        return Machine()
    made = Machine(
        table.spindle_speed("slowest"), table.spindle_speed("fastest"), table.feed("rapid")
    )
    if made.slowest is not None and made.fastest is not None and made.slowest > made.fastest:
        table.fail("slowest", "the slowest is faster than the fastest. Swap them.")
    table.done()
    return made


def _turn(top: Table) -> Turn:
    table = top.table("turn")
    if table is None:
        return Turn()
    made = Turn(
        table.choice("about", ("X", "Y")),
        table.choice("first", FACES, default="A"),
        table.text("registers"),
        table.length("pin_diameter"),
        told=True,
    )
    if made.registers and made.pin_diameter is None and table.sound:
        table.fail("", "pin_diameter is missing: what do the pins measure?")
    table.done()
    return made


def _registers(top: Table, turn: Turn, features: Mapping[str, Feature], book: Book) -> None:
    if not turn.registers or book.faults:
        return
    table = top.table("turn")
    assert table is not None
    feature = features.get(turn.registers)
    if feature is None:
        table.fail(
            "registers", f"{turn.registers!r} is no feature. There is {', '.join(features)}."
        )
    elif feature.at is None:
        table.fail("registers", "an edge goes on no pins. Name the feature with the two holes.")


def _keep_clear(table: Table) -> KeepClear | None:
    name = table.text("name", required=True)
    face = table.choice("face", FACES, default="A")
    at = table.pair("at")
    diameter = table.length("diameter")
    size = (diameter, diameter) if diameter is not None else table.pair("size", positive=True)
    table.done()
    if at is None or size is None or not table.sound:
        return None
    return KeepClear(name, face, at, size, diameter is not None)
