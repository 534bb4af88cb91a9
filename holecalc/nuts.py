"""What a counterbore is cut for: nuts, T-nuts, inserts, washers, cap screws and their threads.

Every one can be described from what calipers read. Where a standard is dependable its table can
be asked instead; each row of a table in ``holecalc/tables`` carries the id of its source, which
``references/sources.toml`` spells out. There is no such table for T-nuts and inserts: makers
differ, so they are measured.

A pocket must take in the largest part and hold the smallest, so tables give both where they can.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType
from typing import Any

from holecalc import sizes, tables
from holecalc.fasteners import FastenerError
from holecalc.sizes import Quantity, Size

__all__ = [
    "CAP_SCREWS",
    "HEX_NUTS",
    "SIDES",
    "SQUARE_NUTS",
    "WASHERS",
    "CapScrew",
    "Insert",
    "Nut",
    "TNut",
    "Thread",
    "Washer",
    "cap_screw",
    "hex_nut",
    "listed",
    "screw_lengths",
    "square_nut",
    "thread",
    "washer",
]

_fine = partial(sizes.show, fine=True)


# --- threads ---------------------------------------------------------------------------------

_METRIC = re.compile(r"(?P<size>M(?P<d>[0-9]+(?:[.,][0-9]+)?))(?:\s*[x×]\s*(?P<pitch>[0-9.,]+))?")
_UNIFIED = re.compile(r"(?P<size>#[0-9]{1,2}|[0-9]+(?:/[0-9]+)?)(?:\s*-\s*(?P<per_inch>[0-9]+))?")


@dataclass(frozen=True)
class Thread:
    """A screw thread.

    Parameters
    ----------
    size : str
        What the clearance-hole tables call it: ``"M8"``, ``"#10"``, ``"1/4"``.
    diameter : pint.Quantity
        Nominal, over the thread.
    pitch : pint.Quantity
        From one turn to the next.
    """

    size: str
    diameter: Quantity
    pitch: Quantity

    @property
    def metric(self) -> bool:
        """Whether it is metric."""
        return self.size.startswith("M")

    def __str__(self) -> str:
        if self.metric:
            return f"{self.size}×{sizes.mm(self.pitch):g}"
        return f"{self.size}-{1 / self.pitch.m_as('in'):.4g}"


def thread(text: str | Thread) -> Thread:
    """Read a thread.

    Parameters
    ----------
    text : str or Thread
        ``"M8"`` (coarse), ``"M8x1"``, ``"1/4"`` or ``"#10"`` (coarse), ``"1/4-28"``, ``"#10-32"``.

    Returns
    -------
    Thread
        In millimetres or inches.

    Raises
    ------
    FastenerError
        It is not a thread, or its coarse pitch is not in the table.

    References
    ----------
    ISO 262, coarse pitches; ASME B1.1, coarse series; see ``references/sources.toml``. The
    diameter of a number size n is 0.060 + 0.013 n inch.

    Examples
    --------
    >>> print(thread("M8"), thread("M8x1"), thread("#10"), thread("1/4-28"))
    M8×1.25 M8×1 #10-24 1/4-28
    """
    if isinstance(text, Thread):
        return text
    typed = text.strip()
    metric = _METRIC.fullmatch(typed.upper().replace("X", "x"))
    if metric:
        size = metric["size"].replace(",", ".")
        pitch = metric["pitch"] or _row("thread-iso-262", size, "pitch").get("pitch")
        return _checked(text, size, f"{size[1:]} mm", f"{pitch} mm")
    unified = _UNIFIED.fullmatch(typed)
    if unified:
        size = unified["size"]
        if size.startswith("#"):
            diameter = f"{0.060 + 0.013 * int(size[1:]):.3f} in"
        else:
            diameter = f"{size} in"
        per_inch = unified["per_inch"]
        if per_inch is None:
            row = _row("thread-asme-b1.1", size, "threads per inch")
            # #0 is made in the fine series only.
            per_inch = row["coarse_per_inch"] or row["fine_per_inch"]
        return _checked(text, size, diameter, f"1/{per_inch} in")
    raise FastenerError(
        f"'{text}' is no thread. Write for example M8, M8x1, 1/4, 1/4-28, #10 or #10-32."
    )


def _checked(text: str, size: str, diameter: str, pitch: str) -> Thread:
    try:
        over, turn = sizes.length(diameter), sizes.length(pitch)
    except sizes.SizeError as error:
        raise FastenerError(f"'{text}' is no thread: {error}") from None
    if not 0 < turn < over / 2:
        raise FastenerError(
            f"'{text}' is no thread: a pitch of {sizes.show(turn, places=3)} on "
            f"{_fine(over)} leaves no core. Look at the pitch again."
        )
    return Thread(size, over, turn)


def screw_lengths(metric: bool) -> tuple[Quantity, ...]:
    """The lengths screws are sold in, from short to long.

    Parameters
    ----------
    metric : bool
        True for millimetres, False for inches.

    References
    ----------
    ISO 4762 (after ISO 888), to 200 mm; inch lengths from memory, to 6 in. Not every diameter is
    made in every length. See ``references/sources.toml``.

    Examples
    --------
    >>> print(*screw_lengths(metric=True)[7:10])
    12.0 mm 16.0 mm 20.0 mm
    """
    name = "screw-lengths-metric" if metric else "screw-lengths-inch"
    return tuple(sizes.length(row["size"]) for row in tables.rows(name))


# --- nuts ------------------------------------------------------------------------------------

SIDES: Mapping[str, int] = MappingProxyType({"hexagon": 6, "square": 4})
"""How many flats a shape has."""

_LEAST_CORNERS = {"hexagon": 1.13, "square": 1.27}
# ISO 4032 has e min = 1.13 s min throughout; for squares from memory. Used where the corners
# were not measured.

_BEARING = {"hexagon": 0.8, "square": 1.0}
# The face a hexagon nut bears on is chamfered: ISO 4032 has dw min = 0.84 to 0.94 s from M3 up,
# smaller below. A square nut is chamfered on its other face only. Both from memory.


@dataclass(frozen=True, init=False)
class Nut:
    r"""A hexagon or square nut.

    ::

             ____________          across corners, e
            /            \         |<---------------->|
           /      __      \   ---
          /      /  \      \   |
          \      \__/      /   |  across flats, s
           \              /    |
            \____________/   ---

    Parameters
    ----------
    shape : {"hexagon", "square"}
        Its outline.
    across_flats : size
        What calipers read over two flats; of the largest nut, where nuts differ.
    height : size
        Through the nut; likewise.
    thread : str or Thread
        As :func:`thread` reads it.
    across_corners : size, optional
        Over two opposite corners; of the nut with the least corners, where nuts differ. By
        default 1.13 times the least across flats for a hexagon (what ISO 4032 demands at least),
        1.27 times for a square (from memory).
    least_across_flats, least_height : size, optional
        Of the smallest nut; those of the largest by default.
    bearing_diameter : size, optional
        Of the face it bears on. By default 0.8 of the across flats for a hexagon, whose face is
        chamfered, and all of it for a square (from memory).
    name : str, optional
        What the nut is.

    Raises
    ------
    FastenerError
        The dimensions do not describe a nut.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> nut = Nut("hexagon", "12.9 mm", "6.7 mm", thread="M8", across_corners="14.5 mm")
    >>> print(nut, sizes.show(nut.sharp_corners))
    hexagon nut M8×1.25, 12.90 mm across flats 14.90 mm
    """

    shape: str
    across_flats: Quantity
    height: Quantity
    thread: Thread
    across_corners: Quantity
    least_across_flats: Quantity
    least_height: Quantity
    bearing_diameter: Quantity
    name: str = field(compare=False)

    def __init__(
        self,
        shape: str,
        across_flats: Size,
        height: Size,
        *,
        thread: str | Thread,
        across_corners: Size | None = None,
        least_across_flats: Size | None = None,
        least_height: Size | None = None,
        bearing_diameter: Size | None = None,
        name: str = "",
    ) -> None:
        if shape not in SIDES:
            raise FastenerError(f"a nut is a hexagon or a square, not {shape!r}.")
        flats, high = _positive(across_flats, "across flats"), _positive(height, "height")
        turns = _read_thread(thread)
        least_flats = _positive(least_across_flats, "least across flats", flats)
        least_high = _positive(least_height, "least height", high)
        corners = _positive(across_corners, "across corners", _LEAST_CORNERS[shape] * least_flats)
        bearing = _positive(bearing_diameter, "bearing diameter", _BEARING[shape] * flats)
        sharp = flats / math.cos(math.pi / SIDES[shape])
        if least_flats > flats or least_high > high:
            raise FastenerError("the smallest nut is given larger than the largest. Swap them.")
        if not turns.diameter < least_flats:
            raise FastenerError(
                f"{_fine(least_flats)} across flats leaves no nut about an {turns} thread. "
                "Measure over the flats, not the hole."
            )
        if not least_flats < corners <= 1.005 * sharp:
            raise FastenerError(
                f"a {shape} of {_fine(flats)} across flats has corners more than "
                f"{_fine(least_flats)} and at most {_fine(sharp)} across, and they are given as "
                f"{_fine(corners)}. Measure from corner to opposite corner."
            )
        if not turns.diameter < bearing <= sharp:
            raise FastenerError(
                f"a bearing face of {_fine(bearing)} does not fit this nut. Measure across the "
                "face that touches."
            )
        _keep(
            self,
            (shape, flats, high, turns, corners, least_flats, least_high, bearing, name),
        )

    @property
    def sides(self) -> int:
        """How many flats it has."""
        return SIDES[self.shape]

    @property
    def sharp_corners(self) -> Quantity:
        """Across the corners of the largest nut, were they quite sharp; none is larger."""
        return self.across_flats / math.cos(math.pi / self.sides)

    def __str__(self) -> str:
        return (
            self.name
            or f"{self.shape} nut {self.thread}, {sizes.show(self.across_flats)} across flats"
        )

    def _repr_html_(self) -> str:
        return _table(
            self,
            across_flats=self.across_flats,
            across_corners_least=self.across_corners,
            height=self.height,
            bearing_face=self.bearing_diameter,
        )


HEX_NUTS: Mapping[str, str] = MappingProxyType(
    {
        "ISO 4032": "hex-nut-iso-4032",
        "ISO 4033": "hex-nut-iso-4033",
        "ISO 4035": "hex-nut-iso-4035",
        "ASME B18.2.2": "hex-nut-asme-b18.2.2",
        "ASME B18.2.2 machine screw": "hex-nut-asme-b18.2.2-machine-screw",
    }
)
"""The hexagon-nut tables there are, by the standard's number."""

SQUARE_NUTS: Mapping[str, str] = MappingProxyType(
    {
        "DIN 557": "square-nut-din-557",
        "DIN 562": "square-nut-din-562",
        "ASME B18.2.2": "square-nut-asme-b18.2.2",
    }
)
"""The square-nut tables there are, by the standard's number."""


def hex_nut(standard: str, size: str) -> Nut:
    """A hexagon nut by its standard and size.

    Parameters
    ----------
    standard : str
        One of :data:`HEX_NUTS`: regular (ISO 4032), high (ISO 4033), thin (ISO 4035), or ASME.
    size : str
        ``"M8"``, ``"1/4"``, ``"#10"``; with a pitch (``"M8x1"``, ``"#10-32"``) where it is not
        the coarse one.

    Returns
    -------
    Nut
        Largest and smallest.

    Raises
    ------
    FastenerError
        There is no such table, or it has no such size.

    References
    ----------
    ISO 4032, ISO 4033, ISO 4035, ASME B18.2.2; see ``references/sources.toml``, which says what
    is from memory.

    Examples
    --------
    >>> nut = hex_nut("ISO 4032", "M8")
    >>> print(sizes.show(nut.across_flats), sizes.show(nut.across_corners), sizes.show(nut.height))
    13.00 mm 14.38 mm 6.80 mm
    """
    turns = thread(size)
    row = _find(HEX_NUTS, standard, turns.size)
    bearing = None
    if standard in ("ISO 4032", "ISO 4033"):
        faces = {r["size"]: r["dw_min"] for r in tables.rows("hex-nut-bearing-face-iso-4032")}
        if turns.size in faces:
            bearing = f"{faces[turns.size]} mm"
    return _tabulated("hexagon", row, turns, f"{turns} hexagon nut, {standard}", bearing)


def square_nut(standard: str, size: str) -> Nut:
    """A square nut by its standard and size.

    Parameters
    ----------
    standard : str
        One of :data:`SQUARE_NUTS`.
    size : str
        As for :func:`hex_nut`.

    Returns
    -------
    Nut

    Raises
    ------
    FastenerError
        There is no such table, or it has no such size.

    References
    ----------
    DIN 557, DIN 562 (thin), ASME B18.2.2; see ``references/sources.toml``.

    Examples
    --------
    >>> print(sizes.show(square_nut("DIN 562", "M5").height))
    2.70 mm
    """
    turns = thread(size)
    row = _find(SQUARE_NUTS, standard, turns.size)
    return _tabulated("square", row, turns, f"{turns} square nut, {standard}", None)


def _tabulated(
    shape: str, row: Mapping[str, str], turns: Thread, name: str, bearing: str | None
) -> Nut:
    height = _cell(row, "m_max")
    return Nut(
        shape,
        _cell(row, "s_max"),
        height,
        thread=turns,
        across_corners=_cell(row, "e_min"),
        least_across_flats=_cell(row, "s_min"),
        least_height=_cell(row, "m_min"),
        bearing_diameter=bearing,
        name=name,
    )


# --- T-nuts and inserts ----------------------------------------------------------------------


@dataclass(frozen=True, init=False)
class TNut:
    r"""A T-nut, as measured: a flange with a threaded barrel below it.

    ::

         |<----- flange_diameter ----->|
         +-----------------------------+  ---
         |_____________________________|  --- flange_thickness
            \/   |             |   \/      |      prong_length is measured
          prongs |             |           |      from under the flange, too
                 |             |           | barrel_length, from under the flange
                 |_____________|          ---
                 |<- barrel -->|

    Parameters
    ----------
    flange_diameter, flange_thickness : size
        Of the flange.
    barrel_diameter : size
        Of the barrel; over the flare, where it has one.
    barrel_length : size
        From under the flange to the barrel's end.
    thread : str or Thread
        As :func:`thread` reads it; it runs through barrel and flange.
    prong_length : size, optional
        From under the flange to the prongs' tips; none by default.
    name : str, optional
        What it is.

    Raises
    ------
    FastenerError
        The dimensions do not describe a T-nut.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    T-nuts have no dependable standard: measure several of the bag, and give the largest.

    Examples
    --------
    >>> print(TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8"))
    T-nut M8×1.25, flange 22.00 mm
    """

    flange_diameter: Quantity
    flange_thickness: Quantity
    barrel_diameter: Quantity
    barrel_length: Quantity
    thread: Thread
    prong_length: Quantity
    name: str = field(compare=False)

    def __init__(
        self,
        flange_diameter: Size,
        flange_thickness: Size,
        barrel_diameter: Size,
        barrel_length: Size,
        *,
        thread: str | Thread,
        prong_length: Size | None = None,
        name: str = "",
    ) -> None:
        flange = _positive(flange_diameter, "flange diameter")
        thick = _positive(flange_thickness, "flange thickness")
        barrel = _positive(barrel_diameter, "barrel diameter")
        long = _positive(barrel_length, "barrel length")
        turns = _read_thread(thread)
        prongs = 0 * flange if prong_length is None else _positive(prong_length, "prong length")
        if not barrel < flange:
            raise FastenerError(
                f"the barrel is {_fine(barrel)} and the flange {_fine(flange)} across; a flange "
                "is wider than its barrel. Measure both again."
            )
        _refuse_thin_wall(barrel, turns, "barrel")
        _keep(self, (flange, thick, barrel, long, turns, prongs, name))

    def __str__(self) -> str:
        return self.name or f"T-nut {self.thread}, flange {sizes.show(self.flange_diameter)}"

    def _repr_html_(self) -> str:
        return _table(
            self,
            flange=self.flange_diameter,
            flange_thickness=self.flange_thickness,
            barrel=self.barrel_diameter,
            barrel_length=self.barrel_length,
            prongs=self.prong_length,
        )


@dataclass(frozen=True, init=False)
class Insert:
    """A threaded insert that is pressed, knocked, melted or screwed into a hole.

    Parameters
    ----------
    hole_diameter : size
        The hole its maker asks for in this material.
    length : size
        Of the insert, under its flange if it has one.
    thread : str or Thread
        Inside it.
    flange_diameter, flange_thickness : size, optional
        Of its flange; both or neither.
    name : str, optional
        What it is.

    Raises
    ------
    FastenerError
        The dimensions do not describe an insert.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(Insert("6.4 mm", "9.5 mm", thread="M5"))
    insert M5×0.8, 9.50 mm long
    """

    hole_diameter: Quantity
    length: Quantity
    thread: Thread
    flange_diameter: Quantity | None
    flange_thickness: Quantity | None
    name: str = field(compare=False)

    def __init__(
        self,
        hole_diameter: Size,
        length: Size,
        *,
        thread: str | Thread,
        flange_diameter: Size | None = None,
        flange_thickness: Size | None = None,
        name: str = "",
    ) -> None:
        hole, long = _positive(hole_diameter, "hole diameter"), _positive(length, "length")
        turns = _read_thread(thread)
        if (flange_diameter is None) != (flange_thickness is None):
            raise FastenerError("a flange has a diameter and a thickness; only one was given.")
        flange = thick = None
        if flange_diameter is not None:
            flange = _positive(flange_diameter, "flange diameter")
            thick = _positive(flange_thickness, "flange thickness")
            if not hole < flange:
                raise FastenerError(
                    f"a flange of {_fine(flange)} drops into the {_fine(hole)} hole. "
                    "Measure it again."
                )
        _refuse_thin_wall(hole, turns, "hole")
        _keep(self, (hole, long, turns, flange, thick, name))

    def __str__(self) -> str:
        return self.name or f"insert {self.thread}, {sizes.show(self.length)} long"


# --- washers and cap screws ------------------------------------------------------------------


@dataclass(frozen=True, init=False)
class Washer:
    """A plain washer.

    Parameters
    ----------
    inside_diameter, outside_diameter, thickness : size
        As measured; of the largest and thickest, where they differ.
    size : str, optional
        The screw it is for: ``"M8"``, ``"1/4"``.
    name : str, optional
        What it is.

    Raises
    ------
    FastenerError
        The dimensions do not describe a washer.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(Washer("8.4 mm", "16 mm", "1.6 mm", size="M8"))
    washer M8, 16.00 mm across
    """

    inside_diameter: Quantity
    outside_diameter: Quantity
    thickness: Quantity
    size: str
    name: str = field(compare=False)

    def __init__(
        self,
        inside_diameter: Size,
        outside_diameter: Size,
        thickness: Size,
        *,
        size: str = "",
        name: str = "",
    ) -> None:
        inside = _positive(inside_diameter, "inside diameter")
        outside = _positive(outside_diameter, "outside diameter")
        if not inside < outside:
            raise FastenerError(
                f"a washer of {_fine(inside)} inside and {_fine(outside)} outside is no ring. "
                "Swap them."
            )
        _keep(self, (inside, outside, _positive(thickness, "thickness"), size, name))

    def __str__(self) -> str:
        about = f"washer {self.size}".rstrip()
        return self.name or f"{about}, {sizes.show(self.outside_diameter)} across"


@dataclass(frozen=True, init=False)
class CapScrew:
    """A screw with a cylindrical head.

    Parameters
    ----------
    head_diameter, head_height : size
        As measured; of the largest head, where they differ.
    thread : str or Thread
        As :func:`thread` reads it.
    name : str, optional
        What it is.

    Raises
    ------
    FastenerError
        The dimensions do not describe a cap screw.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(CapScrew("13.2 mm", "8 mm", thread="M8"))
    cap screw M8×1.25, head 13.20 mm
    """

    head_diameter: Quantity
    head_height: Quantity
    thread: Thread
    name: str = field(compare=False)

    def __init__(
        self,
        head_diameter: Size,
        head_height: Size,
        *,
        thread: str | Thread,
        name: str = "",
    ) -> None:
        head = _positive(head_diameter, "head diameter")
        turns = _read_thread(thread)
        if not turns.diameter < head:
            raise FastenerError(
                f"a head of {_fine(head)} is no wider than its {turns} thread. Measure both again."
            )
        _keep(self, (head, _positive(head_height, "head height"), turns, name))

    def __str__(self) -> str:
        return self.name or f"cap screw {self.thread}, head {sizes.show(self.head_diameter)}"


WASHERS: Mapping[str, str] = MappingProxyType(
    {
        "ISO 7089": "washer-iso-7089",
        "ISO 7093-1": "washer-iso-7093-1",
        "ASME B18.21.1 narrow": "washer-asme-b18.21.1-narrow",
        "ASME B18.21.1 wide": "washer-asme-b18.21.1-wide",
    }
)
"""The washer tables there are, by the standard's number."""

CAP_SCREWS: Mapping[str, str] = MappingProxyType(
    {"ISO 4762": "cap-screw-iso-4762", "ASME B18.3": "cap-screw-asme-b18.3"}
)
"""The cap-screw tables there are, by the standard's number."""


def washer(standard: str, size: str) -> Washer:
    """A washer by its standard and size, of the largest thickness.

    Parameters
    ----------
    standard : str
        One of :data:`WASHERS`: normal (ISO 7089), large (ISO 7093-1), or ASME.
    size : str
        ``"M8"``, ``"1/4"``, ``"#10"``.

    Returns
    -------
    Washer

    Raises
    ------
    FastenerError
        There is no such table, or it has no such size.

    References
    ----------
    ISO 7089, ISO 7093-1, ASME B18.21.1 type A; see ``references/sources.toml``.

    Examples
    --------
    >>> print(sizes.show(washer("ISO 7089", "M8").thickness))
    1.80 mm
    """
    wanted = thread(size).size
    row = _find(WASHERS, standard, wanted)
    return Washer(
        _cell(row, "d1"),
        _cell(row, "d2"),
        _cell(row, "h_max"),
        size=wanted,
        name=f"{wanted} washer, {standard}",
    )


def cap_screw(standard: str, size: str) -> CapScrew:
    """A cap screw by its standard and size: the largest head, which is knurled.

    Parameters
    ----------
    standard : str
        One of :data:`CAP_SCREWS`.
    size : str
        As for :func:`hex_nut`.

    Returns
    -------
    CapScrew

    Raises
    ------
    FastenerError
        There is no such table, or it has no such size.

    References
    ----------
    ISO 4762, ASME B18.3; see ``references/sources.toml``.

    Examples
    --------
    >>> print(sizes.show(cap_screw("ISO 4762", "M8").head_diameter))
    13.27 mm
    """
    turns = thread(size)
    row = _find(CAP_SCREWS, standard, turns.size)
    return CapScrew(
        _cell(row, "dk_max"),
        _cell(row, "k_max"),
        thread=turns,
        name=f"{turns} cap screw, {standard}",
    )


def listed(kind: Mapping[str, str], standard: str) -> tuple[str, ...]:
    """The sizes a table has.

    Parameters
    ----------
    kind : mapping
        :data:`HEX_NUTS`, :data:`SQUARE_NUTS`, :data:`CAP_SCREWS` or :data:`WASHERS`.
    standard : str
        One of its standards.

    Raises
    ------
    FastenerError
        There is no such table.

    Examples
    --------
    >>> listed(SQUARE_NUTS, "DIN 557")
    ('M5', 'M6', 'M8', 'M10', 'M12', 'M16')
    """
    return tuple(row["size"] for row in tables.rows(_table_of(kind, standard)))


# --- shared ----------------------------------------------------------------------------------


def _table_of(kind: Mapping[str, str], standard: str) -> str:
    try:
        return kind[standard]
    except KeyError:
        raise FastenerError(
            f"there is no table {standard!r}. There is {', '.join(kind)}."
        ) from None


def _find(kind: Mapping[str, str], standard: str, size: str) -> dict[str, str]:
    for row in tables.rows(_table_of(kind, standard)):
        if row["size"] == size:
            return row
    raise FastenerError(
        f"{standard} has no size {size!r} here. It has {', '.join(listed(kind, standard))}."
    )


def _row(table: str, size: str, what: str) -> dict[str, str]:
    rows = {row["size"]: row for row in tables.rows(table)}
    if size not in rows:
        raise FastenerError(
            f"the {what} of {size} is not in the table, which has {', '.join(rows)}. "
            "Write the thread with it, such as M8x1 or 1/4-28."
        )
    return rows[size]


def _cell(row: Mapping[str, str], column: str) -> Quantity | None:
    if row.get(column):
        return sizes.length(f"{row[column]} mm")
    inches = row.get(f"{column}_in")
    if inches:
        return sizes.length(f"{inches} in")
    return None


def _read_thread(value: str | Thread) -> Thread:
    # Under a name of its own: inside a class that has a field `thread`, that name is taken.
    return thread(value)


def _positive(value: Size | None, label: str, default: Quantity | None = None) -> Quantity:
    if value is None and default is not None:
        return default
    try:
        size = sizes.length(value)
    except sizes.SizeError as error:
        raise sizes.SizeError(f"{label}: {error}") from None
    if not size.magnitude > 0:
        raise FastenerError(f"the {label} is {sizes.show(size)}; it must be more than 0.")
    return size


def _refuse_thin_wall(outside: Quantity, turns: Thread, label: str) -> None:
    if not turns.diameter < outside:
        raise FastenerError(
            f"the {label}, {_fine(outside)} across, is no wider than the {turns} thread inside "
            "it. Measure both again."
        )


def _keep(made: Any, values: Iterable[Any]) -> None:
    """Set the fields of a frozen dataclass that reads its own arguments."""
    for name, value in zip(made.__dataclass_fields__, values, strict=True):
        object.__setattr__(made, name, value)


def _table(made: Any, **rows: Quantity) -> str:
    cells = "".join(
        f"<tr><td style='text-align:left'>{name.replace('_', ' ')}</td>"
        f"<td>{sizes.show(value, fine=True)}</td></tr>"
        for name, value in rows.items()
    )
    return f"<table><caption>{html.escape(str(made))}</caption>{cells}</table>"
