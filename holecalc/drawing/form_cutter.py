r"""A form cutter and the edge it leaves, drawn to scale.

Five views of one :class:`holecalc.form_cutter.Edge`, or of :class:`BothFaces`:

- the cutter, with the dimensions of its profile;
- what was measured: traced points with their errors enlarged, strays marked and named; or what
  calipers read against what the other readings say;
- the plate's edge in section, with the half of the cutter that cuts at its offset and depth, and
  stock that is still on the wall;
- where the cut meets the face, and where it meets the wall or the cut from the other face,
  enlarged, so that a step of a tenth is seen. The edge wanted is dashed where another is left.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from functools import partial

import numpy as np
from matplotlib.lines import Line2D

from holecalc import sizes
from holecalc.drawing.ink import (
    CENTRE,
    ELSEWHERE,
    HIDDEN,
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
from holecalc.form_cutter import (
    Arc,
    ArcFit,
    BothFaces,
    CaliperReport,
    Edge,
    FormCutter,
    TraceReport,
)
from holecalc.form_cutter.outline import Segment
from holecalc.sizes import Quantity

__all__ = ["FormCutterFigure"]

_CUTTER, _STOCK = "#c9d6df", "#f6efd2"
_EM = 0.62
"""Width of a letter in heights, with room to spare."""
_MOST_NAMED = 6
_REACH = 26.0
"""How far from the profile a point is drawn at most [pt]."""
_TIMES = 5.0
"""How many standard errors the scale of caliper readings shows."""
_MIDDLE = 0.93
"""Where a reading that agrees stands, across its view."""
_WRAP = 50
_WRAP_BESIDE = 36
_WRAP_DETAIL = 28
"""Letters to a line below the edge, what was measured, and a detail."""


class FormCutterFigure(Picture):
    r"""The picture of a form cutter at a plate's edge, made once and redrawn for every new one.

    Parameters
    ----------
    cut : holecalc.form_cutter.Edge or BothFaces, optional
        What to draw first.
    unit : str, optional
        The unit dimensions are written in; that of the cutter by default.

    Examples
    --------
    >>> from holecalc.form_cutter import FormCutter
    >>> quarter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    >>> picture = FormCutterFigure(quarter.edge("19 mm", depth="6.45 mm"))
    >>> picture.png()[:4]
    b'\x89PNG'
    """

    def __init__(self, cut: Edge | BothFaces | None = None, unit: str | None = None) -> None:
        super().__init__(8.1)
        self._cutter = _CutterView(self, (0.0, 0.55, 0.55, 0.45))
        self._points = _PointsView(self, (0.56, 0.55, 0.44, 0.45))
        self._readings = _ReadingsView(self, (0.56, 0.55, 0.43, 0.45))
        self._edge = _EdgeView(self, (0.0, 0.0, 0.6, 0.55))
        self._face = _Detail(self, (0.64, 0.35, 0.33, 0.13))
        self._wall = _Detail(self, (0.64, 0.11, 0.33, 0.13))
        if cut is not None:
            self.draw(cut, unit)

    def __repr__(self) -> str:
        return "<FormCutterFigure>"

    def draw(
        self, cut: Edge | BothFaces, unit: str | None = None, *, wanted: Edge | None = None
    ) -> None:
        """Move everything to where it is for this edge.

        Parameters
        ----------
        cut : holecalc.form_cutter.Edge or BothFaces
            The edge that is left.
        unit : str, optional
            The unit dimensions are written in; that of the cutter by default.
        wanted : holecalc.form_cutter.Edge, optional
            The edge wanted, where that is another; by default that of the tangent setting.
        """
        edge = cut if isinstance(cut, Edge) else cut.top
        shown = unit or sizes.system_of(edge.offset)
        wanted = edge.cutter.edge(edge.plate_thickness) if wanted is None else wanted
        with sizes.shown_in(shown):
            self._cutter.draw(edge.cutter, shown)
            self._points.draw(edge.cutter)
            self._readings.draw(edge.cutter)
            self._edge.draw(cut, shown)
            self._face.draw_face(edge, wanted)
            if isinstance(cut, BothFaces) and cut.cusp_angle is not None:
                self._wall.draw_ridge(cut)
            else:
                self._wall.draw_wall(edge, wanted)
            self.said = _in_words(cut)


class _CutterView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (48, 122, 98, 70))
        self._heading = Heading(axes, "the cutter")
        self._body = Section(self.view, colour=_CUTTER, width=0)
        self._edges = Linework(self.view, width=WIDE)
        self._corners = Linework(self.view)
        self._break = Linework(self.view)
        self._axis = Linework(self.view, line=CENTRE, order=3)
        self._leader = Linework(self.view, order=4)
        self._form = Note(self.view, across="left")
        self._stub, self._begin, self._largest = (
            Dimension(self.view, upright=False) for _ in range(3)
        )
        self._arc, self._stub_height, self._shoulder = (
            Dimension(self.view, upright=True) for _ in range(3)
        )

    def draw(self, cutter: FormCutter, unit: str) -> None:
        self._heading.draw(unit)
        of = cutter.section
        height = of.end[1] - of.begin[1]
        above = of.end[1] + (0.4 * height if of.shoulder is None else of.shoulder)
        right, top = _half(cutter, above + (0.4 * height if of.shank is not None else 0.0))
        told = _form(cutter)
        beside = TEXT * _EM * max(map(len, told.split("\n"))) + 22
        self.view.margins = (48, beside + STEP, 98, 70)
        self.view.fit(-of.largest, of.largest, 0.0, top)
        point = self.view.point
        step = STEP * point
        self._body.draw([*right, *((-x, y) for x, y in reversed(right))])
        self._edges.draw([right, [(-x, y) for x, y in right], [(-right[0][0], 0), right[0]]])
        self._corners.draw(
            [[(-x, y), (x, y)] for x, y in (of.begin, of.end, (of.largest, above)) if y < top]
        )
        upper = right[-1]
        self._break.draw([wave((-upper[0], top), (upper[0], top), point)] if upper[0] else [])
        self._axis.draw([[(0, -7 * point), (0, top + 7 * point)]])

        middle = _middle(of.flank)
        at = of.largest + 10 * point
        self._leader.draw([[middle, (at - 2 * point, middle[1])]])
        self._form.draw((at, middle[1]), told)
        low = min(0.0, middle[1] - 12 * point)
        heights = [
            (
                self._arc,
                of.begin,
                of.end,
                of.largest + beside * point,
                _written(cutter.arc_height),
            ),
            (
                self._stub_height,
                (-of.stub, 0.0),
                (-of.begin[0], of.begin[1]),
                -of.largest - 36 * point,
                _written(cutter.stub_height),
            ),
            (
                self._shoulder,
                (-of.end[0], of.end[1]),
                (-of.largest, above),
                -of.largest - 14 * point,
                "" if cutter.shoulder_height is None else _written(cutter.shoulder_height),
            ),
        ]
        for dimension, one, other, where, text in heights:
            if text and other[1] - one[1] > 1e-6:
                dimension.draw(one, other, where, text)
                low = min(low, _hangs(point, one[1], other[1], text))
            else:
                dimension.hide()
        rows = [(self._begin, of.begin, f"begins ⌀{_written(cutter.begin_diameter)}")]
        if of.stub < of.begin[0] - 1e-6:
            rows.insert(0, (self._stub, (of.stub, 0.0), f"stub ⌀{_written(cutter.stub_diameter)}"))
        else:
            self._stub.hide()
        for number, (dimension, (x, y), text) in enumerate(rows):
            if x < 1e-6:
                dimension.hide()
                continue
            dimension.draw((-x, y), (x, y), low - (1.1 + 1.1 * number) * step, text)
        self._largest.draw(
            (-of.largest, of.end[1]),
            (of.largest, of.end[1]),
            top + 1.1 * step,
            f"largest ⌀{_written(cutter.largest_diameter)}",
        )


class _PointsView:
    """Traced points about the profile they were fitted to, their errors enlarged."""

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        self.axes = axes = picture.figure.add_axes(place)
        self.view = View(axes, (30, 100, 66, 58))
        self._heading = Heading(axes, "what was measured")
        self._profile = Linework(self.view, width=WIDE)
        self._doubt = Linework(self.view, line=HIDDEN)
        self._away = Linework(self.view)
        self._leaders = Linework(self.view)
        self._good, self._strays = (
            Line2D(
                [], [], color=INK, linestyle="none", marker=mark, markersize=size, zorder=5,
                markerfacecolor=PAPER,
            )
            for mark, size in (("o", 4.5), ("x", 8.0))
        )  # fmt: skip
        self._strays.set_markeredgewidth(1.8)
        for line in (self._good, self._strays):
            axes.add_line(line)
        self._names = [Note(self.view, across="left") for _ in range(_MOST_NAMED + 1)]
        self._below = axes.text(
            0.5, 0.03, "", transform=axes.transAxes, ha="center", va="bottom", fontsize=TEXT,
            color=INK, linespacing=1.3,
        )  # fmt: skip

    def draw(self, cutter: FormCutter) -> None:
        evidence = cutter.evidence
        self.axes.set_visible(isinstance(evidence, TraceReport))
        if not isinstance(evidence, TraceReport):
            return
        self._heading.say("distances from the profile, enlarged")
        of = cutter.section
        xs, ys = evidence.trace.xy
        top = max(of.end[1] + (of.shoulder or 0.0), float(np.max(ys)))
        parts = [part for part in of.flutes(top - of.end[1]) if part.part != "tip" and part.length]
        self.view.fit(min(of.stub, float(xs.min())), max(of.largest, float(xs.max())), 0.0, top)
        point = self.view.point
        self._profile.draw([_points(part) for part in parts])
        points = [(float(x), float(y)) for x, y in zip(xs, ys, strict=True)]
        feet = [_nearest(parts, at) for at in points]
        stray = [evidence.parts[row] == "nothing" for row in evidence.trace.rows]
        offs = [math.dist(foot, at) for foot, at in zip(feet, points, strict=True)]
        doubt = float(np.median(evidence.fit.solved.doubt)) if evidence.fit.solved.stated else 0.0
        largest = max([off for off, bad in zip(offs, stray, strict=True) if not bad], default=0.0)
        times = _round_down(14 * point / max(largest, 2 * doubt, 1e-6))
        shown = [
            _enlarged(foot, at, times, _REACH * point)
            for foot, at in zip(feet, points, strict=True)
        ]
        self._away.draw([[foot, at] for foot, at in zip(feet, shown, strict=True)])
        for line, wanted in ((self._good, False), (self._strays, True)):
            kept = [at for at, bad in zip(shown, stray, strict=True) if bad is wanted]
            line.set_data([x for x, _ in kept], [y for _, y in kept])
        self._doubt.draw(
            _beside(_points(of.flank), way * 2 * doubt * times) for way in (1, -1) if doubt
        )
        self._name_strays(
            [
                (at, f"row {row}: {_written(sizes.from_mm(off))}")
                for row, at, off, bad in zip(evidence.trace.rows, shown, offs, stray, strict=True)
                if bad
            ],
            of.largest,
        )
        lines = [f"errors drawn {times:g} times" if times >= 1 else "errors drawn smaller"]
        if doubt:
            lines.append(f"dashes: 2 × {_written(sizes.from_mm(doubt))} either way")
        if any(stray):
            lines.append(f"✕ on no part of the cutter: {sum(stray)} of {len(stray)}")
        lines.append(_fitted(evidence))
        self._below.set_text("\n".join(lines))

    def _name_strays(self, strays: list[tuple[Point, str]], right: float) -> None:
        """Name them in a column at the right, in their order, none on another."""
        point = self.view.point
        strays.sort(key=lambda stray: stray[0][1])
        named = strays[:_MOST_NAMED]
        at = right + (_REACH + 4) * point
        level, leaders = -math.inf, []
        for note in self._names:
            note.draw((0, 0), "")
        for note, (place, told) in zip(self._names, named, strict=False):
            level = max(level + 13 * point, place[1])
            note.draw((at, level), told)
            leaders.append([place, (at - 2 * point, level)])
        if len(strays) > len(named):
            level += 13 * point
            self._names[-1].draw((at, level), f"and {len(strays) - len(named)} more")
        self._leaders.draw(leaders)


class _ReadingsView:
    """What calipers read, and how far each reading is from what the others say."""

    _MOST = 7

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        self.axes = axes = picture.figure.add_axes(place)
        axes.set_axis_off()
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        self._heading = Heading(axes, "what was measured")
        self._rows = [
            [
                axes.text(
                    x, 0.78 - 0.085 * number, "", ha=side, va="center", fontsize=TEXT, color=INK
                )
                for x, side in ((0.0, "left"), (0.64, "right"), (0.86, "right"))
            ]
            for number in range(self._MOST + 1)
        ]
        self._bars = [Line2D([], [], color=INK, linewidth=5, zorder=3) for _ in range(self._MOST)]
        self._middle = Line2D(
            [_MIDDLE, _MIDDLE], [0.1, 0.81], color=INK, linewidth=NARROW, zorder=2
        )
        for line in (*self._bars, self._middle):
            line.set_solid_capstyle("butt")
            axes.add_line(line)
        self._below = axes.text(
            0.5, 0.03, "", ha="center", va="bottom", fontsize=TEXT, color=INK, linespacing=1.3
        )

    def draw(self, cutter: FormCutter) -> None:
        evidence = cutter.evidence
        self.axes.set_visible(not isinstance(evidence, TraceReport))
        rows = evidence.rows if isinstance(evidence, CaliperReport) else ()
        self._heading.say("each against what the others say" if rows else "")
        head = ("reading", "as read", "others") if rows else ("",) * 3
        for text, said in zip(self._rows[0], head, strict=True):
            text.set_text(said)
        for number, (texts, bar) in enumerate(zip(self._rows[1:], self._bars, strict=True)):
            row = rows[number] if number < len(rows) else None
            told: Sequence[str] = ("",) * 3
            bar.set_data([], [])
            if row is not None and isinstance(evidence, CaliperReport):
                again = row.name in evidence.measure_again
                others = "—" if row.others_say is None else _written(row.others_say)
                told = (f"{'✗ ' if again else ''}{row.label}", _written(row.measured), others)
                times = math.copysign(min(row.times, _TIMES), row.off.magnitude)
                at = texts[0].get_position()[1]
                bar.set_data([_MIDDLE, _MIDDLE + 0.07 * times / _TIMES], [at, at])
            for text, said in zip(texts, told, strict=True):
                text.set_text(said)
            texts[1].set_fontweight("bold" if told[0].startswith("✗") else "normal")
        self._middle.set_visible(bool(rows))
        if rows:
            self._middle.set_ydata([0.78 - 0.085 * len(rows) - 0.04, 0.74])
        self._below.set_text(_verdict(evidence) if rows else "nothing: its dimensions were given")
        self._below.set_y(0.03 if rows else 0.6)


class _EdgeView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (52, 84, 90, 90))
        self._heading = Heading(axes, "the edge, and the cutter in place")
        self._stock = Section(self.view, colour=_STOCK, hatch="...", width=0, order=1.1)
        self._plate = Section(self.view, hatch="///", width=0)
        self._outline = Linework(self.view, width=WIDE, order=2.8)
        self._break = Linework(self.view, order=2.8)
        self._wall = Linework(self.view, line=HIDDEN, order=2.9)
        self._cutter = Section(self.view, colour=_CUTTER, opacity=0.9, width=0, order=2.5)
        self._edges = Linework(self.view, width=WIDE, order=2.55)
        self._below = Section(self.view, colour="none", line=ELSEWHERE, width=NARROW, order=2.6)
        self._axis = Linework(self.view, line=CENTRE, order=3)
        self._symmetry = Linework(self.view, width=WIDE, order=3)
        self._offset, self._leg_face = (Dimension(self.view, upright=False) for _ in range(2))
        self._depth, self._leg_wall, self._flat, self._thick = (
            Dimension(self.view, upright=True) for _ in range(4)
        )
        self._told = axes.text(
            0.5, 0.02, "", transform=axes.transAxes, ha="center", va="bottom", fontsize=TEXT,
            color=INK, linespacing=1.3,
        )  # fmt: skip

    def draw(self, cut: Edge | BothFaces, unit: str) -> None:
        self._heading.draw(unit)
        edge = cut if isinstance(cut, Edge) else cut.top
        both = cut if isinstance(cut, BothFaces) else None
        of = edge.cutter.section
        offset, depth = sizes.mm(edge.offset), sizes.mm(edge.depth)
        leg, down = sizes.mm(edge.leg_on_face), sizes.mm(edge.leg_on_wall)
        thickness, stock = sizes.mm(edge.plate_thickness), sizes.mm(edge.allowance)
        whole = both is not None or thickness <= 2.2 * max(depth, down)
        shown = thickness if whole else 1.5 * max(depth, down)
        right = max(leg, of.largest - offset) + 0.5 * max(leg, down)
        height = of.end[1] - of.begin[1]
        body, top = _half(edge.cutter, max(depth, of.end[1]) + 0.3 * height)
        deepest = -max(shown, depth)
        highest = max(top - depth, 0.0)
        if both is not None:
            below = sizes.mm(both.bottom.depth)
            deepest = min(deepest, -thickness)
            lower, lower_top = _half(
                both.bottom.cutter,
                max(below, both.bottom.cutter.section.end[1])
                + 0.3 * sizes.mm(both.bottom.cutter.arc_height),
            )
            deepest = min(deepest, below - lower_top - thickness)
            highest = max(highest, below - thickness)
            aside = sizes.mm(both.bottom.offset)
            self._below.draw(
                [
                    (x - aside, below - thickness - y)
                    for x, y in [(0.0, 0.0), *lower, (0.0, lower_top)]
                ]
            )
        else:
            aside = offset
            self._below.hide()
        self.view.fit(-max(offset, aside), right, deepest, highest)
        point = self.view.point
        step = STEP * point
        left = edge.outline(finished=False) if both is None else both.outline()
        path = [at for at in _path(left) if at[1] >= -shown - 1e-9] or _path(left)
        wall = path[0][0]
        if not whole:
            path = [(wall, -shown), *path]
        self._plate.draw([*path, (right, 0.0), (right, -shown)])
        self._outline.draw(
            [[*path, (right, 0.0)], *([[(right, -shown), path[0]]] if whole else [])]
        )
        breaks = [wave((right, -shown), (right, 0.0), point)]
        if not whole:
            breaks.append(wave((path[0][0], -shown), (right, -shown), point))
        self._break.draw(breaks)
        if stock and both is None and wall < 0:
            self._stock.draw(_stock([*path, (right, 0.0)]))
        else:
            self._stock.hide()
        self._wall.draw([[(0.0, -shown), (0.0, 0.0)]] if stock else [])
        placed = [(x - offset, y - depth) for x, y in [(0.0, 0.0), *body, (0.0, top)]]
        self._cutter.draw(placed)
        self._edges.draw([placed])
        low, high = -depth - 6 * point, top - depth + 6 * point
        self._axis.draw([[(-offset, low), (-offset, high)]])
        tick = 3 * point
        self._symmetry.draw(
            [
                [(-offset - tick, y + gap * point), (-offset + tick, y + gap * point)]
                for y in (low, high)
                for gap in (-1, 1)
            ]
        )
        over = max(highest, 0.0)
        self._offset.draw(
            (-offset, high), (0.0, 0.0), over + 2.3 * step, f"offset {_written(edge.offset)}"
        )
        self._leg_face.draw((0.0, 0.0), (leg, 0.0), over + 1.1 * step, _written(edge.leg_on_face))
        self._depth.draw(
            (0.0, 0.0),
            (-offset, -depth),
            -max(offset, aside) - 1.1 * step,
            f"depth {_written(edge.depth)}",
        )
        column = right + 0.9 * step
        self._leg_wall.draw((0.0, -down), (right, 0.0), column, _written(edge.leg_on_wall))
        if both is not None and both.cusp_angle is None and both.flat.magnitude:
            flat = sizes.mm(both.flat)
            bottom = -thickness + sizes.mm(both.bottom.leg_on_wall)
            self._flat.draw(
                (0.0, bottom),
                (0.0, bottom + flat),
                column + 1.3 * step,
                f"flat {_written(both.flat)}",
            )
        else:
            self._flat.hide()
        if whole:
            self._thick.draw(
                (right, -thickness),
                (right, 0.0),
                column + 2.6 * step,
                f"plate {_written(edge.plate_thickness)}",
            )
        else:
            self._thick.hide()
        self._told.set_text("\n".join(_told(cut)))


class _Detail:
    """A place on the edge, enlarged in a frame of its own."""

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        self.axes = axes = picture.figure.add_axes(place)
        picture.enlarged.append(axes)
        self.view = View(axes, (0, 0, 0, 0))
        axes.set_axis_on()
        axes.set_xticks([])
        axes.set_yticks([])
        self._plate = Section(self.view, hatch="///", width=0)
        self._outline = Linework(self.view, width=WIDE, order=3)
        self._wanted = Linework(self.view, line=HIDDEN, order=3.5)
        self._name, self._told = (
            axes.text(
                0.5, y, "", transform=axes.transAxes, ha="center", va=va, fontsize=size,
                weight=weight, color=INK,
            )
            for y, va, size, weight in (
                (1.05, "bottom", TEXT + 1.5, "bold"), (-0.06, "top", TEXT, "normal"),
            )
        )  # fmt: skip

    def draw_face(self, edge: Edge, wanted: Edge) -> None:
        """Where the cut meets the face."""
        ends = [
            (sizes.mm(each.leg_on_face), -sizes.mm(each.step_on_face)) for each in (edge, wanted)
        ]
        ends.append((ends[0][0], 0.0))
        self._draw(edge, ends, "at the face", edge.face_told, wanted)

    def draw_wall(self, edge: Edge, wanted: Edge) -> None:
        """Where the cut meets the wall."""
        ends = [
            (sizes.mm(each.step_on_wall), -sizes.mm(each.leg_on_wall)) for each in (edge, wanted)
        ]
        ends.append((0.0, ends[0][1]))
        self._draw(edge, ends, "at the wall", edge.wall_told, wanted, stock=True)

    def draw_ridge(self, both: BothFaces) -> None:
        """Where the cuts from both faces meet."""
        ridge = (sizes.mm(both.cusp_setback), -sizes.mm(both.ridge_depth))
        told = sizes.show(both.cusp_angle, places=1)
        self._draw(both, [ridge, (0.0, ridge[1])], "where the cuts meet", f"a cusp of {told}", None)

    def _draw(
        self,
        cut: Edge | BothFaces,
        places: Sequence[Point],
        name: str,
        told: str,
        wanted: Edge | None,
        *,
        stock: bool = False,
    ) -> None:
        edge = cut if isinstance(cut, Edge) else cut.top
        xs, ys = zip(*places, strict=True)
        least = 0.06 * min(sizes.mm(edge.leg_on_face), sizes.mm(edge.leg_on_wall))
        half = max(0.75 * (max(xs) - min(xs)), 0.9 * (max(ys) - min(ys)), least)
        x, y = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
        self.view.fit(x - half, x + half, y - half, y + half)
        path = _path(cut.outline(finished=False) if isinstance(cut, Edge) else cut.outline(), 96)
        right = 100 * (abs(path[-1][0]) + half) + 1
        bottom = path[0]
        self._plate.draw([*path, (right, 0.0), (right, bottom[1])])
        self._outline.draw([[*path, (right, 0.0)], [bottom, (right, bottom[1])]])
        other = wanted is not None and (
            (stock and bool(edge.allowance.magnitude))
            or _apart(edge.outline(), wanted.outline(), places[:2]) > 0.02 * half
        )
        self._wanted.draw(
            [[*_path(wanted.outline(), 96), (right, 0.0)]] if wanted is not None and other else []
        )
        self._name.set_text(name)
        told = textwrap.fill(told, _WRAP_DETAIL)
        self._told.set_text(f"{told}\ndashed: wanted" if other else told)


# --- words ---------------------------------------------------------------------------------------


def _in_words(cut: Edge | BothFaces) -> str:
    """What the picture shows."""
    edge = cut if isinstance(cut, Edge) else cut.top
    cutter, show = edge.cutter, partial(sizes.show, fine=True)
    form = (
        f"radius {show(cutter.radius)}"
        if cutter.radius is not None
        else f"flank {show(cutter.end_angle)} to the axis"
    )
    both = f" From both faces: {cut}." if isinstance(cut, BothFaces) else ""
    evidence = cutter.evidence
    measured = ""
    if isinstance(evidence, CaliperReport):
        measured = f"The readings: {evidence.verdict}. "
    elif isinstance(evidence, TraceReport):
        strays = sum(evidence.parts[row] == "nothing" for row in evidence.trace.rows)
        measured = f"{len(evidence.trace)} traced points, {strays} on no part of the cutter. "
    return (
        f"The cutter: {cutter.shape}, {form}, begins ⌀{show(cutter.begin_diameter)}, largest "
        f"⌀{show(cutter.largest_diameter)}. {measured}"
        f"The edge of a plate {show(edge.plate_thickness)} thick: cutter's axis "
        f"{show(edge.offset)} outside the finished wall, tip {show(edge.depth)} below the face. "
        f"Enlarged, at the face: {edge.face_told}; at the wall: {edge.wall_told}.{both}"
    )


def _written(size: Quantity) -> str:
    """A size without its unit, which stands once on the sheet."""
    return sizes.show(size, fine=True).rsplit(" ", 1)[0]


def _form(cutter: FormCutter) -> str:
    if cutter.radius is None:
        return f"{sizes.show(cutter.end_angle)}\nto the axis"
    first, last = (sizes.show(a, places=1) for a in (cutter.begin_angle, cutter.end_angle))
    swept = abs(cutter.end_angle.m_as("deg") - cutter.begin_angle.m_as("deg"))
    # What a trace cannot tell from a quarter is one.
    return f"R{_written(cutter.radius)}" + ("" if swept > 89.5 else f"\n{first} to {last}")


def _fitted(evidence: TraceReport) -> str:
    fit = evidence.fit
    if not isinstance(fit, ArcFit):
        return f"{sizes.show(fit.flank_angle)} ± {sizes.show(fit.flank_angle_error)}"
    if fit.radius_held:
        return f"R{_written(fit.radius)}, held"
    low, high = fit.interval()
    upper = _written(high) if math.isfinite(high.magnitude) else "no end"
    return f"R{_written(fit.radius)}; 95 %: {_written(low)} to {upper}"


def _verdict(evidence: object) -> str:
    assert isinstance(evidence, CaliperReport)
    bars = f"bars: standard errors away,\n{_TIMES:g} at most shown"
    if evidence.agrees:
        return f"{bars}\n✓ they agree within their uncertainties"
    names = " or ".join(evidence[name].label for name in evidence.measure_again)
    return f"{bars}\n" + textwrap.fill(f"✗ measure again: {names}", _WRAP_BESIDE)


def _told(cut: Edge | BothFaces) -> list[str]:
    """What is said below the edge."""
    edge = cut if isinstance(cut, Edge) else cut.top
    lines = []
    if isinstance(cut, BothFaces):
        if cut.bottom != cut.top:
            lines.append(f"from below: {str(cut.bottom).partition(chr(10))[0]}")
        lines.append(str(cut))
    elif edge.stub_told is not None:
        lines.append(edge.stub_told)
    if edge.allowance.magnitude and isinstance(cut, Edge):
        lines.append("dashed: the finished wall")
    return [short for line in lines for short in textwrap.wrap(line, _WRAP)]


# --- shapes [mm] ---------------------------------------------------------------------------------


def _points(part: Segment, count: int = 40) -> list[Point]:
    """Points along a piece, its ends included."""
    if not isinstance(part, Arc):
        return [part.start, part.end]
    first = math.atan2(part.start[1] - part.centre[1], part.start[0] - part.centre[0])
    turn = first + part.sweep * np.linspace(0.0, 1.0, count)
    x, y = part.centre
    return [(x + part.radius * math.cos(t), y + part.radius * math.sin(t)) for t in turn]


def _path(parts: Iterable[Segment], count: int = 40) -> list[Point]:
    return [point for part in parts for point in _points(part, count)]


def _middle(part: Segment) -> Point:
    first, *between, last = _points(part, 3)
    return between[0] if between else ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)


def _half(cutter: FormCutter, height: float) -> tuple[list[Point], float]:
    """Half a cutter from its tip up to a height at most, and the height it is drawn to."""
    of = cutter.section
    shoulder = height - of.end[1]
    points = _path(p for p in of.flutes(min(shoulder, of.shoulder or shoulder)) if p.part != "tip")
    if of.shoulder is None or of.shoulder >= shoulder:
        return points, height
    top = points[-1][1]
    if of.shank is None:
        return points, top
    return [*points, (of.shank, top), (of.shank, height)], height


def _stock(path: Sequence[Point]) -> list[Point]:
    """What of a plate stands outside its finished wall, which is at 0."""
    outside = [at for at in path if at[0] <= 0]
    inside = next((at for at in path[len(outside) :] if at[0] > 0), None)
    (x, y), top = outside[-1], outside[-1][1]
    if inside is not None:
        top = y - x / (inside[0] - x) * (inside[1] - y)
    return [*outside, (0.0, top), (0.0, path[0][1])]


def _foot(part: Segment, at: Point) -> Point:
    """The point of a piece that is nearest to another."""
    if isinstance(part, Arc):
        away = math.dist(at, part.centre)
        if away > 0:
            on = tuple(
                c + (p - c) * part.radius / away for p, c in zip(at, part.centre, strict=True)
            )
            low, high = (
                [pick(a, b) for a, b in zip(part.start, part.end, strict=True)]
                for pick in (min, max)
            )
            if all(a - 1e-9 <= o <= b + 1e-9 for a, o, b in zip(low, on, high, strict=True)):
                return on[0], on[1]
        return min(part.start, part.end, key=lambda end: math.dist(end, at))
    (x1, y1), (x2, y2) = part.start, part.end
    ex, ey = x2 - x1, y2 - y1
    along = ((at[0] - x1) * ex + (at[1] - y1) * ey) / (ex * ex + ey * ey)
    along = min(max(along, 0.0), 1.0)
    return x1 + along * ex, y1 + along * ey


def _nearest(parts: Iterable[Segment], at: Point) -> Point:
    """The point of several pieces that is nearest to another."""
    return min((_foot(part, at) for part in parts), key=partial(math.dist, at))


def _apart(one: Sequence[Segment], other: Sequence[Segment], ends: Sequence[Point]) -> float:
    """How far an end of each of two edges is from the other edge."""
    return max(
        math.dist(end, _nearest(edge, end)) for end, edge in zip(ends, (other, one), strict=True)
    )


def _enlarged(foot: Point, at: Point, times: float, most: float) -> Point:
    """A point as much further from its foot, but not off the paper."""
    off = math.dist(foot, at)
    if off == 0:
        return at
    grown = min(times * off, most) / off
    return foot[0] + (at[0] - foot[0]) * grown, foot[1] + (at[1] - foot[1]) * grown


def _beside(path: Sequence[Point], by: float) -> list[Point]:
    """A line at a distance from another, on one side of it."""
    points = np.asarray(path)
    along = np.gradient(points, axis=0)
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    return [(float(x), float(y)) for x, y in points + by * normal]


def _round_down(value: float) -> float:
    """The next lower of 1, 2, 5, 10, and so on."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(step for step in (5 * power, 2 * power, power) if step <= value * (1 + 1e-9))


def _hangs(point: float, low: float, high: float, text: str) -> float:
    """How low a dimension of a height and its value reach."""
    wide = (len(text) * TEXT * _EM + 14) * point
    return low if high - low >= wide else low - wide - 8 * point
