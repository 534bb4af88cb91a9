"""The countersink panel: a flat head, a plate and a vee cutter in; circle, depth and seat out.

A view over :func:`holecalc.countersink.sink` and :func:`holecalc.checks.countersink`.
"""

from __future__ import annotations

import html
from functools import partial
from typing import Any

import ipywidgets as widgets

from holecalc import checks, gauging, sizes
from holecalc.countersink import Sink, sink, told_recess
from holecalc.cutters import VeeCutter
from holecalc.drawing import CountersinkFigure, hints
from holecalc.fasteners import (
    FITS,
    FLAT_HEAD_STANDARDS,
    FastenerError,
    FlatHead,
    clearance_drill,
    flat_head,
    flat_head_sizes,
)
from holecalc.panels.fields import (
    Choice,
    SizeField,
    Slider,
    block,
    finding_counts,
    finding_list,
    number_table,
    picture,
    python_line,
    typed,
)
from holecalc.panels.keeping import (
    RUN_AT,
    FeaturePanel,
    Kept,
    Taken,
    as_text,
    fit_and_hole,
    run_at_fields,
)
from holecalc.sizes import Quantity

__all__ = ["CountersinkPanel"]

_MEASURED = "measured"
_LAND, _HEIGHT = "edge land", "head height"
_HEAD = ("head_diameter", "head_angle", "edge_land", "shank_diameter")
_FINDS = {"depth": "depth", "circle": "circle diameter", "lie": "how the head lies"}


class CountersinkPanel(FeaturePanel):
    """A countersink to work with.

    Parameters
    ----------
    standard, size : str
        The flat head to begin with, as :func:`holecalc.fasteners.flat_head` names it.
    unit : {"mm", "in"}
        The unit of bare numbers and of the picture.
    cutting_diameter, included_angle, tip_diameter : str
        The cutter to begin with.
    plate_thickness : str
        The plate to begin with.
    recess, circle_diameter : str
        The cut to begin with.

    Attributes
    ----------
    sink : holecalc.countersink.Sink
        The last countersink that could be worked out.
    findings : holecalc.checks.Findings
        What was found about it.

    Examples
    --------
    >>> panel = CountersinkPanel("ISO 7046-2", "M6")
    >>> print(sizes.show(panel.sink.cut.depth))
    4.40 mm
    >>> panel.fields["circle"].text = "3 mm"
    >>> print(sizes.show(panel.sink.cut.depth))
    4.70 mm
    """

    kind_of_feature = "countersink"

    def __init__(
        self,
        standard: str = "ISO 7046-2",
        size: str = "M6",
        *,
        unit: str = "mm",
        cutting_diameter: str = "10 mm",
        included_angle: str = "90°",
        tip_diameter: str = "0.2 mm",
        plate_thickness: str = "20 mm",
        recess: str = "0",
        circle_diameter: str = "3.6 mm",
    ) -> None:
        super().__init__("countersink", unit)
        self._no_hole = ""
        self._measured_top: sizes.Quantity | None = None
        self.sink: Sink
        self.findings: checks.Findings
        self.standard = Choice(
            "from the table",
            [*FLAT_HEAD_STANDARDS, _MEASURED],
            standard,
            "Fills in the head's dimensions; choose 'measured' to type your own",
        )
        self.size = Choice("size", list(flat_head_sizes(standard)), size, "The screw's size")
        self.fit = Choice(
            "fit",
            [*FITS, _MEASURED],
            "normal",
            "Fills in the clearance hole for the size (ISO 273, ASME B18.2.8)",
        )
        self.edge = Choice(
            "head edge by",
            [_LAND, _HEIGHT],
            _LAND,
            "Whether you measured the straight rim of the head, or how high the whole head is",
        )
        self.tip = Choice("tip", ["flat", "round"], "flat", "What the cutter's tip is like")
        self.lie = Choice(
            "head lies by",
            ["recess", "top diameter"],
            "recess",
            "Whether the drawing gives how deep the head lies or how wide the sink is",
        )
        self.find = Choice(
            "find",
            [(label, key) for key, label in _FINDS.items()],
            "depth",
            "Which of the three follows from the other two",
        )
        self.fields = {
            "head_diameter": SizeField(
                "head diameter", "", "Calipers across the head's edge, where it is widest"
            ),
            "head_angle": SizeField(
                "head angle",
                "",
                "Between the flanks of the head's cone, as marked or by a gauge",
                reads="angle",
            ),
            "edge_land": SizeField(
                "edge land", "", "Height of the short cylinder at the head's edge; 0 if sharp"
            ),
            "shank_diameter": SizeField("shank diameter", "", "Calipers just under the head"),
            "hole_diameter": SizeField(
                "hole", "", "The clearance hole through the plate: a size, #7, letter F"
            ),
            "plate_thickness": SizeField(
                "plate thickness",
                plate_thickness,
                "Calipers over its edge: sheet is seldom what it is sold as",
            ),
            "tip_below": SizeField(
                "tip below plate", "0", "How far into the board under the plate the tip may go"
            ),
            "cutting_diameter": SizeField(
                "cutter diameter", cutting_diameter, "Calipers where its flanks end, at its widest"
            ),
            "included_angle": SizeField(
                "cutter angle",
                included_angle,
                "Between the cutter's flanks, as marked on it or its packet",
                reads="angle",
            ),
            "tip_size": SizeField(
                "tip flat or radius",
                tip_diameter,
                "Flat across the tip, or the tip's radius; 0 if sharp",
            ),
            **run_at_fields("feed at the axis", "Along the circle that the cutter's axis runs on"),
            "lie": SizeField(
                "recess", recess, "From the plate's face down to the head's; negative stands proud"
            ),
            "measured_top": SizeField(
                "top measured",
                "",
                "What the first part's sink measures in the face; empty before there is one",
                optional=True,
            ),
            "circle": SizeField(
                "circle diameter", circle_diameter, "Of the circle that the cutter's axis runs on"
            ),
            "depth": SizeField("depth", "", "From the plate's face down to the cutter's tip"),
        }
        self.slider = Slider(
            "circle",
            "Slides the circle through what works",
            self.fields["circle"],
            {"mm": 3, "in": 4},
        )
        self._figure = CountersinkFigure()
        self._picture = widgets.HTML()
        self._headline, self._numbers, self._findings, self._line = (
            widgets.HTML() for _ in range(4)
        )
        self._fill_head()
        self._fill_hole()
        self._watch_fields()
        self._place()
        self._update()

    # --- what is asked -------------------------------------------------------------------

    def _watch_fields(self) -> None:
        self._watch(self.standard, self._fill_sizes, self._fill_head, self._fill_hole)
        self._watch(self.size, self._fill_head, self._fill_hole)
        self._watch(self.fit, self._fill_hole)
        self._watch(self.lie, self._lie_otherwise)
        self._watch(self.edge, self._edge_otherwise)
        self._watch(self.tip)
        self._watch(self.find)
        for name, field in self.fields.items():
            if name in _HEAD:
                self._watch(field, partial(self._head_is_measured, name))
            elif name == "hole_diameter":
                self._watch(field, self._hole_is_measured)
            else:
                self._watch(field)
        self.slider.entry.observe(self._slid, names="value")

    def _place(self) -> None:
        field = self.fields
        self._lay_out(
            [
                block(
                    "the screw",
                    self.standard,
                    self.size,
                    field["head_diameter"],
                    field["head_angle"],
                    self.edge,
                    field["edge_land"],
                    field["shank_diameter"],
                    hints=hints.SCREW,
                ),
                block(
                    "the plate",
                    self.fit,
                    field["hole_diameter"],
                    field["plate_thickness"],
                    field["tip_below"],
                    hints=hints.SUNK_PLATE,
                ),
                block(
                    "the cutter",
                    field["cutting_diameter"],
                    field["included_angle"],
                    self.tip,
                    field["tip_size"],
                    *(field[name] for name in RUN_AT),
                    hints=hints.VEE_CUTTER,
                ),
                block(
                    "the cut",
                    self.find,
                    self.lie,
                    field["lie"],
                    field["circle"],
                    self.slider,
                    field["depth"],
                    hints=hints.CUT,
                ),
                block("the first part", field["measured_top"], hints=hints.FIRST_SINK),
            ],
            [self._headline, self._picture, self._findings, self._numbers, self._line],
        )

    def _fill_sizes(self) -> None:
        if self.standard.value == _MEASURED:
            return
        known = flat_head_sizes(self.standard.value)
        size = self.size.value if self.size.value in known else self._nearest(known)
        self.size.entry.options = known
        self.size.value = size

    def _nearest(self, known: tuple[str, ...]) -> str:
        """The size whose shank is nearest to the one there was: M6 is no #6."""
        try:
            shank = sizes.mm(self.fields["shank_diameter"].read(self._unit))
        except sizes.SizeError:
            return known[0]
        return min(
            known,
            key=lambda size: abs(
                sizes.mm(flat_head(self.standard.value, size).shank_diameter) - shank
            ),
        )

    def _fill_head(self) -> None:
        if self.standard.value == _MEASURED:
            return
        head = flat_head(self.standard.value, self.size.value)
        for name in ("head_diameter", "head_angle", "shank_diameter"):
            self.fields[name].text = sizes.show(getattr(head, name), fine=True)
        edge = head.edge_land if self.edge.value == _LAND else head.head_height
        self.fields["edge_land"].text = sizes.show(edge, fine=True)

    def _fill_hole(self) -> None:
        self._no_hole = ""
        if self.fit.value == _MEASURED:
            return
        try:
            self.fields["hole_diameter"].text = clearance_drill(self.size.value, self.fit.value)
        except FastenerError:
            self.fields["hole_diameter"].text = ""
            self._no_hole = f"The tables have no clearance hole for {self.size.value}: type it. "

    def _aside(self) -> str:
        if self.standard.value == _MEASURED and self.fields["edge_land"].blank:
            return (
                f"The head is measured now, and its {self.edge.value} is not the table's: type it. "
            )
        return self._no_hole

    def _head_is_measured(self, typed_in: str) -> None:
        if self.standard.value != _MEASURED and typed_in != "edge_land":
            self.fields["edge_land"].text = ""
        self.standard.value = _MEASURED

    def _edge_otherwise(self) -> None:
        self.fields["edge_land"].entry.description = self.edge.value
        self.fields["edge_land"].text = ""
        self._fill_head()

    def _hole_is_measured(self) -> None:
        self._no_hole = ""
        self.fit.value = _MEASURED

    def _lie_otherwise(self) -> None:
        by_recess = self.lie.value == "recess"
        self.fields["lie"].entry.description = "recess" if by_recess else "top diameter"
        lying = self.sink.seat.recess if by_recess else self.sink.cut.top_diameter
        self.fields["lie"].text = sizes.show(lying, self._unit, fine=True)

    def _slid(self, _change: Any) -> None:
        if not self._quiet:
            self.slider.fill_in(*self._band(), self._unit)

    def _band(self) -> tuple[Quantity, Quantity]:
        """The smallest and the largest circle that work."""
        limits = self.sink.limits
        return limits.smallest, max(limits.smallest, limits.largest)

    # --- what is kept --------------------------------------------------------------------

    def _kept(self) -> Kept:
        value, find = self._value, self.find.value
        by = "recess" if self.lie.value == "recess" else "top_diameter"
        feature: dict[str, Any] = {"recess": None, "top_diameter": None, "fit": None}
        feature["hole_diameter"] = value("hole_diameter")
        for name, key in (("lie", by), ("circle", "circle_diameter"), ("depth", "depth")):
            feature[key] = None if find == name else value(name)
        feature["tip_below"] = self._unless_0("tip_below")
        feature["measured"] = {"top_diameter": value("measured_top")}
        # Nothing else tells by which of the two it is found.
        feature["panel"] = {"lie": self.lie.value if find == "lie" else None}
        round_tip = self.tip.value == "round"
        cutter = {
            "name": f"{self.fields['included_angle'].text.strip('°')} degree vee",
            "kind": "vee",
            "diameter": value("cutting_diameter"),
            "included_angle": value("included_angle"),
            "tip_diameter": None if round_tip else value("tip_size"),
            "tip_radius": value("tip_size") if round_tip else None,
            **self._run_at(),
        }
        drawer = {"fastener": self._head_kept(), "cutter": cutter}
        return Kept(feature, drawer, hole=feature["hole_diameter"])

    def _head_kept(self) -> dict[str, Any]:
        measured = self.standard.value == _MEASURED
        edge = "head_height" if self.edge.value == _HEIGHT else "edge_land"
        head: dict[str, Any] = {
            "name": "measured flat head" if measured else f"{self.size.value} flat head",
            "kind": "flat head",
            "standard": None if measured else self.standard.value,
            "size": None if measured else self.size.value,
        }
        head |= dict.fromkeys(("head_height", "largest", *_HEAD))
        if measured:
            head |= {name: self._value(name) for name in _HEAD if name != "edge_land"}
            head[edge] = self._value("edge_land")
        return head

    def _take(self, taken: Taken) -> str:
        given, cutter = taken.feature.given, taken.drawn("cutter")
        self._take_head(taken)
        self._take_run_at(cutter)
        round_tip = "tip_radius" in cutter
        self.tip.value = "round" if round_tip else "flat"
        self._fill(
            {
                "cutting_diameter": as_text(cutter.get("diameter")),
                "included_angle": as_text(cutter.get("included_angle")),
                "tip_size": as_text(cutter.get("tip_radius" if round_tip else "tip_diameter", 0)),
                "tip_below": taken.text("tip_below", 0),
                "measured_top": as_text(taken.entry.get("measured", {}).get("top_diameter")),
            }
        )
        by_top = given["top_diameter"] is not None
        lies = by_top or given["recess"] is not None
        circle, deep = (given[key] is not None for key in ("circle_diameter", "depth"))
        lie = "top diameter" if by_top else taken.only_here.get("lie", "recess")
        self.lie.value = lie if lie in ("recess", "top diameter") else "recess"
        self.fields["lie"].entry.description = self.lie.value
        self.find.value = "lie" if circle and deep else "circle" if deep else "depth"
        made = taken.feature.made
        # What is given nowhere was taken as the middle of the circles that work.
        middle = None if made is None else made.main.cut.circle_diameter
        self._fill(
            {
                "lie": taken.text("top_diameter" if by_top else "recess", 0) if lies else "0",
                "circle": taken.text("circle_diameter", middle),
                "depth": taken.text("depth"),
            }
        )
        return ""

    def _take_head(self, taken: Taken) -> None:
        entry, head = taken.drawn("fastener"), taken.part.fasteners[taken.feature.given["fastener"]]
        assert isinstance(head, FlatHead)
        standard, size = entry.get("standard", _MEASURED), entry.get("size")
        tabulated = standard != _MEASURED and entry.get("largest", True)
        tabulated = tabulated and size in flat_head_sizes(standard)
        self.standard.value = standard if tabulated else _MEASURED
        self.edge.value = _HEIGHT if "head_height" in entry else _LAND
        self.fields["edge_land"].entry.description = self.edge.value
        if tabulated:
            self.size.entry.options = flat_head_sizes(standard)
            self.size.value = size
            self._fill_head()
        else:
            edge = "head_height" if "head_height" in entry else "edge_land"
            self._fill(
                {
                    name: as_text(entry.get(key, getattr(head, key)))
                    for name, key in zip(_HEAD, (*_HEAD[:2], edge, _HEAD[3]), strict=True)
                }
            )
        made = taken.feature.made
        hole = taken.text("hole_diameter", None if made is None else made.main.cut.hole_diameter)
        fit, drill = fit_and_hole(self.size.value, hole, self._unit)
        self.fit.value = fit or _MEASURED
        self.fields["hole_diameter"].text = hole if "hole_diameter" in taken.entry else drill

    # --- what is told --------------------------------------------------------------------

    def _tell(self, made: Sink) -> None:
        findings = checks.countersink(made)
        self._figure.draw(made, self._unit)
        drawn = picture(self._figure)
        self.sink, self.findings = made, findings
        self._fill_found()
        self._picture.value = drawn
        self._headline.value = self._told_first()
        self._numbers.value = self._number_table()
        self._findings.value = finding_list(findings)
        self._line.value = python_line(self.python)

    def _made(self) -> tuple[Sink, str]:
        """The countersink that the fields ask for, and the line of Python that makes it."""
        given: dict[str, sizes.Quantity] = {}
        find = self.find.value
        for name in ("lie", "circle", "depth"):
            self.fields[name].enabled = name != find
        read = self._read(
            "hole_diameter",
            "plate_thickness",
            "tip_below",
            "cutting_diameter",
            "included_angle",
            "tip_size",
            "measured_top",
            *RUN_AT,
            *({"lie", "circle", "depth"} - {find}),
            *(_HEAD if self.standard.value == _MEASURED else ()),
        )
        head, head_line = self._head({name: read[name] for name in _HEAD if name in read})
        self._measured_top = read.get("measured_top")
        tip = "tip_radius" if self.tip.value == "round" else "tip_diameter"
        cutter = VeeCutter(
            read["cutting_diameter"], read["included_angle"], **{tip: read["tip_size"]}
        )
        lying = "recess" if self.lie.value == "recess" else "top_diameter"
        names = {"lie": lying, "circle": "circle_diameter", "depth": "depth"}
        given["hole_diameter"] = read["hole_diameter"]
        given |= {names[key]: read[key] for key in names if key != find}
        given["plate_thickness"] = read["plate_thickness"]
        if read["tip_below"].magnitude:
            given["tip_below"] = read["tip_below"]
        told = ", ".join(f"{name}={typed(size)}" for name, size in given.items())
        tip_told = f", {tip}={typed(read['tip_size'])}" if read["tip_size"].magnitude else ""
        line = (
            f"sink({head_line}, VeeCutter({typed(read['cutting_diameter'])}, "
            f"{typed(read['included_angle'])}{tip_told}), {told})"
        )
        return sink(head, cutter, **given), line

    def _head(self, read: dict[str, sizes.Quantity]) -> tuple[FlatHead, str]:
        if self.standard.value != _MEASURED:
            standard, size = self.standard.value, self.size.value
            return flat_head(standard, size), f"flat_head({standard!r}, {size!r})"
        if self.edge.value == _HEIGHT:
            height = read.pop("edge_land")
            return (
                FlatHead.from_height(**read, head_height=height),
                f"FlatHead.from_height({typed(read['head_diameter'])}, "
                f"{typed(read['head_angle'])}, {typed(height)}, "
                f"shank_diameter={typed(read['shank_diameter'])})",
            )
        land = f", edge_land={typed(read['edge_land'])}" if read["edge_land"].magnitude else ""
        return (
            FlatHead(**read),
            f"FlatHead({typed(read['head_diameter'])}, {typed(read['head_angle'])}{land}, "
            f"shank_diameter={typed(read['shank_diameter'])})",
        )

    def _fill_found(self) -> None:
        cut, seat = self.sink.cut, self.sink.seat
        lying = seat.recess if self.lie.value == "recess" else cut.top_diameter
        found = {"lie": lying, "circle": cut.circle_diameter, "depth": cut.depth}
        self.slider.entry.disabled = self.find.value == "circle" or not self.sink.limits.workable
        with self._quietly():
            find = self.find.value
            self.fields[find].text = sizes.show(found[find], self._unit, fine=True)
            self.fields[find].mark("")
            self.fields[find].read(self._unit)
            self.slider.stand_at(cut.circle_diameter, *self._band())

    def _told_first(self) -> str:
        """What is typed at the machine, and whether something speaks against it."""
        cut = self.sink.cut
        circle, depth = (sizes.show(cut[name], fine=True) for name in ("circle_diameter", "depth"))
        if self.findings.worst is checks.Weight.STOP:
            told = f"■ not as it stands: circle {circle}, depth {depth}"
        else:
            seat = self.sink.seat
            told = f"circle {circle}, depth {depth}: head {told_recess(seat.recess)}"
            # Flush on an edge is not what a drawing means by flush.
            told += "" if seat.contact == "cone" else f", {seat.bearing}"
        return (
            f"<div class='headline'>{told}</div>{finding_counts(self.findings)}"
            f"{self._told_correction()}"
        )

    def _told_correction(self) -> str:
        """What the first part's measurement says to change."""
        if self._measured_top is None:
            return ""
        try:
            told = str(gauging.correct(self.sink.cut, top_diameter=self._measured_top))
        except ValueError as error:
            told = f"✗ {error}"
        return f"<div><b>next part:</b> {html.escape(told)}</div>"

    def _number_table(self) -> str:
        cut, seat = self.sink.cut, self.sink.seat
        rows = [
            (variable.label, cut[name], variable.meaning)
            for name, variable in cut.relations.variables.items()
            if name not in ("included_angle", "tip_diameter")
            and (name != "cone_depth" or self.sink.reaches_hole)
        ]
        if not self.sink.reaches_hole:
            rows.append(("ledge depth", self.sink.edge_depth, "of the ledge left round the hole"))
        rows += [
            ("recess", seat.recess, told_recess(seat.recess)),
            ("contact diameter", seat.contact_diameter, seat.bearing),
            ("gap at the rim", seat.rim_gap, "beside the head, on the radius"),
            ("gap at the hole", seat.hole_gap, "beside the head at the hole's edge"),
        ]
        found = {"depth": "depth", "circle": "circle diameter", "lie": "top diameter"}
        return number_table(rows, self._unit, found=[found[self.find.value]])
