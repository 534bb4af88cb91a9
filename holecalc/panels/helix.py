"""The helix panel: a bore, a plate, a cutter and its limits in; path, turns, pitch and feed out.

A view over :func:`holecalc.helix.bore`, :func:`holecalc.cutting.run`,
:func:`holecalc.checks.helix` and :func:`holecalc.export.listing.bore`.
"""

from __future__ import annotations

import html
from typing import Any, NamedTuple

import ipywidgets as widgets

from holecalc import checks, cutting, helix, sizes
from holecalc.cutters import EndMill
from holecalc.cutting import CuttingError, Run, Starting
from holecalc.drawing import HelixFigure, hints
from holecalc.export import listing
from holecalc.panels.fields import (
    Choice,
    SizeField,
    block,
    finding_counts,
    finding_list,
    number_table,
    picture,
    python_line,
    slider,
    typed,
    whole,
)
from holecalc.panels.keeping import FeaturePanel, KeepingError, Kept, Taken, as_text
from holecalc.sizes import Quantity

__all__ = ["HelixPanel"]

_NO_MATERIAL = "—"
_MOST_TURNS = 60
_FINDS = {
    "limits": "turns, from the limits",
    "pitch": "pitch, from the turns",
    "passes": "turns, from the pitch",
}
_ASKS = {"limits": ("max_pitch", "max_ramp_angle"), "pitch": ("passes",), "passes": ("pitch",)}
_FOUND = {"limits": ("passes", "pitch"), "pitch": ("pitch",), "passes": ("passes",)}
_FEEDS = {
    "chip_load": "chip load",
    "wall_feed": "feed at the wall",
    "axis_feed": "feed at the axis",
}
_OF_ONE_CUTTER = ("cutting_length", "reach", "maximum_spindle_speed")
_CUTTER = ("flutes", "cutting_length", "reach", "maximum_spindle_speed", "maximum_ramp_angle")


class _Made(NamedTuple):
    run: Run
    starting: Starting | None
    no_starting: str
    typed_feed: Quantity | None


class HelixPanel(FeaturePanel):
    """A helical bore to work with.

    Parameters
    ----------
    unit : {"mm", "in"}
        The unit of bare numbers and of the picture.
    bore_diameter, plate_thickness : str
        The bore and the plate to begin with.
    depth : str
        Of a blind bore; a through hole where it is empty.
    cutting_diameter, flutes, cutting_length, reach, maximum_spindle_speed : str
        The cutter to begin with.
    material : str
        One of :func:`holecalc.cutting.materials`, to begin with the low end of its usual ranges.
    passes : str
        The turns to begin with, instead of limits.
    spindle_speed, wall_feed : str
        The speed and the feed to begin with, instead of those for the material.

    Attributes
    ----------
    run : holecalc.cutting.Run
        The last bore that could be worked out, at its speed and feed.
    findings : holecalc.checks.Findings
        What was found about it.

    Examples
    --------
    >>> panel = HelixPanel(bore_diameter="9 mm", cutting_diameter="6 mm", flutes="1", passes="8")
    >>> print(sizes.show(panel.run.bore.cut.pitch, fine=True))
    2.563 mm
    >>> panel.fields["passes"].text = "20"
    >>> print(sizes.show(panel.run.bore.cut.pitch, fine=True))
    1.025 mm
    """

    kind_of_feature = "bore"

    def __init__(
        self,
        *,
        unit: str = "mm",
        bore_diameter: str = "47 mm",
        plate_thickness: str = "20 mm",
        depth: str = "",
        cutting_diameter: str = "12 mm",
        flutes: str = "2",
        cutting_length: str = "26 mm",
        reach: str = "35 mm",
        maximum_spindle_speed: str = "24000 rev/min",
        material: str = "plywood",
        passes: str = "",
        spindle_speed: str = "",
        wall_feed: str = "",
    ) -> None:
        super().__init__("helical bore", unit)
        self.run: Run
        self.findings: checks.Findings
        self._make_choices(material, blind=bool(depth), find="pitch" if passes else "limits")
        if wall_feed:
            self.given.value = "wall_feed"
        self.fields = {
            "bore_diameter": SizeField("bore diameter", bore_diameter, "Across the finished bore"),
            "plate_thickness": SizeField(
                "plate thickness",
                plate_thickness,
                "Calipers over its edge: sheet is seldom what it is sold as",
                optional=True,
            ),
            "breakthrough": SizeField(
                "below the plate",
                "0.5 mm" if unit == "mm" else "0.02 in",
                "How far into the board under the plate the cutter goes",
            ),
            "depth": SizeField("depth", depth, "Of a blind bore, from the face to its floor"),
            "pilot_diameter": SizeField(
                "hole before", "0", "Across a hole that is there, on the same axis; 0 for none"
            ),
            "cutting_diameter": SizeField(
                "cutter diameter",
                cutting_diameter,
                "Calipers across the cutting edges; a sharpened cutter is smaller than marked",
            ),
            "flutes": SizeField("flutes", flutes, "How many cutting edges it has", reads="count"),
            "cutting_length": SizeField(
                "flute length",
                cutting_length,
                "From the tip up to where the flutes end",
                optional=True,
            ),
            "reach": SizeField(
                "reach", reach, "From the tip up to the holder, as it is clamped", optional=True
            ),
            "maximum_ramp_angle": SizeField(
                "ramp allowed",
                "",
                "The steepest its maker lets it go down",
                reads="angle",
                optional=True,
            ),
            "maximum_spindle_speed": SizeField(
                "marked speed",
                maximum_spindle_speed,
                "The maximum marked on the cutter or its packet",
                reads="spindle speed",
                optional=True,
            ),
            "max_pitch": SizeField(
                "pitch at most", "", "The most to go down in one turn", optional=True
            ),
            "max_ramp_angle": SizeField(
                "ramp at most",
                "",
                "The steepest that the path of its axis may be",
                reads="angle",
                optional=True,
            ),
            "passes": SizeField(
                "turns", passes, "How often round, from the top to the depth", reads="count"
            ),
            "pitch": SizeField("pitch", "", "How far down each turn goes, from one to the next"),
            "fastest": SizeField(
                "spindle at most",
                "",
                "The most that the spindle can do",
                reads="spindle speed",
                optional=True,
            ),
            "spindle_speed": SizeField(
                "spindle speed", "", "What the spindle is set to", reads="spindle speed"
            ),
            "chip_load": SizeField(
                "chip load", "", "How far each flute goes on, at the wall, in a turn of the cutter"
            ),
            "wall_feed": SizeField(
                "feed at the wall",
                wall_feed,
                "Along the wall, where the cutter touches it",
                reads="feed",
            ),
            "axis_feed": SizeField(
                "feed at the axis",
                "",
                "Along the path of the cutter's axis; one for all rings",
                reads="feed",
            ),
            "typed_feed": SizeField(
                "typed instead",
                "",
                "What is typed at the control, if it is not the feed at the axis",
                reads="feed",
                optional=True,
            ),
        }
        # Whole turns of a fixed range: what slides is what is meant.
        self.slider = slider("turns", "Slides the number of turns", 1, _MOST_TURNS)
        self._figure = HelixFigure()
        self._picture = widgets.HTML()
        self._headline, self._findings, self._usual, self._numbers, self._line = (
            widgets.HTML() for _ in range(5)
        )
        self._listing = widgets.HTML()
        self._opened = {name: self.fields[name].text for name in _OF_ONE_CUTTER}
        self._opened_diameter = cutting_diameter
        self._put_aside: set[str] = set()
        self._filled: dict[str, str] = {}
        self._fill_starting()
        if spindle_speed:
            self.fields["spindle_speed"].text = spindle_speed
        self._watch_fields()
        self._place()
        self._update()

    # --- what is asked -------------------------------------------------------------------

    def _make_choices(self, material: str, *, blind: bool, find: str) -> None:
        self.kind = Choice(
            "goes",
            ["through", "blind"],
            "blind" if blind else "through",
            "Through the plate, or down to a depth",
        )
        self.end = Choice(
            "end cuts",
            [("to the middle", True), ("not in the middle", False)],
            True,
            "Look at the cutter's end: do its edges meet in the middle?",
        )
        self.find = Choice(
            "find",
            [(label, key) for key, label in _FINDS.items()],
            find,
            "What follows from what",
        )
        self.middle = Choice(
            "a wide bore",
            [("in rings", False), ("leaves a core", True)],
            False,
            "How a bore wider than twice the cutter is cut",
        )
        self.finish = Choice(
            "finishing turn",
            [("yes", True), ("no", False)],
            True,
            "A flat turn at the end of each helix",
        )
        self.material = Choice(
            "material",
            [_NO_MATERIAL, *cutting.materials()],
            material or _NO_MATERIAL,
            "Fills in the low end of what is usual: common practice, no source",
        )
        self.given = Choice(
            "feed from",
            [(label, key) for key, label in _FEEDS.items()],
            "chip_load",
            "Which of the three is typed; the others follow",
        )

    def _watch_fields(self) -> None:
        for choice in (self.kind, self.end, self.find, self.middle, self.finish, self.given):
            self._watch(choice)
        self._watch(self.material, self._fill_starting)
        for name, field in self.fields.items():
            self._watch(field, *([self._another_cutter] if name == "cutting_diameter" else []))
        self.slider.observe(self._slid, names="value")

    def _place(self) -> None:
        field = self.fields
        self._folded = widgets.Accordion(
            children=[self._listing],
            titles=["RS-274 listing of this bore: read it, check it, prove it in air first"],
            selected_index=None,
        )
        self._lay_out(
            [
                block(
                    "the bore",
                    field["bore_diameter"],
                    self.kind,
                    field["plate_thickness"],
                    field["breakthrough"],
                    field["depth"],
                    field["pilot_diameter"],
                    hints=hints.BORE,
                ),
                block(
                    "the cutter",
                    field["cutting_diameter"],
                    *(field[name] for name in _CUTTER),
                    self.end,
                    hints=hints.BORE_CUTTER,
                ),
                block(
                    "the turns",
                    self.find,
                    field["max_pitch"],
                    field["max_ramp_angle"],
                    field["passes"],
                    self.slider,
                    field["pitch"],
                    self.finish,
                    self.middle,
                    hints=hints.TURNS,
                ),
                block(
                    "speed and feed",
                    self.material,
                    field["fastest"],
                    field["spindle_speed"],
                    self.given,
                    *(field[name] for name in _FEEDS),
                    field["typed_feed"],
                    hints=hints.FEEDS,
                ),
            ],
            [
                self._headline,
                self._picture,
                self._findings,
                self._usual,
                self._numbers,
                self._line,
                self._folded,
            ],
        )

    def _fill_starting(self) -> None:
        """Fill in the low end of what is usual in the material."""
        if self.material.value == _NO_MATERIAL:
            return
        try:
            read = self._read("cutting_diameter", "fastest", *_CUTTER)
            usual = cutting.starting(
                self.material.value, self._cutter(read)[0], fastest=read.get("fastest")
            )
        except ValueError:
            # The fields and the starting values say for themselves what is wrong.
            return
        speed = round(float(usual.spindle_speed.middle.magnitude), -2)
        with sizes.shown_in(self._unit):
            self._filled = {
                "spindle_speed": f"{speed:.0f} rev/min",
                "chip_load": sizes.show(usual.chip_load.low, fine=True),
                "max_pitch": sizes.show(usual.pitch.low),
                "max_ramp_angle": sizes.show(usual.ramp_angle.low),
            }
        for name, text in self._filled.items():
            self.fields[name].text = text

    def _another_cutter(self) -> None:
        """Of another cutter nobody measured what the panel opened with: put that aside.

        What was typed stays, and what was put aside comes back with the first cutter.
        """
        try:
            diameter = self.fields["cutting_diameter"].read(self._unit)
            first = sizes.length(self._opened_diameter, self._unit)
        except sizes.SizeError:
            return
        back = abs(sizes.mm(diameter) - sizes.mm(first)) < 1e-6
        for name, text in self._opened.items():
            field = self.fields[name]
            if back and name in self._put_aside and field.blank:
                field.text = text
            elif not back and text and field.text == text:
                field.text = ""
                self._put_aside.add(name)
        if back:
            self._put_aside.clear()
        if all(self.fields[name].text == text for name, text in self._filled.items()):
            self._fill_starting()

    def _slid(self, _change: Any) -> None:
        if self._quiet:
            return
        with self._quietly():
            self.find.value = "pitch"
            self.fields["passes"].text = str(self.slider.value)
        self._update()

    # --- what is kept --------------------------------------------------------------------

    def _kept(self) -> Kept:
        value, find, feed = self._value, self.find.value, self.given.value
        through = self.kind.value == "through"
        material = "" if self.material.value == _NO_MATERIAL else self.material.value
        # What the part says itself is not kept beside it.
        part = self.keeping.part
        plate = material if part is None else part.plate.material
        same = material == (plate if plate in cutting.materials() else "")
        fastest = value("fastest")
        if part is not None and fastest == as_text(part.machine.fastest):
            fastest = None
        feature = {
            "diameter": value("bore_diameter"),
            "depth": None if through else value("depth"),
            "breakthrough": value("breakthrough") if through else None,
            "pilot_diameter": self._unless_0("pilot_diameter"),
            **dict.fromkeys(name for names in _ASKS.values() for name in names),
            **{name: value(name) for name in _ASKS[find] if name != "passes"},
            "leave_core": self.middle.value or None,
            "finishing_turn": None if self.finish.value else False,
            "panel": {
                "material": None if same else material or "none",
                "fastest": fastest,
                "typed_feed": value("typed_feed"),
                # The drawer has no feed for one bore alone.
                "axis_feed": value("axis_feed") if feed == "axis_feed" else None,
            },
        }
        if find == "pitch":
            feature["passes"] = self._whole("passes")
        cutter = {
            "name": self._called("cutting_diameter", "end mill"),
            "kind": "end mill",
            "diameter": value("cutting_diameter"),
            **{name: value(name) for name in _CUTTER if name != "flutes"},
            "flutes": self._whole("flutes"),
            "centre_cutting": None if self.end.value else False,
            "spindle_speed": value("spindle_speed"),
        }
        if feed == "chip_load":
            cutter |= {"chip_load": value("chip_load"), "feed": None}
        elif feed == "wall_feed":
            cutter |= {"feed": value("wall_feed"), "chip_load": None}
        return Kept(feature, {"cutter": cutter}, material=material)

    def _take(self, taken: Taken) -> str:
        given, cutter, only_here = taken.feature.given, taken.drawn("cutter"), taken.only_here
        self.kind.value = "through" if given["depth"] is None else "blind"
        self.find.value = (
            "pitch"
            if given["passes"] is not None
            else "passes"
            if given["pitch"] is not None
            else "limits"
        )
        self.middle.value, self.finish.value = given["leave_core"], given["finishing_turn"]
        self.end.value = cutter.get("centre_cutting", True)
        material = only_here.get("material", taken.part.plate.material)
        known = material in cutting.materials()
        self.material.value = material if known else _NO_MATERIAL
        self._put_aside.clear()
        self._fill({name: as_text(cutter.get(name)) for name in _CUTTER})
        self._fill(
            {
                "cutting_diameter": as_text(cutter.get("diameter")),
                "bore_diameter": taken.text("diameter"),
                "pilot_diameter": taken.text("pilot_diameter", 0),
                "fastest": as_text(only_here.get("fastest", taken.part.machine.fastest)),
                "typed_feed": as_text(only_here.get("typed_feed")),
            }
        )
        # Where the drawer tells no speed or no feed, the material's starting values stand.
        self._fill_starting()
        self._fill({name: taken.text(name) for names in _ASKS.values() for name in names})
        end = "breakthrough" if given["depth"] is None else "depth"
        if given[end] is not None:
            self.fields[end].text = taken.text(end)
        else:
            self.fields[end].text = "0.02 in" if self._unit == "in" else "0.5 mm"
        feeds = {
            "axis_feed": only_here.get("axis_feed"),
            "wall_feed": cutter.get("feed"),
            "chip_load": cutter.get("chip_load"),
        }
        told = {name: as_text(feed) for name, feed in feeds.items() if feed is not None}
        self.given.value = next(iter(told), "chip_load")
        self._fill(told)
        if "spindle_speed" in cutter:
            self.fields["spindle_speed"].text = as_text(cutter["spindle_speed"])
        elif not known:
            raise KeepingError(
                f"the drawer tells no spindle speed for {cutter.get('name')}. Give it "
                "spindle_speed, and feed or chip_load, in the file."
            )
        if given["finishing"] is None and given["finish_cutter"] is None:
            return ""
        return (
            "The part roughs this bore and then finishes it; here it is cut in one go. Kept from "
            "here, that stays as it is."
        )

    # --- what is told --------------------------------------------------------------------

    def _made(self) -> tuple[_Made, str]:
        """The bore that the fields ask for, and the line of Python that makes it."""
        through = self.kind.value == "through"
        find, given = self.find.value, self.given.value
        self.fields["breakthrough"].enabled, self.fields["depth"].enabled = through, not through
        for how, names in _ASKS.items():
            for name in names:
                self.fields[name].enabled = how == find
        for name in _FEEDS:
            self.fields[name].enabled = name == given
        end, unasked = ("breakthrough", "depth") if through else ("depth", "breakthrough")
        self.fields[unasked].mark("")
        read = self._read(
            "bore_diameter", "plate_thickness", end, "pilot_diameter", "cutting_diameter",
            *_CUTTER, *_ASKS[find], "fastest", "spindle_speed", given, "typed_feed",
        )  # fmt: skip
        cutter, cutter_line = self._cutter(read)
        asked: dict[str, Any] = {
            name: read[name] for name in ("bore_diameter", "plate_thickness", end) if name in read
        }
        if read["pilot_diameter"].magnitude:
            asked["pilot_diameter"] = read["pilot_diameter"]
        asked |= {name: read[name] for name in _ASKS[find] if name in read}
        if self.middle.value:
            asked["leave_core"] = True
        if not self.finish.value:
            asked["finishing_turn"] = False
        cut = {"spindle_speed": read["spindle_speed"], given: read[given]}
        line = f"run(bore({cutter_line}, {_told(asked)}), {_told(cut)})"
        run = cutting.run(helix.bore(cutter, **asked), **cut)
        starting, why_none = None, ""
        if self.material.value != _NO_MATERIAL:
            try:
                starting = cutting.starting(
                    self.material.value, cutter, fastest=read.get("fastest")
                )
            except CuttingError as error:
                why_none = str(error)
        return _Made(run, starting, why_none, read.get("typed_feed")), line

    def _cutter(self, read: dict[str, Quantity]) -> tuple[EndMill, str]:
        told: dict[str, Any] = {"flutes": whole(read["flutes"])}
        told |= {name: read[name] for name in _CUTTER[1:] if name in read}
        if not self.end.value:
            told["centre_cutting"] = False
        diameter = read["cutting_diameter"]
        return EndMill(diameter, **told), f"EndMill({typed(diameter)}, {_told(told)})"

    def _tell(self, made: _Made) -> None:
        self.run = made.run
        self.findings = checks.helix(
            made.run.bore, made.run, typed_feed=made.typed_feed, starting=made.starting
        )
        self._fill_found()
        self._figure.draw(made.run, self._unit)
        self._picture.value = picture(self._figure)
        self._headline.value = f"{self._told_first()}{finding_counts(self.findings)}"
        self._findings.value = finding_list(self.findings)
        self._usual.value = _usual(made)
        self._numbers.value = self._number_table()
        self._line.value = python_line(self.python)
        self._listing.value = f"<pre class='listing'>{html.escape(listing.bore(made.run))}</pre>"

    def _fill_found(self) -> None:
        ring = self.run.rings[-1]
        cut = ring.ring.cut
        found = {
            "passes": sizes.show_rate(cut.passes),
            "pitch": sizes.show(cut.pitch, fine=True),
            "chip_load": sizes.show(ring.chip_load, fine=True),
            "wall_feed": sizes.show_rate(ring.wall_feed),
            "axis_feed": sizes.show_rate(ring.axis_feed),
        }
        with self._quietly():
            for name, text in found.items():
                field = self.fields[name]
                if not field.enabled:
                    field.text = text
                    field.read(self._unit)
            turns = round(float(cut.passes.magnitude))
            self.slider.value = min(max(turns, 1), _MOST_TURNS)

    def _told_first(self) -> str:
        """What is typed at the control."""
        run = self.run
        deep = f"down to {sizes.show(run.bore.depth, fine=True)}"
        rows = [
            (
                sizes.show(each.ring.cut.path_diameter, fine=True),
                sizes.show_rate(each.ring.cut.passes),
                sizes.show(each.ring.cut.pitch, fine=True),
                sizes.show_rate(each.axis_feed),
            )
            for each in run.rings
        ]
        if len(rows) == 1:
            path, turns, pitch, feed = rows[0]
            word = "turn" if turns == "1" else "turns"
            return (
                f"<div class='headline'>path {path}, {turns} {word} of {pitch} {deep}, "
                f"feed {feed}</div>"
            )
        heads = ("ring", "path diameter", "turns", "pitch", "feed at the axis")
        lines = [f"<tr>{''.join(f'<th>{head}</th>' for head in heads)}</tr>"]
        for number, row in enumerate(rows, start=1):
            cells = "".join(f"<td class='n'>{cell}</td>" for cell in (number, *row))
            lines.append(f"<tr>{cells}</tr>")
        return (
            f"<div class='headline'>{len(rows)} rings, {deep}</div>"
            f"<table class='numbers'>{''.join(lines)}</table>"
        )

    def _number_table(self) -> str:
        run, ring = self.run, self.run.rings[-1]
        cut = ring.ring.cut
        rows = [
            (variable.label, cut[name], variable.meaning)
            for name, variable in cut.relations.variables.items()
        ]
        rows += [
            ("spindle speed", run.spindle_speed, "turns of the cutter a minute"),
            ("surface speed", run.surface_speed, "of the cutting edge past the work"),
            ("chip load", ring.chip_load, "for each flute and turn, at the wall of a flat turn"),
            ("feed at the wall", ring.wall_feed, "where the cutter touches the wall"),
            ("feed at the axis", ring.axis_feed, "along the helix: what to type"),
            ("in the plane", ring.plane_feed, "to type where the control counts the circle alone"),
            ("straight down", ring.down_feed, "the part of it that goes down"),
            ("thickest chip", ring.thickest_chip, "taken by side or end"),
            ("engaged", ring.ring.engagement.engaged_angle, "of the cutter, seen from above"),
            ("whole path", run.bore.path_length, "all helices and flat turns"),
            ("material removed", run.removal_rate, "a minute, on average"),
            ("time", run.time, "without moves between, and without slowing down"),
        ]
        core = run.bore.core_diameter
        if core is not None:
            rows.append(("core", core, "left standing, or loose"))
        return number_table(rows, self._unit, found=_FOUND[self.find.value])


def _told(values: dict[str, Any]) -> str:
    """Keyword arguments as Python."""
    return ", ".join(
        f"{name}={typed(value) if hasattr(value, 'units') else repr(value)}"
        for name, value in values.items()
    )


def _usual(made: _Made) -> str:
    """The starting values for the material, with their authority."""
    usual = made.starting
    if usual is None:
        said = f"<p>{html.escape(made.no_starting)}</p>" if made.no_starting else ""
        return f"<h4>starting values</h4>{said}" if said else ""
    rows = (
        ("surface speed", usual.surface_speed),
        ("spindle speed", usual.spindle_speed),
        ("chip load", usual.chip_load),
        ("pitch", usual.pitch),
        ("ramp at the axis", usual.ramp_angle),
    )
    lines = "".join(
        f"<tr><td>{label}</td><td class='n'>{html.escape(str(span))}</td></tr>"
        for label, span in rows
    )
    remarks = [usual.limited, usual.remark]
    said = " ".join(html.escape(_sentence(remark)) for remark in remarks if remark)
    return (
        f"<h4>starting values in {html.escape(usual.material)}: common practice, no source; the "
        f"cutter maker's data go before</h4><table class='numbers'>{lines}</table><p>{said}</p>"
    )


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:].rstrip('.')}."
