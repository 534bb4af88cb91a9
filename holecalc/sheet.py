"""The operator's sheet: one page of HTML that holds all there is to a part, and prints.

Everything a person typed is escaped, nothing is fetched from anywhere, and no script runs: the
page is what was reckoned when it was made.
"""

from __future__ import annotations

import csv
import html
import io
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from holecalc import callouts, checks, flats, sizes
from holecalc.checks import Findings, Weight
from holecalc.counterbore import Pocket
from holecalc.countersink import Sink
from holecalc.form_cutter import Edge
from holecalc.helix import Bore
from holecalc.part import Drilled, Feature, Part, Setup, store
from holecalc.plan import Operation, Plan, SetupPlan, plan
from holecalc.sizes import Quantity
from holecalc.stack import Stack, Step

__all__ = ["CAUTIONS", "CSV_MARK", "MARK", "SheetError", "csv_text", "html_text", "write"]

_fine = partial(sizes.show, fine=True)
_rate = sizes.show_rate

CAUTIONS = (
    "Keep guards in place. Wear eye and hearing protection, and against dust where there is any.",
    "See that the work is held before anything turns, and that clamps are clear of every path.",
    "No cutter turns faster than the speed marked on it.",
    "Run first in air above the work, then in scrap of the same stock.",
    "Starting values are no substitute for the data of the cutter's maker.",
    "Fastenings that people's safety depends on are for a licensed engineer and the local code.",
)

MARK = '<meta name="generator" content="holecalc sheet">'
CSV_MARK = "setup,face,operation,cutter,feature,cut,X ["
OPERATIONS = (
    *(("no.", "narrow"), ("cutter", "name"), ("feature", "name")),
    *(("type in", ""), ("places", "few"), ("time", "time")),
)
MEASUREMENTS = (
    *(("feature", "name"), ("measure", "name"), ("wanted", "name")),
    *(("first part", ""), ("again", ""), ("second part", ""), ("key", "key")),
)
MOST_LABELS = 60
MOST_SECTIONS = 12

_STYLE = """
@page { margin: 12mm }
* { box-sizing: border-box }
body { font: 10pt/1.35 system-ui, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 186mm; padding: 2mm }
h1 { font-size: 16pt; margin: 0 0 1mm } h2 { font-size: 12pt; margin: 6mm 0 1.5mm;
  border-bottom: 1px solid #000 } h3 { font-size: 10.5pt; margin: 3mm 0 1mm }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums;
  table-layout: fixed }
th, td { border: 1px solid #777; padding: 0.8mm 1.5mm; text-align: left; vertical-align: top }
th { background: #eee; print-color-adjust: exact }
thead { display: table-header-group } tr, figure, li { break-inside: avoid }
h2, h3, h2 + p { break-after: avoid } p + table { break-before: avoid }
h1, p, td, li, figcaption { overflow-wrap: anywhere }
.settings b, .at li { overflow-wrap: normal }
.facts th { width: 34mm } .narrow { width: 9mm } .few { width: 16mm } .rate { width: 36mm }
.time { width: 23mm } .name { width: 27mm } .key { width: 30mm }
.operations td:last-child { white-space: nowrap }
.settings span { display: inline-block; margin-right: 3mm } .settings b { font-weight: 600 }
.box { min-width: 22mm; height: 8mm } .stop { border: 2.5px solid #000; padding: 1.5mm 3mm }
.figures { display: flex; flex-wrap: wrap; gap: 4mm } figure { margin: 0 }
figcaption { font-size: 9pt }
.at { columns: 4; font-size: 8.5pt; margin: 0; padding-left: 8mm } ul.findings { list-style: none;
  padding: 0 } svg { display: block; max-width: 100%; height: auto }
"""


class SheetError(OSError):
    """The sheet was not written; the message says why, and what would help."""


def _e(text: object) -> str:
    return html.escape(str(text), quote=True)


def html_text(part: Part, *, planned: Plan | None = None, findings: Findings | None = None) -> str:
    """The sheet of a part, as one page of HTML.

    Parameters
    ----------
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.
    findings : Findings, optional
        What its checks say, likewise.

    Returns
    -------
    str

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> page = html_text(loads(demo.text("bearing-plate")))
    >>> "<script" in page, "Bearing plate for a cider press" in page
    (False, True)
    """
    with sizes.shown_in(part.unit):
        planned = plan(part) if planned is None else planned
        findings = checks.part(part, planned) if findings is None else findings
        numbers = {feature.name: index for index, feature in enumerate(part.features, start=1)}
        body = [
            _head(part, planned, findings),
            *_views(part, planned, numbers),
            _sections(part, numbers),
            *(_setup(part, each, numbers) for each in planned.setups),
            _found(findings),
            _measurements(part, numbers),
            _cautions(),
        ]
    title = _e(part.name)
    policy = "default-src 'none'; style-src 'unsafe-inline'"
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">{MARK}\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width">\n'
        f"<title>{title}</title><style>{_STYLE}</style></head>\n<body>\n"
        + "\n".join(body)
        + "\n</body></html>\n"
    )


# --- words ---------------------------------------------------------------------------------------


def _head(part: Part, planned: Plan, findings: Findings) -> str:
    lines = [f"<h1>{_e(part.name)}</h1>"]
    if part.note:
        lines.append(f"<p>{_e(part.note)}</p>")
    stops = [each for each in findings if each.weight is Weight.STOP]
    if stops:
        lines.append(
            f'<p class="stop"><b>■ Do not cut.</b> {len(stops)} finding'
            f"{'s' * (len(stops) > 1)} below must be put right first.</p>"
        )
    corrected = [
        (feature, each)
        for feature in part.features
        if feature.made is not None
        for each in feature.made.corrections
    ]
    if corrected:
        lines.append("<h2>Second part: corrected by what was measured on the first</h2><ul>")
        lines += [f"<li>{_e(feature.name)}: {_e(each)}</li>" for feature, each in corrected]
        lines.append("</ul>")
    facts = [
        ("file", part.file),
        ("plate", part.plate),
        ("holes", part.holes),
        ("setups", len(planned.setups)),
        ("cutter changes", planned.changes),
        ("cutting time", f"{_rate(planned.time)}, without moves between and changes"),
    ]
    pins = _registration(part)
    if pins:
        facts.append(("registered by", pins))
    rows = "".join(f"<tr><th>{_e(label)}</th><td>{_e(text)}</td></tr>" for label, text in facts)
    return "\n".join([*lines, f'<table class="facts">{rows}</table>'])


def _registration(part: Part) -> str:
    if len(part.setups) < 2 or not part.turn.registers:
        return ""
    try:
        pins = part.registration
    except ValueError:
        return ""
    return "" if pins is None else f"{part.turn.registers}: {pins}"


def _setup(part: Part, made: SetupPlan, numbers: dict[str, int]) -> str:
    setup = made.setup
    blank = len(made.untimed)
    more = f", and {blank} operation{'s' * (blank > 1)} of unknown time" if blank else ""
    lines = [
        f"<h2>Setup {setup.number}: face {setup.face} up</h2>",
        f"<p>Zero in X and Y on the {_e(setup.datum)}; X to the right, Y away from you. Z on the "
        f"face that is up, positive upwards; depths are below it. {_rate(made.time)} of cutting"
        f"{more}, {_e(sizes.show(made.length.to(part.unit)))} of path.</p>",
        "<h3>Cutters to load, in this order</h3>",
        _table(
            (("", "narrow"), ("cutter", ""), ("what it is", ""), ("spindle", "rate")),
            [
                (index, each.name, each.told(), _speed(each.spindle_speed))
                for index, each in enumerate(made.cutters, start=1)
            ],
        ),
        "<h3>Operations</h3>",
        f'<table class="operations"><thead><tr>{_columns(OPERATIONS)}</tr></thead><tbody>',
    ]
    lines += [_operation(each, numbers) for each in made.operations]
    lines.append("</tbody></table><h3>Positions in this setup</h3>")
    told = set()
    for each in made.operations:
        if each.feature.name not in told and len(each.xy):
            told.add(each.feature.name)
            lines.append(_positions(part, each, numbers))
    return "\n".join(lines)


def _speed(speed: Quantity | None) -> str:
    return "see operation" if speed is None else _rate(speed)


def _operation(each: Operation, numbers: dict[str, int]) -> str:
    settings = "".join(
        f"<span>{_e(label)} <b>{_e(text)}</b></span> " for label, text in each.settings
    )
    time = "not known" if each.time is None else _rate(each.time * each.count)
    note = f"<br><i>{_e(each.feature.note)}</i>" if each.feature.note else ""
    return (
        f"<tr><td>{each.number}</td><td>{_e(each.cutter)}</td>"
        f"<td>{numbers[each.feature.name]} {_e(each.feature.name)}{note}</td>"
        f'<td class="settings">{_e(each.cut.what)}<br>{settings}</td>'
        f"<td>{each.count}</td><td>{_e(time)}</td></tr>"
    )


def _positions(part: Part, each: Operation, numbers: dict[str, int]) -> str:
    items = "".join(f"<li>X {x} Y {y}</li>" for x, y in _written(part, each.xy))
    number = numbers[each.feature.name]
    return f'<p>{number} {_e(each.feature.name)}</p><ol class="at">{items}</ol>'


def _written(part: Part, xy: Any) -> Iterator[tuple[str, str]]:
    """Positions as they are typed, in the part's unit."""
    scale, places = (25.4, 4) if part.unit == "in" else (1.0, 3)
    # A rounded nought may not keep its minus.
    for x, y in (np.round(xy / scale, places) + 0.0).tolist():
        yield f"{x:.{places}f}", f"{y:.{places}f}"


def _columns(head: Sequence[tuple[str, str]]) -> str:
    """Headings, each with the class that sets its width; without one a column takes the rest."""
    return "".join(f'<th class="{width}">{_e(each)}</th>' for each, width in head)


def _table(head: Sequence[tuple[str, str]], rows: Iterable[Sequence[object]]) -> str:
    top = _columns(head)
    body = "".join(
        "<tr>" + "".join(f"<td>{_e(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _found(findings: Findings) -> str:
    if not findings:
        return "<h2>Checks</h2><p>Checked: nothing found.</p>"
    items = "".join(
        f"<li><b>{each.weight.mark} {each.weight.word}</b>: {_e(each.what)} <i>{_e(each.cure)}</i>"
        "</li>"
        for each in findings
    )
    return f'<h2>Checks</h2><ul class="findings">{items}</ul>'


def _cautions() -> str:
    return "<h2>Cautions</h2><ul>" + "".join(f"<li>{_e(each)}</li>" for each in CAUTIONS) + "</ul>"


def _measurements(part: Part, numbers: dict[str, int]) -> str:
    rows = []
    for feature in part.features:
        for what, wanted, key in _to_measure(feature):
            measured = feature.measured.get(key)
            box = '<td class="box"></td>' * 3
            if not key:
                box = '<td colspan="3">to compare; nothing is set by it</td>'
            elif measured is not None:
                box = f"<td>{_e(_fine(measured))}</td>" + '<td class="box"></td>' * 2
            rows.append(
                f"<tr><td>{numbers[feature.name]} {_e(feature.name)}</td><td>{_e(what)}</td>"
                f"<td>{_e(wanted)}</td>{box}<td>{_e(key)}</td></tr>"
            )
    head = _columns(MEASUREMENTS)
    return (
        "<h2>First part: measure, and write down</h2><p>Put what you measured into the file: the "
        "feature's <code>measured</code> table takes it under the key at the end of the line, such "
        "as <code>measured = {recess = 0.7}</code>. The next sheet has the corrected numbers.</p>"
        f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )


def _to_measure(feature: Feature) -> Iterator[tuple[str, str, str]]:
    """What is measured on a feature, what it should be, and what the file calls it."""
    if feature.made is None:
        return
    main = feature.made.main
    if isinstance(main, Sink):
        yield "top diameter", _fine(main.cut.top_diameter), "top_diameter"
    elif isinstance(main, Pocket):
        yield "recess of the fastener", _fine(main.recess), "recess"
    elif isinstance(main, Stack):
        for step in main.steps(feature.face):
            yield "diameter", _fine(step.across), ""
            yield "depth", _fine(step.depth), ""
    elif isinstance(main, Bore):
        stack = feature.made.stack
        wide = main.bore_diameter if stack is None else 2 * stack.reach
        key = "bore_diameter" if feature.kind == "bore" else ""
        yield "diameter", _fine(wide), key
        if main.breakthrough is None:
            yield "depth", _fine(main.depth), ""
    elif isinstance(main, Drilled):
        yield "diameter", _fine(main.drill.diameter), ""
        if not main.through:
            yield "depth, full diameter", _fine(main.depth), ""
    elif isinstance(main, Edge):
        yield "width on the face", _fine(main.leg_on_face), "leg_on_face"
        yield "height on the wall", _fine(main.leg_on_wall), "leg_on_wall"


# --- pictures ------------------------------------------------------------------------------------


def _views(part: Part, planned: Plan, numbers: dict[str, int]) -> Iterator[str]:
    yield "<h2>Plan views, each as the part lies in its setup</h2>"
    for each in planned.setups:
        yield _view(part, each.setup, numbers)


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _view(part: Part, setup: Setup, numbers: dict[str, int]) -> str:
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
        number = numbers[feature.name]
        for index, (x, y) in enumerate(xy.tolist()):
            at = f'cx="{_n(x)}" cy="{_n(width - y)}"'
            shapes += [f'<circle {at} r="{_n(each)}"{dash}/>' for each in round_]
            shapes += [_flats(setup, (x, y), step, width, dash) for step in flat]
            if inner is not None and inner < radius - 1e-9:
                shapes.append(f'<circle {at} r="{_n(inner)}"{dash}/>')
            if index == 0 or len(xy) <= MOST_LABELS:
                labels.append(
                    f'<text x="{_n(x + radius + 0.3 * text)}" y="{_n(width - y + 0.3 * text)}">'
                    f"{number}</text>"
                )
    edges = [each for each in part.features if each.kind == "edge" and each.face == setup.face]
    for index, feature in enumerate(edges):
        at = f'x="{_n(length / 2 + 3 * index * text)}" y="{_n(width + 1.1 * text)}"'
        labels.append(f"<text {at}>{numbers[feature.name]}</text>")
    shapes += _things(part, setup, width, thin)
    box = f"{_n(-pad)} {_n(-pad)} {_n(length + 2 * pad)} {_n(width + 2 * pad)}"
    caption = (
        f"Setup {setup.number}, face {setup.face} up. Full lines: cut here; dashed: cut from the "
        "other face. Crossed: keep clear."
    )
    return (
        f'<figure><svg viewBox="{box}" width="680" role="img" aria-label="plan view" '
        f'fill="none" stroke="#000" stroke-width="{_n(thin)}">'
        + "".join(shapes)
        + f'<g fill="#000" stroke="none" font-size="{_n(text)}">'
        + "".join(labels)
        + f"</g></svg><figcaption>{_e(caption)}</figcaption></figure>"
    )


def _flats(setup: Setup, at: tuple[float, float], step: Step, width: float, dash: str) -> str:
    """A hexagon or a square, as it lies in the setup."""
    turned = setup.angle(step.turned)
    corners = sizes.mm(flats.corners(step.shape, step.across, turned)) + np.array(at)
    points = " ".join(f"{_n(x)},{_n(width - y)}" for x, y in corners.tolist())
    return f'<polygon points="{points}"{dash}/>'


def _datum(width: float, size: float, thin: float, text: float) -> Iterator[str]:
    """The setup's zero, with its axes."""
    arm = 0.05 * size
    yield (
        f'<path d="M 0 {_n(width)} h {_n(arm)} M 0 {_n(width)} v {_n(-arm)}" '
        f'stroke-width="{_n(4 * thin)}"/>'
        f'<circle cx="0" cy="{_n(width)}" r="{_n(0.008 * size)}" fill="#000"/>'
        f'<g fill="#000" stroke="none" font-size="{_n(text)}">'
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
        title = f"<title>{_e(thing.name)}</title>"
        yield f'<g>{title}{outline}<path d="{cross}" stroke-width="{_n(thin)}"/></g>'


def _sections(part: Part, numbers: dict[str, int]) -> str:
    alike: dict[int, list[Feature]] = {}
    for feature in part.features:
        if feature.made is not None and feature.made.stack is not None:
            alike.setdefault(id(feature.made), []).append(feature)
    groups = list(alike.values())
    figures = [_section(part, features, numbers) for features in groups[:MOST_SECTIONS]]
    more = (
        f"<p>{len(groups) - MOST_SECTIONS} more kinds of features have no section here.</p>"
        if len(groups) > MOST_SECTIONS
        else ""
    )
    return f'<h2>Sections</h2><div class="figures">{"".join(figures)}</div>{more}'


def _section(part: Part, features: Sequence[Feature], numbers: dict[str, int]) -> str:
    """A section through the axis, to scale, face A up; the plate is hatched."""
    feature = features[0]
    assert feature.made is not None
    stack = feature.made.stack
    assert stack is not None
    thickness = float(sizes.mm(part.plate.thickness))
    reach = float(sizes.mm(stack.reach))
    half = reach + max(0.35 * reach, 0.25 * thickness)
    outline = _plate_sides(feature, stack, thickness, half)
    thin = 0.004 * max(thickness, 2 * half)
    hatch = f"hatch{numbers[feature.name]}"
    gap = max(thickness, 2 * half) / 28
    pattern = (
        f'<pattern id="{hatch}" width="{_n(gap)}" height="{_n(gap)}" '
        'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<path d="M 0 0 V {_n(gap)}" stroke="#000" stroke-width="{_n(thin)}"/></pattern>'
    )
    paths = "".join(
        f'<path d="{each}" fill="url(#{hatch})" stroke="#000" stroke-width="{_n(2 * thin)}"/>'
        for each in outline
    )
    axis = (
        f'<path d="M 0 {_n(-0.08 * thickness)} V {_n(1.08 * thickness)}" stroke="#000" '
        f'stroke-width="{_n(thin)}" stroke-dasharray="{_n(8 * thin)} {_n(2 * thin)} '
        f'{_n(2 * thin)} {_n(2 * thin)}"/>'
    )
    box = f"{_n(-half)} {_n(-0.1 * thickness)} {_n(2 * half)} {_n(1.2 * thickness)}"
    names = ", ".join(f"{numbers[each.name]} {each.name}" for each in features[:6])
    names += f" and {len(features) - 6} more" * (len(features) > 6)
    told = _told(feature, part.unit)
    wide = min(320, max(150, 150 * 2 * half / thickness))
    return (
        f'<figure style="width:{wide:.0f}px"><svg viewBox="{box}" width="{wide:.0f}" role="img" '
        f'aria-label="section">{pattern}{paths}{axis}</svg>'
        f"<figcaption><b>{_e(names)}</b>, from face {feature.face}; face A is up. {_e(told)}"
        "</figcaption></figure>"
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


# --- files ---------------------------------------------------------------------------------------


def csv_text(part: Part, *, planned: Plan | None = None) -> str:
    """The operations as CSV, one row for each position.

    Parameters
    ----------
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.

    Returns
    -------
    str
        With a heading; X and Y in the setup's coordinates and the part's unit.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> print(csv_text(loads(demo.text("bearing-plate"))).splitlines()[1][:66])
    1,A,1,5 mm end mill,dowel holes,rough bore 7.620 mm,20.000,90.000,
    """
    with sizes.shown_in(part.unit):
        planned = plan(part) if planned is None else planned
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        places = (f"X [{part.unit}]", f"Y [{part.unit}]")
        what = ("setup", "face", "operation", "cutter", "feature", "cut")
        writer.writerow((*what, *places, "settings", "note"))
        for each in planned.operations:
            settings = _cell("; ".join(f"{label} {text}" for label, text in each.settings))
            first = (each.setup.number, each.setup.face, each.number)
            names = tuple(map(_cell, (each.cutter.name, each.feature.name, each.cut.what)))
            for x, y in list(_written(part, each.xy)) or [("", "")]:
                writer.writerow((*first, *names, x, y, settings, _cell(each.feature.note)))
    return out.getvalue()


def _cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def write(text: str, path: Path | str, *, mark: str = MARK) -> Path:
    """Write a sheet, or its list, to a file, whole or not at all.

    Parameters
    ----------
    text : str
        From :func:`html_text` or :func:`csv_text`.
    path : pathlib.Path or str
        Where. What was written from here before is replaced; any other file is left alone.
    mark : str
        What such a file begins with: :data:`MARK`, or :data:`CSV_MARK` for a list.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    SheetError
        Something else has that name, or it cannot be written.
    """
    path = Path(path)
    try:
        store.refuse_foreign(path, mark)
        store.put(path, text)
    except store.SaveError as error:
        raise SheetError(str(error)) from None
    except OSError as error:
        raise SheetError(f"{path} was not written: {error.strerror or error}.") from error
    return path
