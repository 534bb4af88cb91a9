"""Lines, hatching and dimensions, drawn with matplotlib and moved rather than made again.

A :class:`View` maps millimetres to the paper at one scale, with room around the part for
dimensions, so that the distances between dimension lines are set on the paper, whatever the size
of the part. Everything else here is placed in a view and can be placed anew or hidden.

Line widths and dashes: ISO 128-2, wide 0.5 mm, narrow 0.25 mm. Dimensions: ISO 129-1.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.transforms import offset_copy
from numpy.typing import NDArray

from holecalc.drawing import lettering

__all__ = [
    "AREA",
    "CENTRE",
    "ELSEWHERE",
    "HIDDEN",
    "INK",
    "NARROW",
    "PAPER",
    "TEXT",
    "WIDE",
    "Dimension",
    "Heading",
    "Linework",
    "Note",
    "Picture",
    "Section",
    "View",
    "wave",
]

Point = tuple[float, float]

_MM = 72 / 25.4
WIDE, NARROW = 0.5 * _MM, 0.25 * _MM
"""Line widths [pt]."""

INK, PAPER, AREA = "#1c1c1c", "#ffffff", "#e9e4d8"
"""Lines, ground, and what has been cut through."""

TEXT = 8.6
"""Height of lettering [pt]."""

STEP = 17.0
"""Between dimension lines [pt]."""

_ARROW = (7.0, 1.3)
_GAP = 2.0
_EM = 0.62
_UNITS = {"mm": "millimetres", "in": "inches"}

CENTRE = (0, (12, 3, 2, 3))
"""Long-dashed dotted: axes."""

HIDDEN = (0, (6, 3))
"""Dashed: edges that something stands before."""

ELSEWHERE = (0, (12, 3, 2, 3, 2, 3))
"""Long-dashed double-dotted: another position of something that moves."""


class Picture:
    """A figure of its own: as SVG in a panel, as PNG where a notebook shows it by itself.

    On paper it is as wide as lettering of 8.6 pt needs, to be 11 pixels high in a panel beside its
    fields on a screen of 1280.
    """

    width = 5.8
    dots_per_inch = 192

    said = ""
    """What is drawn, in words, for who cannot see it."""

    def __init__(self, height: float) -> None:
        self.figure = Figure(figsize=(self.width, height), dpi=self.dots_per_inch, facecolor=PAPER)
        self.canvas = FigureCanvasAgg(self.figure)
        self.enlarged: list[Axes] = []
        """Those that show a piece of what is drawn in them, up to their frame."""

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height on a screen, unzoomed."""
        width, height = self.figure.get_size_inches()
        return int(96 * width), int(96 * height)

    def svg(self) -> str:
        """The figure as SVG.

        It stays sharp at any zoom, and is made in less time than a PNG, which is what a slider
        waits for.
        """
        self._unframe()
        return lettering.svg(self.figure)

    def png(self) -> bytes:
        """The figure as PNG bytes."""
        self._unframe()
        out = io.BytesIO()
        self.canvas.print_png(out)  # type: ignore[no-untyped-call]
        return out.getvalue()

    def _unframe(self) -> None:
        """Cut nothing off at a frame where nothing goes beyond it.

        To look for what to cut off takes a browser longer than to show the whole picture.
        """
        for axes in self.figure.axes:
            if axes not in self.enlarged:
                for each in axes.get_children():
                    each.set_clip_on(False)

    def _repr_png_(self) -> tuple[bytes, dict[str, Any]]:
        width, height = self.pixels
        return self.png(), {"width": width, "height": height, "alt": self.said}


class View:
    """One scale on one pair of axes.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Where it is drawn; its frame is taken away.
    margins : tuple of float
        Room left, right, below and above the part [pt].
    """

    def __init__(self, axes: Axes, margins: tuple[float, float, float, float]) -> None:
        self.axes = axes
        self.margins = margins
        self.point = 1.0
        axes.set_axis_off()

    def fit(self, left: float, right: float, bottom: float, top: float) -> None:
        """Show a box [mm], as large as fits with the margins, in the middle."""
        room = self.axes.get_window_extent()
        dots = self.axes.figure.dpi / 72
        width, height = room.width / dots, room.height / dots
        before, after, below, above = self.margins
        per_mm = min(
            (width - before - after) / (right - left), (height - below - above) / (top - bottom)
        )
        self.point = 1 / per_mm
        middle = (left + right) / 2 + (after - before) / 2 * self.point
        centre = (bottom + top) / 2 + (above - below) / 2 * self.point
        half_width, half_height = width / 2 * self.point, height / 2 * self.point
        self.axes.set_xlim(middle - half_width, middle + half_width)
        self.axes.set_ylim(centre - half_height, centre + half_height)


class Heading:
    """The name of a view at the top of its axes, and below it what its sizes are in."""

    def __init__(self, axes: Axes, name: str) -> None:
        self._name, self._unit = (
            axes.text(
                0.5,
                1.0,
                said,
                transform=offset_copy(
                    axes.transAxes, axes.get_figure(root=True), y=-below, units="points"
                ),
                ha="center",
                va="top",
                fontsize=size,
                weight=weight,
                color=INK,
            )
            for below, said, size, weight in (
                (4.0, name, TEXT + 1.5, "bold"),
                (19.5, "", TEXT, "normal"),
            )
        )

    def draw(self, unit: str, name: str | None = None) -> None:
        """Say the unit, and another name if there is one."""
        self.say(f"sizes in {_UNITS[unit]}")
        if name is not None:
            self._name.set_text(name)

    def say(self, text: str) -> None:
        """Say something else than the unit below the name."""
        self._unit.set_text(text)


class Section:
    """An area cut through: filled and, where it is a part, hatched at 45° (ISO 128-3)."""

    def __init__(
        self,
        view: View,
        *,
        hatch: str = "",
        colour: str = AREA,
        line: Any = "solid",
        width: float = WIDE,
        opacity: float = 1.0,
        order: float = 1.0,
    ) -> None:
        self._patch = Polygon(
            np.zeros((3, 2)),
            facecolor=(colour, opacity) if colour != "none" else "none",
            edgecolor=INK,
            linewidth=width,
            linestyle=line,
            hatch=hatch,
            zorder=order,
            joinstyle="miter",
        )
        self._patch.set_hatch_linewidth(NARROW * 0.7)
        view.axes.add_patch(self._patch)

    def draw(self, points: Sequence[Point] | NDArray[Any]) -> None:
        """Put the outline through points [mm]."""
        self._patch.set_xy(points)
        self._patch.set_visible(True)

    def hide(self) -> None:
        """Take it off the paper."""
        self._patch.set_visible(False)


class Linework:
    """Any number of separate lines in one style."""

    def __init__(
        self, view: View, *, width: float = NARROW, line: Any = "solid", order: float = 2.0
    ) -> None:
        self._line = Line2D([], [], color=INK, linewidth=width, linestyle=line, zorder=order)
        self._line.set_solid_capstyle("butt")
        view.axes.add_line(self._line)

    def draw(self, lines: Iterable[Sequence[Point]]) -> None:
        """Draw lines, each through its points [mm]."""
        xs: list[float] = []
        ys: list[float] = []
        for line in lines:
            for x, y in line:
                xs.append(x)
                ys.append(y)
            xs.append(np.nan)
            ys.append(np.nan)
        self._line.set_data(xs, ys)


class Note:
    """A text at a place, or at the end of a leader."""

    def __init__(
        self,
        view: View,
        *,
        size: float = TEXT,
        across: str = "center",
        up: str = "center",
        weight: str = "normal",
    ) -> None:
        self._view = view
        self._text = view.axes.text(
            0, 0, "", fontsize=size, ha=across, va=up, color=INK, weight=weight, zorder=6
        )
        self._text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.85})

    def draw(self, at: Point, text: str) -> None:
        """Write a text at a point [mm]."""
        self._text.set_position(at)
        self._text.set_text(text)
        self._text.set_visible(bool(text))


class Dimension:
    """A linear dimension (ISO 129-1): extension lines, dimension line, arrowheads and value.

    Parameters
    ----------
    view : View
        Where it is drawn.
    upright : bool
        Whether it measures heights; widths otherwise.
    """

    def __init__(self, view: View, *, upright: bool) -> None:
        self._view = view
        self._upright = upright
        self._lines = Linework(view, order=4)
        self._arrows = PolyCollection([], facecolor=INK, edgecolor="none", zorder=4)
        view.axes.add_collection(self._arrows, autolim=False)
        self._text = view.axes.text(
            0, 0, "", fontsize=TEXT, color=INK, zorder=6, rotation=90 if upright else 0
        )
        self._text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85})

    def draw(
        self,
        one: Point,
        other: Point,
        at: float,
        text: str,
        *,
        room: float = 0.0,
        above: bool = False,
    ) -> None:
        """Dimension the distance of two points.

        Parameters
        ----------
        one, other : tuple of float
            The points [mm].
        at : float
            Where the dimension line runs [mm]: a height for widths, an abscissa for heights.
        text : str
            The value.
        room : float
            How far beyond the arrows a value must go that does not fit between them [pt].
        above : bool
            Whether such a value goes above a height.

        A value that does not fit goes to the right of a width and otherwise below a height.
        """
        turn = self._upright
        point = self._view.point
        (a, from_a), (b, from_b) = sorted((p[::-1] if turn else p) for p in (one, other))
        length, half = _ARROW[0] * point, _ARROW[1] * point
        beyond = _GAP * point
        wide = len(text) * TEXT * _EM * point
        inside = b - a >= wide + 2 * length
        arrows_inside = b - a >= 2.6 * length
        lines = [
            [(a, _off(from_a, at, beyond)), (a, at + np.sign(at - from_a) * beyond)],
            [(b, _off(from_b, at, beyond)), (b, at + np.sign(at - from_b) * beyond)],
        ]
        tail = 0 if arrows_inside else 2 * length
        lines.append([(a - tail, at), (b + tail, at)])
        middle = (a + b) / 2
        if not inside:
            start = max(tail, beyond + room * point)
            below = turn and not above
            middle = a - start - wide / 2 if below else b + start + wide / 2
            lines.append(
                [(a, at), (a - start - wide, at)] if below else [(b, at), (b + start + wide, at)]
            )
        way = 1 if arrows_inside else -1
        heads = [
            [(a, at), (a + way * length, at + half), (a + way * length, at - half)],
            [(b, at), (b - way * length, at + half), (b - way * length, at - half)],
        ]
        level = at + (-1 if turn else 1) * 2.2 * point
        if turn:
            lines = [[p[::-1] for p in line] for line in lines]
            heads = [[p[::-1] for p in head] for head in heads]
        self._lines.draw(lines)
        self._arrows.set_verts(heads)
        self._text.set_position((level, middle) if turn else (middle, level))
        self._text.set_horizontalalignment("right" if turn else "center")
        self._text.set_verticalalignment("center" if turn else "bottom")
        self._text.set_text(text)
        self._show(True)

    def hide(self) -> None:
        """Take it off the paper."""
        self._lines.draw([])
        self._show(False)

    def _show(self, shown: bool) -> None:
        self._arrows.set_visible(shown)
        self._text.set_visible(shown)


def wave(start: Point, end: Point, point: float) -> list[Point]:
    """A freehand line where the drawing breaks off (ISO 128-2, 01.1)."""
    along = np.array(end) - np.array(start)
    length = float(np.hypot(*along))
    t = np.linspace(0, 1, 80)
    across = np.array([-along[1], along[0]]) / length
    swing = 1.3 * point * np.sin(t * length / (6 * point))
    path = np.array(start) + np.outer(t, along) + np.outer(swing, across)
    return [(float(x), float(y)) for x, y in path]


def _off(start: float, at: float, gap: float) -> float:
    """Where an extension line starts: a little off the outline, towards the dimension line."""
    return float(start + np.sign(at - start) * gap)
