"""The form cutter panel: a measured cutter and a plate in; offset, depth and the edge out.

A view over :meth:`holecalc.form_cutter.FormCutter.edge` and
:func:`holecalc.checks.form_cutter`.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any, TypeAlias

import ipywidgets as widgets

from holecalc import checks, sizes
from holecalc.drawing import FormCutterFigure, hints
from holecalc.export import form_profile
from holecalc.form_cutter import (
    UNCERTAINTIES,
    ArcFitError,
    BothFaces,
    CaliperReport,
    Edge,
    FormCutter,
    Setting,
    Trace,
    both_faces,
    read_trace,
)
from holecalc.panels.fields import (
    Choice,
    SizeField,
    block,
    field_box,
    finding_counts,
    finding_list,
    number_table,
    picture,
    python_line,
    slider,
    typed,
)
from holecalc.panels.keeping import FeaturePanel, KeepingError, Kept, Taken, as_text
from holecalc.sizes import Quantity

__all__ = ["FormCutterPanel"]

_CALIPERS, _TRACED = "caliper dimensions", "traced points"
_STEP = "0.01 mm"
_MOST = 50
_CALIPERED = ("stub_diameter", "begin_diameter", "largest_diameter", "arc_height",
              "shoulder_height", "marked_radius", "marked_angle")  # fmt: skip
_BESIDE = ("stub_diameter", "largest_diameter", "shoulder_height")
"""By calipers too, where a trace shows them badly."""
_BEYOND = ("shank_diameter", "bearing_diameter", "spindle_speed")
_DRAWN = ("radius", "begin_angle", "end_angle", "flank_angle", "stub_height",
          *_CALIPERED[:5])  # fmt: skip
"""What the drawer has of a cutter that is not there as it was measured."""
_NAMED = {
    "concave": "rounding-over cutter",
    "convex": "cove cutter",
    "straight": "chamfer cutter",
}
_SAME = 1e-4
"""Millimetres; less than that is rounding."""
_Made: TypeAlias = tuple[Edge | BothFaces, Edge, Quantity | None]
"""The edge with the errors of the sliders, the one wanted, and what the spindle turns at."""
_READS = {"marked_angle": "angle", "spindle_speed": "spindle speed"}
_FIELDS: dict[str, tuple[str, str, str | None]] = {
    "stub_diameter": ("stub diameter", "Calipers on the bare stub, its bearing off", None),
    "begin_diameter": ("arc begins at", "Calipers where arc or flank begins, near the tip", None),
    "largest_diameter": ("largest diameter", "Calipers across the widest part", None),
    "arc_height": ("arc height", "From where the arc begins up to where it ends", None),
    "shoulder_height": ("shoulder height", "Of the cylinder above the arc that cuts", None),
    "marked_radius": ("marked radius", "Of the arc, as marked on the cutter or its packet", None),
    "marked_angle": ("marked angle", "Of the flank to the axis: half the included angle", None),
    "stub_height": ("stub height", "From the tip up to where the arc begins", "0"),
    "uncertainty": ("uncertainty", "Standard, of your calipers; empty: the usual", None),
    "trace_uncertainty": ("point uncertainty", "Standard, of its radius and height", "0.01 mm"),
    "held_radius": ("hold radius", "Fit only where the arc lies, and hold this radius", None),
    "shank_diameter": ("shank diameter", "Calipers on the shank, above the shoulder", None),
    "bearing_diameter": ("bearing off", "Diameter of the bearing that was taken off", None),
    "plate_thickness": (
        "plate thickness", "Calipers over its edge: sheet is seldom what it is sold as", "20 mm",
    ),
    "allowance": ("stock on wall", "Left for a finishing pass along the wall; 0 if none", "0"),
    "chamfer": ("chamfer on face", "How wide; empty: all that the flank cuts", None),
    "offset": ("offset", "From the finished wall out to the cutter's axis", ""),
    "depth": ("depth", "From the plate's face down to the cutter's tip", ""),
    "spindle_speed": ("spindle speed", "What it turns at, to check the rim's speed", None),
}  # fmt: skip
"""Label, hint, and what stands in it first; what may be left empty starts with None."""
_EDGES = {"concave": "rounding", "convex": "cove", "straight": "chamfer"}


class PointsField:
    """A table of heights and diameters, pasted."""

    def __init__(self, text: str) -> None:
        self.label = "points"
        self.entry = widgets.Textarea(
            value=text,
            description=self.label,
            tooltip="A row for each: the height above the tip, and the diameter there",
            placeholder="height [mm]; diameter [mm]\n1.0; 12.70",
            continuous_update=False,
            style={"description_width": "8.8em"},
            layout=widgets.Layout(width="calc(8.8em + 14em)", height="12em"),
        )
        self._said = widgets.HTML()
        self._said.add_class("holecalc-beside")
        self.box = field_box(
            [
                widgets.HTML(
                    "<div class='holecalc-why'>a row for each point: height above the tip, "
                    "diameter there</div>"
                ),
                self.entry,
                self._said,
            ]
        )

    @property
    def text(self) -> str:
        """What stands in the field."""
        return str(self.entry.value)

    @text.setter
    def text(self, value: str) -> None:
        self.entry.value = value

    def read(self, unit: str) -> Trace:
        """The points.

        Raises
        ------
        ArcFitError
            A row cannot be read; the field is marked and says which.
        """
        try:
            trace = read_trace(self.text, self.unit(unit))
        except ArcFitError as error:
            self.mark(str(error))
            raise
        self.mark("")
        self._said.value = f"= {len(trace)} points in {html.escape(trace.unit)}"
        return trace

    def unit(self, unit: str) -> str | None:
        """The unit of bare numbers; None where the table's heading declares its own."""
        return None if re.search(r"\b(mm|cm|in|inch|inches|thou)\b|\"", self._heading) else unit

    @property
    def _heading(self) -> str:
        rows = (line for line in self.text.splitlines() if line.strip()[:1] not in ("", "#"))
        first = next(rows, "")
        return "" if re.search(r"[0-9]", first) else first

    def mark(self, why: str) -> None:
        """Say what is wrong with the field; nothing is, for an empty text."""
        if why:
            self.entry.add_class("holecalc-wrong")
        else:
            self.entry.remove_class("holecalc-wrong")
        self._said.value = f"<div class='holecalc-why'>✗ {html.escape(why)}</div>" if why else ""

    def with_unit(self, unit: str) -> None:
        """Head the table with the unit of its bare numbers, so that they stay what they were."""
        try:
            read_trace(self.text, None)
        except ArcFitError:
            try:
                read_trace(self.text, unit)
            except ArcFitError:
                return
            names = ["height", "diameter"]
            if re.match(r"\s*[ø⌀∅dD]", self._heading):
                names.reverse()
            rest = self.text.replace(self._heading, "", 1) if self._heading else self.text
            self.text = f"{'; '.join(f'{name} [{unit}]' for name in names)}\n{rest.lstrip()}"

    def on_change(self, callback: Callable[[], None]) -> None:
        """Call back when the text changes."""
        self.entry.observe(lambda _change: callback(), names="value")


class FormCutterPanel(FeaturePanel):
    """A form cutter at a plate's edge to work with.

    Parameters
    ----------
    shape : {"concave", "convex", "straight"}
        Of the cutter: rounds over, cuts a cove, chamfers.
    points : str, optional
        Traced points to begin with; without them the panel opens on caliper dimensions.
    unit : {"mm", "in"}
        The unit of bare numbers and of the picture.
    faces : {"one", "both"}
        Whether the edge is worked from one face or alike from both.
    **texts : str
        What stands in the other fields first, by their names in `fields`.

    Attributes
    ----------
    edge : holecalc.form_cutter.Edge
        The last edge that could be worked out, with the errors of the sliders in it.
    cut : holecalc.form_cutter.Edge or BothFaces
        The same, from both faces where that was chosen.
    setting : holecalc.form_cutter.Setting
        What is typed at the machine: offset and depth without those errors.
    findings : holecalc.checks.Findings
        What was found about it.

    Examples
    --------
    >>> panel = FormCutterPanel(begin_diameter="12.7 mm", largest_diameter="25.4 mm",
    ...                         plate_thickness="19 mm")
    >>> print(panel.setting)
    offset 6.350 mm from the finished wall, depth 6.350 mm
    >>> panel.depth_error.value = 10
    >>> print(panel.edge.face_told)
    a step of 0.100 mm down from the face
    """

    kind_of_feature = "edge"

    def __init__(
        self,
        shape: str = "concave",
        points: str = "",
        *,
        unit: str = "mm",
        faces: str = "one",
        **texts: str,
    ) -> None:
        super().__init__("form cutter", unit)
        self.edge: Edge
        self.cut: Edge | BothFaces
        self.setting: Setting
        self.findings: checks.Findings
        self._cutter: tuple[tuple[str, str], FormCutter] | None = None
        self.way = Choice(
            "measured as",
            [_CALIPERS, _TRACED],
            _TRACED if points else _CALIPERS,
            "What you have of the cutter",
        )
        self.shape = Choice(
            "cutter",
            [
                ("concave: rounds over", "concave"),
                ("convex: cuts a cove", "convex"),
                ("straight: chamfers", "straight"),
            ],
            shape,
            "How its edge is shaped, seen from the side",
        )
        self.faces = Choice(
            "worked from",
            [("one face", "one"), ("both faces alike", "both")],
            faces,
            "Both: the plate is turned over and the other face is worked with the same setting",
        )
        self.find = Choice(
            "find",
            [
                ("offset and depth", ("offset", "depth")),
                ("offset", ("offset",)),
                ("depth", ("depth",)),
                ("nothing", ()),
            ],
            ("offset", "depth"),
            "What is set so that the cut is tangent to wall and face",
        )
        if unknown := texts.keys() - _FIELDS.keys():
            raise TypeError(
                f"no such field: {', '.join(unknown)}. These are: {', '.join(_FIELDS)}."
            )
        self.fields = {
            name: SizeField(
                label,
                texts.get(name, first or ""),
                hint,
                reads=_READS.get(name, "length"),
                optional=first is None,
            )
            for name, (label, hint, first) in _FIELDS.items()
        }
        self.points = PointsField(points)
        self.offset_error = slider(
            "error of offset",
            f"In steps of {_STEP}: closer to the left, further to the right",
            -_MOST,
            _MOST,
        )
        self.depth_error = slider(
            "error of depth",
            f"In steps of {_STEP}: shallower to the left, deeper to the right",
            -_MOST,
            _MOST,
        )
        self._offset_off, self._depth_off = (
            widgets.HTML(layout=widgets.Layout(margin="0 0 0 9.4em")) for _ in range(2)
        )
        for told in (self._offset_off, self._depth_off):
            told.add_class("holecalc-beside")
        self._figure = FormCutterFigure()
        self._picture = widgets.HTML()
        (
            self._headline,
            self._evidence,
            self._findings,
            self._numbers,
            self._line,
            self._profile,
        ) = (widgets.HTML() for _ in range(6))
        for choice in (self.way, self.shape, self.faces, self.find):
            self._watch(choice, self._show_what_is_asked)
        for field in (self.points, *self.fields.values()):
            self._watch(field)
        for error in (self.offset_error, self.depth_error):
            error.observe(self._slid, names="value")
        self._place()
        self._show_what_is_asked()
        self._update()

    # --- what is asked -------------------------------------------------------------------

    def _place(self) -> None:
        field = self.fields
        self._lay_out(
            [
                block(
                    "the cutter",
                    self.way,
                    self.shape,
                    self.points,
                    field["trace_uncertainty"],
                    field["held_radius"],
                    *(field[name] for name in (*_CALIPERED, "stub_height", "uncertainty")),
                    field["shank_diameter"],
                    field["bearing_diameter"],
                    hints=hints.FORM_CUTTER,
                    by=self.shape,
                ),
                block(
                    "the plate",
                    field["plate_thickness"],
                    self.faces,
                    field["allowance"],
                    hints=hints.EDGE_PLATE,
                ),
                block(
                    "the setting",
                    field["chamfer"],
                    self.find,
                    field["offset"],
                    field["depth"],
                    self.offset_error,
                    self._offset_off,
                    self.depth_error,
                    self._depth_off,
                    field["spindle_speed"],
                    hints=hints.SETTING,
                    by=self.shape,
                ),
            ],
            [
                self._headline,
                self._picture,
                self._evidence,
                self._findings,
                self._numbers,
                self._line,
                self._profile,
            ],
        )

    def _show_what_is_asked(self) -> None:
        """Fields that the way in and the shape do not ask for are out of sight."""
        traced, straight = self.way.value == _TRACED, self.shape.value == "straight"
        asked = {
            **dict.fromkeys((*_CALIPERED, "stub_height", "uncertainty"), not traced),
            **dict.fromkeys(_BESIDE, True),
            "trace_uncertainty": traced,
            "chamfer": straight,
        }
        asked["marked_radius"] = not traced and not straight
        asked["marked_angle"] = not traced and straight
        asked["held_radius"] = traced and not straight
        for name, wanted in asked.items():
            self.fields[name].box.layout.display = None if wanted else "none"
        self.points.box.layout.display = None if traced else "none"

    def _keep_sizes(self) -> None:
        self.points.with_unit(self._unit)
        super()._keep_sizes()

    def _slid(self, _change: Any) -> None:
        if not self._quiet:
            self._update()

    def _errors(self) -> tuple[Quantity, Quantity]:
        """What the sliders add to offset and depth."""
        step = sizes.length(_STEP)
        return self.offset_error.value * step, self.depth_error.value * step

    # --- what is kept --------------------------------------------------------------------

    def _kept(self) -> Kept:
        value, find, both = self._value, self.find.value, self.faces.value == "both"
        straight, traced = self.shape.value == "straight", self.way.value == _TRACED
        sliders = {"offset_error": self.offset_error, "depth_error": self.depth_error}
        off = {
            name: sizes.show(slider.value * sizes.length(_STEP), "mm") if slider.value else None
            for name, slider in sliders.items()
        }
        feature = {
            "chamfer": value("chamfer") if straight else None,
            **{name: None if name in find else value(name) for name in ("offset", "depth")},
            "allowance": self._unless_0("allowance"),
            "panel": {"faces": "both" if both else None, **off},
        }
        readings = {
            "calipers": None if traced else self._calipers_kept(),
            "trace": self._trace_kept() if traced else None,
        }
        name = _NAMED[self.shape.value]
        if not (traced or straight or self.fields["marked_radius"].blank):
            name = self._called("marked_radius", name)
        cutter = {
            "name": name,
            "kind": "form",
            "shape": self.shape.value,
            **dict.fromkeys(_DRAWN),
            "shank_diameter": value("shank_diameter"),
            "bearing_diameter": value("bearing_diameter"),
            **readings,
        }
        if not self.fields["spindle_speed"].blank:
            cutter["spindle_speed"] = value("spindle_speed")
        told = []
        if any(off.values()):
            told.append(
                checks.Finding(
                    checks.Weight.LOOK,
                    "The part has the setting without the errors of the sliders.",
                    "Set them to nothing to see what it leaves.",
                    "part file",
                )
            )
        return Kept(feature, {"cutter": cutter}, tuple(told), both=both)

    def _calipers_kept(self) -> dict[str, Any]:
        wrong = "marked_radius" if self.shape.value == "straight" else "marked_angle"
        kept = {name: self._value(name) for name in (*_CALIPERED, "uncertainty")}
        return {**kept, wrong: None, "stub_height": self._unless_0("stub_height")}

    def _trace_kept(self) -> dict[str, Any]:
        radius = None if self.shape.value == "straight" else self._value("held_radius")
        return {
            "uncertainty": self._value("trace_uncertainty"),
            "radius": radius,
            **{name: self._value(name) for name in _BESIDE},
            "unit": self.points.unit(self._unit),
            "points": self.points.text,
        }

    def _take(self, taken: Taken) -> str:
        given, cutter = taken.feature.given, taken.drawn("cutter")
        trace, calipers = cutter.get("trace"), cutter.get("calipers")
        self.way.value = _CALIPERS if trace is None else _TRACED
        self.shape.value = cutter["shape"]
        self.faces.value = "both" if taken.only_here.get("faces") == "both" else "one"
        self.find.value = tuple(name for name in ("offset", "depth") if given[name] is None)
        # A cutter that is in the drawer by its dimensions shows them as what calipers read.
        names = {"marked_radius": "radius", "marked_angle": "flank_angle"}
        drawn = {name: cutter.get(names.get(name, name)) for name in (*_CALIPERED, "stub_height")}
        read = {**drawn} if calipers is None else calipers
        if trace is not None:
            self.points.text = str(trace["points"])
            if trace.get("unit", self._unit) != self._unit:
                self.points.with_unit(trace["unit"])
            read = {name: trace.get(name) for name in _BESIDE}
            self._fill(
                {
                    "trace_uncertainty": as_text(trace["uncertainty"]),
                    "held_radius": as_text(trace.get("radius")),
                }
            )
        self._fill({name: as_text(read.get(name)) for name in (*_CALIPERED, "uncertainty")})
        self._fill(
            {
                "stub_height": as_text(read.get("stub_height", 0) or 0),
                **{name: as_text(cutter.get(name)) for name in _BEYOND},
                **{name: taken.text(name) for name in ("offset", "depth", "chamfer")},
                "allowance": taken.text("allowance", 0),
            }
        )
        for name, off in (("offset_error", self.offset_error), ("depth_error", self.depth_error)):
            error = sizes.length(taken.only_here.get(name, "0 mm"), self._unit)
            off.value = round(sizes.mm(error) / sizes.mm(sizes.length(_STEP)))
        self._show_what_is_asked()
        if trace is None and calipers is None:
            self._refuse_other_profile(taken)
        kept = "measured" in taken.entry
        return "Not shown here, and kept: what was measured on the edge." if kept else ""

    def _refuse_other_profile(self, taken: Taken) -> None:
        """What calipers cannot say is not shown as something else."""
        made = taken.feature.made
        if made is None:
            return
        (_, wanted, _), _ = self._made()
        for name in ("offset", "depth", "leg_on_face", "leg_on_wall"):
            here, there = (sizes.mm(getattr(each, name)) for each in (wanted, made.main))
            if abs(here - there) > _SAME:
                raise KeepingError(
                    f"the cutter {taken.feature.given['cutter']!r} is in the drawer by dimensions "
                    "that calipers alone do not tell, such as an arc of less than a quarter. "
                    "Measure it, or look at the edge in the whole part."
                )

    # --- what is told --------------------------------------------------------------------

    def _made(self) -> tuple[_Made, str]:
        """The edge that the fields ask for, the one wanted, and the line of Python."""
        find = self.find.value
        for name in ("offset", "depth"):
            self.fields[name].enabled = name not in find
        names = ["plate_thickness", "allowance", "spindle_speed"]
        names += [name for name in ("offset", "depth") if name not in find]
        if self.shape.value == "straight":
            names.append("chamfer")
        read, cutter, line = self._all_read(names)
        best = (
            cutter.chamfer_setting(read["chamfer"])
            if "chamfer" in read
            else cutter.tangent_setting()
        )
        setting = {name: read.get(name, getattr(best, name)) for name in ("offset", "depth")}
        given = {"allowance": read["allowance"]} if read["allowance"].magnitude else {}
        plate = read["plate_thickness"]
        wanted = cutter.edge(plate, **setting, **given)
        errors = self._errors()
        off = {
            name: size + error for (name, size), error in zip(setting.items(), errors, strict=True)
        }
        edge = cutter.edge(plate, **off, **given)
        cut = both_faces(edge) if self.faces.value == "both" else edge
        usual = len(find) == 2 and "chamfer" not in read and not any(e.magnitude for e in errors)
        told = "".join(
            f", {name}={typed(size)}"
            for name, size in ({**off, **given} if not usual else given).items()
        )
        line = f"{line}.edge({typed(plate)}{told})"
        made = cut, wanted, read.get("spindle_speed")
        return made, f"both_faces({line})" if cut is not edge else line

    def _all_read(self, names: list[str]) -> tuple[dict[str, Quantity], FormCutter, str]:
        """Everything typed, so that every wrong field is marked, and the cutter it makes."""
        traced = self.way.value == _TRACED
        shape = self.shape.value
        asked = ["shank_diameter", "bearing_diameter"]
        if traced:
            asked += ["trace_uncertainty", *_BESIDE]
            asked += ["held_radius"] if shape != "straight" else []
        else:
            wrong = "marked_radius" if shape == "straight" else "marked_angle"
            asked += [name for name in _CALIPERED if name != wrong] + ["stub_height", "uncertainty"]
        misread: ArcFitError | None = None
        points: Trace | str = ""
        if traced:
            try:
                points = self.points.read(self._unit)
            except ArcFitError as error:
                misread = error
        read = self._read(*names, *asked)
        if misread is not None:
            raise misread
        given = {name: read[name] for name in asked if name in read}
        arguments, call = self._of_points(given) if traced else self._of_calipers(given)
        told = ", ".join(f"{name}={told}" for name, told in call.items())
        first = repr(self.points.text) if traced else repr(shape)
        line = f"FormCutter.from_{'trace' if traced else 'calipers'}({first}, {told})"
        # A slider moves the setting only; the same cutter needs no fitting anew. What is said of
        # its strays is written when it is made, in the unit then shown.
        made_of = (line, self._unit)
        if self._cutter is None or self._cutter[0] != made_of:
            cutter = (
                FormCutter.from_trace(points, **arguments)
                if traced
                else FormCutter.from_calipers(shape, **arguments)
            )
            self._cutter = made_of, cutter
        return read, self._cutter[1], line

    def _of_calipers(self, given: dict[str, Quantity]) -> tuple[dict[str, Any], dict[str, str]]:
        doubt = given.pop("uncertainty", None)
        if not given["stub_height"].magnitude:
            del given["stub_height"]
        arguments: dict[str, Any] = dict(given)
        call = {name: typed(size) for name, size in given.items()}
        if doubt is not None:
            read = [name for name in UNCERTAINTIES if not name.startswith("marked")]
            arguments["uncertainties"] = dict.fromkeys(read, doubt)
            call["uncertainties"] = f"dict.fromkeys({read!r}, {typed(doubt)})"
        return arguments, call

    def _of_points(self, given: dict[str, Quantity]) -> tuple[dict[str, Any], dict[str, str]]:
        names = {
            "trace_uncertainty": "uncertainty",
            "held_radius": "radius",
        }
        arguments: dict[str, Any] = {names.get(name, name): size for name, size in given.items()}
        call = {name: typed(size) for name, size in arguments.items()}
        arguments["shape"] = self.shape.value
        call["shape"] = repr(self.shape.value)
        unit = self.points.unit(self._unit)
        if unit is not None:
            call["unit"] = repr(unit)
        return arguments, call

    def _tell(self, made: _Made) -> None:
        cut, wanted, speed = made
        findings = checks.form_cutter(cut, spindle_speed=speed)
        self._figure.draw(cut, self._unit, wanted=wanted)
        drawn = picture(self._figure)
        self.cut, self.findings = cut, findings
        self.edge = cut if isinstance(cut, Edge) else cut.top
        self.setting = Setting(wanted.offset, wanted.depth)
        self._fill_found()
        self._picture.value = drawn
        self._headline.value = self._told_first()
        self._evidence.value = self._measured()
        self._findings.value = finding_list(findings)
        self._numbers.value = self._number_table()
        self._line.value = python_line(self.python)
        self._profile.value = (
            "<details><summary>the cutter's profile as CSV, to be copied</summary>"
            f"<pre class='listing'>{html.escape(form_profile.csv_text(self.edge.cutter.profile()))}"
            "</pre></details>"
        )

    def _fill_found(self) -> None:
        with self._quietly():
            for name in self.find.value:
                field = self.fields[name]
                field.text = sizes.show(getattr(self.setting, name), self._unit, fine=True)
                field.mark("")
                field.read(self._unit)
        aside, down = self._errors()
        for told, error, less, more in (
            (self._offset_off, aside, "closer", "further"),
            (self._depth_off, down, "shallower", "deeper"),
        ):
            way = f"{sizes.show(abs(error), fine=True)} {more if error.magnitude > 0 else less}"
            said = way if error.magnitude else "as set"
            told.value = f"<div class='holecalc-why'>{said}</div>"

    def _told_first(self) -> str:
        """What is typed at the machine, what it leaves, and whether something speaks against it."""
        offset, depth, across = (
            sizes.show(size, fine=True)
            for size in (
                self.setting.offset,
                self.setting.depth,
                self.setting.compensation_diameter,
            )
        )
        error = any(error.magnitude for error in self._errors())
        leaves = str(self.edge).partition("\n")[0]
        if isinstance(self.cut, BothFaces):
            leaves += f"; {self.cut}"
        return (
            f"<div class='headline'>offset {offset}, depth {depth}</div>"
            f"<div>Tip {depth} below the face. Where the control offsets the path, enter a cutter "
            f"of ⌀{across} and run along the finished wall.</div>"
            f"<div><b>{'With the error it leaves' if error else 'It leaves'}:</b> "
            f"{html.escape(leaves)}.</div>"
            f"{finding_counts(self.findings)}"
        )

    def _measured(self) -> str:
        evidence = self.edge.cutter.evidence
        if isinstance(evidence, CaliperReport):
            lines = [evidence.verdict, *evidence.notes]
        else:
            lines = str(evidence).split("\n")
        items = "".join(f"<li>{html.escape(line)}</li>" for line in lines)
        return f"<h4>the measuring</h4><ul class='findings'>{items}</ul>"

    def _number_table(self) -> str:
        edge, cutter = self.edge, self.edge.cutter
        what = _EDGES[cutter.shape]
        rows: list[tuple[str, Quantity | None, str]] = [
            ("offset", edge.offset, "finished wall to the cutter's axis, as drawn"),
            ("depth", edge.depth, "face to the cutter's tip, as drawn"),
            ("radius", cutter.radius, "of the cutter's arc"),
            ("flank angle", cutter.end_angle if cutter.radius is None else None, "to the axis"),
            ("arc begins", cutter.begin_diameter, "diameter nearest the tip"),
            ("largest diameter", cutter.largest_diameter, "sets the spindle's limit"),
            ("spindle limit", cutter.spindle_limit(), "at 50 m/s (common practice, no source)"),
            ("width on the face", edge.leg_on_face, f"of the {what}"),
            ("height on the wall", edge.leg_on_wall, f"of the {what}"),
            ("step on the face", edge.step_on_face, edge.face_told),
            ("step on the wall", edge.step_on_wall, edge.wall_told),
            ("wall left", edge.wall_left, "below the cut from one face"),
            ("stub clearance", edge.stub_clearance, edge.stub_told or ""),
            ("tip below plate", edge.tip_below_plate, "negative: stays above its far face"),
        ]
        if isinstance(self.cut, BothFaces):
            rows.append(("flat between", self.cut.flat, str(self.cut)))
        return number_table(
            [(label, size, meaning) for label, size, meaning in rows if size is not None],
            self._unit,
            found=self.find.value,
        )
