"""The operator's sheet: one page of HTML that holds all there is to a part, and prints.

Everything a person typed is escaped, nothing is fetched from anywhere, and no script runs: the
page is what was reckoned when it was made.
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from holecalc import checks, sizes
from holecalc.checks import Findings, Weight
from holecalc.part import CornersCut, Part, to_measure
from holecalc.plan import Operation, Plan, SetupPlan, plan
from holecalc.sheet import pictures
from holecalc.sheet.fetching import to_fetch
from holecalc.sizes import Quantity

__all__ = [
    "CAUTIONS",
    "MARK",
    "ORIGIN",
    "Origin",
    "corrections",
    "fasteners",
    "html_text",
    "measured",
    "setup_tables",
    "summary",
    "written",
]

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
ORIGIN = r'(?s)<(tr|p) class="origin[^"]*">.*?</\1>\n?'
"""What on a sheet tells when it was made and from what: a pattern."""
OPERATIONS = (
    *(("no.", "narrow"), ("cutter", "name"), ("feature", "name")),
    *(("type in", ""), ("places", "few"), ("time", "time")),
)
MEASUREMENTS = (
    *(("feature", "name"), ("measure", "name"), ("wanted", "name")),
    *(("first part", ""), ("again", ""), ("second part", ""), ("key", "key")),
)
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
h2, h3, h2 + p, .of { break-after: avoid } h2.setup { break-before: page }
p + table { break-before: avoid }
h1, p, td, li, figcaption { overflow-wrap: anywhere }
.settings b, .at li { overflow-wrap: normal }
.facts th { width: 34mm } .narrow { width: 9mm } .few { width: 16mm } .rate { width: 36mm }
.time { width: 23mm } .name { width: 25mm } .key { width: 30mm }
.operations td:last-child { white-space: nowrap }
.plan svg { max-height: 80mm } ul.cautions { break-inside: avoid }
.settings span { display: inline-block; margin-right: 3mm } .settings b { font-weight: 600 }
.box { min-width: 22mm; height: 8mm } .stop { border: 2.5px solid #000; padding: 1.5mm 3mm }
.figures { display: flex; flex-wrap: wrap; gap: 4mm } figure { margin: 0 }
figcaption { font-size: 9pt }
.at { columns: 4; font-size: 8.5pt; margin: 0; padding-left: 8mm } ul.findings { list-style: none;
  padding: 0 } svg { display: block; max-width: 100%; height: auto }
"""


def _e(text: object) -> str:
    return html.escape(str(text), quote=True)


@dataclass(frozen=True)
class Origin:
    """What a sheet was made from, and when.

    Parameters
    ----------
    file : str
        The part file's name.
    saved_at : datetime.datetime or None
        When that was saved; None where it does not hold what the sheet is made from.
    made_at : datetime.datetime
        When the sheet was made; now by default.
    """

    file: str
    saved_at: datetime | None
    made_at: datetime = field(default_factory=datetime.now)

    @classmethod
    def of(cls, file: Path | str) -> Origin:
        """That of a sheet made from a part file as it is on the disk."""
        file = Path(file)
        return cls(file.name, datetime.fromtimestamp(file.stat().st_mtime))

    def __str__(self) -> str:
        if self.saved_at is None:
            return f"{self.made_at:%Y-%m-%d %H:%M}, from text that is not saved in {self.file}"
        return (
            f"{self.made_at:%Y-%m-%d %H:%M}, from {self.file} as saved "
            f"{self.saved_at:%Y-%m-%d %H:%M:%S}"
        )


def html_text(
    part: Part,
    *,
    planned: Plan | None = None,
    findings: Findings | None = None,
    origin: Origin | None = None,
) -> str:
    """The sheet of a part, as one page of HTML.

    Parameters
    ----------
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.
    findings : Findings, optional
        What its checks say, likewise.
    origin : Origin, optional
        What it is made from and when, for it to say.

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
        body = [
            _head(part, planned, findings, origin),
            fasteners(part),
            "<h2>Plan views, each as the part lies in its setup</h2>",
            pictures.plan_views(part),
            "<h2>Sections</h2>",
            pictures.sections(part),
            *(setup_tables(part, each) for each in planned.setups),
            _found(findings),
            _measurements(part),
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


def summary(part: Part, planned: Plan) -> str:
    """A part in one line: what it is, how many holes, setups and cutter changes, how long.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> insert = loads(demo.text("table-insert"))
    >>> print(summary(insert, plan(insert)).split(", 1 ")[0])
    Table insert for a drill press: 9 holes, 2 setups, 4 cutter changes
    """
    counts = (
        (part.holes, "hole"),
        (len(planned.setups), "setup"),
        (planned.changes, "cutter change"),
    )
    told = ", ".join(f"{count} {word}{'s' * (count != 1)}" for count, word in counts)
    with sizes.shown_in(part.unit):
        return f"{part.name}: {told}, {planned.duration}"


def measured(part: Part) -> bool:
    """Whether anything was measured on a first part, so that this is of the second."""
    return any(feature.measured for feature in part.features)


def corrections(part: Part) -> tuple[str, ...]:
    """What the first part's measurements change, feature by feature, and why."""
    with sizes.shown_in(part.unit):
        return tuple(
            f"{feature.name}: {each}"
            for feature in part.features
            if feature.made is not None
            for each in feature.made.corrections
        )


def _head(part: Part, planned: Plan, findings: Findings, origin: Origin | None) -> str:
    lines = [f"<h1>{_e(part.name)}</h1>"]
    if part.note:
        lines.append(f"<p>{_e(part.note)}</p>")
    if origin is not None and origin.saved_at is None:
        lines.append(
            '<p class="origin stop"><b>▲ Not saved.</b> No file holds what this sheet was made '
            f"from: save {_e(origin.file)}, and make the sheet again.</p>"
        )
    stops = [each for each in findings if each.weight is Weight.STOP]
    if stops:
        lines.append(
            f'<p class="stop"><b>■ Do not cut.</b> {len(stops)} finding'
            f"{'s' * (len(stops) > 1)} below must be put right first.</p>"
        )
    corrected = corrections(part)
    if corrected:
        lines.append("<h2>Second part: corrected by what was measured on the first</h2><ul>")
        lines += [f"<li>{_e(each)}</li>" for each in corrected]
        lines.append("</ul>")
    facts = [
        ("file", part.file),
        ("sheet of", _which(part)),
        ("plate", part.plate),
        ("holes", part.holes),
        ("setups", len(planned.setups)),
        ("cutter changes", planned.changes),
        ("time", f"{planned.duration}; lifting and cutter changes come on top"),
    ]
    pins = _registration(part)
    if pins:
        facts.append(("registered by", pins))
    rows = "".join(f"<tr><th>{_e(label)}</th><td>{_e(text)}</td></tr>" for label, text in facts)
    if origin is not None:
        rows += f'<tr class="origin"><th>made</th><td>{_e(origin)}</td></tr>'
    return "\n".join([*lines, f'<table class="facts">{rows}</table>'])


def _which(part: Part) -> str:
    found = [feature.name for feature in part.features if feature.measured]
    if not found:
        return "the first part: nothing is measured yet"
    return f"the second part; what was measured on the first: {', '.join(found)}"


def fasteners(part: Part) -> str:
    """What to fetch besides the cutters: screws, nuts and the like, with their numbers.

    Parameters
    ----------
    part : Part
        The part.

    Returns
    -------
    str
        HTML; nothing for a part without any.
    """
    rows = [(each.count, each.name, each.what, ", ".join(each.features)) for each in to_fetch(part)]
    head = (("", "narrow"), ("fastener", "key"), ("what it is", ""), ("for", "rate"))
    return f"<h2>Fasteners to fetch</h2>{_table(head, rows)}" if rows else ""


def _registration(part: Part) -> str:
    if len(part.setups) < 2 or not part.turn.registers:
        return ""
    try:
        pins = part.registration
    except ValueError:
        return ""
    return "" if pins is None else f"{part.turn.registers}: {pins}"


def setup_tables(part: Part, made: SetupPlan) -> str:
    """What the operator does and types in one setup: cutters, operations, positions.

    Parameters
    ----------
    part : Part
        The part.
    made : SetupPlan
        The setup, as planned.

    Returns
    -------
    str
        HTML.
    """
    with sizes.shown_in(part.unit):
        return _setup(part, made, pictures.numbers(part))


def _setup(part: Part, made: SetupPlan, numbers: dict[str, int]) -> str:
    setup = made.setup
    lines = [
        f'<h2 class="setup">Setup {setup.number}: face {setup.face} up</h2>',
        f"<p>Zero in X and Y on the {_e(setup.datum)}; X to the right, Y away from you. Z on the "
        f"face that is up, positive upwards; depths are below it. {_e(made.duration)}, "
        f"{_e(sizes.show(made.length.to(part.unit)))} of path.</p>",
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
        relief = isinstance(each.cut.work, CornersCut)
        if (each.feature.name, relief) not in told and len(each.xy):
            told.add((each.feature.name, relief))
            lines.append(_positions(part, each, numbers))
    return "\n".join(lines)


def _speed(speed: Quantity | None) -> str:
    return "see operation" if speed is None else _rate(speed)


def _operation(each: Operation, numbers: dict[str, int]) -> str:
    settings, before = "", ""
    for label, text in each.settings:
        # Each ring and each pass on a line of its own.
        part_of = label.partition(",")[0] if label.startswith(("ring", "lap", "pass")) else ""
        settings += "<br>" * (part_of != before and bool(settings))
        settings += f"<span>{_e(label)} <b>{_e(text)}</b></span> "
        before = part_of
    time = "no feed told" if each.time is None else _rate(each.time * each.count)
    note = f"<br><i>{_e(each.feature.note)}</i>" if each.feature.note else ""
    return (
        f"<tr><td>{each.number}</td><td>{_e(each.cutter)}</td>"
        f"<td>{numbers[each.feature.name]} {_e(each.feature.name)}{note}</td>"
        f'<td class="settings">{_e(each.cut.what)}<br>{settings}</td>'
        f"<td>{each.count}</td><td>{_e(time)}</td></tr>"
    )


def _positions(part: Part, each: Operation, numbers: dict[str, int]) -> str:
    items = "".join(f"<li>X {x} Y {y}</li>" for x, y in written(part, each.xy))
    number = numbers[each.feature.name]
    corners = f", {each.cut.what}" * isinstance(each.cut.work, CornersCut)
    return (
        f'<p class="of">{number} {_e(each.feature.name + corners)}</p><ol class="at">{items}</ol>'
    )


def written(part: Part, xy: Any) -> Iterator[tuple[str, str]]:
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
    items = "".join(f"<li>{_e(each)}</li>" for each in CAUTIONS)
    return f'<h2>Cautions</h2><ul class="cautions">{items}</ul>'


def _measurements(part: Part) -> str:
    numbers, rows = pictures.numbers(part), []
    for feature in part.features:
        for each in to_measure(feature):
            measured = feature.measured.get(each.key)
            wanted = "" if each.wanted is None else _fine(each.wanted)
            box = '<td class="box"></td>' * 3
            if not each.key:
                box = '<td colspan="3">to compare; nothing is set by it</td>'
            elif measured is not None:
                box = f"<td>{_e(_fine(measured))}</td>" + '<td class="box"></td>' * 2
            rows.append(
                f"<tr><td>{numbers[feature.name]} {_e(feature.name)}</td><td>{_e(each.what)}</td>"
                f"<td>{_e(wanted)}</td>{box}<td>{_e(each.key)}</td></tr>"
            )
    head = _columns(MEASUREMENTS)
    return (
        "<h2>First part: measure, and write down</h2><p>Put what you measured into the file: the "
        "feature's <code>measured</code> table takes it under the key at the end of the line, such "
        "as <code>measured = {recess = 0.7}</code>. The next sheet has the corrected numbers.</p>"
        f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )
