"""Small figures that show where each dimension of a field is measured.

They are drawn as SVG in the colour of the text around them, so that they read well on any theme.
A figure names its dimensions with the labels of the fields, and is for wherever all of these are
asked for.

::

    x to the right, y down, both in the pixels of the figure; 300 is the width of a panel's fields
"""

from __future__ import annotations

import html
import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

__all__ = ["Hint", "fitting"]

Point = tuple[float, float]

_WIDE = 300
_TEXT = 11


@dataclass(frozen=True)
class Hint:
    """A figure and what it names.

    Parameters
    ----------
    title : str
        What is drawn.
    labels : tuple of str
        The fields that it shows, by their labels.
    svg : str
        The figure.
    """

    title: str
    labels: tuple[str, ...]
    svg: str


def fitting(hints: Collection[Hint], labels: Collection[str]) -> list[Hint]:
    """The figures that name nothing but what is asked for, each with something new.

    Examples
    --------
    >>> [hint.title for hint in fitting(SCREW, {"head diameter", "head angle", "head height",
    ...                                         "shank diameter"})]
    ['A flat head from the side']
    """
    named: set[str] = set()
    fit = []
    for hint in hints:
        if set(hint.labels) <= set(labels) and not set(hint.labels) <= named:
            fit.append(hint)
            named |= set(hint.labels)
    return fit


class _Sketch:
    """A figure in the making."""

    def __init__(self, title: str, high: float) -> None:
        self._title, self._high = title, high
        self._parts: list[str] = []
        self._labels: list[str] = []

    def body(self, *points: Point, filled: bool = True, dashed: bool = False) -> _Sketch:
        """An outline, closed and shaded where it is filled."""
        path = "M" + "L".join(f"{x:g} {y:g}" for x, y in points) + ("Z" if filled else "")
        shade = 0.14 if filled else 0
        dashes = ' stroke-dasharray="5 3"' if dashed else ""
        self._parts.append(
            f'<path d="{path}" fill="currentColor" fill-opacity="{shade}" stroke-width="1.6"'
            f"{dashes}/>"
        )
        return self

    def mirrored(self, middle: float, *points: Point) -> _Sketch:
        """Either half of something cut through."""
        return self.body(*points).body(*((2 * middle - x, y) for x, y in points))

    def circle(self, x: float, y: float, radius: float, *, dashed: bool = False) -> _Sketch:
        """A circle."""
        dashes = ' stroke-dasharray="5 3"' if dashed else ""
        self._parts.append(
            f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="none" stroke-width="1.6"{dashes}/>'
        )
        return self

    def axis(self, *points: Point) -> _Sketch:
        """An axis, dash-dotted."""
        path = "M" + "L".join(f"{x:g} {y:g}" for x, y in points)
        self._parts.append(f'<path d="{path}" fill="none" stroke-dasharray="9 3 2 3"/>')
        return self

    def arc(self, apex: Point, radius: float, half: float) -> _Sketch:
        """The angle between two flanks that open upwards."""
        x, y = radius * math.sin(half), radius * math.cos(half)
        self._parts.append(
            f'<path d="M{apex[0] - x:.1f} {apex[1] - y:.1f}A{radius} {radius} 0 0 1 '
            f'{apex[0] + x:.1f} {apex[1] - y:.1f}" fill="none"/>'
        )
        return self

    def named(self, label: str, x: float, y: float, *, at: str = "middle") -> _Sketch:
        """Write the label of a field somewhere."""
        self._labels.append(label)
        return self._write(label, x, y, at)

    def leader(self, label: str, start: Point, end: Point) -> _Sketch:
        """A line from a place to the label of a field on its right."""
        self._parts.append(f'<path d="M{start[0]:g} {start[1]:g}L{end[0]:g} {end[1]:g}"/>')
        return self.named(label, end[0] + 3, end[1] + 4, at="start")

    def wide(self, label: str, one: float, other: float, y: float, start: float) -> _Sketch:
        """A width, on a line at `y`, of something at the height `start`."""
        self._ends([((x, start), (x, y)) for x in (one, other)])
        self._line((one, y), (other, y))
        return self.named(label, (one + other) / 2, y - 4 if y < start else y + 12)

    def high(self, label: str, one: float, other: float, x: float, start: float) -> _Sketch:
        """A height, on a line at `x`, of something at `start` on its left or right."""
        self._ends([((start, y), (x, y)) for y in (one, other)])
        self._line((x, one), (x, other))
        right = x > start
        at = "start" if right else "end"
        return self.named(label, x + (5 if right else -5), (one + other) / 2 + 4, at=at)

    def _ends(self, lines: Sequence[tuple[Point, Point]]) -> None:
        for (x0, y0), (x1, y1) in lines:
            self._parts.append(
                f'<path d="M{x0:g} {y0:g}L{x1:g} {y1:g}" stroke-width="0.6" opacity="0.75"/>'
            )

    def _line(self, one: Point, other: Point) -> None:
        """A dimension line, its arrows outside where there is no room between its ends."""
        length = math.dist(one, other)
        along = ((other[0] - one[0]) / length, (other[1] - one[1]) / length)
        across = (-along[1], along[0])
        inside = 1 if length > 18 else -1
        tail = 0 if inside > 0 else 12
        ends = [
            (end[0] - way * tail * along[0], end[1] - way * tail * along[1])
            for end, way in ((one, 1), (other, -1))
        ]
        self._parts.append(
            f'<path d="M{ends[0][0]:g} {ends[0][1]:g}L{ends[1][0]:g} {ends[1][1]:g}"/>'
        )
        for end, way in ((one, inside), (other, -inside)):
            back = (end[0] + 6 * way * along[0], end[1] + 6 * way * along[1])
            sides = [(back[0] + s * across[0], back[1] + s * across[1]) for s in (2, -2)]
            points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (end, *sides))
            self._parts.append(f'<polygon points="{points}" fill="currentColor" stroke="none"/>')

    def _write(self, text: str, x: float, y: float, at: str) -> _Sketch:
        self._parts.append(
            f'<text x="{x:g}" y="{y:g}" text-anchor="{at}" stroke="none" fill="currentColor">'
            f"{html.escape(text)}</text>"
        )
        return self

    def done(self) -> Hint:
        """The figure."""
        named = ", ".join(self._labels)
        svg = (
            f'<svg role="img" viewBox="0 0 {_WIDE} {self._high:g}" width="{_WIDE}" '
            f'height="{self._high:g}" stroke="currentColor" stroke-width="1" font-size="{_TEXT}" '
            f'aria-label="{html.escape(f"{self._title}: {named}")}">{"".join(self._parts)}</svg>'
        )
        return Hint(self._title, tuple(self._labels), svg)


# --- countersinks --------------------------------------------------------------------------------


def _flat_head(edge: str, to: float) -> Hint:
    right = [(200, 40), (200, 52), (165, 90), (165, 128)]
    left = [(280 - x, y) for x, y in reversed(right)]
    return (
        _Sketch("A flat head from the side", 152)
        .body(*right, *left)
        .arc((140, 117), 36, math.atan(35 / 38))
        .wide("head diameter", 80, 200, 22, 40)
        .named("head angle", 140, 72)
        .high(edge, 40, to, 216, 200)
        .wide("shank diameter", 115, 165, 136, 128)
        .done()
    )


def _sink(y: float) -> list[Point]:
    """The right half of a plate with a cone, its face at a height."""
    return [(250, y), (200, y), (165, y + 35), (165, y + 66), (250, y + 66)]


SCREW = (_flat_head("edge land", 52), _flat_head("head height", 90))

SUNK_PLATE = (
    _Sketch("The plate on its board, cut through", 136)
    .mirrored(120, (200, 34), (145, 34), (145, 90), (200, 90))
    .body((40, 90), (200, 90), (200, 118), (40, 118), (40, 90), filled=False, dashed=True)
    .body((92, 46), (120, 104), (148, 46), filled=False)
    .wide("hole", 95, 145, 18, 34)
    .high("plate thickness", 34, 90, 207, 200)
    .high("tip below plate", 90, 104, 207, 120)
    .done(),
)

VEE_CUTTER = (
    _Sketch("A vee cutter from the side", 132)
    .body(
        (125, 26), (155, 26), (155, 36), (190, 36), (190, 44), (146, 96), (134, 96), (90, 44),
        (90, 36), (125, 36),
    )
    .arc((140, 103), 42, math.atan(44 / 52))
    .wide("cutter diameter", 90, 190, 16, 40)
    .named("cutter angle", 140, 56)
    .wide("tip flat or radius", 134, 146, 106, 96)
    .done(),
)  # fmt: skip

CUT = (
    _Sketch("The cutter on its circle", 122)
    .mirrored(140, *_sink(44))
    .body((106, 34), (158, 86), (210, 34), filled=False)
    .axis((122, 20), (122, 92))
    .axis((158, 20), (158, 92))
    .wide("circle diameter", 122, 158, 18, 30)
    .high("depth", 44, 86, 260, 158)
    .done(),
    _Sketch("The head in its sink", 116)
    .mirrored(140, *_sink(24))
    .body((193, 32), (160, 65), (160, 104), (120, 104), (120, 65), (87, 32))
    .high("recess", 24, 32, 256, 193)
    .done(),
    _Sketch("The sink", 106).mirrored(140, *_sink(34)).wide("top diameter", 80, 200, 20, 34).done(),
)

FIRST_SINK = (
    _Sketch("The sink in the first part, across its edge in the face", 106)
    .mirrored(140, *_sink(34))
    .wide("top measured", 80, 200, 20, 34)
    .done(),
)

# --- captured nuts -------------------------------------------------------------------------------

FASTENERS = (
    _Sketch("A T-nut from the side", 128)
    .body(
        (98, 30), (182, 30), (182, 42), (162, 42), (162, 94), (118, 94), (118, 42), (98, 42),
    )
    .body((170, 42), (176, 66), (178, 42))
    .wide("flange diameter", 98, 182, 16, 30)
    .high("flange thickness", 30, 42, 191, 182)
    .high("prong length", 42, 66, 191, 176)
    .high("barrel length", 42, 94, 92, 118)
    .wide("barrel diameter", 118, 162, 104, 94)
    .named("thread", 140, 72)
    .done(),
    _Sketch("A hexagon nut from above and from the side", 176)
    .body(*((100 + 46 * math.sin(a), 72 + 46 * math.cos(a)) for a in
            (math.pi / 3 * n for n in range(6))))
    .circle(100, 72, 19)
    .wide("across flats", 60, 140, 16, 72)
    .high("across corners", 26, 118, 156, 100)
    .body((60, 130), (140, 130), (140, 154), (60, 154))
    .high("height", 130, 154, 156, 140)
    .wide("bearing face", 68, 132, 161, 154)
    .done(),
    _Sketch("An insert from the side", 116)
    .body((118, 22), (162, 22), (162, 82), (118, 82))
    .high("length", 22, 82, 178, 162)
    .wide("hole for it", 118, 162, 92, 82)
    .named("thread", 140, 56)
    .done(),
    _Sketch("A cap screw from the side", 106)
    .body(
        (105, 30), (175, 30), (175, 62), (156, 62), (156, 98), (124, 98), (124, 62), (105, 62),
    )
    .wide("head diameter", 105, 175, 16, 30)
    .high("head height", 30, 62, 190, 175)
    .done(),
    _Sketch("A washer, cut through", 84)
    .mirrored(140, (160, 36), (205, 36), (205, 48), (160, 48))
    .wide("outside", 75, 205, 18, 36)
    .wide("inside", 120, 160, 60, 48)
    .high("thickness", 36, 48, 218, 205)
    .done(),
)  # fmt: skip

POCKET_PLATE = (
    _Sketch("The plate, cut through", 106)
    .mirrored(120, (200, 20), (170, 20), (170, 44), (140, 44), (140, 74), (200, 74))
    .high("plate thickness", 20, 74, 207, 200)
    .wide("hole", 100, 140, 84, 74)
    .done(),
)

END_MILL = (
    _Sketch("The cutter in its holder", 138)
    .body((100, 10), (180, 10), (180, 34), (100, 34))
    .body((122, 34), (158, 34), (158, 112), (122, 112))
    .body((122, 74), (158, 62), filled=False)
    .body((122, 90), (158, 78), filled=False)
    .body((122, 106), (158, 94), filled=False)
    .high("flute length", 66, 112, 174, 158)
    .high("cutter's reach", 34, 112, 106, 122)
    .wide("cutter diameter", 122, 158, 120, 112)
    .done(),
    _Sketch("A corner of the pocket, relieved", 122)
    .body((30, 100), (30, 20), (150, 20), filled=False)
    .circle(52, 42, 31)
    .axis((130, 120), (24, 14))
    .leader("relief cutter", (74, 64), (160, 64))
    .leader("relief reaches", (36, 26), (160, 40))
    .done(),
)

POCKET = (
    _Sketch("A T-nut in its pocket", 112)
    .mirrored(115, (188, 20), (175, 20), (175, 46), (141, 46), (141, 98), (188, 98))
    .body(
        (57, 32), (173, 32), (173, 46), (137, 46), (137, 84), (93, 84), (93, 46), (57, 46),
    )
    .high("recess", 20, 32, 198, 173)
    .high("gap below barrel", 84, 98, 198, 137)
    .done(),
    _Sketch("A nut in its pocket, from above", 132)
    .body(*((120 + 54 * math.sin(a), 70 + 54 * math.cos(a)) for a in
            (math.pi / 3 * n for n in range(6))))
    .body(*((120 + 43 * math.sin(a), 70 + 43 * math.cos(a)) for a in
            (math.pi / 3 * n for n in range(6))))
    .wide("pocket flats", 73.2, 166.8, 16, 70)
    .done(),
    _Sketch("The fastener in its pocket", 98)
    .mirrored(120, (215, 20), (176, 20), (176, 62), (140, 62), (140, 90), (215, 90))
    .body((70, 32), (170, 32), (170, 62), (134, 62), (134, 94), (106, 94), (106, 62), (70, 62))
    .high("recess", 20, 32, 226, 170)
    .done(),
)  # fmt: skip

SCREW_LENGTH = (
    _Sketch("The screw through part, washers and plate", 146)
    .body((105, 10), (155, 10), (155, 28), (105, 28))
    .body((98, 28), (162, 28), (162, 36), (98, 36))
    .mirrored(130, (190, 36), (142, 36), (142, 66), (190, 66))
    .mirrored(130, (190, 66), (142, 66), (142, 110), (190, 110))
    .body((119, 28), (141, 28), (141, 122), (119, 122))
    .high("washers", 28, 36, 202, 162)
    .high("mating part", 36, 66, 202, 190)
    .high("free behind", 110, 134, 202, 190)
    .done(),
    _Sketch("The screw at hand", 92)
    .body((50, 20), (72, 20), (72, 60), (50, 60))
    .body((72, 30), (220, 30), (220, 50), (72, 50))
    .wide("screw length", 72, 220, 70, 50)
    .done(),
)

HELD = (
    _Sketch("The load pulls the fastener into the plate", 106)
    .mirrored(120, (200, 30), (175, 30), (175, 50), (140, 50), (140, 84), (200, 84))
    .body((68, 38), (172, 38), (172, 50), (68, 50))
    .body((120, 50), (120, 100), filled=False)
    .body((114, 92), (120, 100), (126, 92))
    .named("load", 132, 100, at="start")
    .done(),
)

# --- helical bores -------------------------------------------------------------------------------

BORE = (
    _Sketch("A bore through the plate, into the board", 142)
    .mirrored(120, (200, 34), (170, 34), (170, 88), (200, 88))
    .body((40, 88), (40, 116), (200, 116), (200, 88), filled=False, dashed=True)
    .body((70, 88), (70, 98), (170, 98), (170, 88), filled=False)
    .wide("bore diameter", 70, 170, 18, 34)
    .high("plate thickness", 34, 88, 207, 200)
    .high("below the plate", 88, 98, 207, 170)
    .body((108, 34), (108, 88), filled=False, dashed=True)
    .body((132, 34), (132, 88), filled=False, dashed=True)
    .wide("hole before", 108, 132, 124, 88)
    .done(),
    _Sketch("A blind bore", 86)
    .body((40, 16), (70, 16), (70, 54), (170, 54), (170, 16), (200, 16), (200, 76), (40, 76))
    .high("depth", 16, 54, 212, 170)
    .done(),
)

BORE_CUTTER = (
    _Sketch("The cutter in its holder", 138)
    .body((100, 10), (180, 10), (180, 34), (100, 34))
    .body((122, 34), (158, 34), (158, 112), (122, 112))
    .body((122, 74), (158, 62), filled=False)
    .body((122, 90), (158, 78), filled=False)
    .body((122, 106), (158, 94), filled=False)
    .high("flute length", 66, 112, 174, 158)
    .high("reach", 34, 112, 106, 122)
    .wide("cutter diameter", 122, 158, 120, 112)
    .done(),
)

TURNS = (
    _Sketch("The path of the cutter's axis, unrolled", 92)
    .body((60, 20), (60, 76), (220, 76), (220, 20), filled=False)
    .body((60, 24), (220, 48), filled=False)
    .body((60, 48), (220, 72), filled=False)
    .body((60, 24), (150, 24), filled=False, dashed=True)
    .high("pitch", 24, 48, 234, 220)
    .leader("ramp at most", (130, 30), (146, 12))
    .done(),
)

FEEDS = (
    _Sketch("The bore from above: the cutter runs round", 132)
    .circle(100, 66, 58)
    .circle(100, 66, 36, dashed=True)
    .circle(136, 66, 22)
    .leader("feed at the wall", (158, 66), (176, 40))
    .leader("feed at the axis", (136, 66), (176, 92))
    .done(),
)

# --- form cutters --------------------------------------------------------------------------------


def _hollow(x: float, y: float, radius: float) -> list[Point]:
    """A hollow quarter from upright at its foot to level at its end, to the right."""
    turns = [math.pi / 2 * n / 8 for n in range(9)]
    return [(x + radius * (1 - math.cos(t)), y - radius * math.sin(t)) for t in turns]


def _bulging(x: float, y: float, radius: float) -> list[Point]:
    """A bulging quarter from level at its foot to upright at its end, to the right."""
    turns = [math.pi / 2 * n / 8 for n in range(9)]
    return [(x + radius * math.sin(t), y - radius * (1 - math.cos(t))) for t in turns]


def _slope(x: float, y: float, high: float) -> list[Point]:
    """A straight flank at 45°, up to the right."""
    return [(x, y), (x + high / 2, y - high / 2), (x + high, y - high)]


_MIDDLE = 136
"""Where the axis of a form cutter is."""


def _form(
    title: str, flank: Sequence[Point], named: Sequence[str], mark: tuple[str, Point] | None
) -> Hint:
    """A form cutter from the side, with those of its dimensions that are asked for."""
    begin, end = flank[0], flank[-1]
    right = [(152, 132), (152, begin[1]), *flank, (end[0], end[1] - 16), (158, end[1] - 16)]
    right += [(158, end[1] - 34)]
    sketch = _Sketch(title, 178).body(*right, *((2 * _MIDDLE - x, y) for x, y in reversed(right)))
    if "largest diameter" in named:
        sketch.wide("largest diameter", 2 * _MIDDLE - end[0], end[0], 14, end[1])
    if "shoulder height" in named:
        sketch.high("shoulder height", end[1] - 16, end[1], end[0] + 9, end[0])
    if "arc height" in named:
        sketch.high("arc height", end[1], begin[1], 80, 2 * _MIDDLE - begin[0])
    if "stub height" in named:
        sketch.high("stub height", begin[1], 132, 80, 2 * _MIDDLE - 152)
    if "stub diameter" in named:
        sketch.wide("stub diameter", 2 * _MIDDLE - 152, 152, 140, 132)
    if "arc begins at" in named:
        sketch.wide("arc begins at", 2 * _MIDDLE - begin[0], begin[0], 160, begin[1])
    if mark is not None:
        sketch.leader(mark[0], mark[1], (mark[1][0] + 24, mark[1][1] + 12))
    return sketch.done()


_ALL = (
    "stub diameter", "arc begins at", "largest diameter", "arc height", "shoulder height",
    "stub height",
)  # fmt: skip
_FLANKS = {"concave": _hollow, "convex": _bulging, "straight": _slope}
_NAMES = {"concave": "rounding", "convex": "cove", "straight": "chamfer"}


def _cutters(shape: str) -> tuple[Hint, ...]:
    flank, title = _FLANKS[shape](156, 92, 32), f"A {_NAMES[shape]} cutter from the side"
    marked = "marked angle" if shape == "straight" else "marked radius"
    return (
        _form(title, flank, _ALL, (marked, flank[len(flank) // 3])),
        _form(title, flank, ("stub diameter", "largest diameter", "shoulder height"), None),
    )


FORM_CUTTER = {shape: _cutters(shape) for shape in _FLANKS}
"""By the shape of the edge it cuts."""

EDGE_PLATE = (
    _Sketch("The plate's edge, with stock left on its wall", 100)
    .body((90, 20), (190, 20), (190, 74), (90, 74))
    .body((78, 20), (90, 20), (90, 74), (78, 74), filled=False, dashed=True)
    .high("plate thickness", 20, 74, 202, 190)
    .wide("stock on wall", 78, 90, 82, 74)
    .done(),
)

_CHAMFER = (
    _Sketch("The chamfer", 86)
    .body((100, 60), (140, 30), (220, 30), (220, 76), (100, 76))
    .wide("chamfer on face", 100, 140, 18, 30)
    .done()
)


def _edge(shape: str) -> Hint:
    """A plate's edge, and the half of the cutter that cuts beside it."""
    flank = _FLANKS[shape](120, 84, 40)
    return (
        _Sketch("The plate's edge, the cutter in place", 146)
        .body((120, 132), *flank, (220, 44), (220, 132))
        .body((70, 112), (86, 112), (86, 84), *flank, (160, 30), (70, 30), filled=False)
        .axis((70, 20), (70, 122))
        .wide("offset", 70, 120, 16, 84)
        .high("depth", 44, 112, 56, 120)
        .done()
    )


SETTING = {shape: (_edge(shape), *[_CHAMFER] * (shape == "straight")) for shape in _FLANKS}
"""By the shape of the edge."""
