"""Fields that read shop sizes, and say what is wrong with what was typed.

A field never changes what was typed. What it was read as stands beside it; where it cannot be
read the field is marked, in words and with a bar at its side, and the reason stands below it.
"""

from __future__ import annotations

import base64
import html
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from typing import Any

import ipywidgets as widgets

from holecalc import checks, holding, nuts, sizes
from holecalc.drawing.hints import Hint, fitting
from holecalc.drawing.ink import Picture
from holecalc.panels.access import Access
from holecalc.sizes import Quantity
from holecalc.sizes import exact as typed

__all__ = [
    "Choice",
    "Panel",
    "SizeField",
    "Slider",
    "block",
    "finding_counts",
    "finding_list",
    "number_table",
    "picture",
    "python_line",
    "slider",
    "style",
    "typed",
    "whole",
]

_LAST_GOOD = "Below is the last good result."

_STYLE = """
<style>
.holecalc {
  --jp-widgets-input-border-color: var(--jp-ui-font-color2);
  --jp-widgets-input-focus-border-color: var(--jp-ui-font-color1);
  --jp-widgets-disabled-opacity: .85; }
.holecalc :is(input, select, textarea):disabled { border-style: dashed; }
.holecalc :is(input, textarea)::placeholder {
  color: var(--jp-ui-font-color1) !important; opacity: .85; font-style: italic; }
/* ipywidgets takes the outline away, and means it; an id that is nowhere outweighs that. */
.holecalc :focus-visible:not(#holecalc) { outline: 2px solid currentColor !important;
  outline-offset: 1px; }
.holecalc .jupyter-widget-Collapse-header { color: var(--jp-ui-font-color1); }
.holecalc .widget-html-content { line-height: 1.35; }
.holecalc-wrong input, .holecalc-wrong textarea { border-left: 6px double currentColor !important; }
.holecalc-why { font-size: 90%; line-height: 1.25; white-space: normal; max-width: 25em; }
.holecalc table.numbers { border-collapse: collapse; margin: 0 0 .4em 0; }
.holecalc table.numbers td { padding: .1em .9em .1em 0; vertical-align: baseline; }
.holecalc table.numbers td.n { text-align: right; white-space: nowrap;
  font-variant-numeric: tabular-nums; }
.holecalc table.numbers td:first-child { white-space: nowrap; }
.holecalc table.numbers tr.found td { font-weight: 700; }
.holecalc ul.findings { list-style: none; padding-left: 0; margin: .2em 0; max-width: 60em; }
.holecalc ul.findings li { margin: .25em 0; line-height: 1.35; }
.holecalc .headline { font-size: 135%; font-weight: 700; margin: .2em 0; }
.holecalc .widget-htmlmath .widget-html-content { overflow-x: auto; overflow-y: hidden; }
.holecalc pre.line { white-space: pre-wrap; word-break: normal; overflow-wrap: anywhere;
  user-select: all; margin: .3em 0; padding: .4em .6em;
  border: 1px solid currentColor; }
.holecalc pre.listing { white-space: pre; overflow: auto; max-height: 32em; font-size: 80%;
  line-height: 1.3; }
.holecalc table.numbers th { text-align: right; padding: .1em .9em .1em 0; font-weight: 400;
  font-style: italic; }
.holecalc summary { cursor: pointer; }
.holecalc .head { width: 22em; max-width: 100%; }
.holecalc .head h4 { float: left; pointer-events: none; }
.holecalc .head summary { text-align: right; padding-top: .5em; font-size: 90%; }
.holecalc .help svg { display: block; max-width: 100%; }
.holecalc .help dl { display: block; margin: .3em 0 .8em 0; line-height: 1.3; white-space: normal; }
.holecalc .help :is(dt, dd) { display: inline; float: none; margin: 0; padding: 0; }
.holecalc .help dt { font-weight: 700; }
.holecalc .help dd::after { content: ""; display: block; margin-bottom: .3em; }
.holecalc .derivation { margin: .3em 0 .8em 0; padding: 0 .8em;
  border-left: 2px solid currentColor; }
.holecalc .derivation pre { overflow-x: auto; white-space: pre; line-height: 1.25; }
.holecalc h4 { margin: .5em 0 .15em 0; }
.holecalc img.picture { display: block; width: 100%; max-width: 48em; height: auto;
  background: white; }
[data-jp-theme-light="false"] .holecalc img.picture { filter: brightness(.88); }
.holecalc-live { position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap; }
</style>
"""

_LABEL = {False: "8.8em", True: "11.2em"}


_READERS: dict[str, tuple[Callable[..., Quantity], bool]] = {
    "length": (sizes.length, True),
    "angle": (sizes.angle, False),
    "count": (sizes.count, False),
    "spindle speed": (sizes.spindle_speed, False),
    "feed": (sizes.feed, True),
    "surface speed": (sizes.surface_speed, True),
    "thread": (nuts.thread, False),
    "force": (holding.force, False),
    "stress": (holding.stress, False),
}
"""How each kind is read, and whether a bare number takes the unit of the panel."""

_BEHIND = {
    "feed": {"mm": "mm/min", "in": "in/min"},
    "surface speed": {"mm": "m/min", "in": "ft/min"},
}
"""What goes behind a bare number that is no length."""


class SizeField:
    """One size, typed.

    Parameters
    ----------
    label : str
        The trade's term.
    text : str
        What stands in it first.
    hint : str
        What to measure, and where.
    reads : str
        What it is: ``"length"``, ``"angle"``, ``"count"``, ``"spindle speed"``, ``"feed"``,
        ``"surface speed"``, ``"thread"``, ``"force"`` or ``"stress"``.
    optional : bool, default False
        Whether it may be left empty.
    wide : bool, default False
        Whether there is room for a long label.
    """

    def __init__(
        self,
        label: str,
        text: str,
        hint: str,
        *,
        reads: str = "length",
        optional: bool = False,
        wide: bool = False,
    ) -> None:
        self.label = label
        self.optional = optional
        self._reads = reads
        self.entry = widgets.Text(
            value=text,
            description=label,
            tooltip=hint,
            placeholder="",
            continuous_update=False,
            style={"description_width": _LABEL[wide]},
            layout=widgets.Layout(width=f"calc({_LABEL[wide]} + 8.4em)"),
        )
        self._read_as = widgets.HTML(layout=widgets.Layout(width="6em"))
        self._why = widgets.HTML(layout=widgets.Layout(display="none"))
        self.box = field_box([widgets.HBox([self.entry, self._read_as]), self._why])
        for said in (self._read_as, self._why):
            said.add_class("holecalc-beside")

    @property
    def text(self) -> str:
        """What stands in the field."""
        return str(self.entry.value)

    @text.setter
    def text(self, value: str) -> None:
        self.entry.value = value

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not self.text.strip()

    @property
    def enabled(self) -> bool:
        """Whether it can be typed in."""
        return not self.entry.disabled

    @enabled.setter
    def enabled(self, value: bool) -> None:
        self.entry.disabled = not value

    def read(self, unit: str) -> Quantity:
        """What was typed, as a quantity.

        Raises
        ------
        holecalc.sizes.SizeError
            It cannot be read; the field is marked and says why.
        """
        read, with_unit = _READERS[self._reads]
        try:
            found = read(self.text, unit) if with_unit else read(self.text)
        except ValueError as error:
            # Threads and forces have errors of their own; to a panel they are all the same.
            self.mark(str(error))
            raise sizes.SizeError(str(error)) from None
        self.mark("")
        shown = _written(found, unit)
        self._read_as.value = "" if _plainly(self.text, shown) else f"= {html.escape(shown)}"
        return found

    def mark(self, why: str) -> None:
        """Say what is wrong with the field; nothing is, for an empty text."""
        if why:
            self.entry.add_class("holecalc-wrong")
            self._read_as.value = "✗ not read"
        else:
            self.entry.remove_class("holecalc-wrong")
            self._read_as.value = ""
        self._why.value = f"<div class='holecalc-why'>✗ {html.escape(why)}</div>" if why else ""
        self._why.layout.display = None if why else "none"

    def usual(self, text: str) -> None:
        """Show what is taken while nothing is typed; nothing is, for an empty text."""
        self.entry.placeholder = text
        if self.blank:
            self._read_as.value = "usual" if text else ""

    def is_a_name(self) -> None:
        """Leave no room beside it for what it was read as: it is no size."""
        self._read_as.layout.display = "none"

    def with_unit(self, unit: str) -> None:
        """Write the unit behind a bare number, so that it stays what it was."""
        told = self.in_full(unit)
        if told != self.text:
            self.text = told

    def in_full(self, unit: str) -> str:
        """What was typed, with the unit behind a bare number."""
        read, with_unit = _READERS[self._reads]
        if with_unit:
            try:
                read(self.text)
            except sizes.SizeError:
                with suppress(sizes.SizeError):
                    read(self.text, unit)
                    behind = _BEHIND.get(self._reads, {}).get(unit, unit)
                    return f"{self.text.strip()} {behind}"
        return self.text

    def on_change(self, callback: Callable[[], None]) -> None:
        """Call back when the text changes."""
        self.entry.observe(lambda _change: callback(), names="value")


def _plainly(typed: str, shown: str) -> bool:
    """Whether what was typed already says what it was read as."""
    number, _, unit = shown.replace("°", " °").partition(" ")
    words = typed.replace("°", " °").split()
    try:
        same = bool(words) and float(words[0]) == float(number)
    except ValueError:
        return False
    return same and words[1:] in ([], [unit])


class Choice:
    """One of a few words."""

    def __init__(self, label: str, options: list[Any], value: Any, hint: str) -> None:
        words = [option if isinstance(option, str) else option[0] for option in options]
        # As wide as a size field, or as wide as the longest of them needs.
        room = 8.4 if max(map(len, words), default=0) <= 10 else 14
        self.entry = widgets.Dropdown(
            options=options,
            value=value,
            description=label,
            tooltip=hint,
            style={"description_width": _LABEL[False]},
            layout=widgets.Layout(width=f"calc({_LABEL[False]} + {room}em)"),
        )
        self.box = self.entry

    @property
    def value(self) -> Any:
        """What is chosen."""
        return self.entry.value

    @value.setter
    def value(self, value: Any) -> None:
        self.entry.value = value

    def on_change(self, callback: Callable[[], None]) -> None:
        """Call back when another is chosen."""
        self.entry.observe(lambda _change: callback(), names="value")


def slider(label: str, hint: str, low: int, high: int) -> widgets.IntSlider:
    """A slider in whole steps of a fixed range.

    One whose range or fractions change answers with a rounded value of its own, which would
    overtake what is being typed.
    """
    return widgets.IntSlider(
        description=label,
        tooltip=hint,
        min=low,
        max=high,
        readout=False,
        style={"description_width": _LABEL[False]},
        layout=widgets.Layout(width="22em"),
    )


class Slider:
    """A slider that fills in the size field above it, from end to end of what works.

    Parameters
    ----------
    label : str
        The trade's term.
    hint : str
        What it slides.
    field : SizeField
        Where it writes.
    places : mapping of str to int
        How many places it writes, for each unit.
    """

    # A step is about a pixel, and one press of a key goes far enough to be seen.
    steps = 100

    def __init__(
        self, label: str, hint: str, field: SizeField, places: Mapping[str, int] | None = None
    ) -> None:
        self.box = self.entry = slider(label, hint, 0, self.steps)
        self._field = field
        self._places = places or {"mm": 2, "in": 4}
        self._moving = False

    def fill_in(self, low: Quantity, high: Quantity, unit: str) -> None:
        """Write where between two sizes it stands; rounding never goes beyond them."""
        least, most = float(low.m_as(unit)), float(high.m_as(unit))
        places = self._places[unit]
        value = round(least + self.entry.value / self.steps * (most - least), places)
        value += 10.0**-places * ((value < least - 1e-9) - (value > most + 1e-9))
        self._moving = True
        try:
            self._field.text = f"{value:.{places}f} {unit}"
        finally:
            self._moving = False

    def stand_at(self, size: Quantity, low: Quantity, high: Quantity) -> None:
        """Go where a size lies between two others, unless it is what filled it in."""
        if self._moving:
            return
        share = float(((size - low) / (high - low)).m_as("dimensionless")) if high > low else 0.0
        self.entry.value = round(self.steps * min(max(share, 0.0), 1.0))


def whole(count: Quantity) -> Any:
    """A count for a function that takes whole ones: 1.5 flutes are for the cutter to refuse."""
    number = float(count.magnitude)
    return int(number) if number == int(number) else number


def style() -> widgets.HTML:
    """What every panel has in its box, so that its texts and tables look as they should."""
    return widgets.HTML(_STYLE, layout=widgets.Layout(display="none"))


def field_box(rows: list[Any]) -> widgets.VBox:
    """A field with what is said of it: of class ``holecalc-beside``, each of them."""
    box = widgets.VBox(rows)
    box.add_class("holecalc-field")
    return box


def block(
    title: str,
    *rows: Any,
    hints: Any = (),
    by: Choice | None = None,
    asked_for: str = "what to measure",
) -> widgets.VBox:
    """Fields under a heading, and beside it, folded, what to measure for those in sight.

    Parameters
    ----------
    title : str
        The heading.
    *rows
        Fields, choices and sliders.
    hints : collection of holecalc.drawing.hints.Hint or mapping
        Figures of their dimensions, or those for each value of `by`.
    by : Choice, optional
        What they depend on.
    asked_for : str
        What the fold tells, where that is not what to measure.
    """
    boxes = [getattr(row, "box", row) for row in rows]
    entries = [getattr(row, "entry", row) for row in rows]
    heading = widgets.HTML()

    def tell(_change: Any = None) -> None:
        asked: dict[str, str] = {}
        for entry, box in zip(entries, boxes, strict=True):
            if getattr(entry, "tooltip", None) and box.layout.display != "none":
                # A slider may have the name of the field that it fills in.
                before = asked.get(entry.description)
                said = entry.tooltip if before is None else f"{before}. {entry.tooltip}"
                asked[entry.description] = said
        figures: Any = hints if by is None else hints[by.value]
        heading.value = _heading(title, asked_for, asked, fitting(figures, asked))

    for entry, box in zip(entries, boxes, strict=True):
        box.layout.observe(tell, names="display")
        if entry.has_trait("description"):
            entry.observe(tell, names="description")
    if by is not None:
        by.entry.observe(tell, names="value")
    tell()
    return widgets.VBox([heading, *boxes])


def _heading(title: str, asked_for: str, asked: Mapping[str, str], hints: Collection[Hint]) -> str:
    said = html.escape(title)
    if not asked:
        return f"<h4>{said}</h4>"
    figures = "".join(hint.svg for hint in hints)
    rows = "".join(
        f"<dt>{html.escape(label)}</dt><dd>{html.escape(hint)}.</dd>"
        for label, hint in asked.items()
    )
    return (
        f"<div class='head'><h4>{said}</h4><details class='help' data-topic='{said}'>"
        f"<summary aria-label='{asked_for}: {said}'>{asked_for}</summary>"
        f"{figures}<dl>{rows}</dl></details></div>"
    )


def number_table(
    rows: Iterable[tuple[str, Quantity, str]], unit: str, *, found: Collection[str] = ()
) -> str:
    """Label, size and meaning of each row, with the size in both units; `found` ones in bold."""
    other = "in" if unit == "mm" else "mm"
    lines = []
    for label, size, meaning in rows:
        here, there = (_written(size, each) for each in (unit, other))
        there = "" if there == here else there
        row = "found spoken" if label in found else ""
        lines.append(
            f"<tr class='{row}'><td>{html.escape(label)}</td><td class='n'>{here}</td>"
            f"<td class='n'>{there}</td><td>{html.escape(meaning)}</td></tr>"
        )
    return f"<h4>the numbers</h4><table class='numbers'>{''.join(lines)}</table>"


def _written(size: Quantity, unit: str) -> str:
    """A size, a speed, a count, a time: whatever it is, in the system of a unit."""
    if isinstance(size, nuts.Thread):
        return str(size)
    if size.check("[force]") or size.check("[pressure]"):
        return f"{size.magnitude:.4g} {size.units:~P}"
    with sizes.shown_in(unit):
        if size.check("[length]") or size.units in (sizes.ureg.degree, sizes.ureg.radian):
            return sizes.show(size, fine=True)
        return sizes.show_rate(size)


def picture(figure: Picture) -> str:
    """A picture with, for who cannot see it, what it shows in words."""
    width, height = figure.pixels
    data = base64.b64encode(figure.svg().encode()).decode("ascii")
    # The size is known before the picture is, so that nothing below it jumps.
    return (
        f"<img class='picture' alt='{html.escape(figure.said)}' width='{width}' height='{height}' "
        f"decoding='sync' src='data:image/svg+xml;base64,{data}'>"
    )


def finding_list(findings: checks.Findings) -> str:
    """Findings with their weights in words and signs, and why of each."""
    told = findings._repr_html_() if findings else "<p>✓ nothing found</p>"
    return f"<h4>checked</h4>{told}"


def finding_counts(findings: checks.Findings) -> str:
    """How many findings there are of each weight, for the top of a panel."""
    counts = ", ".join(
        f"{weight.mark} {number} {weight.word}"
        for weight in sorted(checks.Weight, reverse=True)
        if (number := sum(finding.weight is weight for finding in findings))
    )
    told = f"{counts}: told below" if counts else "✓ nothing found"
    return f"<div class='counts'><b>{told}</b></div>"


def python_line(line: str) -> str:
    """The line of Python that gives the same, to be copied whole."""
    return f"<h4>the same in Python</h4><pre class='line'>{html.escape(line)}</pre>"


class Panel:
    """Fields on the left, what comes of them on the right, side by side where there is room.

    A panel gives its fields to `fields`, says with :meth:`_watch` what is filled in when one of
    them changes, and has two methods of its own: ``_made()``, which reads the fields and returns
    the object they ask for with the line of Python that makes it, and ``_tell(made)``, which
    shows it.

    Parameters
    ----------
    title : str
        What it is a panel for.
    unit : {"mm", "in"}
        The unit of bare numbers, and of all that is shown.

    Attributes
    ----------
    fields : dict of str to SizeField
        What can be typed in, by name.
    python : str
        The line of Python that makes what is shown.
    """

    fields: dict[str, SizeField]
    python: str = ""

    def __init__(self, title: str, unit: str) -> None:
        self._title = title
        self._quiet = False
        self._unit = unit
        self.unit = Choice("unit", ["mm", "in"], unit, "Unit of bare numbers and of all shown")
        self._trouble = widgets.HTML()
        self.box = widgets.Box(
            layout=widgets.Layout(display="flex", flex_flow="row wrap", align_items="flex-start")
        )
        self.box.add_class("holecalc")

    def __repr__(self) -> str:
        return f"panel: {self._title} (choose Run, then Run All Cells, to use it)"

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = dict(self.box._repr_mimebundle_(**kwargs) or {})
        # The widget's own text is all of its state, which says nothing to a reader.
        return {**bundle, "text/plain": repr(self)}

    def _lay_out(self, asked: list[Any], told: list[Any]) -> None:
        self.box.children = (
            style(),
            widgets.VBox(
                [self.unit.box, *asked], layout=widgets.Layout(flex="0 0 auto", max_width="100%")
            ),
            widgets.VBox(
                [self._trouble, *told],
                layout=widgets.Layout(
                    flex="1 1 30em", min_width="min(24em, 100%)", max_width="58em"
                ),
            ),
            Access(),
        )
        self._watch(self.unit, self._keep_sizes)

    def _watch(self, field: Any, *first: Callable[[], None]) -> None:
        """When a field changes, do something first, then work it all out anew."""

        def changed() -> None:
            if self._quiet:
                return
            with self._quietly():
                for do in first:
                    do()
            self._update()

        field.on_change(changed)

    @contextmanager
    def _quietly(self) -> Iterator[None]:
        """Fill in fields without taking that for typing."""
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def _keep_sizes(self) -> None:
        """Write the old unit behind bare numbers, so that the new one changes no size."""
        for field in self.fields.values():
            field.with_unit(self._unit)
        self._unit = self.unit.value

    def _update(self) -> None:
        """Work it out anew; what cannot be read or done leaves the last good result standing."""
        try:
            with sizes.shown_in(self._unit):
                made, line = self._made()
        except sizes.SizeError:
            self._say(f"{self._aside()}A field cannot be read and says why. {_LAST_GOOD}")
            return
        except ValueError as error:
            self._say(f"{error} {_LAST_GOOD}")
            return
        before, self.python = self.python, line
        try:
            with sizes.shown_in(self._unit):
                self._tell(made)
        except BaseException:
            # Whatever went wrong, the line must not speak of another thing than the picture.
            self.python = before
            raise
        self._say(self._besides())

    def _made(self) -> tuple[Any, str]:
        raise NotImplementedError

    def _tell(self, made: Any) -> None:
        raise NotImplementedError

    def _aside(self) -> str:
        """What else to say when a field cannot be read."""
        return ""

    def _besides(self) -> str:
        """What went wrong although the rest could be worked out."""
        return ""

    def _read(self, *names: str) -> dict[str, Quantity]:
        """Read fields, all of them, so that every wrong one is marked; an empty one is left out."""
        read, wrong = {}, None
        for name in names:
            field = self.fields[name]
            if field.optional and field.blank:
                field.mark("")
                continue
            try:
                read[name] = field.read(self._unit)
            except sizes.SizeError as error:
                wrong = error
        if wrong is not None:
            raise wrong
        return read

    def _say(self, trouble: str) -> None:
        """Say what is wrong with the whole; nothing is, for an empty text."""
        self._trouble.value = (
            f"<div class='trouble'><b>✗ {html.escape(trouble)}</b></div>" if trouble else ""
        )
