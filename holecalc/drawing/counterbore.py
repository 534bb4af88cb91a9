"""A captured fastener drawn to scale: the stack in section, the pocket from above.

Two views of one :class:`holecalc.counterbore.Pocket`, and what is worth reading beside them:

- the section, face A always on top: the plate, the fastener in its pocket, and, where it is known,
  the screw with its engaged thread (heavy), the mating part and the washers. A pocket with flats is
  cut through the middle of two of them. A screw in the plane of a section is not itself cut
  (ISO 128-3); nuts and inserts are, to show their thread;
- the pocket from the face it is cut from, the plane of the section across the paper: the nut
  turned as far as it goes and, dash-dotted, as it goes in; the cutter in each corner, and the
  reliefs.

The screw's head and the outline of the washers are not given, and are drawn only as tokens.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holecalc import nuts, sizes
from holecalc.counterbore import Fastener, Pocket
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
from holecalc.flats import Outline
from holecalc.nuts import CapScrew, Insert, Nut, Thread, TNut, Washer
from holecalc.screws import ScrewLength
from holecalc.sizes import Quantity
from holecalc.stack import Step

__all__ = ["CounterboreFigure"]

_FACE, _FASTENER, _SCREW, _MATE = "#f1ede4", "#cfd8d3", "#e4e8ec", "#f4f1ea"
_CORE = 1.0825
"""Pitches that a thread's core is narrower than its crests: the profile of ISO 68-1."""
_HEAD_ACROSS, _HEAD_HIGH, _WASHER_ACROSS = 1.6, 0.65, 2.1
"""In screw diameters, of the tokens for a head and washers whose form is not given."""
_ROWS = 14
_MOST = 1.3
"""Plate thicknesses of mating part that are drawn; beyond, the view is broken."""


class CounterboreFigure(Picture):
    r"""The picture of a captured fastener, made once and redrawn for every new one.

    Parameters
    ----------
    pocket : holecalc.counterbore.Pocket, optional
        What to draw first.
    screw : holecalc.screws.ScrewLength, optional
        The screw in it, with the mating part and the washers.
    unit : str, optional
        The unit dimensions are written in; that of the plate by default.

    Examples
    --------
    >>> from holecalc import counterbore, nuts
    >>> pocket = counterbore.pocket_for_hex_nut(
    ...     nuts.hex_nut("ISO 4032", "M8"), plate_thickness="18 mm", cutter_diameter="6 mm",
    ... )
    >>> picture = CounterboreFigure(pocket, pocket.screw(mating_part="12 mm", behind="10 mm"))
    >>> picture.png()[:4]
    b'\x89PNG'
    """

    def __init__(
        self,
        pocket: Pocket | None = None,
        screw: ScrewLength | None = None,
        unit: str | None = None,
    ) -> None:
        super().__init__(7.2)
        self._section = _SectionView(self, (0.0, 0.47, 1.0, 0.53))
        self._above = _AboveView(self, (0.0, 0.0, 0.5, 0.46))
        self._told = _Told(self, (0.5, 0.01, 0.49, 0.44))
        if pocket is not None:
            self.draw(pocket, screw, unit)

    def __repr__(self) -> str:
        return "<CounterboreFigure>"

    def draw(
        self, pocket: Pocket, screw: ScrewLength | None = None, unit: str | None = None
    ) -> None:
        """Move everything to where it is for this pocket and this screw."""
        shown = unit or sizes.system_of(pocket.stack.plate_thickness)
        with sizes.shown_in(shown):
            self._section.draw(pocket, screw, shown)
            self._above.draw(pocket, shown)
            self._told.draw(pocket, screw)
            self.said = _in_words(pocket, screw)


@dataclass(frozen=True)
class _Heights:
    """Where depths are on the paper, face A on top at 0 [mm]."""

    thickness: float
    face: str
    same_face: bool
    """Whether the screw comes from the face the pocket is cut from."""

    def below(self, depth: float) -> float:
        """Of a depth below the face the pocket is cut from."""
        return -depth if self.face == "A" else depth - self.thickness

    def along(self, way: float) -> float:
        """Of a way along the screw, from the face it enters."""
        return -way if (self.face == "A") == self.same_face else way - self.thickness


@dataclass(frozen=True)
class _Assembly:
    """The screw and what it clamps, as ways along it from the face it enters [mm]."""

    mating: float
    washers: float
    tip: float
    thread_starts: float
    engaged_to: float
    radius: float
    core: float
    broken: bool
    cut_off: bool

    @property
    def head(self) -> float:
        """Under the head."""
        return -self.mating - self.washers

    @property
    def top(self) -> float:
        """Of the head."""
        return self.head - 2 * self.radius * _HEAD_HIGH


def _assembly(pocket: Pocket, screw: ScrewLength, thickness: float) -> _Assembly:
    mating, washers, starts = (
        sizes.mm(screw.clamped[name]) for name in ("mating part", "washers", "plate")
    )
    ends = sizes.mm(screw.length) - mating - washers
    farthest = (1 + 0.5 * _MOST) * thickness
    return _Assembly(
        min(mating, _MOST * thickness),
        washers,
        min(ends, farthest),
        starts,
        starts + sizes.mm(screw.engaged),
        _radius(screw.thread.diameter),
        _core_radius(screw.thread),
        mating > _MOST * thickness,
        ends > farthest,
    )


class _SectionView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = view = View(axes, (68, 88, 74, 92))
        self._heading = Heading(axes, "the section")
        self._plate = [Section(view, hatch="///", width=0) for _ in range(2)]
        self._edges = Linework(view, width=WIDE)
        self._break = Linework(view, order=2.1)
        self._mate = [
            Section(view, hatch="\\\\\\", colour=_MATE, width=WIDE, order=1.2) for _ in range(2)
        ]
        self._washers = [Section(view, colour=_MATE, width=WIDE, order=1.3) for _ in range(2)]
        self._cut_part = [
            Section(view, hatch="\\\\\\\\\\", colour=_FASTENER, width=WIDE, order=1.5)
            for _ in range(2)
        ]
        self._under = [Section(view, colour=_MATE, width=WIDE, order=1.4) for _ in range(2)]
        self._prongs = Linework(view, order=1.6)
        self._thread = Linework(view, order=1.7)
        self._whole_part = Section(view, colour=_SCREW, width=WIDE, order=2.4)
        self._screw = Section(view, colour=_SCREW, width=WIDE, order=2.2)
        self._passing = Linework(view, line=ELSEWHERE, order=2.2)
        self._crests = Linework(view, order=2.5)
        self._engaged_line = Linework(view, width=2.6 * WIDE, order=2.6)
        self._gap = Section(view, colour=PAPER, width=0, order=2.8)
        self._gap_edges = Linework(view, order=2.9)
        self._axis = Linework(view, line=CENTRE, order=3)
        self._letters = [Note(view, weight="bold") for _ in range(2)]
        self._widths = [Dimension(view, upright=False) for _ in range(2)]
        self._recess, self._seat, self._deep, self._length = (
            Dimension(view, upright=True) for _ in range(4)
        )
        self._engaged, self._web, self._thick = (Dimension(view, upright=True) for _ in range(3))

    def draw(self, pocket: Pocket, screw: ScrewLength | None, unit: str) -> None:
        self._heading.draw(unit)
        stack = pocket.stack
        thickness = sizes.mm(stack.plate_thickness)
        heights = _Heights(thickness, pocket.face, isinstance(pocket.fastener, Insert))
        made = None if screw is None else _assembly(pocket, screw, thickness)
        top, bottom = self._extent(pocket, made, heights)
        widest = max(
            [step.outline.radial(_across(step)) for step in stack.steps(pocket.face)]
            + [_fastener_radius(pocket), _hole_radius(pocket)]
        )
        if made is not None:
            widest = max(widest, made.radius * _WASHER_ACROSS)
        half = max(1.4 * widest, 0.3 * (top - bottom))
        # Widths are dimensioned on the side the pocket is cut from, below the heading.
        self.view.margins = (68, 88, 54, 92) if pocket.face == "A" else (68, 88, 74, 72)
        self.view.fit(-half, half, bottom, top)
        self._draw_plate(pocket, half, thickness)
        self._draw_fastener(pocket, heights)
        self._draw_screw(made, heights, half, _hole_radius(pocket))
        self._draw_whole(pocket, heights)
        point = self.view.point
        self._axis.draw([[(0, top + 8 * point), (0, bottom - 8 * point)]])
        for letter, at, said in zip(
            self._letters, (8 * point, -thickness - 8 * point), "AB", strict=True
        ):
            letter.draw((-half + 7 * point, at), said)
        self._draw_widths(pocket, made, heights, (top, bottom))
        self._draw_depths(pocket, heights, half)
        self._draw_lengths(screw, made, heights, half)

    def _extent(
        self, pocket: Pocket, made: _Assembly | None, heights: _Heights
    ) -> tuple[float, float]:
        reached = [0.0, -heights.thickness, heights.below(sizes.mm(pocket.recess))]
        if made is not None:
            reached += [heights.along(made.top), heights.along(made.tip)]
        if isinstance(pocket.fastener, CapScrew | Washer):
            stub = 0.25 * heights.thickness
            reached.append(heights.below(heights.thickness + stub))
        return max(reached), min(reached)

    def _draw_plate(self, pocket: Pocket, half: float, thickness: float) -> None:
        stack = pocket.stack
        wall = _wall(pocket)
        outline = [(half, 0.0), *wall, (half, -thickness)]
        for patch, way in zip(self._plate, (1, -1), strict=True):
            patch.draw([(way * x, y) for x, y in outline])
        # Below a blind hole both halves of the plate are one: no edge runs along the axis.
        parts = [[(x, y), (u, v)] for (x, y), (u, v) in pairwise(outline) if max(x, u) > 0]
        lines: list[Sequence[Point]] = [
            [(way * x, y) for x, y in part] for part in parts for way in (1, -1)
        ]
        # Edges of floors that are seen beyond the plane of the section.
        for face, sign in (("A", 0.0), ("B", thickness)):
            for step in stack.steps(face):
                depth = sizes.mm(step.depth)
                y = -depth if face == "A" else depth - sign
                radius = step.outline.radial(_across(step))
                lines.append([(-radius, y), (radius, y)])
                edge = -sign
                lines.append([(-radius, edge), (radius, edge)])
        if stack.hole_diameter is not None:
            bore = sizes.mm(stack.hole_diameter) / 2
            lines += [[(-bore, y), (bore, y)] for y in (wall[0][1], wall[-1][1])]
        self._edges.draw(lines)
        self._break.draw(
            [wave((way * half, 0.0), (way * half, -thickness), self.view.point) for way in (1, -1)]
        )

    def _draw_fastener(self, pocket: Pocket, heights: _Heights) -> None:
        fastener = pocket.fastener
        profile = [(x, heights.below(depth)) for x, depth in _profile(pocket)]
        _both(self._cut_part, profile, _inside_radius(fastener))
        depth, height = sizes.mm(pocket.depth), sizes.mm(pocket.height)
        self._prongs.draw(
            [[(x, heights.below(z)) for x, z in prong] for prong in _prongs(pocket)]
            if isinstance(fastener, TNut)
            else []
        )
        if isinstance(fastener, Nut | TNut | Insert):
            crest = _radius(fastener.thread.diameter)
            start, end = depth - height, depth - height + sizes.mm(pocket.thread_length)
            self._thread.draw(
                [[(way * crest, heights.below(z)) for z in (start, end)] for way in (1, -1)]
            )
        else:
            self._thread.draw([])
        washer = 0.0
        if isinstance(fastener, CapScrew):
            washer = height - sizes.mm(fastener.head_height)
        if washer > 1e-6 and pocket.bearing is not None:
            wide = sizes.mm(pocket.bearing[0]) / 2
            rectangle = [(wide, depth - washer), (wide, depth)]
            _both(
                self._under,
                [(x, heights.below(z)) for x, z in rectangle],
                sizes.mm(pocket.bearing[1]) / 2,
            )
        else:
            _hide(self._under)

    def _draw_whole(self, pocket: Pocket, heights: _Heights) -> None:
        """A cap screw's head and shank; what passes a washer."""
        fastener, thickness = pocket.fastener, heights.thickness
        out = thickness + 0.25 * thickness
        point = self.view.point
        self._passing.draw([])
        if isinstance(fastener, CapScrew):
            start = sizes.mm(pocket.recess)
            under = start + sizes.mm(fastener.head_height)
            head, shank = (
                sizes.mm(size) / 2 for size in (fastener.head_diameter, fastener.thread.diameter)
            )
            right = [(head, start), (head, under), (shank, under), (shank, out)]
            left = [(-x, z) for x, z in reversed(right)]
            end = wave((shank, heights.below(out)), (-shank, heights.below(out)), point)
            self._whole_part.draw(
                [
                    *((x, heights.below(z)) for x, z in right),
                    *end,
                    *((x, heights.below(z)) for x, z in left),
                ]
            )
            return
        self._whole_part.hide()
        if isinstance(fastener, Washer):
            radius = _radius(nuts.thread(fastener.size).diameter)
            ends = (-0.25 * thickness, out)
            self._passing.draw(
                [[(way * radius, heights.below(z)) for z in ends] for way in (1, -1)]
            )

    def _draw_screw(
        self, made: _Assembly | None, heights: _Heights, half: float, hole: float
    ) -> None:
        if made is None:
            for lines in (self._crests, self._engaged_line, self._gap_edges):
                lines.draw([])
            for patches in (self._mate, self._washers, [self._screw, self._gap]):
                _hide(patches)
            return
        point, radius, up = self.view.point, made.radius, heights.along
        clear = max(hole, radius)
        if made.mating > 1e-9:
            _both(self._mate, [(0.8 * half, up(-made.mating)), (0.8 * half, up(0.0))], clear)
        else:
            _hide(self._mate)
        across = min(radius * _WASHER_ACROSS, 0.8 * half)
        if made.washers > 1e-9:
            _both(self._washers, [(across, up(made.head)), (across, up(-made.mating))], radius)
        else:
            _hide(self._washers)
        head = radius * _HEAD_ACROSS
        bevel = min(radius - made.core, 0.5 * max(made.tip - made.head, 0.0))
        start = [(head, made.top), (head, made.head), (radius, made.head)]
        end = [(radius, made.tip - bevel), (made.core, made.tip)]
        if made.cut_off:
            end = [(radius, made.tip)]
        right = [(x, up(way)) for x, way in (*start, *end)]
        left = [(-x, y) for x, y in reversed(right)]
        finish = wave(right[-1], left[0], point) if made.cut_off else []
        self._screw.draw([*right, *finish, *left])
        self._crests.draw(
            [[(way * made.core, up(s)) for s in (made.head, made.tip)] for way in (1, -1)]
        )
        engaged = (made.thread_starts, made.engaged_to)
        self._engaged_line.draw(
            [[(way * radius, up(s)) for s in engaged] for way in (1, -1)]
            if made.engaged_to > made.thread_starts
            else []
        )
        self._draw_gap(made, heights, half)

    def _draw_gap(self, made: _Assembly, heights: _Heights, half: float) -> None:
        if not made.broken:
            self._gap.hide()
            self._gap_edges.draw([])
            return
        point, middle = self.view.point, heights.along(-made.mating / 2)
        wide = 0.8 * half + 3 * point
        upper, lower = (
            wave((-wide, middle + way * 3 * point), (wide, middle + way * 3 * point), point)
            for way in (1, -1)
        )
        self._gap.draw([*upper, *reversed(lower)])
        self._gap_edges.draw([upper, lower])

    # --- dimensions

    def _draw_widths(
        self,
        pocket: Pocket,
        made: _Assembly | None,
        heights: _Heights,
        extent: tuple[float, float],
    ) -> None:
        steps = pocket.stack.steps(pocket.face)
        shown = [] if made is not None and heights.same_face else [*reversed(steps)]
        point, upward = self.view.point, pocket.face == "A"
        level = extent[0] if upward else extent[1]
        for number, dimension in enumerate(self._widths):
            if number >= len(shown):
                dimension.hide()
                continue
            step = shown[number]
            radius = step.outline.radial(_across(step))
            off = (0.9 if upward else 1.25) + number * 1.05
            dimension.draw(
                (-radius, heights.below(0.0)),
                (radius, heights.below(0.0)),
                level + (off if upward else -off) * STEP * point,
                _width(step),
            )

    def _draw_depths(self, pocket: Pocket, heights: _Heights, half: float) -> None:
        point, up = self.view.point, heights.below
        steps = pocket.stack.steps(pocket.face)
        columns = [half + (0.75 + 1.05 * number) * STEP * point for number in range(3)]
        edge = (half, up(0.0))
        # A value that does not fit goes where the plate is, not off the paper.
        upward = pocket.face == "B"
        recess = sizes.mm(pocket.recess)
        if abs(recess) >= 0.0005:
            word = "recess" if recess > 0 else "proud"
            self._recess.draw(
                edge, (_fastener_radius(pocket), up(recess)), columns[0],
                f"{word} {_written(abs(pocket.recess))}", above=upward,
            )  # fmt: skip
        else:
            self._recess.hide()
        for dimension, step, column in zip(
            (self._seat, self._deep), [*steps, None, None][:2], columns[1:], strict=True
        ):
            if step is None:
                dimension.hide()
                continue
            radius, depth = step.outline.radial(_across(step)), sizes.mm(step.depth)
            told = f"{_name(step)} {_written(step.depth)} deep"
            dimension.draw(edge, (radius, up(depth)), column, told, above=upward)
        self._thick.draw(
            (-half, 0.0), (-half, -heights.thickness), -half - 2.75 * STEP * point,
            f"plate {_written(pocket.stack.plate_thickness)}",
        )  # fmt: skip
        web = pocket.stack.web.thickness
        floor = heights.thickness - sizes.mm(web)
        inner = steps[-1].outline.radial(_across(steps[-1])) if steps else half
        if steps and web < pocket.stack.plate_thickness:
            self._web.draw(
                (-inner, up(floor)), (-half, up(heights.thickness)), -half - 1.7 * STEP * point,
                f"web {_written(web)}", above=not upward,
            )  # fmt: skip
        else:
            self._web.hide()

    def _draw_lengths(
        self,
        screw: ScrewLength | None,
        made: _Assembly | None,
        heights: _Heights,
        half: float,
    ) -> None:
        if screw is None or made is None:
            self._length.hide()
            self._engaged.hide()
            return
        point, up = self.view.point, heights.along
        self._length.draw(
            (made.radius * _HEAD_ACROSS, up(made.head)), (made.core, up(made.tip)),
            half + 4.25 * STEP * point, f"screw {_written(screw.length)}",
            above=up(made.head) < up(made.tip),
        )  # fmt: skip
        if screw.engaged.magnitude > 0:
            self._engaged.draw(
                (-made.radius, up(made.thread_starts)), (-made.radius, up(made.engaged_to)),
                -half - 0.65 * STEP * point, f"engaged {_written(screw.engaged)}",
                above=heights.face == "B",
            )  # fmt: skip
        else:
            self._engaged.hide()


class _AboveView:
    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        self.view = view = View(axes, (30, 30, 58, 86))
        self._heading = Heading(axes, "the pocket")
        self._plate = Section(view, colour=_FACE, width=0, order=0.4)
        self._steps = [Section(view, colour=PAPER, width=WIDE, order=0.5 + n / 10) for n in (0, 1)]
        self._hole = Linework(view, order=1.0)
        self._part = Section(view, colour=_FASTENER, opacity=0.75, width=WIDE, order=1.2)
        self._bore = Linework(view, width=WIDE, order=1.4)
        self._straight = Linework(view, line=ELSEWHERE, order=1.5)
        self._cutters = Linework(view, line=ELSEWHERE, order=2.0)
        self._path = Linework(view, line=CENTRE, order=2.1)
        self._reliefs = Linework(view, width=1.5 * NARROW, line=ELSEWHERE, order=2.2)
        self._axes_of_hole = Linework(view, line=CENTRE, order=2.6)
        self._spins = Note(view, weight="bold")
        self._upper = [Dimension(view, upright=False) for _ in range(2)]
        self._lower = [Dimension(view, upright=False) for _ in range(2)]

    def draw(self, pocket: Pocket, unit: str) -> None:
        self._heading.draw(unit, f"seen from face {pocket.face}")
        steps = pocket.stack.steps(pocket.face)
        outlines = [_upright(step) for step in steps]
        hole = _hole_radius(pocket)
        reach = max([outline.reach for outline in outlines] + [_fastener_radius(pocket), hole])
        self.view.fit(-reach, reach, -reach, reach)
        point = self.view.point
        side = reach + 8 * point
        self._plate.draw([(-side, -side), (side, -side), (side, side), (-side, side)])
        for number, patch in enumerate(self._steps):
            if number < len(outlines):
                patch.draw(_seen(outlines[number].radial))
            else:
                patch.hide()
        self._hole.draw([_circle(hole)] if pocket.stack.hole_diameter is not None else [])
        self._draw_fastener(pocket)
        self._draw_corners(outlines[0] if outlines else None)
        out = side + 2 * point
        self._axes_of_hole.draw([[(-out, 0), (out, 0)], [(0, -out), (0, out)]])
        self._draw_dimensions(pocket, steps, reach)

    def _draw_fastener(self, pocket: Pocket) -> None:
        fastener, turning = pocket.fastener, pocket.turning
        self._spins.draw((0, 0), "")
        if isinstance(fastener, Nut):
            half = math.pi / fastener.sides
            straight = Outline(fastener.sides, sizes.mm(fastener.across_flats), turned=math.pi / 2)
            self._straight.draw([_corners(straight)])
            turned = half
            if turning is not None and turning.most is not None:
                turned = sizes.rad(turning.most)
            self._part.draw(_turned_nut(pocket, turned))
            if turning is not None and turning.spins:
                self._spins.draw((0, 0), "it spins")
        else:
            self._straight.draw([])
            self._part.draw(_circle(_fastener_radius(pocket)))
        inside = _inside_radius(fastener)
        self._bore.draw([_circle(inside)] if inside else [])

    def _draw_corners(self, outline: Outline | None) -> None:
        if outline is None or not outline.sides:
            for lines in (self._cutters, self._path, self._reliefs):
                lines.draw([])
            return
        corners = [
            (outline.corner_centre * math.cos(angle), outline.corner_centre * math.sin(angle))
            for angle in outline.turned + 2 * outline.half * np.arange(outline.sides)
        ]
        radius = outline.corner_radius
        relieved = bool(outline.relief_radius)
        in_corners = [_circle(radius, *corner) for corner in corners]
        self._cutters.draw(in_corners if radius and not relieved else [])
        self._path.draw([[*corners, corners[0]]] if radius and outline.corner_centre > 0 else [])
        share = outline.relief_centre / outline.corner_centre if outline.corner_centre else 0.0
        self._reliefs.draw(
            [_circle(outline.relief_radius, share * x, share * y) for x, y in corners]
            if relieved
            else []
        )

    def _draw_dimensions(self, pocket: Pocket, steps: Sequence[Step], reach: float) -> None:
        upper: list[tuple[float, str]] = []
        lower: list[tuple[float, str]] = []
        fastener = pocket.fastener
        if steps:
            relief = steps[0].relief
            if relief is not None:
                centres = sizes.mm(relief.circle_diameter) / 2
                upper.append((centres, f"reliefs ⌀{_written(relief.circle_diameter)}"))
            upper.append((steps[0].outline.radial(_across(steps[0])), _width(steps[0])))
        if pocket.stack.hole_diameter is not None:
            lower.append((_hole_radius(pocket), f"hole ⌀{_written(pocket.stack.hole_diameter)}"))
        if len(steps) > 1:
            lower.append((steps[1].outline.apothem, _width(steps[1])))
        elif isinstance(fastener, Nut):
            flats = fastener.across_flats
            lower.append((sizes.mm(flats) / 2, f"nut {_written(flats)}"))
        elif steps and pocket.bearing is not None:
            across = 2 * _fastener_radius(pocket)
            told = _written(sizes.from_mm(across, pocket.stack.plate_thickness.units))
            lower.append((across / 2, f"{_kind(fastener)} ⌀{told}"))
        point = self.view.point
        for dimensions, wanted, way in ((self._upper, upper, 1), (self._lower, lower, -1)):
            for number, dimension in enumerate(dimensions):
                if number >= len(wanted):
                    dimension.hide()
                    continue
                radius, text = wanted[number]
                level = reach + (1.15 + 1.1 * number + (way < 0) * 0.4) * STEP * point
                dimension.draw((-radius, 0), (radius, 0), way * level, text)


class _Told:
    """What is not in the drawings, as a column."""

    def __init__(self, picture: Picture, place: tuple[float, float, float, float]) -> None:
        axes = picture.figure.add_axes(place)
        axes.set_axis_off()
        self._name = axes.text(
            0.5, 0.98, "", transform=axes.transAxes, ha="center", va="top",
            fontsize=TEXT + 0.5, weight="bold", color=INK,
        )  # fmt: skip
        # A text for each line: in one of many lines their heights would differ.
        self._rows = [
            [
                axes.text(
                    x,
                    0.84 - 0.063 * number,
                    "",
                    transform=axes.transAxes,
                    ha=across,
                    va="baseline",
                    fontsize=TEXT,
                    color=INK,
                )
                for x, across in ((0.32, "right"), (0.35, "left"))
            ]
            for number in range(_ROWS)
        ]

    def draw(self, pocket: Pocket, screw: ScrewLength | None) -> None:
        rows = [*_told_nut(pocket), *_told_screw(screw)]
        if not isinstance(pocket.fastener, Nut):
            rows += [
                (allowed.name.replace("_", " "), _fine(allowed.size))
                for allowed in pocket.allowances
                if allowed.name != "recess"
            ]
        self._name.set_text(textwrap.fill(str(pocket.fastener), 32, max_lines=2, placeholder="…"))
        rows += [("", "")] * (_ROWS - len(rows))
        for cells, row in zip(self._rows, rows, strict=True):
            for cell, text in zip(cells, row, strict=True):
                cell.set_text(text)


def _told_nut(pocket: Pocket) -> list[tuple[str, str]]:
    turning, seat = pocket.turning, pocket.seat
    if turning is None or seat is None:
        return []
    rows = []
    if turning.most is None:
        rows.append(("nut turns", "all the way round: it spins"))
    else:
        low = "" if turning.least is None else f"{sizes.show(turning.least, places=1)} to "
        rows.append(("nut turns", f"{low}{sizes.show(turning.most, places=1)} either way"))
        rows.append(("held by", f"the {turning.stopped_by}"))
    if seat.cutter_diameter is not None:
        rows.append(("cutter", _fine(seat.cutter_diameter)))
    if seat.relief is not None:
        rows.append(("reliefs by", _fine(seat.relief.cutter_diameter)))
        rows.append(("of each flat", f"{_fine(seat.relief.flat_left)} at most is left"))
    rows.append(("━━", "nut turned as far as it goes"))
    cutters = "cutters" if seat.relief is None else "reliefs"
    rows.append(("━ ‧ ‧ ━", f"nut straight; {cutters}"))
    rows.append(("", "in the corners"))
    return rows


def _told_screw(screw: ScrewLength | None) -> list[tuple[str, str]]:
    if screw is None:
        return []
    rows = [
        ("screw", f"{screw.thread} × {sizes.show(screw.length)}"),
        ("clamps", _fine(screw.grip)),
        ("engaged", f"{screw.turns:.1f} turns, {screw.diameters:.2f} diameters"),
    ]
    through = screw.tip.magnitude >= 0
    side = "through the thread" if through else "short of its end"
    rows.append(("tip", f"{_fine(abs(screw.tip))} {side}"))
    if screw.beyond is not None and through:
        where = "floor" if screw.blind else "face"
        if abs(sizes.mm(screw.beyond)) < 0.0005:
            rows.append(("", f"level with the {where}"))
        else:
            way = "past" if screw.beyond.magnitude > 0 else "short of"
            rows.append(("", f"{_fine(abs(screw.beyond))} {way} the {where}"))
    return rows


# --- outlines ------------------------------------------------------------------------------------


def _across(step: Step) -> float:
    """The direction square to a flat, in the pocket's own plane [rad]."""
    outline = step.outline
    return outline.turned + outline.half if outline.sides else 0.0


def _upright(step: Step) -> Outline:
    """A step's outline turned so that two of its flats stand upright on the paper."""
    ours = step.outline
    if not ours.sides:
        return ours
    turned = math.pi / 2 if ours.sides == 6 else math.pi / 4
    return Outline(
        ours.sides, ours.across, ours.corner_radius, ours.relief_radius, ours.relief_centre, turned
    )


def _wall(pocket: Pocket) -> list[Point]:
    """The right-hand outline of the cut plate, from face A to face B [mm]."""
    stack = pocket.stack
    seat = pocket.seat
    lines = stack.profile(sizes.from_rad(0.0 if seat is None else _across(seat)))
    thickness = sizes.mm(stack.plate_thickness)
    points = [(float(x), -float(z)) for line in lines for x, z in sizes.mm(line)]
    if stack.hole_diameter is None:
        if not stack.from_a:
            points.insert(0, (0.0, 0.0))
        if not stack.from_b:
            points.append((0.0, -thickness))
    return points


def _hole_radius(pocket: Pocket) -> float:
    hole = pocket.stack.hole_diameter
    if hole is None:
        return min((step.outline.apothem for step in pocket.stack.steps(pocket.face)), default=0.0)
    return _radius(hole)


def _fastener_radius(pocket: Pocket) -> float:
    """Of the fastener where it is widest in the section [mm]."""
    fastener = pocket.fastener
    if isinstance(fastener, Nut):
        return _radius(fastener.across_flats)
    if pocket.bearing is not None:
        return _radius(pocket.bearing[0])
    return _radius(fastener.hole_diameter) if isinstance(fastener, Insert) else 0.0


def _inside_radius(fastener: Fastener) -> float:
    """Of the hole through a fastener [mm]; 0 for one without."""
    if isinstance(fastener, Nut | TNut | Insert):
        return _core_radius(fastener.thread)
    return _radius(fastener.inside_diameter) if isinstance(fastener, Washer) else 0.0


def _core_radius(thread: Thread) -> float:
    return _radius(thread.diameter - _CORE * thread.pitch)


def _radius(diameter: Quantity) -> float:
    return float(sizes.mm(diameter)) / 2


def _profile(pocket: Pocket) -> list[Point]:
    """The outside of a fastener that is cut, from its face down, as radius and depth [mm]."""
    fastener = pocket.fastener
    depth, start = sizes.mm(pocket.depth), sizes.mm(pocket.recess)
    wide = _fastener_radius(pocket)
    if isinstance(fastener, TNut | Insert):
        if isinstance(fastener, TNut):
            neck, length = fastener.barrel_diameter, fastener.barrel_length
        else:
            neck, length = fastener.hole_diameter, fastener.length
        radius, end = sizes.mm(neck) / 2, depth + sizes.mm(length)
        return [(wide, start), (wide, depth), (radius, depth), (radius, end)]
    if isinstance(fastener, CapScrew):
        return []
    return [(wide, start), (wide, depth)]


def _prongs(pocket: Pocket) -> list[list[Point]]:
    t_nut = pocket.fastener
    if not isinstance(t_nut, TNut) or not t_nut.prong_length.magnitude:
        return []
    depth, long = sizes.mm(pocket.depth), sizes.mm(t_nut.prong_length)
    flange, barrel = (sizes.mm(d) / 2 for d in (t_nut.flange_diameter, t_nut.barrel_diameter))
    inner, outer = barrel + 0.72 * (flange - barrel), barrel + 0.9 * (flange - barrel)
    return [
        [(way * inner, depth), (way * outer, depth + long), (way * outer, depth)] for way in (1, -1)
    ]


def _turned_nut(pocket: Pocket, turned: float) -> list[Point]:
    r"""The smallest nut, turned from where its flats are parallel to the pocket's [mm].

    ::

                 .-' flat, s/2          how a nut's corners are rounded is not known, only that
        tip  .-'                        each has a point e/2 from the middle: from there straight
          .'                            to the flats, a little steeper than the pocket's flat lies
         :   half of a corner

    Where the ends of the pocket's flats hold it, the nut's own flats are drawn as far as they can
    be, to the circle e.
    """
    nut = pocket.fastener
    assert isinstance(nut, Nut)
    half, tip = math.pi / nut.sides, sizes.mm(nut.across_corners) / 2
    flat = sizes.mm(nut.least_across_flats) / 2
    held = pocket.turning
    if held is not None and held.stopped_by == "ends of the flats":
        flat_to = math.sqrt(tip**2 - flat**2)
        corner = [
            (tip, angle) for angle in np.linspace(-1, 1, 9) * (half - math.atan2(flat_to, flat))
        ]
    else:
        lower, beside = tip * math.cos(half), tip * math.sin(half)
        run = 1.2 * (flat - lower) / math.tan(max(turned, 1e-3))
        along = max(beside - max(run, 0.0), 0.0)
        side = half - math.atan2(along, flat)
        out = math.hypot(along, flat)
        corner = [(out, -side), (tip, 0.0), (out, side)]
    points = []
    for number in range(nut.sides):
        diagonal = (math.pi / 2 if nut.sides == 6 else math.pi / 4) + turned + 2 * half * number
        points += [(r * math.cos(diagonal + a), r * math.sin(diagonal + a)) for r, a in corner]
    return points


def _corners(outline: Outline) -> list[Point]:
    out = outline.apothem / math.cos(outline.half)
    first = math.pi / 2 if outline.sides == 6 else math.pi / 4
    angles = first + 2 * outline.half * np.arange(outline.sides + 1)
    return [(out * math.cos(angle), out * math.sin(angle)) for angle in angles]


def _seen(radial: Callable[[float], float]) -> list[Point]:
    angles = np.linspace(0, 2 * math.pi, 721)
    return [(radial(a) * math.cos(a), radial(a) * math.sin(a)) for a in angles]


def _circle(radius: float, x: float = 0.0, y: float = 0.0) -> list[Point]:
    angles = np.linspace(0, 2 * math.pi, 73)
    return [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]


def _both(patches: Sequence[Section], outside: Sequence[Point], inside: float) -> None:
    """Draw either half of something round with a hole through it, by its outside."""
    if not outside:
        _hide(patches)
        return
    half = [*outside, (inside, outside[-1][1]), (inside, outside[0][1])]
    for patch, way in zip(patches, (1, -1), strict=True):
        patch.draw([(way * x, y) for x, y in half])


def _hide(patches: Sequence[Section]) -> None:
    for patch in patches:
        patch.hide()


# --- words ---------------------------------------------------------------------------------------


def _in_words(pocket: Pocket, screw: ScrewLength | None) -> str:
    """What the picture shows."""
    show, stack = sizes.show, pocket.stack
    steps = [
        f"{_name(step)} {'⌀' if step.shape == 'round' else f'{step.shape} '}{show(step.across)}, "
        f"{show(step.depth)} deep"
        for step in stack.steps(pocket.face)
    ]
    hole = stack.hole_diameter
    steps += [f"hole ⌀{show(hole)}"] if hole is not None else []
    proud = pocket.recess.magnitude < 0
    lies = f"{show(abs(pocket.recess))} {'proud' if proud else 'below the face'}"
    told = (
        f"Section of the plate, {show(stack.plate_thickness)} thick, face A on top: "
        f"{pocket.fastener} from face {pocket.face}, {lies}; {'; '.join(steps)}; "
        f"web {show(stack.web.thickness)}. "
    )
    if screw is not None:
        told += f"Screw {screw.thread}, {show(screw.length)} long, engaged {show(screw.engaged)}. "
    turned = ""
    if pocket.turning is not None:
        most = pocket.turning.most
        turned = ", the nut free to spin" if most is None else f", the nut turned {show(most)}"
    return f"{told}The pocket seen from face {pocket.face}{turned}."


def _fine(size: Quantity) -> str:
    return sizes.show(size, fine=True)


def _written(quantity: Quantity) -> str:
    """A size without its unit, which stands once on the sheet."""
    return sizes.show(quantity).rsplit(" ", 1)[0]


def _width(step: Step) -> str:
    sign = {"round": "⌀", "hexagon": "⬡ ", "square": "□ "}[step.shape]
    return f"{_name(step)} {sign}{_written(step.across)}"


def _name(step: Step) -> str:
    # The nut is dimensioned, too.
    return "pocket" if step.name in ("", "nut") else step.name


def _kind(fastener: Fastener) -> str:
    if isinstance(fastener, CapScrew):
        return "head"
    return "washer" if isinstance(fastener, Washer) else "flange"
