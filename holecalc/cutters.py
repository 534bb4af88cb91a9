"""Cutters, as measured or as marked by their maker.

A cutter is described by what its geometry does to the plate, and by the limits its maker marks
on it; feeds come with the modules that need them. Sizes are read as everywhere in holecalc and
kept as quantities.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from holecalc import sizes
from holecalc.sizes import Quantity, Size

__all__ = ["CutterError", "Drill", "EndMill", "VeeCutter", "flat_of_rounded_tip"]


class CutterError(ValueError):
    """The dimensions do not describe a cutter; the message says which, and why."""


def flat_of_rounded_tip(tip_radius: Size, included_angle: Size) -> Quantity:
    r"""The tip flat that a rounded tip acts as.

    Above the point where the round runs into the flanks, a cutter with a rounded tip cuts the
    cone of one with a flat at the height of the tip's lowest point:

    .. math:: T = 2 \rho \, \frac{1 - \sin(A/2)}{\cos(A/2)}

    ::

           \      |      /
            \     |     /     the round's centre is rho above the tip and rho from the flank,
             \    o    /      so the flanks meet rho / sin(A/2) below the centre, which is
              `-..|..-'       rho (1/sin(A/2) - 1) below the tip; there to the tip's height
               \__|__/        the flank opens by tan(A/2) on either side
                \ T /
                 \|/

    Parameters
    ----------
    tip_radius : size
        Radius of the tip, ρ.
    included_angle : angle
        Angle between the flanks, A.

    Returns
    -------
    pint.Quantity
        The flat's diameter T, in the unit of the radius.

    Raises
    ------
    holecalc.sizes.SizeError
        A value cannot be read.

    References
    ----------
    Plane trigonometry; derived in ``references/derivations.md``.

    Examples
    --------
    >>> print(sizes.show(flat_of_rounded_tip("0.5 mm", "90°"), places=4))
    0.4142 mm
    """
    radius = sizes.length(tip_radius)
    half = sizes.rad(sizes.angle(included_angle)) / 2
    return radius * (2 * (1 - math.sin(half)) / math.cos(half))


@dataclass(frozen=True, init=False)
class VeeCutter:
    """A cutter with straight flanks that meet at an angle: a vee bit or a countersink.

    Parameters
    ----------
    cutting_diameter : size
        The largest diameter the flanks cut.
    included_angle : angle
        The angle between the flanks.
    tip_diameter : size, optional
        The flat across the tip; a sharp tip by default.
    tip_radius : size, optional
        The tip's radius, where it is rounded instead.
    name : str, optional
        What the drawer or the tool list calls it.

    Attributes
    ----------
    tip_diameter : pint.Quantity
        The flat, or the flat that the rounded tip acts as.
    tip_radius : pint.Quantity
        Zero for a flat or sharp tip.

    Raises
    ------
    CutterError
        The dimensions do not describe such a cutter.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> VeeCutter("1/2 in", 90, tip_diameter="0.020 in")
    VeeCutter('0.5 in', '90°', tip_diameter='0.02 in')
    """

    cutting_diameter: Quantity
    included_angle: Quantity
    tip_diameter: Quantity
    tip_radius: Quantity
    name: str = field(compare=False)

    def __init__(
        self,
        cutting_diameter: Size,
        included_angle: Size,
        *,
        tip_diameter: Size | None = None,
        tip_radius: Size | None = None,
        name: str = "",
    ) -> None:
        cutting = sizes.length(cutting_diameter)
        included = sizes.angle(included_angle)
        nothing = sizes.from_mm(0.0, cutting.units)
        flat = nothing if tip_diameter is None else sizes.length(tip_diameter)
        radius = nothing if tip_radius is None else sizes.length(tip_radius)
        if not 0 < sizes.rad(included) < math.pi:
            raise CutterError(
                f"a vee cutter's included angle is between 0° and 180°, not "
                f"{sizes.show(included)}. Measure from flank to flank."
            )
        for label, size in (("tip flat", flat), ("tip radius", radius)):
            if size.magnitude < 0:
                raise CutterError(f"the {label} is {sizes.show(size)}; it cannot be negative.")
        if flat.magnitude and radius.magnitude:
            raise CutterError(
                f"the tip has a flat of {sizes.show(flat)} and a radius of {sizes.show(radius)}. "
                "Give the one it has."
            )
        if radius.magnitude:
            flat = flat_of_rounded_tip(radius, included)
        widest = max(flat, 2 * radius * math.cos(sizes.rad(included) / 2))
        if not cutting > widest:
            raise CutterError(
                f"the cutting diameter is {sizes.show(cutting)} and the flanks start at "
                f"{sizes.show(widest)}; it must be larger. Measure across the flanks' far end."
            )
        fields = (cutting, included, flat, radius, name)
        for attribute, value in zip(self.__dataclass_fields__, fields, strict=True):
            object.__setattr__(self, attribute, value)

    @property
    def flank_start_diameter(self) -> Quantity:
        """The diameter above which the flanks are straight.

        The flat itself, or where a round of radius ρ runs into the flanks, 2 ρ cos(A/2).
        """
        round_end = 2 * self.tip_radius * math.cos(sizes.rad(self.included_angle) / 2)
        return max(self.tip_diameter, round_end)

    def height_at(self, diameter: Size) -> Quantity:
        """How far above its tip the cutter is that wide.

        Parameters
        ----------
        diameter : size
            Or an array of them; beyond the cutting diameter, of the flanks carried on.

        Returns
        -------
        pint.Quantity
            Nothing on the flat of the tip.

        Examples
        --------
        >>> print(VeeCutter("10 mm", 90, tip_diameter="0.2 mm").height_at("5 mm"))
        2.4 mm
        """
        asked = sizes.length(diameter)
        half = sizes.rad(self.included_angle) / 2
        radius, rho = np.abs(sizes.mm(asked)) / 2, sizes.mm(self.tip_radius)
        flank = np.maximum(radius - sizes.mm(self.tip_diameter) / 2, 0.0) / math.tan(half)
        round_ = rho - np.sqrt(np.maximum(rho**2 - radius**2, 0.0))
        height = np.where(radius < rho * math.cos(half), round_, flank)
        return sizes.from_mm(height[()], asked.units)

    def diameter_at(self, height: Size) -> Quantity:
        """How wide the cutter is at a height above its tip: the inverse of :meth:`height_at`.

        Examples
        --------
        >>> print(VeeCutter("10 mm", 90, tip_diameter="0.2 mm").diameter_at("2.4 mm"))
        5.0 mm
        """
        asked = sizes.length(height)
        half = sizes.rad(self.included_angle) / 2
        above, rho = np.maximum(sizes.mm(asked), 0.0), sizes.mm(self.tip_radius)
        flank = sizes.mm(self.tip_diameter) / 2 + above * math.tan(half)
        round_ = np.sqrt(np.maximum(rho**2 - (rho - above) ** 2, 0.0))
        radius = np.where(above < rho * (1 - math.sin(half)), round_, flank)
        return sizes.from_mm(2 * radius[()], asked.units)

    def __repr__(self) -> str:
        parts = [f"{sizes.exact(self.cutting_diameter)}, {sizes.exact(self.included_angle)}"]
        if self.tip_radius.magnitude:
            parts.append(f"tip_radius={sizes.exact(self.tip_radius)}")
        elif self.tip_diameter.magnitude:
            parts.append(f"tip_diameter={sizes.exact(self.tip_diameter)}")
        if self.name:
            parts.append(f"name={self.name!r}")
        return f"VeeCutter({', '.join(parts)})"


@dataclass(frozen=True, init=False)
class EndMill:
    r"""A cylindrical cutter that cuts with its side and its end: an end mill or a router cutter.

    ::

        ===+---+===   ---  holder or collet nut
           |   |       |
           |   |       |           shank_diameter across here
          /     \      |
         |  / /  |  ---| reach     as it is clamped
         | / / / |   | |
         |/ / /  |   | cutting_length, of the flutes
         |_/___/_|  -----
           |<->|                   dead_diameter: the middle of the end, where a cutter that is
         |<----->|                 not centre-cutting has no edge
         cutting_diameter

    Parameters
    ----------
    cutting_diameter : size
        The diameter it cuts; as measured, where it has been sharpened.
    flutes : int
        Number of cutting edges.
    cutting_length : size, optional
        Of the flutes, from the tip.
    reach : size, optional
        From the tip to the holder or the collet nut, as it is clamped.
    shank_diameter : size, optional
        Above the flutes; the same as the cutting diameter by default.
    maximum_spindle_speed : spindle speed, optional
        What is marked on the cutter or its packet.
    maximum_ramp_angle : angle, optional
        The steepest ramp its maker permits.
    centre_cutting : bool, default True
        Whether its end cuts right to the middle, so that it can go straight down.
    dead_diameter : size, optional
        For a cutter that is not centre-cutting: how wide the middle without an edge is.
    name : str, optional
        What the drawer or the tool list calls it.

    Raises
    ------
    CutterError
        The dimensions do not describe such a cutter.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> EndMill("6 mm", flutes=1, cutting_length="22 mm", maximum_spindle_speed="24,000 rpm")
    EndMill('6 mm', flutes=1, cutting_length='22 mm', maximum_spindle_speed='24000 rpm')
    """

    cutting_diameter: Quantity
    flutes: int
    cutting_length: Quantity | None
    reach: Quantity | None
    shank_diameter: Quantity
    maximum_spindle_speed: Quantity | None
    maximum_ramp_angle: Quantity | None
    centre_cutting: bool
    dead_diameter: Quantity | None
    name: str = field(compare=False)

    def __init__(
        self,
        cutting_diameter: Size,
        *,
        flutes: int,
        cutting_length: Size | None = None,
        reach: Size | None = None,
        shank_diameter: Size | None = None,
        maximum_spindle_speed: Size | None = None,
        maximum_ramp_angle: Size | None = None,
        centre_cutting: bool = True,
        dead_diameter: Size | None = None,
        name: str = "",
    ) -> None:
        cutting = sizes.length(cutting_diameter)
        lengths = {
            "cutting diameter": cutting,
            "cutting length": _optional(cutting_length),
            "reach": _optional(reach),
            "shank": cutting if shank_diameter is None else sizes.length(shank_diameter),
            "dead middle": _optional(dead_diameter),
        }
        for label, size in lengths.items():
            if size is not None and size.magnitude <= 0:
                raise CutterError(f"the {label} is {sizes.show(size)}; it must be more than 0.")
        if isinstance(flutes, bool) or not isinstance(flutes, int) or flutes < 1:
            raise CutterError(f"a cutter has 1, 2, 3 … flutes, not {flutes!r}. Count its edges.")
        flute, far, dead = (lengths[key] for key in ("cutting length", "reach", "dead middle"))
        if flute is not None and far is not None and far < flute:
            raise CutterError(
                f"the reach is {sizes.show(far)} and the flutes are {sizes.show(flute)} long, so "
                "they would be clamped. Measure the reach from the tip to the holder."
            )
        if dead is not None and (centre_cutting or not dead < cutting):
            raise CutterError(
                f"a dead middle of {sizes.show(dead)} was given, which only a cutter that is not "
                f"centre-cutting has, and smaller than its {sizes.show(cutting)}."
            )
        speed = (
            None if maximum_spindle_speed is None else sizes.spindle_speed(maximum_spindle_speed)
        )
        if speed is not None and speed.magnitude <= 0:
            raise CutterError(
                f"the maximum spindle speed is {sizes.show_rate(speed)}; it must be more than 0."
            )
        ramp = None if maximum_ramp_angle is None else sizes.angle(maximum_ramp_angle)
        if ramp is not None and not 0 < sizes.rad(ramp) <= math.pi / 2:
            raise CutterError(
                f"the maximum ramp angle is {sizes.show(ramp)}; it is more than 0° and at most "
                "90°, measured from the face."
            )
        fields = (
            *(cutting, flutes, flute, far, lengths["shank"], speed, ramp),
            *(centre_cutting, dead, name),
        )
        for attribute, value in zip(self.__dataclass_fields__, fields, strict=True):
            object.__setattr__(self, attribute, value)

    def __repr__(self) -> str:
        parts = [f"{sizes.exact(self.cutting_diameter)}, flutes={self.flutes}"]
        for name in ("cutting_length", "reach"):
            if getattr(self, name) is not None:
                parts.append(f"{name}={sizes.exact(getattr(self, name))}")
        if self.shank_diameter != self.cutting_diameter:
            parts.append(f"shank_diameter={sizes.exact(self.shank_diameter)}")
        if self.maximum_spindle_speed is not None:
            parts.append(f"maximum_spindle_speed={sizes.exact(self.maximum_spindle_speed)}")
        if self.maximum_ramp_angle is not None:
            parts.append(f"maximum_ramp_angle={sizes.exact(self.maximum_ramp_angle)}")
        if not self.centre_cutting:
            parts.append("centre_cutting=False")
        if self.dead_diameter is not None:
            parts.append(f"dead_diameter={sizes.exact(self.dead_diameter)}")
        if self.name:
            parts.append(f"name={self.name!r}")
        return f"EndMill({', '.join(parts)})"


@dataclass(frozen=True, init=False)
class Drill:
    """A twist drill, or any cutter that goes straight down and leaves its own diameter.

    Parameters
    ----------
    diameter : size
        That it drills.
    point_angle : angle, default 118
        Between its lips; 180° for a flat one.
    length : size, optional
        Of the flutes, from the tip.

    Raises
    ------
    CutterError
        The dimensions do not describe a drill.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(sizes.show(Drill("10 mm").point_height, fine=True))
    3.004 mm
    """

    diameter: Quantity
    point_angle: Quantity
    length: Quantity | None

    def __init__(
        self, diameter: Size, *, point_angle: Size = 118, length: Size | None = None
    ) -> None:
        wide, angle = sizes.length(diameter), sizes.angle(point_angle)
        long = None if length is None else sizes.length(length)
        if wide.magnitude <= 0 or (long is not None and long.magnitude <= 0):
            raise CutterError("a drill's diameter and length are more than 0.")
        if not 0 < sizes.rad(angle) <= math.pi + 1e-12:
            raise CutterError(
                f"a drill's point angle is between 0° and 180°, not {sizes.show(angle)}. "
                "Most drills have 118° or 140°."
            )
        for label, value in zip(self.__dataclass_fields__, (wide, angle, long), strict=True):
            object.__setattr__(self, label, value)

    @property
    def point_height(self) -> Quantity:
        """Of the point, below the full diameter."""
        return self.diameter / (2 * math.tan(sizes.rad(self.point_angle) / 2))


def _optional(value: Size | None) -> Quantity | None:
    return None if value is None else sizes.length(value)
