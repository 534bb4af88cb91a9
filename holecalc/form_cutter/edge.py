"""The edge that a form cutter leaves on a plate, and what to do about it.

The picture and the letters are those of :mod:`holecalc.form_cutter`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

import numpy as np

from holecalc import sizes, tolerance
from holecalc.form_cutter import outline
from holecalc.form_cutter.outline import Line, Segment
from holecalc.form_cutter.section import (
    NOTHING,
    QUARTER,
    FormCutterError,
    Section,
    at_least_0,
    more_than_0,
)
from holecalc.gauging import Correction
from holecalc.sizes import Quantity, Size

if TYPE_CHECKING:
    from holecalc.form_cutter.cutter import FormCutter

__all__ = ["BothFaces", "Edge", "Effect", "Pass", "Setting", "both_faces"]

_fine = partial(sizes.show, fine=True)

_TANGENT = math.radians(0.5)
"""Less than this is not seen on an edge."""


@dataclass(frozen=True)
class Setting:
    """Where a form cutter runs.

    Parameters
    ----------
    offset : pint.Quantity
        From the finished wall out to the cutter's axis.
    depth : pint.Quantity
        From the face down to the cutter's tip.
    """

    offset: Quantity
    depth: Quantity

    @property
    def compensation_diameter(self) -> Quantity:
        """What to enter as the cutter's diameter where the control offsets the path itself.

        Twice the offset: the path then runs along the finished outline of the plate.
        """
        return 2 * self.offset

    def __str__(self) -> str:
        return f"offset {_fine(self.offset)} from the finished wall, depth {_fine(self.depth)}"


@dataclass(frozen=True)
class Effect:
    """What one error of the setting leaves.

    Parameters
    ----------
    error : str
        ``"deeper"``, ``"shallower"``, ``"closer"`` or ``"further"``.
    by : pint.Quantity
        How much.
    edge : Edge or None
        The edge it leaves; None where the cutter does not touch the plate any more.
    told : str
        What is seen on it.
    """

    error: str
    by: Quantity
    edge: Edge | None
    told: str

    def __str__(self) -> str:
        return f"{_fine(self.by)} {self.error}: {self.told}"


@dataclass(frozen=True)
class Pass:
    """One pass of several.

    Parameters
    ----------
    number : int
        Which, from 1.
    kind : str
        ``"roughing"`` or ``"finishing"``.
    setting : Setting
        Where the cutter runs.
    area : pint.Quantity
        Of the chip's cross-section.
    thickest : pint.Quantity
        Where the chip is thickest, square to the edge.
    """

    number: int
    kind: str
    setting: Setting
    area: Quantity
    thickest: Quantity

    def __str__(self) -> str:
        return (
            f"{self.number} {self.kind}: offset {_fine(self.setting.offset)}, depth "
            f"{_fine(self.setting.depth)}, takes {self.area.magnitude:.2f} {self.area.units:~P}, "
            f"{_fine(self.thickest)} at most"
        )


@dataclass(frozen=True)
class Edge:
    """The edge of a plate as a form cutter leaves it; from :meth:`FormCutter.edge`.

    Parameters
    ----------
    cutter : FormCutter
        The cutter.
    plate_thickness, offset, depth, allowance : pint.Quantity
        As for :meth:`FormCutter.edge`.
    """

    cutter: FormCutter
    plate_thickness: Quantity
    offset: Quantity
    depth: Quantity
    allowance: Quantity

    def __post_init__(self) -> None:
        of, (offset, depth) = self.cutter.section, self._setting
        out = self.cutter.in_unit
        if depth <= of.begin[1] + NOTHING:
            raise FormCutterError(
                f"at depth {_fine(self.depth)} the arc begins "
                f"{_fine(out(of.begin[1] - depth))} above the face, and nothing is cut. Go deeper "
                f"than {_fine(out(of.begin[1]))}."
            )
        if offset >= of.end[0] - NOTHING:
            raise FormCutterError(
                f"at offset {_fine(self.offset)} the arc, which ends "
                f"{_fine(out(of.end[0]))} from the axis, does not reach the wall. Come closer "
                f"than that."
            )
        if offset < sizes.mm(self.allowance) - NOTHING:
            raise FormCutterError(
                f"at offset {_fine(self.offset)} the axis runs inside the {_fine(self.allowance)} "
                "of stock on the wall, which makes a slot of it. Take the stock off first."
            )
        # The plate's corner has to lie inside the cutter.
        low, high = self._meetings
        if high[0] <= NOTHING or low[1] >= -NOTHING:
            raise FormCutterError(
                f"at offset {_fine(self.offset)} and depth {_fine(self.depth)} the cutter passes "
                "the plate's corner without touching it. Come closer or go deeper."
            )

    # --- geometry on floats [mm] ---

    @property
    def _setting(self) -> tuple[float, float]:
        return sizes.mm(self.offset), sizes.mm(self.depth)

    @cached_property
    def _flank(self) -> Segment:
        offset, depth = self._setting
        return self.cutter.section.flank.moved(-offset, -depth)

    @cached_property
    def _meetings(self) -> tuple[outline.Point, outline.Point]:
        """Where the flank's cut begins by the finished wall, and where it ends by the face."""
        flank = self._flank
        low = flank.start if flank.start[0] >= 0 else flank.crossing(0, 0.0)
        high = flank.end if flank.end[1] <= 0 else flank.crossing(1, 0.0)
        return low, high

    @cached_property
    def _leaves_wall(self) -> float:
        """Height at which the cut leaves the finished wall, going up."""
        of, (offset, depth) = self.cutter.section, self._setting
        return -depth if of.begin[1] > 0 and of.stub > offset + NOTHING else self._meetings[0][1]

    def _angle_at(self, point: outline.Point) -> float:
        offset, depth = self._setting
        return self.cutter.section.tangent_angle((point[0] + offset, point[1] + depth))

    def _out(self, value: float) -> Quantity:
        return self.cutter.in_unit(value)

    def outline(self, *, finished: bool = True) -> tuple[Segment, ...]:
        """The edge as lines and arcs, from the bottom of the wall up to the face.

        Parameters
        ----------
        finished : bool, default True
            Whether the wall is the finished one, or still has its stock on.

        Returns
        -------
        tuple of holecalc.form_cutter.Line and Arc
            Coordinates are into the plate from the finished wall and above the face [mm].
        """
        offset, depth = self._setting
        return outline.edge_left(
            self.cutter.section.silhouette(offset, depth),
            wall=0.0 if finished else -sizes.mm(self.allowance),
            thickness=sizes.mm(self.plate_thickness),
        )

    # --- what it is ---

    @property
    def radius(self) -> Quantity | None:
        """Of the rounding or cove; None for a chamfer."""
        return self.cutter.radius

    @property
    def step_on_face(self) -> Quantity:
        """How far below the face the arc ends; 0 where it reaches it."""
        return self._out(_positive(-self._flank.end[1]))

    @property
    def step_on_wall(self) -> Quantity:
        """How far inside the finished wall the arc begins; 0 where it begins outside."""
        return self._out(_positive(self._flank.start[0]))

    @property
    def face_angle(self) -> Quantity:
        """Between the cut and the face, where the arc meets the face or ends; 0 is tangent."""
        return sizes.from_rad(QUARTER - self._angle_at(self._meetings[1]))

    @property
    def wall_angle(self) -> Quantity:
        """Between the cut and the wall, where the arc meets the wall or begins; 0 is tangent."""
        return sizes.from_rad(self._angle_at(self._meetings[0]))

    @property
    def leg_on_face(self) -> Quantity:
        """From the finished wall to where the cut by the arc ends."""
        return self._out(self._meetings[1][0])

    @property
    def leg_on_wall(self) -> Quantity:
        """From the face down to where the cut by the arc begins."""
        return self._out(-self._meetings[0][1])

    @property
    def wall_left(self) -> Quantity:
        """How much of the finished wall is left below the cut."""
        return self._out(max(0.0, sizes.mm(self.plate_thickness) + self._leaves_wall))

    @property
    def stub_clearance(self) -> Quantity | None:
        """Between the stub and the wall, with its stock on; negative where it runs into it.

        None where no stub is beside the plate.
        """
        of, (offset, depth) = self.cutter.section, self._setting
        if of.begin[1] <= 0 or depth - of.begin[1] >= sizes.mm(self.plate_thickness):
            return None
        return self._out(offset - sizes.mm(self.allowance) - of.stub)

    @property
    def tip_below_plate(self) -> Quantity:
        """How far the tip reaches below the plate; negative where it stays above its far face."""
        return self._out(sizes.mm(self.depth) - sizes.mm(self.plate_thickness))

    @property
    def buried(self) -> Quantity | None:
        """How far the top of the shoulder is below the face; None where that is not known.

        Negative where it stands above, as it should.
        """
        shoulder = self.cutter.section.shoulder
        if shoulder is None:
            return None
        return self._out(self._setting[1] - self.cutter.section.end[1] - shoulder)

    @property
    def face_told(self) -> str:
        """What the cut looks like at the face."""
        step, angle = sizes.mm(self.step_on_face), sizes.rad(self.face_angle)
        if step > 0:
            where = "above the cove" if self.cutter.shape == "convex" else "down from the face"
            what = "a straight part" if self.cutter.shape == "convex" else "a step"
            return f"{what} of {_fine(self.step_on_face)} {where}"
        return self._met(angle, "face")

    @property
    def wall_told(self) -> str:
        """What the cut looks like at the wall."""
        step, angle = sizes.mm(self.step_on_wall), sizes.rad(self.wall_angle)
        if step > 0:
            return f"a step of {_fine(self.step_on_wall)} in from the wall"
        return self._met(angle, "wall")

    def _met(self, angle: float, what: str) -> str:
        shape, told = self.cutter.shape, sizes.show(sizes.from_rad(angle), places=1)
        if shape == "convex":
            return (
                f"square to the {what}"
                if angle > QUARTER - _TANGENT
                else (f"stops short, at {told} to the {what}")
            )
        if shape == "straight":
            return f"at {told} to the {what}"
        return (
            f"tangent to the {what}"
            if angle < _TANGENT
            else (f"stops {told} short of tangent to the {what}")
        )

    @property
    def stub_told(self) -> str | None:
        """How the stub passes the wall; None where it does not pass it."""
        clearance = self.stub_clearance
        if clearance is None:
            return None
        stock = (
            f"the {_fine(self.allowance)} of stock on the wall"
            if self.allowance.magnitude
            else "the wall"
        )
        gap = sizes.mm(clearance)
        if abs(gap) < NOTHING:
            return f"the stub just touches {stock}"
        if gap > 0:
            return f"the stub clears {stock} by {_fine(clearance)}"
        return f"the stub runs {_fine(-clearance)} into {stock}"

    def __str__(self) -> str:
        what = {"concave": "rounding", "convex": "cove", "straight": "chamfer"}[self.cutter.shape]
        of = "" if self.radius is None else f" of radius {_fine(self.radius)}"
        lines = [
            f"{what}{of}, {self.face_told}, {self.wall_told}",
            f"{_fine(self.leg_on_face)} wide on the face, {_fine(self.leg_on_wall)} high on the "
            f"wall, {_fine(self.wall_left)} of wall left below it",
        ]
        if self.stub_told is not None:
            lines.append(self.stub_told)
        return "\n".join(lines)

    # --- what to do about it ---

    def errors(self, by: Size | None = None) -> tuple[Effect, ...]:
        """What an error of the depth or of the offset leaves.

        Parameters
        ----------
        by : size, optional
            The error; 0.1 mm by default, or 0.005 in where the cutter is in inches.

        Returns
        -------
        tuple of Effect
            For deeper, shallower, closer and further.

        Raises
        ------
        holecalc.sizes.SizeError
            It cannot be read.

        Examples
        --------
        >>> from holecalc.form_cutter import FormCutter
        >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
        >>> for effect in cutter.edge("19 mm").errors():
        ...     print(effect)
        0.100 mm deeper: a step of 0.100 mm down from the face
        0.100 mm shallower: stops 10.2° short of tangent to the face, 5.227 mm wide instead of 6.350 mm
        0.100 mm closer: a step of 0.100 mm in from the wall
        0.100 mm further: stops 10.2° short of tangent to the wall, 5.227 mm high instead of 6.350 mm
        """  # noqa: E501
        if by is None:
            by = "0.005 in" if self.cutter.begin_diameter.units == sizes.ureg.inch else "0.1 mm"
        step = more_than_0("error", by)
        moves = (
            ("deeper", 0 * step, step),
            ("shallower", 0 * step, -step),
            ("closer", -step, 0 * step),
            ("further", step, 0 * step),
        )
        return tuple(self._effect(error, step, *move) for error, *move in moves)

    def _effect(self, error: str, by: Quantity, aside: Quantity, down: Quantity) -> Effect:
        try:
            moved = self.cutter.edge(
                self.plate_thickness,
                offset=self.offset + aside,
                depth=self.depth + down,
                allowance=self.allowance,
            )
        except FormCutterError as reason:
            return Effect(error, by, None, str(reason))
        at_face = error in ("deeper", "shallower")
        told = moved.face_told if at_face else moved.wall_told
        new, old = (
            (moved.leg_on_face, self.leg_on_face)
            if at_face
            else (moved.leg_on_wall, self.leg_on_wall)
        )
        if not (moved.step_on_face if at_face else moved.step_on_wall).magnitude:
            told += f", {_fine(new)} {'wide' if at_face else 'high'} instead of {_fine(old)}"
        return Effect(error, by, moved, told)

    def passes(self, *, roughing: int = 2, finishing: Size | None = None) -> tuple[Pass, ...]:
        r"""Settings that approach this one so that the chips are even.

        The cutter comes in along the normal of the arc's middle, in both depth and offset: then
        no part of the arc rubs along what it has cut already. Backed off by s along the angle β
        between that normal and the wall's, offset and depth are

        .. math:: o + s \cos\beta, \qquad z - s \sin\beta

        The roughing passes stop at distances at which each takes the same cross-section; the
        finishing pass takes the skin that is left. On a quarter its thickness square to the edge
        is `finishing` in the middle and 0.71 of it at the ends.

        Parameters
        ----------
        roughing : int, default 2
            How many passes before the last.
        finishing : size, optional
            The skin that the last pass takes, square to the middle of the arc; 0.3 mm by
            default, or 0.012 in where the cutter is in inches (common practice, no source).

        Returns
        -------
        tuple of Pass

        Raises
        ------
        FormCutterError
            The skin is more than there is to cut, or the number of passes is negative.
        holecalc.sizes.SizeError
            The skin cannot be read.

        Examples
        --------
        >>> from holecalc.form_cutter import FormCutter
        >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
        >>> for one in cutter.edge("19 mm").passes():
        ...     print(one)
        1 roughing: offset 7.007 mm, depth 5.693 mm, takes 3.23 mm², 1.701 mm at most
        2 roughing: offset 6.562 mm, depth 6.138 mm, takes 3.23 mm², 0.629 mm at most
        3 finishing: offset 6.350 mm, depth 6.350 mm, takes 2.19 mm², 0.300 mm at most
        """
        if finishing is None:
            inches = self.cutter.begin_diameter.units == sizes.ureg.inch
            finishing = "0.012 in" if inches else "0.3 mm"
        skin = more_than_0("finishing skin", finishing)
        if not isinstance(roughing, int) or roughing < 0:
            raise FormCutterError(f"{roughing!r} roughing passes; give 0 or a whole number.")
        return _passes(self, roughing, sizes.mm(skin))

    def correct(
        self,
        *,
        step_on_face: Size | None = None,
        leg_on_face: Size | None = None,
        step_on_wall: Size | None = None,
        leg_on_wall: Size | None = None,
        plus_minus: Any = None,
    ) -> tuple[Correction, ...]:
        """From what was measured on the first part to what to change for the next.

        What the face shows is put right by the depth, what the wall shows by the offset. Give
        one measurement of either or of both; a rounding that stops short shows no step, and then
        its width or height tells more than a step would: near tangency 0.1 mm of error moves it
        by ten times as much.

        Parameters
        ----------
        step_on_face, step_on_wall : size, optional
            The step that was found, as in :attr:`step_on_face` and :attr:`step_on_wall`.
        leg_on_face, leg_on_wall : size, optional
            The width and height that were found, as in :attr:`leg_on_face`,
            :attr:`leg_on_wall`.
        plus_minus : tolerance, optional
            The measuring uncertainty: a difference within it is no reason to change anything.

        Returns
        -------
        tuple of holecalc.gauging.Correction

        Raises
        ------
        FormCutterError
            A step and a leg of the same side were both given, or a leg that the cutter cannot
            cut.
        TypeError
            Nothing was measured.
        holecalc.sizes.SizeError
            A value cannot be read.

        Examples
        --------
        >>> from holecalc.form_cutter import FormCutter
        >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
        >>> for change in cutter.edge("19 mm").correct(leg_on_face="5.5 mm"):
        ...     print(change)
        depth: from 6.350 mm to 6.407 mm. The rounding came out 5.500 mm wide instead of \
6.350 mm, which is 0.057 mm too shallow.
        """
        if step_on_face is not None and leg_on_face is not None:
            raise FormCutterError(_BOTH.format("face"))
        if step_on_wall is not None and leg_on_wall is not None:
            raise FormCutterError(_BOTH.format("wall"))
        doubt = 0.0
        if plus_minus is not None:
            either_way = tolerance.plus_minus(plus_minus, self.offset)
            doubt = min(sizes.mm(-either_way.below), sizes.mm(either_way.above))
        found = []
        for side, step, leg in (
            ("face", step_on_face, leg_on_face),
            ("wall", step_on_wall, leg_on_wall),
        ):
            if step is not None:
                size = at_least_0(f"step on the {side}", step, self.cutter.begin_diameter)
                found.append(_corrected_by_step(self, side, sizes.mm(size), doubt))
            elif leg is not None:
                size = more_than_0(f"leg on the {side}", leg)
                found.append(_corrected_by_leg(self, side, sizes.mm(size), doubt))
        if not found:
            raise TypeError(
                "nothing was measured. Give step_on_face or leg_on_face, step_on_wall or "
                "leg_on_wall."
            )
        return tuple(found)


_BOTH = (
    "a step and a leg on the {} were both given, and each tells the other. Give the step if "
    "there is one, else the leg."
)


@dataclass(frozen=True)
class BothFaces:
    """A plate's edge that is worked from both faces; from :func:`both_faces`.

    Parameters
    ----------
    top, bottom : Edge
        The two cuts, each seen from its own face.
    flat : pint.Quantity
        Of the wall left between them; 0 where there is none.
    cusp_setback : pint.Quantity
        How far inside the finished wall the ridge stands in which the cuts meet; 0 where a flat
        is left.
    cusp_angle : pint.Quantity or None
        Between the two cuts at the ridge; None where a flat is left.
    ridge_depth : pint.Quantity or None
        The ridge's depth below the top face.
    """

    top: Edge
    bottom: Edge
    flat: Quantity
    cusp_setback: Quantity
    cusp_angle: Quantity | None
    ridge_depth: Quantity | None

    def outline(self) -> tuple[Segment, ...]:
        """The finished edge as lines and arcs, from the bottom face up to the top face [mm]."""
        thickness = sizes.mm(self.top.plate_thickness)
        middle = (
            -sizes.mm(self.ridge_depth)
            if self.ridge_depth is not None
            else (self.top._leaves_wall - thickness - self.bottom._leaves_wall) / 2
        )
        below = [part.turned_over(thickness) for part in reversed(self.bottom.outline())]
        kept = [outline.within(part, 1, -math.inf, middle) for part in below]
        kept += [outline.within(part, 1, middle, math.inf) for part in self.top.outline()]
        return tuple(part for part in kept if part is not None)

    def __str__(self) -> str:
        if self.cusp_angle is None:
            return f"a flat of {_fine(self.flat)} is left between the two"
        return (
            f"the two meet in a cusp of {sizes.show(self.cusp_angle, places=1)}, "
            f"{_fine(self.cusp_setback)} inside the wall and {_fine(self.ridge_depth)} below the "
            "face: no flat is left"
        )


def both_faces(top: Edge, bottom: Edge | None = None) -> BothFaces:
    """Work the edge from both faces.

    Parameters
    ----------
    top : Edge
        The cut from one face.
    bottom : Edge, optional
        The cut from the other, with the same cutter or another; by default the same.

    Returns
    -------
    BothFaces

    Raises
    ------
    FormCutterError
        They are in plates of different thickness.

    Examples
    --------
    >>> from holecalc.form_cutter import FormCutter
    >>> quarter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    >>> print(both_faces(quarter.edge("19 mm")))
    a flat of 6.300 mm is left between the two
    >>> print(both_faces(quarter.edge("12 mm")))
    the two meet in a cusp of 173.7°, 0.010 mm inside the wall and 6.000 mm below the face: \
no flat is left
    """
    bottom = top if bottom is None else bottom
    thickness = sizes.mm(top.plate_thickness)
    if abs(thickness - sizes.mm(bottom.plate_thickness)) > NOTHING:
        raise FormCutterError(
            f"one face's plate is {_fine(top.plate_thickness)} thick and the other's "
            f"{_fine(bottom.plate_thickness)}. Give both the same plate."
        )
    flat = thickness + top._leaves_wall + bottom._leaves_wall
    if flat > -NOTHING:
        return BothFaces(top, bottom, top._out(max(flat, 0.0)), top._out(0.0), None, None)
    height = _ridge(top, bottom, thickness)
    setback = max(_set_back(top, height), 0.0)
    # From the ridge one cut goes up and the other down, each leaning into the plate.
    leans = sum(
        edge._angle_at((setback, up)) for edge, up in ((top, height), (bottom, -thickness - height))
    )
    return BothFaces(
        top,
        bottom,
        top._out(0.0),
        top._out(setback),
        sizes.from_rad(math.pi - leans),
        top._out(-height),
    )


def _set_back(edge: Edge, up: float) -> float:
    """How far inside the finished wall an edge's cut is at a height [mm]."""
    offset, depth = edge._setting
    of, height = edge.cutter.section, up + depth
    if height <= 0:
        return 0.0
    if height < of.begin[1]:
        return max(0.0, of.stub - offset)
    if height >= of.end[1]:
        return max(0.0, of.largest - offset)
    return max(0.0, edge._flank.crossing(1, up)[0])


def _ridge(top: Edge, bottom: Edge, thickness: float) -> float:
    """The height at which two cuts are as far inside the wall as each other.

    One only deepens upwards and the other only downwards, so halving finds it even where one of
    them jumps at a step.
    """
    low, high = -thickness, 0.0
    for _ in range(60):
        middle = (low + high) / 2
        if _set_back(top, middle) < _set_back(bottom, -thickness - middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _passes(edge: Edge, roughing: int, skin: float) -> tuple[Pass, ...]:
    from scipy.optimize import brentq

    of, (offset, depth) = edge.cutter.section, edge._setting
    lean = (of.tangent_angle(of.begin) + of.tangent_angle(of.end)) / 2
    wall, thickness = -sizes.mm(edge.allowance), sizes.mm(edge.plate_thickness)
    corner: tuple[Segment, ...] = (Line((wall, -thickness), (wall, 0.0), "wall"),)

    def setting(back: float) -> tuple[float, float]:
        return offset + back * math.cos(lean), depth - back * math.sin(lean)

    def left(back: float) -> tuple[Segment, ...]:
        return outline.edge_left(of.silhouette(*setting(back)), wall=wall, thickness=thickness)

    def taken(back: float) -> float:
        return outline.area_beside(left(back), wall)

    whole = taken(0.0)
    before_skin = taken(skin) if roughing else 0.0
    if roughing and before_skin <= 0:
        raise FormCutterError(
            f"a finishing skin of {_fine(edge._out(skin))} is all there is to cut. Give a thinner "
            "skin, or no roughing passes."
        )
    clear = skin
    while roughing and taken(clear) > 0:
        clear *= 2
    backs = [
        brentq(lambda s: taken(s) - before_skin * k / roughing, skin, clear, xtol=1e-10)  # noqa: B023
        for k in range(1, roughing)
    ]
    backs += [skin, 0.0] if roughing else [0.0]
    passes, old, area_before = [], corner, 0.0
    for number, back in enumerate(backs, start=1):
        new = left(back)
        area = whole if back == 0 else taken(back)
        at_offset, at_depth = setting(back)
        passes.append(
            Pass(
                number,
                "finishing" if number == len(backs) else "roughing",
                Setting(edge._out(at_offset), edge._out(at_depth)),
                sizes.ureg.Quantity(area - area_before, "mm**2").to(
                    edge.cutter.begin_diameter.units**2
                ),
                edge._out(_thickest(of, (at_offset, at_depth), old, wall, thickness)),
            )
        )
        old, area_before = new, area
    return tuple(passes)


def _thickest(
    of: Section,
    setting: tuple[float, float],
    old: Sequence[Segment],
    wall: float,
    thickness: float,
) -> float:
    """Where the chip between an old edge and the cutter's flank is thickest, square to the flank.

    Looked for at points along the flank, each along its normal out of the plate.
    """
    top = old[-1].end
    face = Line(top, (top[0] + 1000.0, 0.0), "face")
    flank = of.flank.moved(-setting[0], -setting[1])
    most = 0.0
    for part in np.linspace(0.0, 1.0, 181):
        point = _along(flank, float(part))
        if point[0] < wall or not -thickness <= point[1] <= 0:
            continue
        lean = of.tangent_angle((point[0] + setting[0], point[1] + setting[1]))
        out = (-math.cos(lean), math.sin(lean))
        gap = outline.nearest([*old, face], point, out)
        most = max(most, gap if math.isfinite(gap) else 0.0)
    return most


def _along(flank: Segment, part: float) -> outline.Point:
    if isinstance(flank, Line):
        (x1, y1), (x2, y2) = flank.start, flank.end
        return x1 + part * (x2 - x1), y1 + part * (y2 - y1)
    x, y = flank.start[0] - flank.centre[0], flank.start[1] - flank.centre[1]
    turn = part * flank.sweep
    return (
        flank.centre[0] + x * math.cos(turn) - y * math.sin(turn),
        flank.centre[1] + x * math.sin(turn) + y * math.cos(turn),
    )


def _corrected_by_step(edge: Edge, side: str, step: float, doubt: float) -> Correction:
    at_face = side == "face"
    change, old = ("depth", edge.depth) if at_face else ("offset", edge.offset)
    planned = sizes.mm(edge.step_on_face if at_face else edge.step_on_wall)
    off = step - planned
    label = f"step on the {side}"
    if abs(off) <= doubt:
        return _as_planned(change, old, label, doubt, edge)
    new = sizes.mm(old) + (-off if at_face else off)
    told = f"instead of {_fine(edge._out(planned))}" if planned else "where there should be none"
    way = ("deep", "shallow") if at_face else ("close", "far")
    return Correction(
        change,
        old,
        sizes.from_mm(new, old.units),
        f"A {label} of {_fine(edge._out(step))} {told} is {_fine(edge._out(abs(off)))} too "
        f"{way[0] if off > 0 else way[1]}.",
    )


def _corrected_by_leg(edge: Edge, side: str, leg: float, doubt: float) -> Correction:
    """By how much the flank has to be moved so that it passes through the leg's end."""
    at_face = side == "face"
    change, old = ("depth", edge.depth) if at_face else ("offset", edge.offset)
    planned = sizes.mm(edge.leg_on_face if at_face else edge.leg_on_wall)
    what = {"concave": "rounding", "convex": "cove", "straight": "chamfer"}[edge.cutter.shape]
    long = "wide" if at_face else "high"
    if abs(leg - planned) <= doubt:
        return _as_planned(change, old, f"{what}'s {'width' if at_face else 'height'}", doubt, edge)
    flank, axis = edge._flank, 0 if at_face else 1
    at = leg if at_face else -leg
    ends = sorted((flank.start[axis], flank.end[axis]))
    if not ends[0] - NOTHING <= at <= ends[1] + NOTHING:
        reach = ends[1] if at_face else -ends[0]
        raise FormCutterError(
            f"the {what} came out {_fine(edge._out(leg))} {long} and the cutter as set cuts "
            f"{_fine(edge._out(reach))} at most. Then the other setting is off: measure the "
            f"{'wall' if at_face else 'face'} first, or the step."
        )
    crossing = flank.crossing(axis, min(max(at, ends[0]), ends[1]))
    # At the leg's end the plan has the flank this far below the face, or inside the wall.
    off = -crossing[1] if at_face else crossing[0]
    new = sizes.mm(old) + (off if at_face else -off)
    way = ("shallow", "deep") if at_face else ("far", "close")
    return Correction(
        change,
        old,
        sizes.from_mm(new, old.units),
        f"The {what} came out {_fine(edge._out(leg))} {long} instead of "
        f"{_fine(edge._out(planned))}, which is {_fine(edge._out(abs(off)))} too "
        f"{way[0] if off > 0 else way[1]}.",
    )


def _as_planned(change: str, old: Quantity, label: str, doubt: float, edge: Edge) -> Correction:
    within = f" within {_fine(edge._out(doubt))}" if doubt else ""
    return Correction(change, old, old, f"the {label} came out as planned{within}.")


def _positive(value: float) -> float:
    """A length with what is only rounding taken for nothing."""
    return value if value > NOTHING else 0.0
