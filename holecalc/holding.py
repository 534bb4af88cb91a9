r"""What a captured fastener holds: how hard it presses, and what it would shear out.

A nut or flange that is pulled into its pocket's floor

::

          |<---- D, outside ---->|
       ___|______________________|___     pressure on the ring between D and d
          |##|                |##|
          |##|<- d, inside -->|##| h      p = F / (pi/4 (D^2 - d^2))
       ___|##|________________|##|___
          ^ it could push a plug out:     shear on the cylinder D across, h high
                                          tau = F / (pi D h)

Both are means over the whole face, which a soft plate does not keep to; what a material bears has
to come from whoever uses this. Where people's safety depends on a fastening, or it holds up a
structure, it is for a licensed engineer and the local code. Derivations:
``references/derivations-counterbore.md``.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any

from holecalc import sizes, tables
from holecalc.sizes import Quantity, Size

__all__ = [
    "CAUTION",
    "Holding",
    "HoldingError",
    "Strength",
    "force",
    "holding",
    "starting_strengths",
    "stress",
]

_fine = partial(sizes.show, fine=True)

CAUTION = (
    "Mean stresses from a simple picture, not a design. Fastenings that hold up a structure, or "
    "that people's safety depends on, are for a licensed engineer and the local code."
)
"""What has to stand beside every such number."""


class HoldingError(ValueError):
    """The values do not describe a fastening; the message says why, and what would."""


_FORCES = {
    **dict.fromkeys(("n", "newton", "newtons"), sizes.ureg.newton),
    **dict.fromkeys(("kn",), sizes.ureg.kilonewton),
    **dict.fromkeys(("lbf", "lb", "lbs", "pounds"), sizes.ureg.force_pound),
    **dict.fromkeys(("kgf",), sizes.ureg.force_kilogram),
}
_STRESSES = {
    **dict.fromkeys(("mpa", "n/mm2", "n/mm²"), sizes.ureg.megapascal),
    **dict.fromkeys(("kpa",), sizes.ureg.kilopascal),
    **dict.fromkeys(("psi", "lbf/in2", "lbf/in²"), sizes.ureg.psi),
    **dict.fromkeys(("ksi",), sizes.ureg.ksi),
}
_NUMBER_AND_UNIT = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(?P<unit>\S+)")


def force(value: Size) -> Quantity:
    """Read a force.

    Parameters
    ----------
    value : str or pint.Quantity
        ``"2 kN"``, ``"800 N"``, ``"450 lbf"``; a pound or kilogram stands for its weight.

    Returns
    -------
    pint.Quantity
        In the unit that was written.

    Raises
    ------
    HoldingError
        It is not a force, or not more than 0.

    Examples
    --------
    >>> print(force("2 kN"), force("450 lb"))
    2.0 kN 450.0 lbf
    """
    return _read(value, "a force", _FORCES, "Write for example 2 kN or 450 lbf.")


def stress(value: Size) -> Quantity:
    """Read a pressure or a strength.

    Parameters
    ----------
    value : str or pint.Quantity
        ``"5 MPa"``, ``"5 N/mm²"``, ``"700 psi"``.

    Returns
    -------
    pint.Quantity
        In the unit that was written.

    Raises
    ------
    HoldingError
        It is not a stress, or not more than 0.

    Examples
    --------
    >>> print(stress("5 N/mm²"), stress("700 psi"))
    5.0 MPa 700.0 psi
    """
    return _read(value, "a stress", _STRESSES, "Write for example 5 MPa or 700 psi.")


def _read(value: Size, kind: str, units: Mapping[str, Any], cures: str) -> Quantity:
    if isinstance(value, str):
        parts = _NUMBER_AND_UNIT.fullmatch(value.strip()[:40])
        unit = units.get(parts["unit"].lower()) if parts else None
        if parts is None or unit is None:
            raise HoldingError(f"'{value}' is not {kind}. {cures}")
        quantity = sizes.ureg.Quantity(float(parts["number"].replace(",", ".")), unit)
    elif hasattr(value, "magnitude") and value.is_compatible_with(next(iter(units.values()))):
        quantity = value
    else:
        raise HoldingError(f"{value!r} is not {kind}. {cures}")
    if not 0 < quantity.magnitude < math.inf:
        raise HoldingError(f"{value} is no {kind.partition(' ')[2]}: it must be more than 0.")
    return quantity


@dataclass(frozen=True)
class Strength:
    """What a plate's material stands.

    Parameters
    ----------
    bearing, shear : pint.Quantity
        The pressure it takes on its face, and the shear through its thickness.
    source : str
        Where the values are from.
    """

    bearing: Quantity
    shear: Quantity
    source: str


def starting_strengths() -> Mapping[str, Strength]:
    """Low round values to start from, by material, until better ones are at hand.

    Common practice, no source: rounded down, for short loads at room temperature. Plywood and MDF
    vary between makers, and plastics give way over weeks under much less. Replace them.

    Examples
    --------
    >>> print(starting_strengths()["birch plywood"].bearing)
    5.0 MPa
    """
    return MappingProxyType(
        {
            row["name"]: Strength(
                stress(f"{row['bearing_mpa']} MPa"),
                stress(f"{row['shear_mpa']} MPa"),
                "common practice, no source",
            )
            for row in tables.rows("plate-strengths")
        }
    )


@dataclass(frozen=True)
class Holding:
    """How a fastener presses on its plate under a load.

    Parameters
    ----------
    load : pint.Quantity
        The clamp or pull load.
    bearing_area : pint.Quantity
        The ring that carries it.
    pressure : pint.Quantity
        On that ring.
    shear_area : pint.Quantity
        The cylinder under the ring's edge.
    shear : pint.Quantity
        On that cylinder.
    bearing_strength, shear_strength : pint.Quantity or None
        Of the material, where they were given.
    """

    load: Quantity
    bearing_area: Quantity
    pressure: Quantity
    shear_area: Quantity
    shear: Quantity
    bearing_strength: Quantity | None
    shear_strength: Quantity | None

    @property
    def load_to_bed(self) -> Quantity | None:
        """The load at which the pressure reaches the bearing strength."""
        return self._load(self.bearing_area, self.bearing_strength)

    @property
    def load_to_shear(self) -> Quantity | None:
        """The load at which the shear reaches the shear strength."""
        return self._load(self.shear_area, self.shear_strength)

    def _load(self, area: Quantity, strength: Quantity | None) -> Quantity | None:
        return None if strength is None else (area * strength).to(self.load.units)

    def rows(self) -> list[tuple[str, str]]:
        """The whole as lines of label and text."""
        rows = [
            ("load", _figures(self.load)),
            ("bearing area", _figures(self.bearing_area)),
            ("pressure", _against(self.pressure, self.bearing_strength)),
            ("shear-out area", _figures(self.shear_area)),
            ("shear", _against(self.shear, self.shear_strength)),
        ]
        for label, load in (("beds in at", self.load_to_bed), ("shears at", self.load_to_shear)):
            if load is not None:
                rows.append((label, _figures(load)))
        return rows

    def __str__(self) -> str:
        width = max(len(label) for label, _ in self.rows())
        lines = [f"{label:<{width}}  {text}" for label, text in self.rows()]
        return "\n".join([*lines, CAUTION])

    def _repr_html_(self) -> str:
        cells = "".join(
            f"<tr><td style='text-align:left'>{html.escape(label)}</td>"
            f"<td style='text-align:left'>{html.escape(text)}</td></tr>"
            for label, text in self.rows()
        )
        return f"<table>{cells}</table><p>{html.escape(CAUTION)}</p>"


def holding(
    load: Size,
    *,
    outside_diameter: Size,
    inside_diameter: Size,
    plate_under: Size,
    bearing_strength: Size | None = None,
    shear_strength: Size | None = None,
) -> Holding:
    r"""How hard a flange, nut or head presses, and what it would shear out.

    .. math:: p = \frac{F}{\frac{\pi}{4}(D^2 - d^2)} \qquad \tau = \frac{F}{\pi D h}

    Parameters
    ----------
    load : force
        Clamp or pull load.
    outside_diameter, inside_diameter : size
        Of the ring that touches: the flange or bearing face, and the hole in the plate under it.
    plate_under : size
        Thickness of the plate under that ring.
    bearing_strength, shear_strength : stress, optional
        Of the plate's material.

    Returns
    -------
    Holding

    Raises
    ------
    HoldingError
        Nothing is left to press on or to shear, or a value cannot be read.
    holecalc.sizes.SizeError
        A size cannot be read.

    Notes
    -----
    Means over the whole ring and the whole cylinder: a thin flange bends and presses most near
    its barrel, wood and ply shear along their layers, plastics creep. Prongs, which hold a nut
    from turning, are not counted.

    Examples
    --------
    >>> made = holding(
    ...     "2 kN", outside_diameter="22 mm", inside_diameter="10 mm", plate_under="16 mm",
    ...     bearing_strength="5 MPa",
    ... )
    >>> print(f"{made.pressure:.2f~P}, {made.load_to_bed:.2f~P}")
    6.63 MPa, 1.51 kN
    """
    pull = force(load)
    outside, inside = sizes.length(outside_diameter), sizes.length(inside_diameter)
    under = sizes.length(plate_under)
    if inside.magnitude < 0 or not inside < outside:
        raise HoldingError(
            f"a face of {_fine(outside)} over a hole of {_fine(inside)} has nothing to bear on. "
            "Make the hole smaller, or put a washer under it."
        )
    if not under.magnitude > 0:
        raise HoldingError("no plate is left under the face. Make the pocket shallower.")
    metric = outside.units == sizes.ureg.millimeter
    unit = sizes.ureg.megapascal if metric else sizes.ureg.psi
    ring = math.pi / 4 * (outside**2 - inside.to(outside.units) ** 2)
    cylinder = math.pi * outside * under.to(outside.units)
    return Holding(
        pull,
        ring,
        (pull / ring).to(unit),
        cylinder,
        (pull / cylinder).to(unit),
        None if bearing_strength is None else stress(bearing_strength),
        None if shear_strength is None else stress(shear_strength),
    )


def _figures(quantity: Quantity) -> str:
    return f"{quantity.magnitude:.4g} {quantity.units:~P}"


def _against(value: Quantity, strength: Quantity | None) -> str:
    if strength is None:
        return _figures(value)
    share = (value / strength).m_as(sizes.ureg.dimensionless)
    return f"{_figures(value)}, {100 * share:.0f} % of {_figures(strength)}"
