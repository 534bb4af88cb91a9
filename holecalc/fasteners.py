"""Fasteners: flat heads and the holes they pass through, measured or from published tables.

Every tabulated dimension is in ``holecalc/tables`` with the id of its source, which
``references/sources.toml`` spells out.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from holecalc import sizes, tables
from holecalc.sizes import Quantity, Size

__all__ = [
    "FITS",
    "FLAT_HEAD_STANDARDS",
    "FastenerError",
    "FlatHead",
    "clearance_drill",
    "clearance_hole",
    "flat_head",
    "flat_head_sizes",
]


class FastenerError(ValueError):
    """No such fastener, or dimensions that do not describe one; the message says why."""


@dataclass(frozen=True, init=False)
class FlatHead:
    r"""A countersunk (flat) screw head.

    ::

         |<--- head_diameter --->|
         +-----------------------+  ---
         |                       |   | edge_land (a cylinder)
          \                     /   ---
            \                 /         head_angle between the flanks
              \             /
               |           |
               |<- shank ->|

    Parameters
    ----------
    head_diameter : size
        What calipers read across the head.
    head_angle : angle
        The angle between the cone's flanks.
    edge_land : size, optional
        Height of the cylinder at the head's edge; none by default, which makes
        `head_diameter` the sharp one.
    shank_diameter : size
        Of the screw under the head.
    name : str, optional
        What the screw is.

    Raises
    ------
    FastenerError
        The dimensions do not describe a flat head.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> head = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")
    >>> print(sizes.show(head.sharp_diameter), sizes.show(head.head_height))
    12.60 mm 3.30 mm
    """

    head_diameter: Quantity
    head_angle: Quantity
    edge_land: Quantity
    shank_diameter: Quantity
    name: str = field(compare=False)

    def __init__(
        self,
        head_diameter: Size,
        head_angle: Size,
        *,
        edge_land: Size | None = None,
        shank_diameter: Size,
        name: str = "",
    ) -> None:
        head, shank = sizes.length(head_diameter), sizes.length(shank_diameter)
        included = sizes.angle(head_angle)
        nothing = sizes.from_mm(0.0, head.units)
        land = nothing if edge_land is None else sizes.length(edge_land)
        if not 0 < sizes.rad(included) < math.pi:
            raise FastenerError(
                f"a flat head's angle is between 0° and 180°, not {sizes.show(included)}. "
                "Measure from flank to flank."
            )
        if shank.magnitude <= 0 or not head > shank:
            raise FastenerError(
                f"the head is {sizes.show(head)} across and the shank {sizes.show(shank)}; "
                "a flat head is wider than its shank. Measure both again."
            )
        if land.magnitude < 0:
            raise FastenerError(f"the edge land is {sizes.show(land)}; it cannot be negative.")
        for name_, value in zip(
            self.__dataclass_fields__, (head, included, land, shank, name), strict=True
        ):
            object.__setattr__(self, name_, value)

    @classmethod
    def from_height(
        cls,
        head_diameter: Size,
        head_angle: Size,
        head_height: Size,
        *,
        shank_diameter: Size,
        name: str = "",
    ) -> FlatHead:
        """From what calipers can read: the height instead of the land.

        Parameters
        ----------
        head_diameter, head_angle, shank_diameter, name
            As for the class.
        head_height : size
            From the head's face to where the cone meets the shank.

        Returns
        -------
        FlatHead
            With the land that is left of the height above the cone.

        Raises
        ------
        FastenerError
            The cone alone is already higher.
        """
        head, shank = sizes.length(head_diameter), sizes.length(shank_diameter)
        height = sizes.length(head_height)
        slope = math.tan(sizes.rad(sizes.angle(head_angle)) / 2)
        land = _land(
            head,
            shank + 2 * height * slope,
            slope,
            f"a cone from {sizes.show(head)} to {sizes.show(shank)} is already "
            f"{sizes.show((head - shank) / (2 * slope))} high, more than the head's "
            f"{sizes.show(height)}. Measure the head's angle again.",
        )
        return cls(head, head_angle, edge_land=land, shank_diameter=shank, name=name)

    @classmethod
    def from_gauge(
        cls,
        head_diameter: Size,
        head_angle: Size,
        *,
        protrusion: Size,
        gauge_diameter: Size,
        shank_diameter: Size,
        name: str = "",
    ) -> FlatHead:
        r"""From how far the head stands above a sharp-edged gauge hole.

        The cone through the gauge hole's edge, carried up by the protrusion, has the sharp
        diameter :math:`G + 2 F \tan(A/2)`.

        Parameters
        ----------
        head_diameter, head_angle, shank_diameter, name
            As for the class.
        protrusion : size
            How far the head's face stands above the gauge's face, F.
        gauge_diameter : size
            Of the hole, G.

        Returns
        -------
        FlatHead

        Raises
        ------
        FastenerError
            The gauge says a sharp diameter below the head's own.
        """
        head, gauge = sizes.length(head_diameter), sizes.length(gauge_diameter)
        above = sizes.length(protrusion)
        slope = math.tan(sizes.rad(sizes.angle(head_angle)) / 2)
        sharp = gauge + 2 * above * slope
        land = _land(
            head,
            sharp,
            slope,
            f"standing {sizes.show(above)} above a {sizes.show(gauge)} hole makes the sharp "
            f"diameter {sizes.show(sharp)}, less than the head's {sizes.show(head)}. Gauge it "
            "again.",
        )
        return cls(head, head_angle, edge_land=land, shank_diameter=shank_diameter, name=name)

    @property
    def sharp_diameter(self) -> Quantity:
        """Where the cone would end without the land: what a sink to be flush must measure."""
        return self.head_diameter + 2 * self.edge_land * self._slope

    @property
    def head_height(self) -> Quantity:
        """From the head's face to where the cone meets the shank."""
        cone = (self.head_diameter - self.shank_diameter) / (2 * self._slope)
        return self.edge_land + cone

    @property
    def _slope(self) -> float:
        return math.tan(sizes.rad(self.head_angle) / 2)

    def __str__(self) -> str:
        return self.name or f"flat head {sizes.show(self.head_diameter)}"

    def __repr__(self) -> str:
        exact = sizes.exact
        land = f", edge_land={exact(self.edge_land)}" if self.edge_land.magnitude else ""
        name = f", name={self.name!r}" if self.name else ""
        return (
            f"FlatHead({exact(self.head_diameter)}, {exact(self.head_angle)}"
            f"{land}, shank_diameter={exact(self.shank_diameter)}{name})"
        )

    def _repr_html_(self) -> str:
        rows = (
            ("head diameter", sizes.show(self.head_diameter)),
            ("sharp diameter", sizes.show(self.sharp_diameter)),
            ("head angle", sizes.show(self.head_angle)),
            ("edge land", sizes.show(self.edge_land, fine=True)),
            ("head height", sizes.show(self.head_height)),
            ("shank diameter", sizes.show(self.shank_diameter)),
        )
        cells = "".join(
            f"<tr><td style='text-align:left'>{label}</td><td>{html.escape(value)}</td></tr>"
            for label, value in rows
        )
        return f"<table><caption>{html.escape(str(self))}</caption>{cells}</table>"


_CALIPERS = 0.002
"""Millimetres; as much too little as rounded measurements may make of no land at all."""


def _land(head: Quantity, sharp: Quantity, slope: float, otherwise: str) -> Quantity:
    """Of a head whose cone would end at a sharp diameter; `otherwise` where that is too little."""
    land = ((sharp - head) / (2 * slope)).to(head.units)
    if sizes.mm(land) < -_CALIPERS:
        raise FastenerError(otherwise)
    return sizes.ureg.Quantity(max(round(float(land.magnitude), 9), 0.0), land.units)


def _tabulated(
    sharp: Quantity, diameters: tuple[Quantity, Quantity], angle: float, shank: Quantity, name: str
) -> FlatHead:
    """A head of a table: its own diameter, and the land that the largest one has."""
    largest, diameter = diameters
    slope = math.tan(math.radians(angle) / 2)
    land = _land(largest, sharp, slope, f"the table has no cone for {name}.")
    return FlatHead(diameter, angle, edge_land=land, shank_diameter=shank, name=name)


def _metric(row: dict[str, str], largest: bool, angle: float, name: str) -> FlatHead:
    """By d and k: the standard's cone ends at the sharp diameter d + 2 k tan(A/2)."""
    d, height, most, least = (
        sizes.length(float(row[column]), "mm") for column in ("d", "k_max", "dk_max", "dk_min")
    )
    sharp = d + 2 * height * math.tan(math.radians(angle) / 2)
    return _tabulated(sharp, (most, most if largest else least), angle, d, name)


def _inch(row: dict[str, str], largest: bool, angle: float, name: str) -> FlatHead:
    """By d and H, which the standard reckons at the smallest angle it lets a head have."""
    columns = ("d_in", "head_height_ref_in", "head_diameter_max_in", "head_diameter_min_in")
    d, height, most, least = (sizes.length(float(row[column]), "in") for column in columns)
    sharp = d + 2 * height * math.tan(math.radians(_LEAST_INCH_ANGLES[angle]) / 2)
    return _tabulated(sharp, (most, most if largest else least), angle, d, name)


_LEAST_INCH_ANGLES = {82.0: 80.0, 100.0: 99.0}
"""ASME B18.6.3: the smallest angle of a head, by its nominal one (from memory)."""


@dataclass(frozen=True)
class _Standard:
    table: str
    angle: float | None
    head: Callable[[dict[str, str], bool, float, str], FlatHead]


_STANDARDS = {
    "ISO 7046-2": _Standard("flat-head-iso-7046-2", 90.0, _metric),
    "DIN 7991": _Standard("flat-head-din-7991", None, _metric),
    "ASME B18.6.3 82°": _Standard("flat-head-asme-b18.6.3-82deg", 82.0, _inch),
    "ASME B18.6.3 100°": _Standard("flat-head-asme-b18.6.3-100deg", 100.0, _inch),
}

FLAT_HEAD_STANDARDS = tuple(_STANDARDS)
"""The flat-head tables there are, by the standard's number."""


def flat_head_sizes(standard: str) -> tuple[str, ...]:
    """The sizes a flat-head table has.

    Examples
    --------
    >>> flat_head_sizes("ISO 7046-2")[:3]
    ('M2', 'M2.5', 'M3')
    """
    return tuple(row["size"] for row in tables.rows(_standard(standard).table))


def flat_head(standard: str, size: str, *, largest: bool = True) -> FlatHead:
    """A flat head by its standard and size.

    Parameters
    ----------
    standard : str
        One of :data:`FLAT_HEAD_STANDARDS`.
    size : str
        ``"M6"``, ``"#10"`` or ``"No. 10"``, ``"1/4"`` or ``"1/4 in"`` …
    largest : bool, default True
        The largest head the standard lets pass, which a sink must take in; False for the
        smallest.

    Returns
    -------
    FlatHead

    Raises
    ------
    FastenerError
        There is no such table, or it has no such size.

    Notes
    -----
    The sharp diameter follows from the tabulated height of the head; what the tabulated head
    diameter falls short of it is the edge land, taken the same for the smallest head.

    - ISO 7046-2 and DIN 7991: d + 2 k tan(A/2).
    - ASME B18.6.3: d + 2 H tan(A'/2) with A' the smallest angle the standard lets a head have,
      80° for 82° and 99° for 100° (from memory). That meets both the standard's protrusion F
      above its gauge hole and its column of sharp diameters within 0.002 in for every size;
      with the nominal angle the larger 82° heads would come out up to 0.013 in too wide. The
      tabulated head diameter is that of a head with a rounded or flat edge.

    References
    ----------
    ISO 7046-2, DIN 7991, ASME B18.6.3; see ``references/sources.toml``.

    Examples
    --------
    >>> print(sizes.show(flat_head("ISO 7046-2", "M6").sharp_diameter))
    12.60 mm
    >>> print(sizes.show(flat_head("ASME B18.6.3 82°", "1/4").sharp_diameter, places=3))
    0.507 in
    """
    found = _standard(standard)
    row = _row(found.table, size)
    if row is None:
        raise FastenerError(
            f"{standard} has no size {size!r} here. It has {', '.join(flat_head_sizes(standard))}."
        )
    angle = float(row["head_angle_deg"]) if found.angle is None else found.angle
    return found.head(row, largest, angle, f"{row['size']} flat head, {standard}")


FITS = ("close", "normal", "loose")
"""Fits of a clearance hole, as ISO 273 and ASME B18.2.8 name them."""


def clearance_hole(size: str, fit: str = "normal") -> Quantity:
    """The diameter of a clearance hole.

    Parameters
    ----------
    size : str
        ``"M6"`` (ISO 273), or ``"#10"``, ``"1/4"`` (ASME B18.2.8), spelled as in
        :func:`flat_head`.
    fit : {"close", "normal", "loose"}
        How much room the screw has.

    Returns
    -------
    pint.Quantity
        Millimetres for metric sizes, inches for inch sizes.

    Raises
    ------
    FastenerError
        There is no such size or fit.

    References
    ----------
    ISO 273; ASME B18.2.8; see ``references/sources.toml``.

    Examples
    --------
    >>> print(clearance_hole("M6"), clearance_hole("1/4", "close"))
    6.6 mm 0.265625 in
    """
    return sizes.length(clearance_drill(size, fit))


def clearance_drill(size: str, fit: str = "normal") -> str:
    """The drill for a clearance hole, as :func:`clearance_hole`.

    Examples
    --------
    >>> clearance_drill("#10", "loose"), clearance_drill("1/4", "close"), clearance_drill("M6")
    ('letter B', '17/64 in', '6.6 mm')
    """
    if fit not in FITS:
        raise FastenerError(f"there is no fit {fit!r}. The fits are {', '.join(FITS)}.")
    metric, inch = "clearance-iso-273", "clearance-asme-b18.2.8"
    row = _row(metric, size)
    if row is not None:
        return f"{row[fit]} mm"
    row = _row(inch, size)
    if row is None:
        known = ", ".join(row["size"] for table in (metric, inch) for row in tables.rows(table))
        raise FastenerError(f"there is no clearance hole for {size!r}. There is for {known}.")
    drill = row[f"{fit}_drill"]
    if drill.isalpha():
        return f"letter {drill}"
    return drill if drill.startswith("#") else f"{drill} in"


def _row(table: str, size: str) -> dict[str, str] | None:
    """The row of a table for a size, however that is spelled."""
    wanted = _spelled(size)
    return next((row for row in tables.rows(table) if _spelled(row["size"]) == wanted), None)


def _spelled(size: str) -> str:
    """A size in one spelling: ``m6``, ``#10``, ``1/4``, ``1-1/8``."""
    text = re.sub(r"\s+", " ", size.translate(_QUOTES).strip().lower())
    text = re.sub(r"^(?:no\.?|number|#) ?(?=\d)", "#", text)
    text = re.sub(r"^m (?=\d)", "m", text).replace(",", ".")
    text = re.sub(r" ?(?:in\.?|inch|inches|\"|'')$", "", text)
    return re.sub(r"(?<=\d)[ -]+(?=\d)", "-", text)


_QUOTES = str.maketrans({"″": '"', "”": '"', "⁄": "/", "№": "no"})


def _standard(standard: str) -> _Standard:
    try:
        return _STANDARDS[standard]
    except KeyError:
        known = ", ".join(FLAT_HEAD_STANDARDS)
        raise FastenerError(f"there is no table {standard!r}. There is {known}.") from None
