"""Every finding there is can be provoked by what a person types, and each is typed in a browser."""

import ast
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import provocations
import pytest
from hands import KEYS
from provocations import LOOK, NOTE, OF_A_PANEL, PARTS, STOP, Edit, Provocation

from holecalc import checks, demo, part
from holecalc.checks import Finding, Findings, Weight
from project import ROOT

CHECKS = ROOT / "holecalc/checks"

NOT_TO_BE_REACHED = {
    ("pockets._counterbore_wall", STOP): "only asked from Python: a panel does not know where in "
    "its plate a pocket is, and a whole part reckons its walls itself",
    ("pockets._counterbore_wall", LOOK): "only asked from Python, likewise",
    ("sinks._plate", NOTE): "only asked from Python: panel and part insist on the plate's "
    "thickness",
}
"""Findings that nothing typed brings about, and why."""


@dataclass(frozen=True)
class Place:
    """Where a finding is made, and with which weight; None where it has that of another."""

    where: str
    lines: range
    weight: Weight | None

    def __str__(self) -> str:
        weight = "of any weight" if self.weight is None else self.weight.word
        return f"{self.where}, line {self.lines.start}: {weight}"


@dataclass(frozen=True)
class Told:
    """What was found before and after something was typed, and where what is meant was made."""

    before: Findings
    after: Findings
    made_at: list[tuple[str, int, Weight]]


def weights_in(node: ast.AST) -> set[Weight]:
    return {
        Weight[each.attr]
        for each in ast.walk(node)
        if isinstance(each, ast.Attribute) and getattr(each.value, "id", "") == "Weight"
    }


def weights_of(call: ast.Call, function: ast.FunctionDef) -> set[Weight | None]:
    """What is written as the weight of a finding, or was put into its variable before."""
    given = call.args[0]
    found: set[Weight | None] = {*weights_in(given)}
    names = {each.id for each in ast.walk(given) if isinstance(each, ast.Name)} - {"Weight"}
    for line in ast.walk(function):
        if isinstance(line, ast.Assign):
            into = {each.id for each in ast.walk(line.targets[0]) if isinstance(each, ast.Name)}
            found |= weights_in(line.value) if into & names else set()
    return found or {None}


def places() -> Iterator[Place]:
    """Everywhere in the checks that a finding is made, as written in their sources."""
    for path in sorted(CHECKS.glob("*.py")):
        functions = ast.parse(path.read_text(encoding="utf-8")).body
        for function in functions:
            if not isinstance(function, ast.FunctionDef):
                continue
            for call in ast.walk(function):
                if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Finding":
                    assert call.end_lineno is not None
                    lines = range(call.lineno, call.end_lineno + 1)
                    where = f"{path.stem}.{function.name}"
                    for weight in weights_of(call, function):
                        yield Place(where, lines, weight)


def first_panel(workbook: str) -> Any:
    """The first panel of a workbook, opened as its cell opens it."""
    cells = json.loads((ROOT / "workbooks" / workbook).read_text(encoding="utf-8"))["cells"]
    sources = ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    *lines, last = ast.parse(next(source for source in sources if "Panel(" in source)).body
    assert isinstance(last, ast.Expr)
    names: dict[str, Any] = {}
    exec(compile(ast.Module(lines, []), workbook, "exec"), names)
    return eval(compile(ast.Expression(last.value), workbook, "eval"), names)


def in_sight(box: Any) -> Iterator[Any]:
    """Everything in a panel that is to be seen."""
    for child in getattr(box, "children", ()):
        if child.layout.display != "none":
            yield child
            yield from in_sight(child)


def enter(panel: Any, label: str, text: str) -> None:
    """Type, choose or slide what is in sight under a label."""
    slides = text in KEYS
    entry = next(
        each
        for each in in_sight(panel.box)
        if getattr(each, "description", "") == label
        and isinstance(each, widgets.IntSlider) == slides
    )
    assert not entry.disabled, f"nothing can be typed under {label!r}"
    if isinstance(entry, widgets.Dropdown):
        entry.label = text
    elif slides:
        ends = {"Home": entry.min, "End": entry.max}
        by = {"PageUp": 5, "PageDown": -5}
        entry.value = ends[text] if text in ends else entry.value + by[text]
    else:
        entry.value = text


def typed_in(row: Provocation, workbook: str) -> tuple[Findings, Findings]:
    panel = first_panel(workbook)
    before = panel.findings
    for label, text in row.typed.items():
        enter(panel, label, text)
    assert panel._trouble.value == "" or "No screw" in panel._trouble.value
    for finding in panel.findings:
        assert finding._repr_html_() in panel._findings.value
    return before, panel.findings


def edited(row: Edit) -> tuple[Findings, Findings]:
    text = demo.text("bearing-plate")
    return checks.part(part.loads(text)), checks.part(part.loads(row.of(text)))


ROWS = [*((book, row) for book, rows in OF_A_PANEL.items() for row in rows),
        *(("", row) for row in PARTS)]  # fmt: skip


@pytest.fixture(name="told", scope="module")
def _told() -> dict[str, Told]:
    """All that is typed, once, with an eye on where each finding is made."""
    noted: list[tuple[str, str, int, Weight]] = []
    make = Finding.__init__

    def noting(self: Finding, weight: Weight, what: str, *rest: str, **named: str) -> None:
        caller = sys._getframe(1)
        noted.append((what, caller.f_code.co_filename, caller.f_lineno, weight))
        make(self, weight, what, *rest, **named)

    told = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Finding, "__init__", noting)
        for book, row in ROWS:
            noted.clear()
            before, after = typed_in(row, book) if isinstance(row, Provocation) else edited(row)
            # A part puts the feature's name before what the check of the feature says.
            meant = [found.what for found in wanted(row, after)]
            made_at = [
                (f"{Path(file).parent.name}/{Path(file).stem}", line, weight)
                for what, file, line, weight in noted
                if row.says in what or any(each.endswith(what) for each in meant)
            ]
            told[name(book, row)] = Told(before, after, made_at)
    return told


def name(book: str, row: Provocation | Edit) -> str:
    return f"{book[:2] or '05'} {row.weight.word} {row.says}"


def wanted(row: Provocation | Edit, findings: Findings) -> list[Finding]:
    return [
        finding for finding in findings if row.says in finding.what and finding.weight is row.weight
    ]


@pytest.mark.parametrize(("book", "row"), ROWS, ids=lambda value: getattr(value, "says", value))
def test_what_is_typed_is_told(told, book, row):
    seen = told[name(book, row)]
    found = wanted(row, seen.after)
    assert found, f"not said: {row.says!r}. Said:\n{seen.after}"
    assert all(finding.cure for finding in found)
    if row.typed or getattr(row, "more", ""):
        assert not wanted(row, seen.before), "it is said before anything is typed"


def test_no_two_rows_are_the_same(told):
    assert len(told) == len(ROWS)


def test_every_finding_is_provoked(told):
    made = {at for seen in told.values() for at in seen.made_at}
    reached = {
        place
        for place in places()
        for where, line, weight in made
        if where == f"checks/{place.where.split('.')[0]}"
        and line in place.lines
        and place.weight in (weight, None)
    }
    left = {place for place in places() if place not in reached}
    assert len(reached) > 100
    unreached = {(place.where, place.weight) for place in left}
    forgotten = [
        str(place) for place in left if (place.where, place.weight) not in NOT_TO_BE_REACHED
    ]
    assert not forgotten, f"nothing in {provocations.__name__} brings these about: {forgotten}"
    assert unreached == set(NOT_TO_BE_REACHED), "listed as not to be reached, and is, or is gone"
