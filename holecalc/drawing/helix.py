r"""A helical bore: the helix in the plate, the bore from above, and its wall unrolled.

Three views of one :class:`holecalc.cutting.Run`, with its time and chips beside them:

- the helix of the cutter's axis in the plate, in isometric projection (ISO 5456-3). What lies
  behind the bore's axis is drawn as hidden;
- the bore from above, where the helix starts: the path, the cutter and how it is engaged, the
  rings before, and the core if one stands;
- the wall unrolled: what the cutter's side leaves in every turn, and for comparison one turn at
  its axis, which is shorter and so steeper.

Where a bore is cut in rings, the helix and the wall are those of the last.

::

      Y (away) .                          u = x
               |   . z                    v = y / sqrt(3) + z sqrt(2/3)
            v  |  /
            |  | /                        so that widths across the paper are true, and all
            o--|/----> u = x              three axes are shortened alike
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np

from holecalc import sizes
from holecalc.cutting import Run
from holecalc.drawing.ink import (
    CENTRE,
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
from holecalc.helix import Bore
from holecalc.sizes import Quantity

__all__ = ["HelixFigure"]

_CUTTER, _FACE, _SIDES = "#c9d6df", "#f1ede4", ("#e3dccd", "#d8d0be")
_AWAY, _UP = 1 / math.sqrt(3), math.sqrt(2 / 3)
_POINTS = 24
_CLOSEST = 3.0
"""Turns drawn nearer to each other than this [pt] would run together."""
_ENDS = 3
"""So many are then drawn at either end."""


class HelixFigure(Picture):
    r"""The picture of a helical bore, made once and redrawn for every new one.

    Parameters
    ----------
    run : holecalc.cutting.Run, optional
        What to draw first.
    unit : str, optional
        The unit dimensions are written in; that of the bore by default.

    Examples
    --------
    >>> from holecalc import cutters, cutting, helix
    >>> made = helix.bore(
    ...     cutters.EndMill("6 mm", flutes=1), bore_diameter="9 mm", plate_thickness="20 mm",
    ...     passes=8,
    ... )
    >>> picture = HelixFigure(cutting.run(made, spindle_speed=18000, chip_load="0.15 mm"))
    >>> picture.png()[:4]
    b'\x89PNG'
    """

    def __init__(self, run: Run | None = None, unit: str | None = None) -> None:
        super().__init__(7.2)
        self._helix = _HelixView(self, (0.0, 0.35, 0.48, 0.65))
        self._above = _AboveView(self, (0.47, 0.56, 0.53, 0.44))
        self._told = _Told(self, (0.5, 0.36, 0.5, 0.19))
        self._wall = _WallView(self, (0.0, 0.0, 0.68, 0.34))
        self._legend = _Legend(self, (0.68, 0.0, 0.32, 0.34))
        if run is not None:
            self.draw(run, unit)

    def __repr__(self) -> str:
        return "<HelixFigure>"

    def draw(self, run: Run, unit: str | None = None) -> None:
        """Move everything to where it is for this bore."""
        shown = unit or sizes.system_of(run.bore.bore_diameter)
        with sizes.shown_in(shown):
            self._helix.draw(run.bore, shown)
            self._above.draw(run.bore, shown)
            self._told.draw(run)
            drawn = self._wall.draw(run.bore, shown)
            self._legend.draw(run.bore, drawn)
            self.said = _in_words(run.bore)


class _HelixView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (42, 20, 26, 40))
        self._heading = Heading(axes, "the helix in the bore")
        self._sides = [Section(self.view, colour=colour, width=0, order=0.5) for colour in _SIDES]
        self._edges = Linework(self.view, width=WIDE, order=0.5)
        self._face = Section(self.view, colour=_FACE, width=WIDE, order=0.6)
        self._break = Linework(self.view, order=0.8)
        self._hole = Section(self.view, colour=PAPER, width=WIDE, order=0.7)
        self._hidden = Linework(self.view, line=HIDDEN, order=1.5)
        self._axis = Linework(self.view, line=CENTRE, order=1.6)
        self._behind = Linework(self.view, width=1.4 * NARROW, line=HIDDEN, order=2.0)
        self._before = Linework(self.view, width=1.1 * WIDE, order=2.2)
        self._cutter = Section(self.view, colour=_CUTTER, opacity=0.92, width=WIDE, order=3.0)
        self._end = Linework(self.view, width=WIDE, order=3.1)
        self._down = Linework(self.view, line=CENTRE, order=3.2)
        self._depth = Dimension(self.view, upright=True)
        self._last = Note(self.view)

    def draw(self, made: Bore, unit: str) -> None:
        self._heading.draw(unit)
        base = made.cut.base
        radius, path = base["bore_diameter"] / 2, base["path_diameter"] / 2
        cutter, turns = base["cutter_diameter"] / 2, base["passes"]
        start, end = sizes.mm(made.start_depth), sizes.mm(made.depth)
        shown, whole = _shown(made)
        corner = 1.75 * radius
        lift = 0.35 * radius
        length = max(1.2 * cutter, 0.25 * (shown + corner * _AWAY))
        top = lift * _UP + length * _UP + cutter * _AWAY
        bottom = -max(corner * _AWAY + shown * _UP, path * _AWAY + end * _UP)
        self.view.fit(-corner, corner, bottom, max(top, corner * _AWAY))
        left, front, right, back = (
            (-corner, 0.0, 0.0),
            (0.0, -corner, 0.0),
            (corner, 0.0, 0.0),
            (0.0, corner, 0.0),
        )
        self._face.draw([_seen(*at) for at in (left, front, right, back)])
        for side, (one, other) in zip(self._sides, ((left, front), (front, right)), strict=True):
            down = [(x, y, -shown) for x, y, _ in (other, one)]
            side.draw([_seen(*at) for at in (one, other, *down)])
        corners = [(_seen(x, y, 0), _seen(x, y, -shown)) for x, y, _ in (left, front, right)]
        under = [lower for _, lower in corners]
        self._edges.draw([*corners, *([under] if whole else [])])
        ends = [] if whole else pairwise(under)
        self._break.draw([wave(one, other, self.view.point) for one, other in ends])
        self._hole.draw(_ring(radius, 0.0))
        floor = -shown if made.breakthrough is not None or end >= shown else -end
        self._hidden.draw(
            [
                _ring(radius, floor),
                *([_seen(x, 0, 0), _seen(x, 0, floor)] for x in (-radius, radius)),
                *([_ring(sizes.mm(made.core_diameter) / 2, 0.0)] if made.core_diameter else []),
            ]
        )
        self._axis.draw([[_seen(0, 0, 0.5 * lift), _seen(0, 0, min(floor, -end) - 0.5 * lift)]])
        near = base["pitch"] * _UP / self.view.point
        halves = [*_halves(path, start, end, turns, near)]
        if _flat_turns(made):
            halves += [(first, _turn(path, *ends, lambda _: end)) for first, ends in _BOTH_HALVES]
        self._behind.draw([points for behind, points in halves if behind])
        self._before.draw([points for behind, points in halves if not behind])
        self._draw_cutter(path, cutter, lift - start, length, start)
        self._depth.draw(
            (-corner, 0.0),
            (-path, -end * _UP),
            -corner - 12 * self.view.point,
            f"depth {_written(made.depth)}",
        )
        many = len(made.rings)
        self._last.draw(
            (0, bottom - 12 * self.view.point), f"the last of {many} rings" if many > 1 else ""
        )

    def _draw_cutter(
        self, path: float, radius: float, low: float, length: float, start: float
    ) -> None:
        """The cutter above the start of its helix."""
        low = max(low, 0.35 * radius)
        turn = np.linspace(0, math.pi, _POINTS)
        upper = [
            _seen(path + radius * math.cos(t), radius * math.sin(t), low + length) for t in turn
        ]
        lower = [_seen(path - radius * math.cos(t), -radius * math.sin(t), low) for t in turn]
        self._cutter.draw([*upper, *lower])
        self._end.draw([[(path + x, y) for x, y in _ring(radius, low + length)]])
        self._down.draw([[_seen(path, 0, low + length + 0.3 * radius), _seen(path, 0, -start)]])


class _AboveView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (30, 84, 46, 62))
        self._heading = Heading(axes, "from above")
        self._plate = Section(self.view, colour=_FACE, width=0, order=0.4)
        self._bore = Section(self.view, colour=PAPER, width=WIDE, order=0.6)
        self._rings = Linework(self.view, order=1.0)
        self._core = Section(self.view, hatch="///", width=WIDE, order=1.2)
        self._core_name = Note(self.view)
        self._cutter = Section(self.view, colour=_CUTTER, opacity=0.92, width=WIDE, order=2.0)
        self._engaged = Linework(self.view, width=2.8 * WIDE, order=2.5)
        self._path = Linework(self.view, line=CENTRE, order=2.6)
        self._axes_of_bore = Linework(self.view, line=CENTRE, order=2.7)
        self._path_diameter = Dimension(self.view, upright=False)
        self._cutter_diameter = Dimension(self.view, upright=False)
        self._bore_diameter = Dimension(self.view, upright=False)

    def draw(self, made: Bore, unit: str) -> None:
        self._heading.draw(unit)
        base, ring = made.cut.base, made.rings[-1]
        radius, path = base["bore_diameter"] / 2, base["path_diameter"] / 2
        cutter = base["cutter_diameter"] / 2
        self.view.fit(-radius, radius, -radius, radius)
        point = self.view.point
        side = radius + 8 * point
        self._plate.draw([(-side, -side), (side, -side), (side, side), (-side, side)])
        self._bore.draw(_circle(radius))
        opened = [sizes.mm(each.opened) / 2 for each in made.rings]
        self._rings.draw([_circle(r) for r in opened if r > 0])
        core = made.core_diameter
        if core is None:
            self._core.hide()
            self._core_name.draw((0, 0), "")
        else:
            half = sizes.mm(core) / 2
            self._core.draw(_circle(half))
            roomy = half > 16 * point
            self._core_name.draw((0, 0.45 * half), "core" if roomy else "")
        self._cutter.draw(_circle(cutter, path))
        engaged = np.linspace(0, sizes.rad(ring.engagement.engaged_angle), 2 * _POINTS)
        self._engaged.draw([[(path + cutter * math.cos(t), cutter * math.sin(t)) for t in engaged]])
        self._path.draw([_circle(path)])
        out = radius + 5 * point
        self._axes_of_bore.draw([[(-out, 0), (out, 0)], [(0, -out), (0, out)]])
        self._path_diameter.draw(
            (-path, 0),
            (path, 0),
            radius + 0.8 * STEP * point,
            f"path ⌀{_written(made.cut.path_diameter)}",
            room=max(radius - path, 0) / point,
        )
        self._cutter_diameter.draw(
            (path - cutter, 0),
            (path + cutter, 0),
            -radius - 0.9 * STEP * point,
            f"cutter ⌀{_written(made.cutter.cutting_diameter)}",
        )
        self._bore_diameter.draw(
            (-radius, 0),
            (radius, 0),
            -radius - 2.0 * STEP * point,
            f"bore ⌀{_written(made.bore_diameter)}",
        )


class _WallView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = View(axes, (44, 44, 44, 36))
        self._heading = Heading(axes, "the wall unrolled")
        self._plate = Section(self.view, colour=_FACE, width=0, order=0.4)
        self._edges = Linework(self.view, width=WIDE, order=2.4)
        self._cut_open = Linework(self.view, line=CENTRE, order=2.3)
        self._break = Linework(self.view, order=2.3)
        self._left = Section(self.view, hatch="///", colour=PAPER, width=NARROW, order=1.0)
        self._turns = Linework(self.view, width=1.2 * NARROW, order=2.0)
        self._flat = Linework(self.view, width=1.6 * WIDE, order=2.5)
        self._at_axis = Linework(self.view, width=1.4 * NARROW, line=HIDDEN, order=2.6)
        self._pitch = Dimension(self.view, upright=True)
        self._depth = Dimension(self.view, upright=True)
        self._round = Dimension(self.view, upright=False)

    def draw(self, made: Bore, unit: str) -> bool:
        """Draw it; returns whether all turns are drawn."""
        self._heading.draw(unit)
        base = made.cut.base
        start, end = sizes.mm(made.start_depth), sizes.mm(made.depth)
        pitch, turns = base["pitch"], base["passes"]
        wide = math.pi * base["bore_diameter"]
        shown, whole = _shown(made)
        lowest = max(shown, end)
        self.view.fit(0, wide, -lowest, 0)
        point = self.view.point
        self._plate.draw([(0, 0), (wide, 0), (wide, -shown), (0, -shown)])
        self._edges.draw([[(0, 0), (wide, 0)], *([[(0, -shown), (wide, -shown)]] if whole else [])])
        self._break.draw([] if whole else [wave((0, -shown), (wide, -shown), point)])
        self._cut_open.draw([[(x, 0), (x, -lowest)] for x in (0, wide)])
        numbers = list(_turns_drawn(turns, pitch / point))
        lines = []
        for number in numbers:
            last = min(number + 1, turns)
            lines.append(
                [
                    (0.0, -start - number * pitch),
                    ((last - number) * wide, -start - last * pitch),
                ]
            )
        self._turns.draw(lines)
        share = min(turns, 1.0)
        self._at_axis.draw(
            [[(0, -start), (share * math.pi * base["path_diameter"], -start - share * pitch)]]
        )
        self._flat.draw([[(0, -end), (wide, -end)]] if _flat_turns(made) else [])
        self._left.draw(_left_standing(made))
        self._pitch.draw(
            (0, -start),
            (0, -start - share * pitch),
            -1.0 * STEP * point,
            f"pitch {_written(made.cut.pitch)}",
        )
        if turns < 1:
            self._pitch.hide()
        self._depth.draw(
            (wide, 0), (wide, -end), wide + 1.3 * STEP * point, f"depth {_written(made.depth)}"
        )
        self._round.draw(
            (0, -lowest),
            (wide, -lowest),
            -lowest - 1.0 * STEP * point,
            f"one turn {_written(math.pi * made.bore_diameter)}",
            room=1.6 * STEP,
        )
        return bool(len(numbers) == math.ceil(turns * (1 - 1e-9)))


class _Told:
    """Time, speeds and chips, as a column of numbers."""

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        axes.set_axis_off()
        axes.text(
            0.5,
            1.0,
            "time and chips",
            transform=axes.transAxes,
            ha="center",
            va="top",
            fontsize=TEXT + 1.5,
            weight="bold",
            color=INK,
        )
        self._cells = [
            [
                axes.text(
                    x,
                    0.76 - 0.145 * row,
                    "",
                    transform=axes.transAxes,
                    ha=across,
                    va="center",
                    fontsize=TEXT,
                    color=INK,
                )
                for x, across in ((0.47, "right"), (0.52, "left"))
            ]
            for row in range(6)
        ]

    def draw(self, run: Run) -> None:
        rate, ring, many = sizes.show_rate, run.rings[-1], len(run.rings)
        rows = [
            ("time" if many == 1 else f"time, all {many} rings", rate(run.time)),
            ("spindle", rate(run.spindle_speed)),
            ("feed at the axis", rate(ring.axis_feed)),
            ("feed at the wall", rate(ring.wall_feed)),
            ("chip load at the wall", sizes.show(ring.chip_load, fine=True)),
            ("thickest chip", sizes.show(ring.thickest_chip, fine=True)),
        ]
        for cells, texts in zip(self._cells, rows, strict=True):
            for cell, text in zip(cells, texts, strict=True):
                cell.set_text(text)


class _Legend:
    """What the lines of the unrolled wall are."""

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        axes.set_axis_off()
        self._text = axes.text(
            0.0,
            0.8,
            "",
            transform=axes.transAxes,
            va="top",
            fontsize=TEXT,
            color=INK,
            linespacing=1.5,
        )

    def draw(self, made: Bore, all_drawn: bool) -> None:
        cut, left = made.cut, made.left
        turns = cut.passes.magnitude
        rows = [
            f"── wall, ramp {sizes.show(cut.edge_ramp_angle)}",
            f"- -  axis, ramp {sizes.show(cut.ramp_angle)}",
            f"{sizes.show_rate(cut.passes)} turn{'' if turns == 1 else 's'}"
            + ("" if all_drawn else f",\n{_ENDS} at each end drawn"),
        ]
        if left is None:
            rows += ["━  finishing turn at depth", "▨  what it takes away"]
        elif left.height.magnitude:
            rows += ["no finishing turn", f"▨  {_written(left.height)} stays at the wall"]
        else:
            rows += ["no finishing turn", "▨  stays below the plate"]
        if made.breakthrough is None:
            rows.append("blind")
        else:
            rows.append(f"{_written(made.breakthrough)} below the plate")
        self._text.set_text("\n".join(rows))


def _in_words(made: Bore) -> str:
    """What the picture shows."""
    cut, show = made.cut, sizes.show
    turns, many = sizes.show_rate(cut.passes), len(made.rings)
    last = f"the last of {many} rings, " if many > 1 else ""
    core = made.core_diameter
    standing = "" if core is None else f", a core of ⌀{show(core)} in the middle"
    through = ", through the plate" if made.breakthrough is not None else ", blind"
    flat = "a flat finishing turn at depth" if _flat_turns(made) else "no finishing turn"
    return (
        f"The helix in the bore: {last}{turns} {'turn' if turns == '1' else 'turns'} of "
        f"{show(cut.pitch)}, {show(made.depth)} deep{through}. "
        f"From above: bore ⌀{show(made.bore_diameter)}, path ⌀{show(cut.path_diameter)}, cutter "
        f"⌀{show(made.cutter.cutting_diameter)}{standing}. "
        f"The wall unrolled: ramp {show(cut.edge_ramp_angle)} at the wall, {show(cut.ramp_angle)} "
        f"at the axis, {flat}."
    )


def _seen(x: float, y: float, z: float) -> Point:
    """A place in the plate on the paper, Y away from the reader and Z up [mm]."""
    return x, y * _AWAY + z * _UP


def _circle(radius: float, middle: float = 0.0) -> list[Point]:
    turn = np.linspace(0, 2 * math.pi, 4 * _POINTS + 1)
    return [(middle + radius * math.cos(t), radius * math.sin(t)) for t in turn]


def _ring(radius: float, height: float) -> list[Point]:
    """A level circle about the bore's axis, as it is seen [mm]."""
    return [_seen(x, y, height) for x, y in _circle(radius)]


def _shown(made: Bore) -> tuple[float, bool]:
    """How much of the plate's thickness is drawn [mm], and whether that is all of it."""
    end = sizes.mm(made.depth)
    if made.plate_thickness is not None:
        thickness = sizes.mm(made.plate_thickness)
        if thickness <= 1.9 * end:
            return thickness, True
    return 1.3 * end, False


def _flat_turns(made: Bore) -> int:
    return made.flat_turns(made.rings[-1])


def _turns_drawn(turns: float, near: float) -> Iterator[int]:
    """Which turns are drawn: all, or where they would run together those at either end."""
    count = math.ceil(turns * (1 - 1e-9))
    for number in range(count):
        if near >= _CLOSEST or count <= 2 * _ENDS or not _ENDS <= number < count - _ENDS:
            yield number


def _turn(radius: float, begin: float, end: float, depth: Callable[[float], float]) -> list[Point]:
    """Part of a winding, from one number of turns to another, as it is seen [mm]."""
    turns = np.linspace(begin, end, max(2, round(2 * _POINTS * (end - begin)) + 1))
    return [
        _seen(radius * math.cos(angle), radius * math.sin(angle), -depth(angle / (2 * math.pi)))
        for angle in 2 * math.pi * turns
    ]


_BOTH_HALVES = ((True, (0.0, 0.5)), (False, (0.5, 1.0)))
"""The helix starts at the right and goes over the back first."""


def _halves(
    radius: float, start: float, end: float, turns: float, near: float
) -> Iterator[tuple[bool, list[Point]]]:
    """The helix of the axis in half turns, each with whether it lies behind the bore's axis."""

    def depth(turn: float) -> float:
        return start + (end - start) * turn / turns

    for number in _turns_drawn(turns, near):
        for behind, (begin, finish) in _BOTH_HALVES:
            if number + begin < turns - 1e-9:
                yield behind, _turn(radius, number + begin, min(number + finish, turns), depth)


def _left_standing(made: Bore) -> list[Point]:
    """What the helix alone leaves of the plate at the unrolled wall, above its end [mm]."""
    turns, start, end = made.cut.base["passes"], sizes.mm(made.start_depth), sizes.mm(made.depth)
    whole = math.ceil(turns * (1 - 1e-9)) - 1
    share = turns - whole
    passed = [(0.0, whole), (share, turns)]
    if share < 1 - 1e-9:
        passed += [(share, max(turns - 1, 0.0)), (1.0, max(whole, 0.0))]
    floor = end
    if made.breakthrough is not None and made.plate_thickness is not None:
        floor = min(end, sizes.mm(made.plate_thickness))
    wide = math.pi * made.cut.base["bore_diameter"]
    outline = [(at, start + (end - start) * turn / turns) for at, turn in passed]
    above = [(at, min(down, floor)) for at, down in _finely(outline)]
    return [(wide * at, -down) for at, down in [*above, (1.0, floor), (0.0, floor)]]


def _finely(outline: list[Point]) -> list[Point]:
    """A line through the same corners with many points, so that it can be cut off level."""
    return [
        (float(x), float(y))
        for (x0, y0), (x1, y1) in pairwise(outline)
        for x, y in zip(np.linspace(x0, x1, 60), np.linspace(y0, y1, 60), strict=True)
    ]


def _written(quantity: Quantity) -> str:
    """A size without its unit, which stands once on the sheet."""
    return sizes.show(quantity).rsplit(" ", 1)[0]
