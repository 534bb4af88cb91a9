"""The part panel: a part file to open, read, change, check, measure by, and save.

A view over :class:`holecalc.part.PartFile` and what is made of its part: the plan, the checks, the
sheet. The state is the text; what stands in the text area is what is saved.
"""

from __future__ import annotations

import base64
import html
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from functools import partial
from pathlib import Path
from threading import RLock
from typing import Any
from urllib.parse import quote

import ipywidgets as widgets

from holecalc import checks, demo, sheet, sizes
from holecalc.panels.access import Access
from holecalc.panels.fields import (
    Choice,
    Panel,
    SizeField,
    block,
    finding_counts,
    finding_list,
    python_line,
    style,
)
from holecalc.part import Bench, Feature, Measurement, Part, PartError, PartFile, to_measure
from holecalc.plan import Plan, plan

__all__ = ["PartPanel"]

_STYLE = """
<style>
.holecalc .part-text textarea { font-family: var(--jp-code-font-family, monospace);
  font-size: var(--jp-code-font-size, 13px); line-height: 1.35; white-space: pre; tab-size: 4; }
.holecalc .part-text { flex-flow: column; height: auto; align-items: stretch; }
.holecalc .part-text > .widget-label { width: auto; text-align: left; height: auto; }
.holecalc .part-bar { flex-flow: row wrap; align-items: center; column-gap: .3em; }
.holecalc .part-bar > :first-child { flex: 1 1 100%; }
.holecalc .part-buttons button { min-width: 6em; font-size: 110%; line-height: 1; }
.holecalc .part-words { overflow-wrap: anywhere; }
.holecalc .part-sheet { max-width: 75em; }
.holecalc .part-sheet h2 { font-size: 120%; margin: .8em 0 .2em 0; }
.holecalc .part-sheet h3 { font-size: 100%; margin: .6em 0 .2em 0; }
.holecalc .part-sheet table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
.holecalc .part-sheet th, .holecalc .part-sheet td { border: 1px solid; padding: .2em .5em;
  text-align: left; vertical-align: top; line-height: 1.35; }
.holecalc .part-sheet .settings span { display: inline-block; margin-right: .9em; }
.holecalc .part-sheet .operations td:last-child { white-space: nowrap; }
.holecalc .part-sheet ol.at { columns: 15em auto; margin: 0; font-size: 90%; }
.holecalc .part-sheet svg { display: block; max-width: 100%; height: auto; }
.holecalc .part-sheet figure { margin: 0 0 .8em 0; max-width: 100%; }
.holecalc .part-sheet .figures { display: flex; flex-wrap: wrap; gap: 1em; }
.holecalc .part-words code { white-space: pre-wrap; }
.holecalc .part-sheet a { text-decoration: underline; color: var(--jp-content-link-color); }
.holecalc .part-how { font-size: 90%; line-height: 1.25; max-width: 30em; margin: 0 0 .5em 0; }
</style>
"""

_MOST_FAULTS = 12
_MIME = {"sheet": "text/html", "list": "text/csv", "drawing": "application/dxf"}
_TO_WRITE = {
    "sheet": ("Sheet to print", "The operator's sheet: one page of HTML that prints"),
    "list": ("List (CSV)", "Every operation at every place, for a spreadsheet"),
    "drawing": ("Drawing (DXF)", "Outlines, centres and the circles to cut on"),
}


class PartPanel(Panel):
    """A whole part to work with, from its file to the sheet.

    Parameters
    ----------
    file : str, optional
        What to open: a file's name, or ``"demo: "`` and the name of a demo part. Without one, the
        part file saved last in the folder, or a demo part where there is none.
    folder : pathlib.Path, optional
        Where part files are looked for and saved; by default the folder Python runs in.

    Attributes
    ----------
    file : holecalc.part.PartFile
        What is open.
    planned : holecalc.plan.Plan
        The plan of the part that is shown.
    findings : holecalc.checks.Findings
        What was found about it.

    Examples
    --------
    >>> import tempfile
    >>> panel = PartPanel("demo: table-insert", folder=Path(tempfile.mkdtemp()))
    >>> panel.text.value = panel.text.value.replace("thickness = 0.507", "thickness = 0.49")
    >>> print(sizes.show(panel.part.plate.thickness))
    0.4900 in
    >>> panel.file.saved
    False
    >>> panel.save()
    >>> panel.file.saved, panel.file.path.name
    (True, 'table-insert.toml')
    """

    def __init__(self, file: str = "", *, folder: Path | None = None) -> None:
        super().__init__("part", "mm")
        self._lock = RLock()
        self._bench = Bench(folder)
        self.file: PartFile
        self.planned: Plan
        self.findings: checks.Findings
        self._opened = ""
        self._shown: Part | None = None
        self._rows: dict[tuple[str, str], _Row] = {}
        self._written: dict[str, str] = {}
        self._links_to: dict[str, Path] = {}
        self._written_from = ("", False)
        self.fields = {}
        self._build_bar()
        self._build_rest()
        self._place()
        self._begin(file)

    @property
    def part(self) -> Part:
        """The part, as the text described it when it could last be used."""
        return self.file.part

    def _build_bar(self) -> None:
        self.chooser = widgets.Dropdown(
            options=[],
            description="part files",
            tooltip="Part files of this folder, the one saved last first, and the demo parts",
            style={"description_width": "5.5em"},
            layout=widgets.Layout(width="24em"),
        )
        self.name = widgets.Text(
            description="file name",
            tooltip="What to open, or to save under: a name in this folder, or a path",
            continuous_update=False,
            style={"description_width": "5.5em"},
            layout=widgets.Layout(width="24em"),
        )
        self.open_button = self._button("Open", "Opens what stands under file name", self.open)
        self.save_button = self._button("Save", "Saves the text under the file name", self.save)
        self.write_buttons = {
            what: self._button(label, hint, partial(self.write, what))
            for what, (label, hint) in _TO_WRITE.items()
        }

    def _button(self, label: str, hint: str, do: Callable[[], None]) -> widgets.Button:
        made = widgets.Button(
            description=label, tooltip=hint, layout=widgets.Layout(width="auto", height="2.6em")
        )
        made.on_click(self._alone(do))
        return made

    def _alone(self, do: Callable[[], None]) -> Callable[..., None]:
        """One thing at a time: a notebook may hand on what is typed and what is pressed at once."""

        def done(*_what: Any) -> None:
            with self._lock:
                do()

        return done

    def _build_rest(self) -> None:
        self.text = widgets.Textarea(
            description="text",
            tooltip="Change it here; it is read when you leave it, and what stands here is what is "
            "saved. Remarks stand behind #; a bare number is in the unit at the top",
            continuous_update=False,
            rows=30,
            layout=widgets.Layout(width="auto"),
        )
        self.text.add_class("part-text")
        self.feature = Choice("feature", [""], "", "Which feature was measured")
        # Names of features are longer than most words that are chosen from.
        self.feature.entry.layout.width = "calc(8.8em + 16em)"
        self._to_measure = widgets.VBox()
        self._links = widgets.Output()
        self._state, self._remark, self._headline, self._faults = (widgets.HTML() for _ in range(4))
        self._findings, self._corrections, self._line = (widgets.HTML() for _ in range(3))
        self._views, self._setups, self._sections, self._files = (widgets.HTML() for _ in range(4))
        for each in (self._views, self._setups, self._sections, self._files):
            each.add_class("part-sheet")
        for each in (self._state, self._faults):
            each.add_class("part-words")

    def _place(self) -> None:
        bar = block("which part", self.chooser, self.name, asked_for="what is this?")
        bar.children = (*bar.children, _row(self.open_button, self.save_button))
        bar.add_class("part-bar")
        typed = block("the part file", self.text, self._faults, asked_for="how is it written?")
        measured = block("the first part", self.feature, self._to_measure)
        top = [bar, self._state, self._trouble, self._remark, self._headline]
        left = [typed, measured, self._corrections]
        right = [self._findings, self._views]
        taken = block("to take along", _row(*self.write_buttons.values()), self._files, self._links)
        below = [self._setups, self._sections, taken, self._line]
        self.box.children = (
            style(),
            widgets.HTML(_STYLE, layout=widgets.Layout(display="none")),
            widgets.VBox(top, layout=widgets.Layout(flex="1 1 100%")),
            widgets.VBox(left, layout=widgets.Layout(flex="3 1 30em", min_width="min(24em, 100%)")),
            widgets.VBox(
                right, layout=widgets.Layout(flex="2 1 24em", min_width="min(24em, 100%)")
            ),
            widgets.VBox(below, layout=widgets.Layout(flex="1 1 100%")),
            Access(),
        )
        self.chooser.observe(self._alone(self._chosen), names="value")
        self.name.observe(self._alone(self._renamed), names="value")
        self.text.observe(self._alone(self._typed), names="value")
        self.feature.on_change(self._alone(self._another_feature))

    # --- files ---------------------------------------------------------------------------

    def _begin(self, name: str) -> None:
        trouble = ""
        try:
            file = self._bench.open(name) if name else self._bench.latest()
        except (OSError, ValueError) as error:
            trouble = f"{error} Here is a demo part instead; Save puts it under that name."
            file = self._bench.open("demo: bearing-plate")
            file.path = self._bench.path(name)
        self._show(file)
        if trouble:
            self._say(trouble)
        forgotten = self._bench.forgotten(without=file)
        if forgotten:
            self._remind(f"Typed before, and kept: choose it under part files. {forgotten[0]}")

    def open(self) -> None:
        """Open what stands under the file name; what was typed and not saved is kept."""
        before = self.file
        try:
            file = self._bench.open(self.name.value)
        except (OSError, ValueError) as error:
            self._say(f"Not opened: {error}")
            return
        self._show(file)
        if before.changed and before is not file:
            (kept, *_) = self._bench.forgotten(without=file)
            self._remind(f"What was typed is kept: choose it under part files. {kept}")

    def _show(self, file: PartFile) -> None:
        self.file = file
        self._rows.clear()
        self._written.clear()
        self._links_to.clear()
        self._files.value, self._links.outputs = "", ()
        self._remind("")
        self.chooser.value = None
        if not file.usable:
            self._show_nothing()
        with self._quietly():
            self.text.value = file.text
            path = file.path if file.saved_at is not None else self._bench.free(file.path)
            self.name.value = self._bench.name(path)
        self._update()

    def save(self) -> None:
        """Save the text under the name that stands in the field."""
        try:
            target = self._bench.path(self.name.value)
            here = target == self.file.path and self.file.saved_at is not None
            self.file.save(None if here else target)
        except (OSError, ValueError) as error:
            self._suggest(str(error))
            return
        self._bench.keep(self.file)
        with self._quietly():
            self.name.value = self._bench.name(self.file.path)
        self._update()

    def _suggest(self, why: str) -> None:
        """Say why nothing was saved, and put a name into the field that can be saved under."""
        told = f"Not saved: {why}"
        try:
            free = self._bench.free(self._bench.path(self.name.value), other=True)
        except (OSError, ValueError):
            pass
        else:
            with self._quietly():
                self.name.value = self._bench.name(free)
            told += f" Press Save again to save it in {free}."
        self._tell_state()
        self._say(told)

    def _chosen(self) -> None:
        if not self._quiet and self.chooser.value is not None:
            self.name.value = self.chooser.value

    def _renamed(self) -> None:
        if not self._quiet:
            self._tell_state()

    def _typed(self) -> None:
        if not self._quiet:
            self.file.edit(self.text.value)
            self._changed()

    def _changed(self) -> None:
        self._bench.keep(self.file)
        self._remind("")
        self._update()

    def _tell_state(self) -> None:
        """Which file it is, whether it holds what is shown, and where Save puts it."""
        file = self.file
        self._tell_opened()
        if file.saved_at is not None:
            lines = [f"This is <b>{html.escape(str(file.path))}</b>"]
        else:
            lines = ["This is a part without a file yet"]
        if file.saved:
            lines.append(f"✓ saved {_told_time(file.saved_at)}")
        else:
            lines.append("✎ <b>not saved yet</b>")
        lines.append(html.escape(self._told_target()))
        if not self._bench.writable:
            lines.append(f"nothing can be saved in {html.escape(str(self._bench.folder))}")
        self._state.value = f"<div class='counts'>{' · '.join(filter(None, lines))}</div>"

    def _tell_opened(self) -> None:
        """What there is to open; what is open is shown, unless another was chosen since."""
        file, chosen = self.file, self.chooser.value
        opened = self._bench.called(file)
        names = self._bench.names(without=file)
        options = names if opened in names else (opened, *names)
        another = chosen in options and chosen != self._opened
        with self._quietly():
            if self.chooser.options != options:
                self.chooser.options = options
            self.chooser.value = chosen if another else opened
        self._opened = opened

    def _told_target(self) -> str:
        """What Save or Open would do with the name that stands in the field."""
        name = self.name.value.strip()
        try:
            target = self._bench.path(name)
        except ValueError as error:
            return f"Open opens {name}" if name in self.chooser.options else str(error)
        if target == self.file.path and self.file.saved_at is not None:
            return "" if self.file.saved else f"Save puts it in {target}"
        return f"Open opens {target}" if _there(target) else f"Save puts it in {target}"

    def _remind(self, remark: str) -> None:
        self._remark.value = f"<div class='counts'>· {html.escape(remark)}</div>" if remark else ""

    # --- what is told --------------------------------------------------------------------

    def _update(self) -> None:
        self._tell_state()
        self._tell_faults()
        file = self.file
        if file.usable and (not file.faults or self._shown is not file.part):
            super()._update()
        if file.faults:
            count = f"{len(file.faults)} thing{'s' * (len(file.faults) > 1)}"
            told = "the last good part is shown" if file.usable else "nothing can be shown"
            self._say(
                f"The text cannot be used as it stands, for {count} told under it; {told}. It can "
                "be saved all the same."
            )

    def _made(self) -> tuple[tuple[Part, Plan, checks.Findings], str]:
        part = self.file.part
        planned = plan(part)
        return (part, planned, checks.part(part, planned)), self._python_lines()

    def _python_lines(self) -> str:
        demos = [name for name in demo.names() if demo.text(name) == self.file.text]
        names = "checks, demo, part, plan, sheet" if demos else "checks, part, plan, sheet"
        lines = [f"from holecalc import {names}", ""]
        if demos:
            lines.append(f"made = part.loads(demo.text({demos[0]!r}), {self.file.path.name!r})")
        else:
            if not self.file.saved:
                lines.append("# Save first: this reads the file.")
            lines.append(f"made = part.load({str(self.file.path)!r})")
        return "\n".join(
            [
                *lines,
                "planned = plan.plan(made)",
                "print(planned)",
                "print(checks.part(made, planned))",
                *self._python_sheet(bool(demos)),
            ]
        )

    def _python_sheet(self, is_demo: bool) -> list[str]:
        to = repr(str(self._beside("sheet")))
        if is_demo:
            return [f"sheet.write(sheet.html_text(made), {to})"]
        origin = f"sheet.Origin.of({str(self.file.path)!r})"
        return [f"page = sheet.html_text(made, origin={origin})", f"sheet.write(page, {to})"]

    def _tell(self, made: tuple[Part, Plan, checks.Findings]) -> None:
        part, self.planned, self.findings = made
        self._shown, self._unit = part, part.unit
        self._headline.value = self._told_first()
        self._findings.value = finding_list(self.findings)
        self._views.value = sheet.plan_views(part)
        setups = "".join(sheet.setup_tables(part, each) for each in self.planned.setups)
        self._setups.value = sheet.fasteners(part) + setups
        self._sections.value = f"<h2>Sections</h2>{sheet.sections(part, ids=f'-{id(self)}-')}"
        self._line.value = python_line(self.python)
        self._tell_corrections()
        self._tell_features()
        self._tell_written()

    def _show_nothing(self) -> None:
        self._shown, self.python, self.fields = None, "", {}
        self._to_measure.children = ()
        for each in (self._headline, self._findings, self._views, self._setups, self._sections):
            each.value = ""
        self._line.value = self._corrections.value = ""

    def _told_first(self) -> str:
        told = html.escape(sheet.summary(self.part, self.planned))
        if self.findings.worst is checks.Weight.STOP:
            told = f"■ do not cut yet. {told}"
        return f"<div class='headline'>{told}</div>{finding_counts(self.findings)}"

    def _tell_faults(self) -> None:
        faults, lines = self.file.faults, self.file.text.split("\n")
        items = [
            f"<li><b>✗ line {fault.line}</b> <code>{html.escape(lines[fault.line - 1].strip())}"
            f"</code><br>{html.escape(f'{fault.where}: {fault.reason}')}</li>"
            for fault in faults[:_MOST_FAULTS]
            if fault.line <= len(lines)
        ]
        if len(faults) > _MOST_FAULTS:
            items.append(f"<li>and {len(faults) - _MOST_FAULTS} more</li>")
        self._faults.value = f"<ul class='findings'>{''.join(items)}</ul>" if items else ""

    # --- the first part ------------------------------------------------------------------

    def _tell_corrections(self) -> None:
        items = "".join(f"<li>{html.escape(each)}</li>" for each in sheet.corrections(self.part))
        told = f"<ul class='counts'>{items}</ul>" if items else "<p>Nothing was measured yet.</p>"
        self._corrections.value = f"<h4>what to change for the next part</h4>{told}"

    def _tell_features(self) -> None:
        choices = tuple(
            (f"{number} {feature.name}", feature.name)
            for number, feature in enumerate(self.part.features, start=1)
            if _measurable(feature)
        )
        if self.feature.entry.options != choices:
            before = self.feature.value
            with self._quietly():
                self.feature.entry.options = choices
                if before in dict(choices).values():
                    self.feature.value = before
        self._tell_measurements()

    def _another_feature(self) -> None:
        if not self._quiet:
            self._tell_measurements()

    def _tell_measurements(self) -> None:
        """A field for each size that can be measured on the feature, with what the file has."""
        name = self.feature.value
        if not name:
            self.fields = {}
            self._to_measure.children = ()
            return
        feature = self.part.feature(name)
        rows = [self._row(name, each) for each in _measurable(feature)]
        with sizes.shown_in(self._unit), self._quietly():
            for row in rows:
                row.tell(feature.measured.get(row.asked.key), self._unit)
        self.fields = {row.asked.key: row.field for row in rows}
        boxes = tuple(box for row in rows for box in (row.field.box, row.hint))
        if self._to_measure.children != boxes:
            self._to_measure.children = boxes

    def _row(self, feature: str, asked: Measurement) -> _Row:
        key = (feature, asked.key)
        if key not in self._rows:
            row = self._rows[key] = _Row(asked)
            row.field.on_change(self._alone(partial(self._measured, feature, row)))
        row = self._rows[key]
        row.asked = asked
        return row

    def _measured(self, feature: str, row: _Row) -> None:
        """Write what was measured into the text, or say why it cannot be."""
        if self._quiet:
            return
        try:
            if not row.field.blank:
                row.field.read(self._unit)
            self.file.measure(feature, row.asked.key, row.field.text)
        except sizes.SizeError:
            return
        except PartError as error:
            why = error.faults[0].reason
            if self.file.faults:
                why = "the text of the part cannot be used; put that right first."
            row.field.mark(f"not written into the part: {why}")
            return
        with self._quietly():
            self.text.value = self.file.text
        self._changed()

    # --- to take along -------------------------------------------------------------------

    def _beside(self, what: str) -> Path:
        """Where a file of the part goes: beside the part file, or where that is to be."""
        return sheet.file_name(what, self.part, self._part_file())

    def _part_file(self) -> Path:
        """The part file, or where it is to be."""
        path = self.file.path
        if self.file.saved_at is None:
            with suppress(ValueError):
                path = self._bench.path(self.name.value)
        return path

    def write(self, what: str) -> None:
        """Write the sheet, the list or the drawing beside the part file, and offer it as well.

        Parameters
        ----------
        what : {"sheet", "list", "drawing"}
            Which.
        """
        if self.file.faults or self._shown is None:
            self._say("Nothing was written: put right first what is told under the text.")
            return
        path, file = self._beside(what), self.file
        origin = sheet.Origin(self._part_file().name, file.saved_at if file.saved else None)
        text = sheet.file_text(
            what, self.part, planned=self.planned, findings=self.findings, origin=origin
        )
        try:
            written = sheet.write(text, path)
        except OSError as error:
            told = f"✗ {html.escape(str(error))} Take it from here:"
        else:
            told = f"✓ {what} written at {datetime.now():%H:%M} to <b>{html.escape(str(path))}</b>"
            if written.before is not None:
                told += f"; the one before is kept as {html.escape(str(written.before))}"
            self._links_to[what] = path
        if not file.saved:
            says = ", and the sheet says so" if what == "sheet" else ""
            told += (
                f". <b>▲ The part is not saved</b>{says}: no file holds what this was made from. "
                "Press Save, and write it again."
            )
        data = base64.b64encode(text.encode()).decode()
        name = html.escape(path.name, quote=True)
        link = f"<a download='{name}' href='data:{_MIME[what]};base64,{data}'>download {name}</a>"
        self._written[what] = f"<li>{told} {link}</li>"
        self._written_from = (file.text, file.saved)
        self._tell_written()

    def _tell_written(self) -> None:
        """What was written, and links to it; nothing of a text that is not shown any more."""
        text, saved = self._written_from
        if self._written and (text, saved) != (self.file.text, self.file.saved):
            self._written.clear()
            self._links_to.clear()
            older = text != self.file.text
            what = "is of an older text" if older else "is from before the part was saved"
            self._files.value = f"<p>▲ What was written before {what}: write again.</p>"
        elif self._written:
            self._files.value = f"<ul class='findings'>{''.join(self._written.values())}</ul>"
        # In an output of its own, whose links the notebook turns into its own addresses.
        links = " · ".join(
            f"<a href='{quote(str(path.relative_to(self._bench.folder)))}' target='_blank'>"
            f"open the {what}</a>"
            for what, path in self._links_to.items()
            if path.is_relative_to(self._bench.folder)
        )
        shown = {"output_type": "display_data", "data": {"text/html": links}, "metadata": {}}
        self._links.outputs = (shown,) if links else ()


class _Row:
    """A field for what was measured, what it should be and how it is measured."""

    def __init__(self, asked: Measurement) -> None:
        self.asked = asked
        self.field = SizeField(asked.what, "", asked.how, optional=True, wide=True)
        self.hint = widgets.HTML()
        self._seen: sizes.Quantity | None = None

    def tell(self, size: sizes.Quantity | None, unit: str) -> None:
        """Show what the file has, unless the field says so already."""
        wanted = self.asked.wanted
        told = "" if wanted is None else f"Wanted {sizes.show(wanted, fine=True)}. "
        self.hint.value = f"<div class='part-how'>{html.escape(told + self.asked.how)}</div>"
        before, self._seen = self._seen, size
        if size is None:
            # What cannot be read stays until it is put right.
            if before is not None:
                self.field.text = ""
            return
        with suppress(sizes.SizeError):
            if sizes.length(self.field.text, unit) == size:
                return
        self.field.text = sizes.show(size, fine=True)
        self.field.mark("")


def _there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _measurable(feature: Feature) -> tuple[Measurement, ...]:
    return tuple(each for each in to_measure(feature) if each.key)


def _row(*children: Any) -> widgets.HBox:
    row = widgets.HBox(
        children, layout=widgets.Layout(flex_flow="row wrap", align_items="center", grid_gap=".3em")
    )
    row.add_class("part-buttons")
    return row


def _told_time(when: datetime | None) -> str:
    if when is None:
        return ""
    today = when.date() == datetime.now().date()
    return f"{when:%H:%M}" if today else f"{when:%Y-%m-%d %H:%M}"
