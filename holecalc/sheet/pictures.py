"""Pictures of a part as SVG: from above as it lies in each setup, and sections.

They are drawn in the colour of the text round them, so that they can be read on any ground.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from html import escape

import numpy as np

from holecalc import callouts, flats, sizes
from holecalc.counterbore import Pocket
from holecalc.countersink import Sink
from holecalc.part import Feature, Part, Setup
from holecalc.stack import Stack, Step

__all__ = ["plan_views", "sections"]

_fine = partial(sizes.show, fine=True)

# Many fonts lack this sign, and what lacks it prints an empty box.
_COUNTERBORE = (
    '<svg viewBox="0 0 14 10" width="11" height="8" role="img" aria-label="counterbore" '
    'style="display:inline" fill="none" stroke="currentColor" stroke-width="1.6">'
    '<path d="M 1 1 V 9 H 13 V 1"/></svg>'
)

MOST_LABELS = 60
MOST_SECTIONS = 12


def numbers(part: Part) -> dict[str, int]:
    """The number each feature bears in every picture and table."""
    return {feature.name: index for index, feature in enumerate(part.features, start=1)}


def plan_views(part: Part) -> str:
    """The plate from above, to scale, as it lies in each setup; its features numbered.

    Parameters
    ----------
    part : Part
        The part.

    Returns
    -------
    str
        Figures, as HTML.
    """
    with sizes.shown_in(part.unit):
        return "\n".join(_view(part, setup, numbers(part)) for setup in part.setups)


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _view(part: Part, setup: Setup, number: dict[str, int]) -> str:
    """The plate from above, its features numbered; what is cut in this setup in full lines."""
    length, width = float(sizes.mm(part.plate.length)), float(sizes.mm(part.plate.width))
    size = max(length, width)
    pad, text, thin = 0.07 * size, 0.026 * size, 0.0018 * size
    shapes = [
        f'<rect width="{_n(length)}" height="{_n(width)}" stroke-width="{_n(2 * thin)}"/>',
        *_datum(width, size, thin, text),
    ]
    labels: list[str] = []
    for feature in part.features:
        if feature.at is None or feature.made is None or feature.made.stack is None:
            continue
        here = feature.face == setup.face
        xy = setup.xy(feature.at.xy())
        stack = feature.made.stack
        radius, hole = float(sizes.mm(stack.reach)), stack.hole_diameter
        inner = None if hole is None else float(sizes.mm(hole)) / 2
        flat = [step for step in (*stack.from_a, *stack.from_b) if step.shape != "round"]
        round_ = [radius] if not flat else []
        dash = "" if here else f' stroke-dasharray="{_n(4 * thin)} {_n(3 * thin)}"'
        for index, (x, y) in enumerate(xy.tolist()):
            at = f'cx="{_n(x)}" cy="{_n(width - y)}"'
            shapes += [f'<circle {at} r="{_n(each)}"{dash}/>' for each in round_]
            shapes += [_flats(setup, (x, y), step, width, dash) for step in flat]
            if inner is not None and inner < radius - 1e-9:
                shapes.append(f'<circle {at} r="{_n(inner)}"{dash}/>')
            if index == 0 or len(xy) <= MOST_LABELS:
                labels.append(
                    f'<text x="{_n(x + radius + 0.3 * text)}" y="{_n(width - y + 0.3 * text)}">'
                    f"{number[feature.name]}</text>"
                )
    edges = [each for each in part.features if each.kind == "edge" and each.face == setup.face]
    for index, feature in enumerate(edges):
        at = f'x="{_n(length / 2 + 3 * index * text)}" y="{_n(width + 1.1 * text)}"'
        labels.append(f"<text {at}>{number[feature.name]}</text>")
    shapes += _things(part, setup, width, thin)
    box = f"{_n(-pad)} {_n(-pad)} {_n(length + 2 * pad)} {_n(width + 2 * pad)}"
    caption = (
        f"Setup {setup.number}, face {setup.face} up. Full lines: cut here; dashed: cut from the "
        "other face. Crossed: keep clear."
    )
    label = escape(f"plan view, setup {setup.number}, face {setup.face} up: {_who(part)}")
    return (
        f'<figure class="plan"><svg viewBox="{box}" width="680" role="img" aria-label="{label}" '
        f'fill="none" stroke="currentColor" stroke-width="{_n(thin)}">'
        + "".join(shapes)
        + f'<g fill="currentColor" stroke="none" font-size="{_n(text)}">'
        + "".join(labels)
        + f"</g></svg><figcaption>{escape(caption)}</figcaption></figure>"
    )


def _who(part: Part) -> str:
    """The features, for those who cannot see the picture."""
    return ", ".join(
        f"{number} {feature.name}, {feature.kind}, "
        f"{'all round' if feature.at is None else feature.at}, from face {feature.face}"
        for number, feature in list(enumerate(part.features, start=1))[:MOST_SECTIONS]
    )


def _flats(setup: Setup, at: tuple[float, float], step: Step, width: float, dash: str) -> str:
    """A hexagon or a square, as it lies in the setup."""
    turned = setup.angle(step.turned)
    corners = sizes.mm(flats.corners(step.shape, step.across, turned)) + np.array(at)
    points = " ".join(f"{_n(x)},{_n(width - y)}" for x, y in corners.tolist())
    outline = f'<polygon points="{points}"{dash}/>'
    if step.relief is not None:
        radius = _n(float(sizes.mm(step.relief.cutter_diameter)) / 2)
        centres = sizes.mm(step.relief.centres(turned)) + np.array(at)
        outline += "".join(
            f'<circle cx="{_n(x)}" cy="{_n(width - y)}" r="{radius}"{dash}/>'
            for x, y in centres.tolist()
        )
    return outline


def _datum(width: float, size: float, thin: float, text: float) -> Iterator[str]:
    """The setup's zero, with its axes."""
    arm = 0.05 * size
    yield (
        f'<path d="M 0 {_n(width)} h {_n(arm)} M 0 {_n(width)} v {_n(-arm)}" '
        f'stroke-width="{_n(4 * thin)}"/>'
        f'<circle cx="0" cy="{_n(width)}" r="{_n(0.008 * size)}" fill="currentColor"/>'
        f'<g fill="currentColor" stroke="none" font-size="{_n(text)}">'
        f'<text x="{_n(arm)}" y="{_n(width + 1.1 * text)}">X</text>'
        f'<text x="{_n(-0.9 * text)}" y="{_n(width - arm)}">Y</text></g>'
    )


def _things(part: Part, setup: Setup, width: float, thin: float) -> Iterator[str]:
    for thing in part.keep_clear:
        if thing.face != setup.face:
            continue
        x, y = (float(sizes.mm(each)) for each in thing.at)
        a, b = (float(sizes.mm(each)) / 2 for each in thing.size)
        cross = f"M {_n(x - a)} {_n(width - y - b)} l {_n(2 * a)} {_n(2 * b)} m 0 {_n(-2 * b)} "
        cross += f"l {_n(-2 * a)} {_n(2 * b)}"
        outline = (
            f'<circle cx="{_n(x)}" cy="{_n(width - y)}" r="{_n(a)}"/>'
            if thing.round
            else f'<rect x="{_n(x - a)}" y="{_n(width - y - b)}" width="{_n(2 * a)}" '
            f'height="{_n(2 * b)}"/>'
        )
        title = f"<title>{escape(thing.name)}</title>"
        yield f'<g>{title}{outline}<path d="{cross}" stroke-width="{_n(thin)}"/></g>'


def sections(part: Part, *, ids: str = "") -> str:
    """A section through each kind of feature, to scale.

    Parameters
    ----------
    part : Part
        The part.
    ids : str
        What tells this picture's hatching from that of another on the same page.

    Returns
    -------
    str
        Figures, as HTML.
    """
    alike: dict[int, list[Feature]] = {}
    for feature in part.features:
        if feature.made is not None and feature.made.stack is not None:
            alike.setdefault(id(feature.made), []).append(feature)
    groups = list(alike.values())
    with sizes.shown_in(part.unit):
        figures = [_section(part, features, ids) for features in groups[:MOST_SECTIONS]]
    more = (
        f"<p>{len(groups) - MOST_SECTIONS} more kinds of features have no section here.</p>"
        if len(groups) > MOST_SECTIONS
        else ""
    )
    return f'<div class="figures">{"".join(figures)}</div>{more}'


def _section(part: Part, features: Sequence[Feature], ids: str) -> str:
    """A section through the axis, to scale, face A up; the plate is hatched."""
    feature, number = features[0], numbers(part)
    assert feature.made is not None
    stack = feature.made.stack
    assert stack is not None
    thickness = float(sizes.mm(part.plate.thickness))
    reach = float(sizes.mm(stack.reach))
    half = reach + max(0.35 * reach, 0.25 * thickness)
    outline = _plate_sides(feature, stack, thickness, half)
    thin = 0.004 * max(thickness, 2 * half)
    hatch = f"hatch{ids}{number[feature.name]}"
    gap = max(thickness, 2 * half) / 28
    pattern = (
        f'<pattern id="{hatch}" width="{_n(gap)}" height="{_n(gap)}" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<path d="M 0 0 V {_n(gap)}" stroke="currentColor" stroke-width="{_n(thin)}"/></pattern>'
    )
    paths = "".join(
        f'<path d="{each}" fill="url(#{hatch})" stroke="currentColor" '
        f'stroke-width="{_n(2 * thin)}"/>'
        for each in outline
    )
    axis = (
        f'<path d="M 0 {_n(-0.08 * thickness)} V {_n(1.08 * thickness)}" stroke="currentColor" '
        f'stroke-width="{_n(thin)}" stroke-dasharray="{_n(8 * thin)} {_n(2 * thin)} '
        f'{_n(2 * thin)} {_n(2 * thin)}"/>'
    )
    box = f"{_n(-half)} {_n(-0.1 * thickness)} {_n(2 * half)} {_n(1.2 * thickness)}"
    names = ", ".join(f"{number[each.name]} {each.name}" for each in features[:6])
    names += f" and {len(features) - 6} more" * (len(features) > 6)
    told = _told(feature, part.unit)
    wide = min(320, max(150, 150 * 2 * half / thickness))
    return (
        f'<figure style="width:{wide:.0f}px"><svg viewBox="{box}" width="{wide:.0f}" role="img" '
        f'aria-label="section through {escape(names)}">{pattern}{paths}{axis}</svg>'
        f"<figcaption><b>{escape(names)}</b>, from face {feature.face}; face A is up. "
        f"{escape(told).replace('⌴', _COUNTERBORE)}</figcaption></figure>"
    )


def _plate_sides(feature: Feature, stack: Stack, thickness: float, half: float) -> list[str]:
    """The plate on either side of the axis, as paths."""
    assert feature.made is not None
    main = feature.made.main
    if isinstance(main, Sink):
        cut = main.cut
        top, hole, deep = (
            float(sizes.mm(size)) for size in (cut.top_diameter, cut.hole_diameter, cut.cone_depth)
        )
        wall = [(top / 2, 0.0), (hole / 2, deep), (hole / 2, thickness)]
        if feature.face == "B":
            wall = [(radius, thickness - depth) for radius, depth in reversed(wall)]
        lines = [wall]
    else:
        lines = [list(map(tuple, sizes.mm(line).tolist())) for line in stack.profile()]
    if stack.hole_diameter is None:
        lines = [_closed_off(line, thickness) for line in lines]
    wall = lines[0]
    paths = []
    for side in (1, -1):
        points = [*wall, (half, thickness), (half, 0.0)]
        paths.append(
            "M " + " L ".join(f"{_n(side * radius)} {_n(depth)}" for radius, depth in points) + " Z"
        )
    return paths


def _closed_off(line: list[tuple[float, float]], thickness: float) -> list[tuple[float, float]]:
    """A blind wall, carried on along the axis to the other face."""
    end = (0.0, thickness) if line[0][1] < line[-1][1] else (0.0, 0.0)
    return [*line, end] if line[-1][1] != end[1] or line[-1][0] else line


def _told(feature: Feature, unit: str) -> str:
    made = feature.made
    assert made is not None
    callout = feature.as_callout(unit)
    parts = [] if callout is None else [_called_out(callout, unit)]
    main = made.main
    if isinstance(main, Sink):
        parts.append(f"{main.head}: {main.seat}.")
    elif isinstance(main, Pocket):
        parts.append(f"{main.fastener}, recess {_fine(main.recess)}; web {main.stack.web}.")
    return " ".join(parts)


def _called_out(callout: callouts.Callout, unit: str) -> str:
    """In signs, and in plain letters where not every font has the signs."""
    signs = callouts.write(callout, unit=unit)
    if not callout.steps and callout.depth is None:
        return signs
    return f"{signs} ({callouts.write(callout, unit=unit, plain=True)})"
