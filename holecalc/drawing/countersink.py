"""A countersink drawn to scale: the cut, the seated head, and what the circle does.

Three views of one :class:`holecalc.countersink.Sink`:

- the cut: a section with the cutter in place at both ends of a diameter of its circle;
- the seat: the same section with the head lowered into it. A screw in the plane of a section is
  not itself cut (ISO 128-3), so it carries no hatching;
- the circle: depth, and the cutter's diameter where it cuts the hole's edge, against the circle,
  with the workable band and what ends it.
"""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np

from holecalc import sizes
from holecalc.countersink import Sink, told_recess
from holecalc.cutters import VeeCutter
from holecalc.drawing.ink import (
    CENTRE,
    ELSEWHERE,
    INK,
    NARROW,
    PAPER,
    STEP,
    TEXT,
    WIDE,
    Dimension,
    Heading,
    Linework,
    Note,
    Picture,
    Point,
    Section,
    View,
    wave,
)
from holecalc.fasteners import FlatHead

__all__ = ["CountersinkFigure"]

_ALMOST = 0.999
_CUTTER, _HEAD, _BAND = "#c9d6df", "#f4f1ea", "#dfe8d8"


class CountersinkFigure(Picture):
    r"""The picture of a countersink, made once and redrawn for every new one.

    Parameters
    ----------
    sink : holecalc.countersink.Sink, optional
        What to draw first.
    unit : str, optional
        The unit dimensions are written in; that of the top diameter by default.

    Examples
    --------
    >>> from holecalc import countersink, cutters, fasteners
    >>> picture = CountersinkFigure(countersink.sink(
    ...     fasteners.flat_head("ISO 7046-2", "M6"), cutters.VeeCutter("10 mm", 90),
    ...     hole_diameter="6.6 mm",
    ... ))
    >>> picture.png()[:4]
    b'\x89PNG'
    """

    def __init__(self, sink: Sink | None = None, unit: str | None = None) -> None:
        super().__init__(6.1)
        self._cut = _CutView(self, (0.0, 0.41, 0.5, 0.59), "the cut")
        self._seat = _SeatView(self, (0.5, 0.41, 0.5, 0.59), "the seat")
        self._circle = _CirclePlot(self, (0.115, 0.08, 0.765, 0.235))
        if sink is not None:
            self.draw(sink, unit)

    def __repr__(self) -> str:
        return "<CountersinkFigure>"

    def draw(self, sink: Sink, unit: str | None = None) -> None:
        """Move everything to where it is for this sink."""
        shown = sizes.system_of(sink.cut.top_diameter) if unit is None else unit
        self._cut.draw(sink, shown)
        self._seat.draw(sink, shown)
        self._circle.draw(sink, shown)
        with sizes.shown_in(shown):
            self.said = _in_words(sink)


class _PlateView:
    """The plate in section with the sink in it; the ground for both sections."""

    def __init__(
        self, picture: Picture, place: tuple[float, float, float, float], title: str
    ) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (38, 44, 52, 96))
        self._heading = Heading(axes, title)
        self._halves = [Section(self.view, hatch="///", width=0) for _ in range(2)]
        self._edges = Linework(self.view, width=WIDE)
        self._axis = Linework(self.view, line=CENTRE, order=3)
        self._break = Linework(self.view)

    def lowest(self, sink: Sink) -> float:
        """How far down what lies in the plate reaches [mm]."""
        return -_mm(sink, "depth")

    def draw_plate(self, sink: Sink, unit: str) -> tuple[float, float]:
        """Draw the plate; returns half the width shown and the depth shown [mm]."""
        self._heading.draw(unit)
        cut = {name: _mm(sink, name) for name in ("top_diameter", "hole_diameter", "depth")}
        outer, inner = cut["top_diameter"] / 2, cut["hole_diameter"] / 2
        outline = _outline(sink)
        widest = max(outer, sizes.mm(sink.head.head_diameter) / 2)
        half = 1.4 * widest
        deepest = max(cut["depth"], -outline[-1][1], 0.8 * outer)
        thickness = None if sink.plate_thickness is None else sizes.mm(sink.plate_thickness)
        whole = thickness is not None and thickness <= 1.9 * deepest
        shown = thickness if whole and thickness is not None else 1.35 * deepest
        through = _down_to(-shown, [*outline, (inner, min(-shown, outline[-1][1]))])
        right = [(half, 0.0), *through, (half, -shown)]
        for patch, way in zip(self._halves, (1, -1), strict=True):
            patch.draw([(way * x, y) for x, y in right])
        lowest = self.lowest(sink)
        self.view.fit(-half, half, min(-shown, lowest), 0.0)
        lines = [[(-x, y), (x, y)] for x, y in (*through, (half, 0.0))]
        for way in (1, -1):
            lines.append([(way * x, y) for x, y in through])
        if whole:
            lines.append([(-half, -shown), (half, -shown)])
        self._edges.draw(lines)
        above, below = 26 * self.view.point, 10 * self.view.point
        self._axis.draw([[(0, above), (0, -shown - below)]])
        point = self.view.point
        ends = [wave((way * half, 0.0), (way * half, -shown), point) for way in (1, -1)]
        if not whole:
            ends += [wave((way * inner, -shown), (way * half, -shown), point) for way in (1, -1)]
        self._break.draw(ends)
        self.far_opening = 2 * through[-1][0]
        return half, shown


class _CutView(_PlateView):
    def __init__(
        self, picture: Picture, place: tuple[float, float, float, float], title: str
    ) -> None:
        super().__init__(picture, place, title)
        self._cutter = Section(self.view, colour=_CUTTER, opacity=0.92, width=WIDE, order=2.5)
        self._other = Section(self.view, colour="none", line=ELSEWHERE, width=NARROW, order=2.6)
        self._axes_of_cutter = Linework(self.view, line=CENTRE, order=3)
        self._angle_arc = Linework(self.view, order=4)
        self._angle = Note(self.view)
        self._plunge = Note(self.view)
        self._top = Dimension(self.view, upright=False)
        self._circle = Dimension(self.view, upright=False)
        self._hole = Dimension(self.view, upright=False)
        self._depth = Dimension(self.view, upright=True)
        self._cone = Dimension(self.view, upright=True)

    def draw(self, sink: Sink, unit: str) -> None:
        half, shown = self.draw_plate(sink, unit)
        point = self.view.point
        top, circle = _mm(sink, "top_diameter"), _mm(sink, "circle_diameter")
        hole, depth = _mm(sink, "hole_diameter"), _mm(sink, "depth")
        step = STEP * point
        above = 1.15 * step
        tool = _cutter_outline(sink.cutter, depth, above)
        self._cutter.draw([(x + circle / 2, y) for x, y in tool])
        if circle > 0:
            self._other.draw([(x - circle / 2, y) for x, y in tool])
        else:
            self._other.hide()
        reach = above + 0.75 * step
        ends = {circle / 2, -circle / 2}
        self._axes_of_cutter.draw([[(x, -depth - 4 * point), (x, reach)] for x in ends])
        self._draw_angle(sink, circle / 2, depth)
        write = partial(_written, unit=unit)
        self._circle.draw(
            (-circle / 2, above),
            (circle / 2, above),
            above + 0.75 * step,
            f"circle {write(sink.cut.circle_diameter)}",
            room=top / 2 / point,
        )
        if circle <= 0:
            self._circle.hide()
        self._plunge.draw((0, above + 0.75 * step), "" if circle > 0 else "plunge")
        self._top.draw(
            (-top / 2, 0),
            (top / 2, 0),
            above + 1.85 * step,
            f"⌀{write(sink.cut.top_diameter)}",
        )
        self._hole.draw(
            (-self.far_opening / 2, -shown),
            (self.far_opening / 2, -shown),
            -max(shown, depth) - 1.3 * step,
            f"⌀{write(sizes.from_mm(self.far_opening))}",
        )
        tip = sizes.mm(sink.cutter.tip_diameter) / 2
        self._depth.draw(
            (half, 0),
            (circle / 2 + tip, -depth),
            half + 1.6 * step,
            f"depth {write(sink.cut.depth)}",
        )
        kind = "cone" if sink.reaches_hole else "ledge"
        self._cone.draw(
            (-half, 0),
            (-hole / 2, -sizes.mm(sink.edge_depth)),
            -half - 0.9 * step,
            f"{kind} {write(sink.edge_depth)}",
        )

    def _draw_angle(self, sink: Sink, x: float, depth: float) -> None:
        """The angle between the cutter's flanks, as an arc across the cutter."""
        half_angle = sizes.rad(sink.cutter.included_angle) / 2
        apex = -depth - sizes.mm(sink.cutter.tip_diameter) / 2 / math.tan(half_angle)
        radius = -apex - 0.12 * depth
        turn = np.linspace(-half_angle, half_angle, 24)
        self._angle_arc.draw(
            [[(x + radius * math.sin(t), apex + radius * math.cos(t)) for t in turn]]
        )
        self._angle.draw((x, apex + radius), sizes.show(sink.cutter.included_angle))


class _SeatView(_PlateView):
    def __init__(
        self, picture: Picture, place: tuple[float, float, float, float], title: str
    ) -> None:
        super().__init__(picture, place, title)
        self._head = Section(self.view, colour=_HEAD, width=WIDE, order=2.5)
        self._contact = Linework(self.view, width=2.4 * WIDE, order=3.5)
        self._recess = Dimension(self.view, upright=True)
        self._head_diameter = Dimension(self.view, upright=False)
        self._said = Note(self.view)

    def lowest(self, sink: Sink) -> float:
        return float(-sizes.mm(sink.seat.recess) - sizes.mm(sink.head.head_height))

    def draw(self, sink: Sink, unit: str) -> None:
        half, shown = self.draw_plate(sink, unit)
        point = self.view.point
        step = STEP * point
        recess = sizes.mm(sink.seat.recess)
        under = recess + sizes.mm(sink.head.head_height)
        outline = _head_outline(sink.head, recess, -max(shown, under) - 0.5 * step)
        self._head.draw(outline)
        self._contact.draw(_contact_marks(sink, recess, point))
        write = partial(_written, unit=unit)
        rim = sizes.mm(sink.head.head_diameter) / 2
        self._head_diameter.draw(
            (-rim, -recess),
            (rim, -recess),
            max(-recess, 0) + 1.85 * step,
            f"head ⌀{write(sink.head.head_diameter)}",
        )
        if not sink.seat.flush:
            self._recess.draw(
                (half, 0),
                (rim, -recess),
                half + 1.0 * step,
                write(abs(sink.seat.recess)),
                room=6,
            )
        else:
            self._recess.hide()
        said = told_recess(sink.seat.recess.to(unit)) if unit else told_recess(sink.seat.recess)
        self._said.draw((0, -max(shown, under) - 1.7 * step), f"{said};\n{sink.seat.bearing}")


class _CirclePlot:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        self._axes = axes = picture.figure.add_axes(place)
        self._other = other = axes.twinx()
        self._band = axes.axvspan(0, 1, facecolor=_BAND, edgecolor="none", zorder=0)
        (self._depth,) = axes.plot([], [], color=INK, linewidth=1.6)
        (self._hole,) = other.plot([], [], color=INK, linewidth=1.2, linestyle=(0, (5, 2)))
        (self._here,) = axes.plot([], [], "o", color=INK, markersize=7, zorder=5)
        (self._there,) = other.plot(
            [], [], "o", markerfacecolor=PAPER, markeredgecolor=INK, markersize=7, zorder=5
        )
        self._ends = [axes.axvline(0, color=INK, linewidth=NARROW) for _ in range(2)]
        # A row for each end: wherever the two stand, one note never runs into the other.
        self._why = [
            axes.text(0, row, "", transform=axes.get_xaxis_transform(), fontsize=TEXT, va="bottom")
            for row in (1.02, 1.12)
        ]
        self._none = axes.text(
            0.5,
            0.5,
            "no circle works",
            transform=axes.transAxes,
            ha="center",
            weight="bold",
            fontsize=TEXT + 1.5,
            zorder=10,
            bbox={"facecolor": PAPER, "edgecolor": INK},
        )
        # matplotlib's own titles and axis labels look for free room at every drawing, which takes
        # a third of its time; these have their places.
        fixed: dict[str, Any] = {"fontsize": TEXT, "color": INK, "transform": axes.transAxes}
        axes.text(
            0.5,
            1.24,
            "what the circle does",
            ha="center",
            va="bottom",
            weight="bold",
            **fixed | {"fontsize": TEXT + 1.5},
        )
        self._under = axes.text(0.5, -0.17, "", ha="center", va="top", **fixed)
        self._left = axes.text(-0.105, 0.5, "", ha="right", va="center", rotation=90, **fixed)
        self._right = axes.text(1.1, 0.5, "", ha="left", va="center", rotation=90, **fixed)
        for each in (axes, other):
            each.tick_params(labelsize=TEXT, colors=INK)
            each.locator_params(axis="y", nbins=5)
            each.spines["top"].set_visible(False)

    def draw(self, sink: Sink, unit: str) -> None:
        limits, cut = sink.limits, sink.cut
        top, tip = (_in(cut[name], unit) for name in ("top_diameter", "tip_diameter"))
        hole, here = (_in(cut[name], unit) for name in ("hole_diameter", "circle_diameter"))
        low, high = _in(limits.smallest, unit), _in(limits.largest, unit)
        right = max(hole, here * 1.1, low * 1.1)
        # As far as there is a cut: there the tip would come up to the face.
        circles = np.linspace(0, min(right, _ALMOST * (top - tip)), 60)
        others = sink.on_circle(sizes.length(circles, unit))
        depths, at_hole = (_in(others[name], unit) for name in ("depth", "hole_cutting_diameter"))
        self._depth.set_data(circles, depths)
        self._hole.set_data(circles, at_hole)
        self._here.set_data([here], [_in(cut.depth, unit)])
        self._there.set_data([here], [_in(cut.hole_cutting_diameter, unit)])
        self._axes.set_xlim(0, right)
        self._axes.set_ylim(0, 1.12 * depths[0])
        self._other.set_ylim(min(0, hole - right), 1.12 * hole)
        self._under.set_text(f"circle diameter [{unit}]")
        self._left.set_text(f"depth [{unit}]  ●—")
        self._right.set_text(f"cutting ⌀ at the hole [{unit}]  ○- -")
        self._band.set_visible(limits.workable)
        self._band.set_x(low)
        self._band.set_width(max(high - low, 0))
        self._none.set_visible(not limits.workable)
        for line, why, at, text, bad_is_left in zip(
            self._ends,
            self._why,
            (low, high),
            (limits.lower[0].beyond, limits.upper[0].beyond),
            (True, False),
            strict=True,
        ):
            line.set_xdata([at, at])
            to_the_left = at > 0.33 * right if bad_is_left else at > 0.65 * right
            sign = "◂" if bad_is_left else "▸"
            why.set_horizontalalignment("right" if to_the_left else "left")
            why.set_text(f"{text} {sign}" if to_the_left else f"{sign} {text}")
            why.set_x(at)
            for each in (line, why):
                each.set_visible(0 < at <= right)


def _in_words(sink: Sink) -> str:
    """What the picture shows."""
    cut, seat, limits = sink.cut, sink.seat, sink.limits
    top, hole, circle, depth, edge, head = map(
        sizes.show,
        (
            cut.top_diameter,
            cut.hole_diameter,
            cut.circle_diameter,
            cut.depth,
            sink.edge_depth,
            sink.head.head_diameter,
        ),
    )
    path = f"on a circle of {circle}" if cut.circle_diameter.magnitude else "plunged"
    works = (
        f"circles from {sizes.show(limits.smallest)} to {sizes.show(limits.largest)} work"
        if limits.workable
        else "no circle works"
    )
    return (
        f"Section of the cut: cone ⌀{top}, {sizes.show(cut.included_angle)}, to a hole of ⌀{hole}; "
        f"{'cone' if sink.reaches_hole else 'ledge'} {edge} deep; "
        f"cutter {path}, its tip {depth} below the face. "
        f"Section of the seat: head ⌀{head}, {told_recess(seat.recess)}, {seat.bearing}. "
        f"Depth against circle: {works}."
    )


def _in(quantity: sizes.Quantity, unit: str) -> Any:
    return quantity.m_as(unit)


def _mm(sink: Sink, name: str) -> float:
    return float(sink.cut.base[name])


def _written(quantity: sizes.Quantity, unit: str) -> str:
    """A size without its unit, which stands once on the sheet."""
    return sizes.show(quantity, unit).rsplit(" ", 1)[0]


def _outline(sink: Sink) -> list[Point]:
    """The sink's right-hand outline from the face down to the hole [mm]."""
    return [(radius, -depth) for radius, depth in sink.outline()]


def _down_to(bottom: float, outline: list[Point]) -> list[Point]:
    """The part of an outline, from the top, that lies above a height; cut off where it passes."""
    kept = [outline[0]]
    for before, here in pairwise(outline):
        if here[1] >= bottom:
            kept.append(here)
            continue
        share = (before[1] - bottom) / (before[1] - here[1])
        kept.append((before[0] + share * (here[0] - before[0]), bottom))
        break
    return kept


def _cutter_outline(cutter: VeeCutter, depth: float, above: float) -> list[Point]:
    """A vee cutter about its own axis with its tip at a depth, cut off above the face [mm]."""
    half = sizes.rad(cutter.included_angle) / 2
    widest = sizes.mm(cutter.cutting_diameter) / 2
    radius, flat = sizes.mm(cutter.tip_radius), sizes.mm(cutter.tip_diameter) / 2
    if radius > 0:
        turn = np.linspace(0, math.pi / 2 - half, 12)
        tip = [(radius * math.sin(t), -depth + radius * (1 - math.cos(t))) for t in turn]
    else:
        tip = [(flat, -depth)]
    corner = -depth + (widest - flat) / math.tan(half)
    if corner < above:
        flank = [(widest, corner), (widest, above)]
    else:
        flank = [(flat + (above + depth) * math.tan(half), above)]
    right = [*tip, *flank]
    return [*right, *((-x, y) for x, y in reversed(right))]


def _head_outline(head: FlatHead, recess: float, end: float) -> list[Point]:
    rim, shank = sizes.mm(head.head_diameter) / 2, sizes.mm(head.shank_diameter) / 2
    land, height = sizes.mm(head.edge_land), sizes.mm(head.head_height)
    right = [(rim, -recess), (rim, -recess - land), (shank, -recess - height), (shank, end)]
    return [*right, *((-x, y) for x, y in reversed(right))]


def _contact_marks(sink: Sink, recess: float, point: float) -> list[list[Point]]:
    """Where the head touches: a line along the cone, or a short one at an edge."""
    x = sizes.mm(sink.seat.contact_diameter) / 2
    cone = _mm(sink, "cone_depth")
    slope = math.tan(sizes.rad(sink.cut.included_angle) / 2)
    y = -sizes.mm(sink.depth_at(sink.seat.contact_diameter))
    if sink.seat.contact == "cone":
        right = [(x, y), (_mm(sink, "hole_diameter") / 2, -cone)]
    else:
        half = 4.5 * point
        along = (math.sin(math.atan(slope)), math.cos(math.atan(slope)))
        right = [
            (x - half * along[0], y - half * along[1]),
            (x + half * along[0], y + half * along[1]),
        ]
    return [right, [(-px, py) for px, py in right]]
