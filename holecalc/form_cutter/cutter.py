"""The form cutter itself; the picture and the letters are those of :mod:`holecalc.form_cutter`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import TYPE_CHECKING

from holecalc import sizes
from holecalc.form_cutter import measured, outline
from holecalc.form_cutter.edge import Edge, Setting
from holecalc.form_cutter.outline import Line, Profile
from holecalc.form_cutter.section import (
    NOTHING,
    FormCutterError,
    Section,
    arc_reach,
    at_least_0,
    flank_reach,
    more_than_0,
    read_arc,
    read_flank_angle,
    refuse_unknown,
)
from holecalc.form_cutter.trace import Points, read_trace
from holecalc.sizes import Quantity, Size

if TYPE_CHECKING:
    from holecalc.form_cutter.caliper_fit import CaliperReport
    from holecalc.form_cutter.measured import TraceReport

__all__ = ["RIM_SPEED", "FormCutter"]

_fine = partial(sizes.show, fine=True)

RIM_SPEED = "50 m/s"
"""The fastest that a shank cutter's largest diameter should go (common practice, no source). The
speed marked on the cutter goes before."""


@dataclass(frozen=True, init=False)
class FormCutter:
    """A cutter whose edge is an arc or a straight flank over a stub.

    Parameters
    ----------
    shape : str
        ``"concave"`` (rounds over), ``"convex"`` (cuts a cove) or ``"straight"`` (chamfers).
    begin_diameter : size
        Where the arc or flank begins, nearest the tip; the diameter of the bearing that ran
        there.
    radius : size
        Of the arc.
    begin_angle, end_angle : angle, optional
        Between the edge and the cutter's axis where the arc begins and ends. By default the arc
        is a full quarter: 0° to 90° where it is concave, 90° to 0° where it is convex.
    flank_angle : angle
        Of a straight flank, to the axis: half the included angle.
    arc_height : size
        Of a straight flank, along the axis; or give the largest diameter.
    largest_diameter : size, optional
        By default where the arc ends. Where it is more, a level land lies between.
    stub_diameter, stub_height : size, optional
        Of what carries the bearing: by default as wide as where the arc begins, and 0 high.
    shoulder_height : size, optional
        Of the cylinder above the arc that still cuts.
    shank_diameter : size, optional
        Above the shoulder.
    bearing_diameter : size, optional
        Of the bearing that was taken off.
    name : str, optional
        What the drawer or the tool list calls it.

    Attributes
    ----------
    evidence : CaliperReport, TraceReport or None
        What was measured, where the cutter comes from :meth:`from_calipers` or
        :meth:`from_trace`.

    Raises
    ------
    FormCutterError
        The dimensions do not describe such a cutter.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    >>> print(sizes.show(cutter.largest_diameter), "|", cutter.tangent_setting())
    25.40 mm | offset 6.350 mm from the finished wall, depth 6.350 mm
    """

    shape: str
    begin_diameter: Quantity
    radius: Quantity | None
    begin_angle: Quantity
    end_angle: Quantity
    arc_height: Quantity
    largest_diameter: Quantity
    stub_diameter: Quantity
    stub_height: Quantity
    shoulder_height: Quantity | None
    shank_diameter: Quantity | None
    bearing_diameter: Quantity | None
    name: str
    evidence: CaliperReport | TraceReport | None = field(compare=False)

    def __init__(
        self,
        shape: str,
        *,
        begin_diameter: Size,
        radius: Size | None = None,
        begin_angle: Size | None = None,
        end_angle: Size | None = None,
        flank_angle: Size | None = None,
        arc_height: Size | None = None,
        largest_diameter: Size | None = None,
        stub_diameter: Size | None = None,
        stub_height: Size = 0,
        shoulder_height: Size | None = None,
        shank_diameter: Size | None = None,
        bearing_diameter: Size | None = None,
        name: str = "",
        evidence: CaliperReport | TraceReport | None = None,
    ) -> None:
        refuse_unknown(shape)
        begin = at_least_0("diameter where the arc begins", begin_diameter)
        unit = begin.units
        if shape == "straight":
            if flank_angle is None or {radius, begin_angle, end_angle} != {None}:
                raise FormCutterError(
                    "a straight flank has an angle to the axis, and no radius. Give flank_angle, "
                    "and its arc_height or the largest diameter."
                )
            arc = None
            first = last = read_flank_angle(flank_angle)
            reach, height = flank_reach(begin, sizes.rad(last), arc_height, largest_diameter)
        else:
            arc, first, last = read_arc(
                shape, radius, begin_angle, end_angle, flank_angle, arc_height
            )
            reach, height = arc_reach(shape, sizes.mm(arc), sizes.rad(first), sizes.rad(last))
        ends = begin + sizes.from_mm(2 * reach, unit)
        largest = ends if largest_diameter is None else sizes.length(largest_diameter)
        if sizes.mm(largest) < sizes.mm(ends) - NOTHING:
            raise FormCutterError(
                f"the arc ends {_fine(ends)} across and the largest diameter is "
                f"{_fine(largest)}. Give the angle it ends at, or let from_calipers() find the "
                "best profile from all that was measured."
            )
        stub = begin if stub_diameter is None else at_least_0("stub diameter", stub_diameter)
        if sizes.mm(stub) > sizes.mm(begin) + NOTHING:
            raise FormCutterError(
                f"the stub is {_fine(stub)} across and the arc begins at {_fine(begin)}; a stub "
                "is not wider. Take the bearing off before measuring the stub."
            )
        for field_, value in zip(
            self.__dataclass_fields__,
            (
                shape,
                begin,
                arc,
                first,
                last,
                sizes.from_mm(height, unit),
                largest,
                stub,
                at_least_0("stub height", stub_height, begin),
                None
                if shoulder_height is None
                else at_least_0("shoulder height", shoulder_height, begin),
                None if shank_diameter is None else at_least_0("shank", shank_diameter),
                None if bearing_diameter is None else at_least_0("bearing", bearing_diameter),
                name,
                evidence,
            ),
            strict=True,
        ):
            object.__setattr__(self, field_, value)

    def __repr__(self) -> str:
        parts = [f"{self.shape!r}, begin_diameter={_fine(self.begin_diameter)!r}"]
        if self.radius is not None:
            parts.append(f"radius={_fine(self.radius)!r}")
            full = {"concave": (0.0, 90.0), "convex": (90.0, 0.0)}[self.shape]
            for label, angle, usual in zip(
                ("begin_angle", "end_angle"), (self.begin_angle, self.end_angle), full, strict=True
            ):
                if abs(angle.m_as("deg") - usual) > 0.005:
                    parts.append(f"{label}={sizes.show(angle)!r}")
        else:
            parts.append(f"flank_angle={sizes.show(self.end_angle)!r}")
            parts.append(f"arc_height={_fine(self.arc_height)!r}")
        of = self.section
        if of.largest > of.end[0] + NOTHING:
            parts.append(f"largest_diameter={_fine(self.largest_diameter)!r}")
        if of.stub < of.begin[0] - NOTHING:
            parts.append(f"stub_diameter={_fine(self.stub_diameter)!r}")
        if of.begin[1] > 0:
            parts.append(f"stub_height={_fine(self.stub_height)!r}")
        for label in ("shoulder_height", "shank_diameter", "bearing_diameter"):
            size = getattr(self, label)
            if size is not None:
                parts.append(f"{label}={_fine(size)!r}")
        if self.name:
            parts.append(f"name={self.name!r}")
        return f"FormCutter({', '.join(parts)})"

    def __str__(self) -> str:
        if self.radius is None:
            what = f"straight flank at {sizes.show(self.end_angle)} to the axis"
        else:
            what = f"{self.shape} arc of radius {_fine(self.radius)}"
        return (
            f"{self.name + ': ' if self.name else ''}{what} from {_fine(self.begin_diameter)} to "
            f"{_fine(self.largest_diameter)} across"
        )

    @cached_property
    def section(self) -> Section:
        """The half section on plain floats."""
        half = sizes.mm
        begin = (half(self.begin_diameter) / 2, half(self.stub_height))
        first, last = sizes.rad(self.begin_angle), sizes.rad(self.end_angle)
        radius = None if self.radius is None else float(half(self.radius))
        if radius is None:
            height = half(self.arc_height)
            reach, centre = height * math.tan(last), None
        else:
            reach, height = arc_reach(self.shape, radius, first, last)
            side = 1 if self.shape == "concave" else -1
            centre = (
                begin[0] + side * radius * math.cos(first),
                begin[1] - side * radius * math.sin(first),
            )
        return Section(
            shape=self.shape,
            stub=half(self.stub_diameter) / 2,
            begin=begin,
            end=(begin[0] + reach, begin[1] + height),
            centre=centre,
            radius=radius,
            angle=last,
            largest=half(self.largest_diameter) / 2,
            shoulder=None if self.shoulder_height is None else half(self.shoulder_height),
            shank=None if self.shank_diameter is None else half(self.shank_diameter) / 2,
        )

    def in_unit(self, value: float) -> Quantity:
        """A length [mm] in the unit of the cutter."""
        return sizes.from_mm(value, self.begin_diameter.units)

    @property
    def centre_diameter(self) -> Quantity | None:
        """Twice the distance of the arc's centre from the axis; None for a straight flank."""
        centre = self.section.centre
        return None if centre is None else self.in_unit(2 * centre[0])

    @property
    def centre_height(self) -> Quantity | None:
        """Of the arc's centre above the tip; None for a straight flank."""
        centre = self.section.centre
        return None if centre is None else self.in_unit(centre[1])

    @property
    def arc_end_diameter(self) -> Quantity:
        """Where the arc or flank ends."""
        return self.in_unit(2 * self.section.end[0])

    @property
    def arc_end_height(self) -> Quantity:
        """Where the arc or flank ends, above the tip."""
        return self.in_unit(self.section.end[1])

    @property
    def bearing_off(self) -> bool:
        """Whether something that guided the cutter by hand has been taken off it."""
        of = self.section
        return self.bearing_diameter is not None or of.stub < of.begin[0] - NOTHING

    # --- two ways in ---

    @classmethod
    def from_calipers(
        cls,
        shape: str,
        *,
        stub_diameter: Size | None = None,
        begin_diameter: Size | None = None,
        largest_diameter: Size | None = None,
        arc_height: Size | None = None,
        shoulder_height: Size | None = None,
        marked_radius: Size | None = None,
        marked_angle: Size | None = None,
        stub_height: Size = 0,
        sweep: Size | None = 90,
        uncertainties: Mapping[str, Size] | None = None,
        shank_diameter: Size | None = None,
        bearing_diameter: Size | None = None,
        name: str = "",
    ) -> FormCutter:
        r"""From what calipers read and what is marked on the cutter.

        The arc is taken to be tangent to the stub where it is concave, to the shoulder where it
        is convex, and to sweep a full quarter unless told otherwise; then

        .. math:: D = d + 2R(1 - \cos\varphi), \qquad H = R \sin\varphi

        tie the largest diameter D, the diameter d where the arc begins, the arc's height H, its
        sweep φ and the marked radius R. They are more than is needed; the best profile and what
        each measurement disagrees by are in :attr:`evidence`.

        Parameters
        ----------
        shape : str
            As for the class.
        stub_diameter : size, optional
            Of the bare stub. Where `begin_diameter` is left out, or does not differ by more than
            twice what both may be off, the arc is taken to begin on the stub.
        begin_diameter, largest_diameter, arc_height, shoulder_height : size, optional
            What calipers read.
        marked_radius, marked_angle : size, optional
            What is marked on the cutter: the arc's radius, or a straight flank's angle to the
            axis.
        stub_height : size, optional
            Of the stub; nothing else tells it. 0 by default.
        sweep : angle or None
            Of the arc; None where that is to be found too.
        uncertainties : mapping of str to size, optional
            Standard uncertainties by the names above; by default :data:`UNCERTAINTIES`.
        shank_diameter, bearing_diameter, name
            As for the class.

        Returns
        -------
        FormCutter
            With a :class:`~holecalc.form_cutter.caliper_fit.CaliperReport` as its evidence.

        Raises
        ------
        FormCutterError
            A measurement cannot be one of such a cutter.
        holecalc.form_cutter.caliper_fit.CaliperError
            Too little was measured; names what would do.
        holecalc.sizes.SizeError
            A value cannot be read.

        Notes
        -----
        Calipers alone cannot tell a concave arc from a convex one: their dimensions are the
        same. A trace can.

        Examples
        --------
        >>> cutter = FormCutter.from_calipers(
        ...     "concave", stub_diameter="12.69 mm", begin_diameter="12.72 mm",
        ...     largest_diameter="26.10 mm", arc_height="6.30 mm", marked_radius="6.35 mm",
        ... )
        >>> cutter.evidence.measure_again
        ('largest_diameter',)
        >>> print(sizes.show(cutter.evidence["largest_diameter"].others_say))
        25.35 mm
        """
        refuse_unknown(shape)
        given = {
            "stub_diameter": stub_diameter,
            "begin_diameter": begin_diameter,
            "largest_diameter": largest_diameter,
            "arc_height": arc_height,
            "shoulder_height": shoulder_height,
            "marked_radius": marked_radius,
            "marked_angle": marked_angle,
        }
        return cls(
            shape,
            **measured.from_calipers(
                shape,
                {name: value for name, value in given.items() if value is not None},
                sweep=sweep,
                uncertainties=uncertainties,
            ),
            stub_height=stub_height,
            shank_diameter=shank_diameter,
            bearing_diameter=bearing_diameter,
            name=name,
        )

    @classmethod
    def from_trace(
        cls,
        points: Points,
        *,
        uncertainty: Size,
        height_uncertainty: Size | None = None,
        shape: str | None = None,
        radius: Size | None = None,
        tangent_diameter: Size | None = None,
        tangent_height: Size | None = None,
        held_uncertainty: Size | None = None,
        stub_diameter: Size | None = None,
        largest_diameter: Size | None = None,
        shoulder_height: Size | None = None,
        shank_diameter: Size | None = None,
        bearing_diameter: Size | None = None,
        unit: str | None = None,
        name: str = "",
    ) -> FormCutter:
        """From traced heights and diameters.

        Rows on the stub and on the shoulder are told apart from those on the arc, and an arc (or
        a flank) is fitted to the latter. What lies on neither is named.

        Parameters
        ----------
        points : Trace, str, pathlib.Path, or pairs of sizes
            Heights above the tip and diameters, as :func:`holecalc.form_cutter.read_trace` takes
            them.
        uncertainty, height_uncertainty, radius, tangent_diameter, tangent_height, held_uncertainty
            As for :func:`holecalc.form_cutter.fit_arc`.
        shape : str, optional
            What it should be; by default what the points show.
        stub_diameter, largest_diameter, shoulder_height : size, optional
            As calipers read them, where the trace does not show them well.
        shank_diameter, bearing_diameter, name
            As for the class.
        unit : str, optional
            Of bare numbers in `points`.

        Returns
        -------
        FormCutter
            With a :class:`TraceReport` as its evidence.

        Raises
        ------
        FormCutterError
            The points show another shape, or diameters that fall with height; names the row.
        holecalc.form_cutter.ArcFitError
            A row cannot be read, or the points make no arc.
        holecalc.sizes.SizeError
            Another value cannot be read.

        Examples
        --------
        >>> cutter = FormCutter.from_trace(
        ...     '''height [mm]  diameter [mm]
        ...     1  12.71
        ...     3  12.69
        ...     5  12.70
        ...     6  12.86
        ...     7  13.35
        ...     8  14.22
        ...     9  15.53
        ...     10 17.58
        ...     11 21.25
        ...     12 25.40
        ...     13 25.39''',
        ...     uncertainty="0.01 mm",
        ... )
        >>> print(cutter)
        concave arc of radius 6.355 mm from 12.701 mm to 25.395 mm across
        """
        if shape is not None:
            refuse_unknown(shape)
        return cls(
            **measured.from_trace(
                read_trace(points, unit),
                shape,
                fit={
                    "uncertainty": uncertainty,
                    "height_uncertainty": height_uncertainty,
                    "radius": radius,
                    "tangent_diameter": tangent_diameter,
                    "tangent_height": tangent_height,
                    "held_uncertainty": held_uncertainty,
                },
                stub=stub_diameter,
                largest=largest_diameter,
                shoulder_height=shoulder_height,
            ),
            shank_diameter=shank_diameter,
            bearing_diameter=bearing_diameter,
            name=name,
        )

    # --- what it is and does ---

    def profile(self) -> Profile:
        """The half section as lines and arcs, from the tip on the axis to the shank and back.

        Returns
        -------
        holecalc.form_cutter.Profile
            Checked to be closed and in order. Coordinates are radius and height above the tip
            [mm].

        Examples
        --------
        >>> print(FormCutter(
        ...     "concave", begin_diameter="12.7 mm", radius="6.35 mm", stub_diameter="4.8 mm",
        ...     stub_height="5 mm", shoulder_height="1 mm", shank_diameter="8 mm",
        ... ).profile())
        tip       (0.000, 0.000) to (2.400, 0.000)
        stub      (2.400, 0.000) to (2.400, 5.000)
        ledge     (2.400, 5.000) to (6.350, 5.000)
        arc       (6.350, 5.000) to (12.700, 11.350), radius 6.350 about (12.700, 5.000)
        shoulder  (12.700, 11.350) to (12.700, 12.350)
        back      (12.700, 12.350) to (4.000, 12.350)
        shank     (4.000, 12.350) to (0.000, 12.350)
        axis      (0.000, 12.350) to (0.000, 0.000)
        (radius, height) in mm
        """
        of = self.section
        parts = [*of.flutes(of.shoulder or 0.0)]
        top = parts[-1].end
        if of.shank is not None:
            parts.append(Line(top, (of.shank, top[1]), "back"))
        parts.append(Line(parts[-1].end, (0.0, top[1]), "back" if of.shank is None else "shank"))
        parts.append(Line((0.0, top[1]), (0.0, 0.0), "axis"))
        kept = tuple(part for part in parts if part.length > outline.CLOSE)
        return Profile(kept, f"{self.begin_diameter.units:~P}", self.name)

    def tangent_setting(self) -> Setting:
        """Where the arc begins on the finished wall and ends in the face.

        A full quarter is then tangent to both. Where the arc is less, it meets them at an angle
        and leaves no step; :meth:`edge` tells the angle. A cove meets both square, and a chamfer
        is as large as the flank makes it.

        Returns
        -------
        Setting

        Examples
        --------
        >>> cutter = FormCutter(
        ...     "concave", begin_diameter="1/2 in", radius="1/4 in", stub_height="0.2 in"
        ... )
        >>> print(cutter.tangent_setting())
        offset 0.2500 in from the finished wall, depth 0.4500 in
        """
        of = self.section
        return Setting(self.in_unit(of.begin[0]), self.in_unit(of.end[1]))

    def chamfer_setting(self, leg_on_face: Size) -> Setting:
        """Where a straight flank leaves a chamfer of a size, cut by the middle of the flank.

        ::

               leg on face c          the flank that cuts is c wide of W = (largest - begin)/2;
                .---- face            what is over is shared between its two ends, so that
              .'                      offset = begin/2 + (W - c)/2
            .' A to the axis          depth  = stub height + (W + c)/2 / tan A
            |

        Parameters
        ----------
        leg_on_face : size
            The chamfer's width on the face.

        Returns
        -------
        Setting

        Raises
        ------
        FormCutterError
            The flank is not straight, or not that wide.
        holecalc.sizes.SizeError
            The leg cannot be read.

        Examples
        --------
        >>> cutter = FormCutter(
        ...     "straight", begin_diameter="6 mm", flank_angle=45, largest_diameter="26 mm"
        ... )
        >>> print(cutter.chamfer_setting("2 mm"))
        offset 7.000 mm from the finished wall, depth 6.000 mm
        """
        if self.shape != "straight":
            raise FormCutterError(
                f"a {self.shape} cutter cuts no chamfer. Its setting is tangent_setting()."
            )
        of, leg = self.section, sizes.mm(sizes.length(leg_on_face))
        wide = of.end[0] - of.begin[0]
        if not 0 < leg <= wide + NOTHING:
            raise FormCutterError(
                f"a chamfer {_fine(sizes.length(leg_on_face))} wide cannot be cut by a flank "
                f"{_fine(self.in_unit(wide))} wide. Ask for more than 0 and at most that."
            )
        return Setting(
            self.in_unit(of.begin[0] + (wide - leg) / 2),
            self.in_unit(of.begin[1] + (wide + leg) / 2 / math.tan(of.angle)),
        )

    def spindle_limit(self, rim_speed: Size = RIM_SPEED) -> Quantity:
        """The fastest the spindle should turn: what the largest diameter makes of a rim speed.

        Parameters
        ----------
        rim_speed : surface speed, optional
            By default :data:`RIM_SPEED`.

        Returns
        -------
        pint.Quantity
            In revolutions a minute. The speed marked on the cutter goes before.

        Raises
        ------
        holecalc.sizes.SizeError
            It is not a surface speed.

        Examples
        --------
        >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
        >>> sizes.show_rate(cutter.spindle_limit())
        '37596 rev/min'
        """
        speed = sizes.surface_speed(rim_speed)
        # In millimetres a minute by hand: pint would count a turn as 2π.
        per_minute = speed.m_as("mm/min") / (math.pi * sizes.mm(self.largest_diameter))
        return sizes.ureg.Quantity(per_minute, "rpm")

    def edge(
        self,
        plate_thickness: Size,
        *,
        offset: Size | None = None,
        depth: Size | None = None,
        allowance: Size = 0,
    ) -> Edge:
        """The edge that the cutter leaves.

        Parameters
        ----------
        plate_thickness : size
            Of the plate.
        offset : size, optional
            From the finished wall out to the cutter's axis; by default that of
            :meth:`tangent_setting`.
        depth : size, optional
            From the face down to the cutter's tip; by default likewise.
        allowance : size, optional
            Stock still left on the wall for a finishing pass. The offset is from the finished
            wall all the same.

        Returns
        -------
        Edge

        Raises
        ------
        FormCutterError
            The cutter does not touch the plate there, or a size is not possible.
        holecalc.sizes.SizeError
            A value cannot be read.

        Notes
        -----
        The plate is rigid and the edge straight, or curved no tighter than the cutter's radius
        inside. A cutter that runs out of true, or whose edges differ, cuts its largest outline,
        which is what turning it under an indicator shows and what calipers across two edges do
        not.

        Examples
        --------
        >>> cutter = FormCutter(
        ...     "concave", begin_diameter="12.7 mm", radius="6.35 mm", stub_diameter="4.8 mm",
        ...     stub_height="5 mm", shoulder_height="1 mm",
        ... )
        >>> print(cutter.edge("19 mm", allowance="0.38 mm"))
        rounding of radius 6.350 mm, tangent to the face, tangent to the wall
        6.350 mm wide on the face, 6.350 mm high on the wall, 12.650 mm of wall left below it
        the stub clears the 0.380 mm of stock on the wall by 3.570 mm
        >>> print(cutter.edge("19 mm", depth="11.45 mm").face_told)
        a step of 0.100 mm down from the face
        """
        usual = self.tangent_setting()
        return Edge(
            cutter=self,
            plate_thickness=more_than_0("plate", plate_thickness),
            offset=usual.offset
            if offset is None
            else at_least_0("offset", offset, self.begin_diameter),
            depth=usual.depth if depth is None else more_than_0("depth", depth),
            allowance=at_least_0("stock on the wall", allowance, self.begin_diameter),
        )
