"""The counterbore panel: a fastener, a plate and a cutter in; pocket, screw and holding out.

A view over :mod:`holecalc.counterbore` and :func:`holecalc.checks.counterbore`.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any

import ipywidgets as widgets

from holecalc import checks, counterbore, nuts, sizes
from holecalc.checks.findings import at_most
from holecalc.counterbore import Pocket
from holecalc.cutters import EndMill
from holecalc.drawing import CounterboreFigure, hints
from holecalc.fasteners import FITS, FastenerError, clearance_drill
from holecalc.flats import FlatsError, largest_cutter
from holecalc.holding import CAUTION, Holding, starting_strengths
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer
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
    whole,
)
from holecalc.panels.keeping import (
    RUN_AT,
    FeaturePanel,
    KeepingError,
    Kept,
    Taken,
    as_text,
    fit_and_hole,
    run_at_fields,
)
from holecalc.screws import ScrewError, ScrewLength
from holecalc.sizes import Quantity
from holecalc.stack import Step

__all__ = ["CounterborePanel"]

_fine = partial(sizes.show, fine=True)

_MEASURED, _YOURS = "measured", "your own"
_TO_BUY, _AT_HAND = "to buy", "at hand"
_AS_CUT = "as cut"
_THREADED = (Nut, TNut, Insert)
_WIDE = "calc(8.8em + 13em)"
"""Of the choices with long words."""
_LEAST_CUTTER = 13
"""The slider begins at the nut's across flats divided by this: 1 mm for an M8."""


@dataclass(frozen=True)
class _Kind:
    """A kind of fastener: its tables, what is measured on it, and what is asked of its pocket."""

    make: type[Any]
    tables: Mapping[str, str]
    maker: Callable[..., Any] | None
    positional: tuple[str, ...]
    named: tuple[str, ...]
    pocket: Callable[..., Pocket]
    asked: tuple[str, ...]
    first: tuple[str, ...] = ()


_HOLE = ("hole_diameter",)
_NUT = ("cutter_diameter", "relief_cutter", "relief_reach", "nut_clearance", "across_flats")
_FLATS = ("across_corners", "least_across_flats", "bearing_diameter", "thread")

_KINDS: Mapping[str, _Kind] = MappingProxyType(
    {
        "T-nut": _Kind(
            TNut,
            {},
            None,
            ("flange_diameter", "flange_thickness", "barrel_diameter", "barrel_length"),
            ("thread", "prong_length"),
            counterbore.pocket_for_t_nut,
            ("flange_clearance", "barrel_clearance", "gap", "through", *_HOLE),
        ),
        "hexagon nut": _Kind(
            Nut,
            nuts.HEX_NUTS,
            nuts.hex_nut,
            ("nut_across_flats", "height"),
            _FLATS,
            counterbore.pocket_for_hex_nut,
            (*_NUT, *_HOLE),
            ("hexagon",),
        ),
        "square nut": _Kind(
            Nut,
            nuts.SQUARE_NUTS,
            nuts.square_nut,
            ("nut_across_flats", "height"),
            _FLATS,
            counterbore.pocket_for_square_nut,
            (*_NUT, *_HOLE),
            ("square",),
        ),
        "insert": _Kind(
            Insert,
            {},
            None,
            ("insert_hole", "length"),
            ("thread", "insert_flange_diameter", "insert_flange_thickness"),
            counterbore.pocket_for_insert,
            ("flange_clearance", "tip_room", "point_angle", "through"),
        ),
        "cap screw": _Kind(
            CapScrew,
            nuts.CAP_SCREWS,
            nuts.cap_screw,
            ("head_diameter", "head_height"),
            ("thread",),
            counterbore.pocket_for_cap_screw,
            ("head_clearance", *_HOLE),
        ),
        "washer": _Kind(
            Washer,
            nuts.WASHERS,
            nuts.washer,
            ("inside_diameter", "outside_diameter", "thickness"),
            ("size",),
            counterbore.pocket_for_washer,
            ("washer_clearance", *_HOLE),
        ),
    }
)

_NAMES = {
    "nut_across_flats": "across_flats",
    "insert_hole": "hole_diameter",
    "insert_flange_diameter": "flange_diameter",
    "insert_flange_thickness": "flange_thickness",
}
"""What fields are called where the name on the panel is taken by another."""

_FINDS = {
    "across_flats": "pocket across flats",
    "cutter_diameter": "largest cutter",
    "nut_clearance": "clearance",
}

_FIELDS: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "flange_diameter": ("flange diameter", "length", "Calipers across the flange"),
        "flange_thickness": (
            "flange thickness",
            "length",
            "Calipers over the flange's edge, prongs clear",
        ),
        "barrel_diameter": (
            "barrel diameter",
            "length",
            "Calipers across the barrel; over its flare, where it has one",
        ),
        "barrel_length": ("barrel length", "length", "From under the flange to its end"),
        "prong_length": (
            "prong length",
            "length",
            "From under the flange to the tips of its prongs; empty for none",
        ),
        "nut_across_flats": (
            "across flats",
            "length",
            "Calipers over two flats, of the largest nut",
        ),
        "least_across_flats": (
            "least of those",
            "length",
            "Calipers over two flats, of the smallest nut",
        ),
        "across_corners": (
            "across corners",
            "length",
            "Calipers over two corners, of the smallest nut",
        ),
        "height": ("height", "length", "Calipers over the nut, from face to face"),
        "bearing_diameter": ("bearing face", "length", "Across the face that presses"),
        "insert_hole": ("hole for it", "length", "The hole its maker asks for"),
        "length": ("length", "length", "Of the insert, under its flange if it has one"),
        "insert_flange_diameter": (
            "flange diameter",
            "length",
            "Calipers across it; empty for none",
        ),
        "insert_flange_thickness": (
            "flange thickness",
            "length",
            "Calipers over it; empty for none",
        ),
        "head_diameter": ("head diameter", "length", "Calipers across the head"),
        "head_height": ("head height", "length", "Calipers over the head"),
        "inside_diameter": ("inside", "length", "Calipers in its hole"),
        "outside_diameter": ("outside", "length", "Calipers across it"),
        "thickness": ("thickness", "length", "Calipers over it; of the thickest"),
        "size": ("for a screw", "thread", "Which screw it is for: M8, 1/4, #10"),
        "thread": ("thread", "thread", "As marked or by a gauge: M8, M8x1, 1/4, 1/4-28, #10-32"),
        "plate_thickness": (
            "plate thickness",
            "length",
            "Calipers over its edge: sheet is seldom as sold",
        ),
        "hole_diameter": ("hole", "length", "For the screw: a size, #7, letter F"),
        "recess": (
            "recess",
            "length",
            "From the plate's face to the fastener's; negative stands proud",
        ),
        "flange_clearance": (
            "flange clearance",
            "length",
            "How much wider than the flange its pocket is, on the diameter",
        ),
        "barrel_clearance": (
            "barrel clearance",
            "length",
            "How much wider than the barrel its bore is, on the diameter",
        ),
        "gap": ("gap below barrel", "length", "From the barrel's end to the floor"),
        "tip_room": ("room for the tip", "length", "Below the insert, for the tip and chips"),
        "point_angle": ("drill's point", "angle", "Empty for a flat floor; 118° for most drills"),
        "head_clearance": (
            "head clearance",
            "length",
            "How much wider than head or washer its pocket is, on the diameter",
        ),
        "washer_clearance": (
            "room around it",
            "length",
            "How much wider than the washer its pocket is, on the diameter",
        ),
        "cutter_diameter": ("cutter diameter", "length", "Of the cutter that makes the pocket"),
        "flutes": ("flutes", "count", "How many cutting edges it has; empty: taken as 1"),
        "cutting_length": (
            "flute length",
            "length",
            "From the tip up to where they end; empty: not asked about",
        ),
        "reach": ("cutter's reach", "length", "From tip to holder; empty: not asked about"),
        "nut_clearance": ("clearance", "length", "Across flats, beyond what the corners need"),
        "across_flats": ("pocket flats", "length", "Over two flats of the pocket"),
        "most_turning": ("may turn", "angle", "How far the nut may turn before it is held"),
        "relief_cutter": ("relief cutter", "length", "That relieves the corners"),
        "relief_reach": ("relief reaches", "length", "From the middle; empty: to the corner"),
        "mating_part": ("mating part", "length", "What is screwed on; empty: no screw asked for"),
        "washers": ("washers", "length", "All of them, under the screw's head"),
        "behind": ("free behind", "length", "Room beyond the face for a tip that stands proud"),
        "screw_length": ("screw length", "length", "Under the head, of the screw at hand"),
        "load": ("load", "force", "Clamp or pull: 2 kN, 450 lbf; empty: not asked about"),
        "bearing_strength": (
            "bearing limit",
            "stress",
            "Pressure the plate stands: 5 MPa, 700 psi",
        ),
        "shear_strength": ("shear limit", "stress", "Shear the plate stands: 5 MPa, 700 psi"),
    }
)
"""Of each field: its label, what it reads, and what to measure."""

_NEEDED = frozenset(
    {
        "flange_diameter", "flange_thickness", "barrel_diameter", "barrel_length", "thread",
        "nut_across_flats", "height", "insert_hole", "length", "head_diameter", "head_height",
        "inside_diameter", "outside_diameter", "thickness", "size", "plate_thickness",
        "hole_diameter", "cutter_diameter", "relief_cutter", "most_turning", "screw_length",
        "across_flats",
    }
)  # fmt: skip
"""Fields that cannot be left empty; the others then mean none, or what is usual."""

_OF_FEATURE = (
    "hole_diameter", "recess", "flange_clearance", "barrel_clearance", "gap", "tip_room",
    "point_angle", "head_clearance", "washer_clearance", "nut_clearance", "across_flats",
    "relief_reach", "most_turning", "mating_part", "washers", "behind", "screw_length", "load",
    "bearing_strength", "shear_strength",
)  # fmt: skip
"""Fields that a part's feature has under the same names."""

_MEASURES = frozenset(name for kind in _KINDS.values() for name in (*kind.positional, *kind.named))

_BEGIN: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "mm": MappingProxyType(
            {
                "flange_diameter": "22 mm", "flange_thickness": "1.5 mm",
                "barrel_diameter": "9.8 mm", "barrel_length": "9 mm", "thread": "M8",
                "insert_hole": "10 mm", "length": "12 mm",
                "plate_thickness": "20 mm", "cutter_diameter": "6 mm", "relief_cutter": "3 mm",
                "most_turning": "10°", "screw_length": "35 mm",
            }
        ),
        "in": MappingProxyType(
            {
                "flange_diameter": "0.750 in", "flange_thickness": "0.060 in",
                "barrel_diameter": "0.310 in", "barrel_length": "0.310 in", "thread": "1/4",
                "insert_hole": "3/8 in", "length": "1/2 in",
                "plate_thickness": "0.75 in", "cutter_diameter": "1/4 in",
                "relief_cutter": "1/8 in", "most_turning": "10°", "screw_length": "1 in",
            }
        ),
    }
)  # fmt: skip
"""What stands in the fields first; T-nuts and inserts are invented, since makers differ."""


@dataclass(frozen=True)
class _Captured:
    """All that one setting of the fields makes."""

    pocket: Pocket
    screw: ScrewLength | None
    no_screw: str
    held: Holding | None
    checked: Mapping[str, Any]


class CounterborePanel(FeaturePanel):
    """A pocket for a nut, T-nut, insert, cap screw or washer to work with.

    Parameters
    ----------
    kind : {"T-nut", "hexagon nut", "square nut", "insert", "cap screw", "washer"}
        What lies in the pocket.
    standard, size : str, optional
        A table and a size in it; T-nuts and inserts have none. By default the first table.
    unit : {"mm", "in"}
        The unit of bare numbers and of the picture.
    face : {"A", "B"}
        The one the fastener goes in from.
    relieved : bool, default False
        Whether the corners of a pocket with flats are relieved.
    **begin : str
        What stands in the fields first, by their names in `fields`; measures of a fastener make
        it a measured one.

    Attributes
    ----------
    pocket : holecalc.counterbore.Pocket
        The last pocket that could be worked out.
    screw : holecalc.screws.ScrewLength or None
        The screw in it.
    held : holecalc.holding.Holding or None
        What it holds.
    findings : holecalc.checks.Findings
        What was found about all that.

    Examples
    --------
    >>> panel = CounterborePanel("hexagon nut", "ISO 4032", "M8")
    >>> print(panel.pocket.seat)
    nut (hexagon 14.004 mm across flats), 7.300 mm deep
    >>> panel.fields["cutter_diameter"].text = "1/8 in"
    >>> print(panel.pocket.seat)
    nut (hexagon 13.625 mm across flats), 7.300 mm deep
    """

    kind_of_feature = "counterbore"

    def __init__(
        self,
        kind: str = "T-nut",
        standard: str | None = None,
        size: str | None = None,
        *,
        unit: str = "mm",
        face: str = "A",
        relieved: bool = False,
        **begin: str,
    ) -> None:
        super().__init__("captured nut", unit)
        unknown = sorted(begin.keys() - _FIELDS.keys())
        if unknown:
            raise TypeError(f"there is no field {unknown[0]!r}; there are {', '.join(_FIELDS)}")
        self._no_hole = self._no_screw = ""
        self.pocket: Pocket
        self.screw: ScrewLength | None = None
        self.held: Holding | None = None
        self.findings: checks.Findings
        self._make_choices(kind, standard, size, face, relieved)
        first = {**_BEGIN[unit], **begin}
        self.fields = {
            name: SizeField(
                label, first.get(name, ""), hint, reads=reads, optional=name not in _NEEDED
            )
            for name, (label, reads, hint) in _FIELDS.items()
        }
        self.fields |= run_at_fields("feed at the wall", "Along the wall, where the cutter cuts")
        self.cutter_slider = Slider(
            "cutter",
            "Slides the cutter from a sharp one to one that lets the nut spin",
            self.fields["cutter_diameter"],
        )
        self.recess_slider = Slider(
            "recess",
            "Slides the recess from flush to where only a quarter is left",
            self.fields["recess"],
        )
        self._figure = CounterboreFigure()
        self._picture = widgets.HTML()
        self._headline, self._numbers, self._findings, self._line = (
            widgets.HTML() for _ in range(4)
        )
        if begin.keys() & _MEASURES:
            self.standard.value = _MEASURED
        else:
            self._fill_fastener()
        if "hole_diameter" in begin:
            self.fit.value = _MEASURED
        self._fill_hole()
        self._watch_fields()
        self._place()
        self._update()

    # --- what is asked -------------------------------------------------------------------

    def _make_choices(
        self, kind: str, standard: str | None, size: str | None, face: str, relieved: bool
    ) -> None:
        tables = _KINDS[kind].tables
        named = standard or _likely_table(tables, self._unit)
        known = list(nuts.listed(tables, named)) if named in tables else []
        self.kind = Choice("fastener", list(_KINDS), kind, "What lies in the pocket")
        self.standard = Choice(
            "from the table",
            [*tables, _MEASURED],
            named,
            "Fills in the fastener's dimensions; choose 'measured' to type your own",
        )
        self.size = Choice("size", known, size or _likely(known, self._unit), "The thread's size")
        self.face = Choice("from face", ["A", "B"], face, "The one the fastener goes in from")
        self.fit = Choice(
            "fit",
            [*FITS, _MEASURED],
            "normal",
            "Fills in the clearance hole for the thread (ISO 273, ASME B18.2.8)",
        )
        self.through = Choice(
            "bore",
            ["blind", "through"],
            "blind",
            "Whether the barrel's or insert's bore goes through",
        )
        self.find = Choice(
            "find",
            [(label, key) for key, label in _FINDS.items()],
            "across_flats",
            "Which of them follows from the others",
        )
        self.relief = Choice(
            "corners",
            [_AS_CUT, "relieved"],
            "relieved" if relieved else _AS_CUT,
            "Whether a round cutter goes out into each corner",
        )
        washers = [("none", "")] + [(name, name) for name in nuts.WASHERS]
        self.washer = Choice("washer under it", washers, "", "Below the head, from the table")
        self.buy = Choice(
            "screw",
            [_TO_BUY, _AT_HAND],
            _TO_BUY,
            "Find one in the list, or look at the one you have",
        )
        self.material = Choice(
            "material",
            [_YOURS, *starting_strengths()],
            _YOURS,
            "Fills in low values to start from (common practice, no source); replace them",
        )

    def _watch_fields(self) -> None:
        self._watch(self.kind, self._fill_tables, self._fill_fastener, self._fill_hole)
        self._watch(self.standard, self._fill_sizes, self._fill_fastener, self._fill_hole)
        self._watch(self.size, self._fill_fastener, self._fill_hole)
        self._watch(self.fit, self._fill_hole)
        self._watch(self.material, self._fill_strengths)
        for choice in (self.face, self.through, self.find, self.relief, self.washer, self.buy):
            self._watch(choice)
        for name, field in self.fields.items():
            if name in ("thread", "size"):
                self._watch(field, self._fastener_is_measured, self._fill_hole)
            elif name in _MEASURES:
                self._watch(field, self._fastener_is_measured)
            elif name == "hole_diameter":
                self._watch(field, self._hole_is_measured)
            elif name in ("bearing_strength", "shear_strength"):
                self._watch(field, self._strength_is_yours)
            else:
                self._watch(field)
        for name, slider in self._sliders.items():
            slider.entry.observe(partial(self._slid, name), names="value")

    @property
    def _sliders(self) -> dict[str, Slider]:
        """The sliders, by the field that each fills in."""
        return {"cutter_diameter": self.cutter_slider, "recess": self.recess_slider}

    def _place(self) -> None:
        field = self.fields
        measures = [field[name] for name in _FIELDS if name in _MEASURES]
        self._holding = block(
            "what it holds", field["load"], self.material, field["bearing_strength"],
            field["shear_strength"], hints=hints.HELD,
        )  # fmt: skip
        for choice in (self.standard, self.find, self.washer, self.material):
            choice.entry.layout.width = _WIDE
        self._lay_out(
            [
                block(
                    "the fastener", self.kind, self.standard, self.size, *measures,
                    hints=hints.FASTENERS,
                ),
                block(
                    "the plate", field["plate_thickness"], self.face, self.fit,
                    field["hole_diameter"], self.through, hints=hints.POCKET_PLATE,
                ),
                block(
                    "the cutter", self.find, field["cutter_diameter"], self.cutter_slider,
                    field["flutes"], field["cutting_length"], field["reach"],
                    *(field[name] for name in RUN_AT), field["most_turning"], self.relief,
                    field["relief_cutter"], field["relief_reach"], hints=hints.END_MILL,
                ),
                block(
                    "the pocket", field["recess"], self.recess_slider,
                    *(field[name] for name in (
                        "flange_clearance", "barrel_clearance", "gap", "tip_room", "point_angle",
                        "head_clearance", "washer_clearance", "nut_clearance", "across_flats",
                    )),
                    self.washer, hints=hints.POCKET,
                ),
                block(
                    "the screw", field["mating_part"], field["washers"], field["behind"],
                    self.buy, field["screw_length"], hints=hints.SCREW_LENGTH,
                ),
                self._holding,
            ],
            [self._headline, self._picture, self._findings, self._numbers, self._line],
        )  # fmt: skip

    def _asked(self) -> set[str]:
        """The fields that this kind of fastener and pocket has; the others are put away."""
        kind = self._kind
        asked = {*kind.positional, *kind.named, *kind.asked, "plate_thickness", "recess"}
        asked |= {"cutter_diameter", "flutes", "cutting_length", "reach", *RUN_AT}
        asked |= {"load", "bearing_strength", "shear_strength"}
        if kind.make is Insert and self.fields["insert_flange_diameter"].blank:
            # Its maker says what its sides hold.
            asked -= {"load", "bearing_strength", "shear_strength"}
        if kind.make is Nut:
            asked.add("most_turning")
        if kind.make in _THREADED:
            asked |= {"mating_part", "washers", "behind"}
            asked |= {"screw_length"} if self.buy.value == _AT_HAND else set()
        if self.relief.value == _AS_CUT:
            asked -= {"relief_cutter", "relief_reach"}
        if self._bored_through:
            asked -= {"tip_room", "gap", "point_angle", "hole_diameter", "through"}
        return asked & self.fields.keys()

    def _show(self, asked: set[str]) -> None:
        kind, find = self._kind, self._finds
        for name, field in self.fields.items():
            _display(field.box, name in asked)
        for widget, shown in (
            (self.standard.box, bool(kind.tables)),
            (self.size.box, self.standard.value != _MEASURED),
            (self.fit.box, "hole_diameter" in asked),
            (self.through.box, "through" in kind.asked),
            (self.buy.box, kind.make in _THREADED),
            (self.washer.box, kind.make is CapScrew),
            (self.find.box, kind.make is Nut),
            (self.relief.box, kind.make is Nut),
            (self.cutter_slider.box, kind.make is Nut),
        ):
            _display(widget, shown)
        found = {find} if find in ("", "nut_clearance") else {find, "across_flats"}
        for name in _FINDS:
            self.fields[name].enabled = name not in found
        _display(self._holding, "load" in asked)

    @property
    def _finds(self) -> str:
        return str(self.find.value) if self._kind.make is Nut else ""

    @property
    def _bored_through(self) -> bool:
        return "through" in self._kind.asked and self.through.value == "through"

    @property
    def _kind(self) -> _Kind:
        return _KINDS[self.kind.value]

    def _fill_tables(self) -> None:
        tables = self._kind.tables
        self.standard.entry.options = [*tables, _MEASURED]
        self.standard.value = _likely_table(tables, self._unit)
        if not tables:
            self.fields["thread"].text = _BEGIN[self._unit]["thread"]
        self._fill_sizes()

    def _fill_sizes(self) -> None:
        if self.standard.value == _MEASURED:
            return
        known = list(nuts.listed(self._kind.tables, self.standard.value))
        keep = self.size.value if self.size.value in known else _likely(known, self._unit)
        self.size.entry.options = known
        self.size.value = keep

    def _fill_fastener(self) -> None:
        if self.standard.value == _MEASURED or self._kind.maker is None:
            return
        made = self._kind.maker(self.standard.value, self.size.value)
        for name in (*self._kind.positional, *self._kind.named):
            value = getattr(made, _NAMES.get(name, name))
            if name in ("thread", "size"):
                self.fields[name].text = self.size.value
            else:
                self.fields[name].text = _fine(value)

    def _fill_hole(self) -> None:
        self._no_hole = ""
        if self.fit.value == _MEASURED or "hole_diameter" not in self._kind.asked:
            return
        typed_thread = self.fields["size" if self._kind.make is Washer else "thread"].text
        try:
            turns = nuts.thread(typed_thread)
        except FastenerError:
            # Its own field says so.
            return
        try:
            self.fields["hole_diameter"].text = clearance_drill(turns.size, self.fit.value)
        except FastenerError:
            self.fields["hole_diameter"].text = ""
            self._no_hole = f"The tables have no clearance hole for {turns}: type it. "

    def _fill_strengths(self) -> None:
        if self.material.value == _YOURS:
            return
        strength = starting_strengths()[self.material.value]
        for name, value in (
            ("bearing_strength", strength.bearing),
            ("shear_strength", strength.shear),
        ):
            self.fields[name].text = f"{value.magnitude:g} {value.units:~P}"

    def _aside(self) -> str:
        return self._no_hole

    def _besides(self) -> str:
        return f"No screw: {self._no_screw}" if self._no_screw else ""

    def _fastener_is_measured(self) -> None:
        self.standard.value = _MEASURED

    def _hole_is_measured(self) -> None:
        self._no_hole = ""
        self.fit.value = _MEASURED

    def _strength_is_yours(self) -> None:
        self.material.value = _YOURS

    # --- sliders -------------------------------------------------------------------------

    def _slid(self, name: str, _change: Any) -> None:
        ends = None if self._quiet else self._ends(name)
        if ends is not None:
            self._sliders[name].fill_in(*ends, self._unit)

    def _ends(self, name: str) -> tuple[Quantity, Quantity] | None:
        """From where to where a slider goes; None where it goes nowhere."""
        pocket, low = self.pocket, 0 * self.pocket.stack.plate_thickness
        nut = pocket.fastener
        if name == "recess":
            high = pocket.recess + pocket.stack.web.thickness - pocket.stack.plate_thickness / 4
        elif not isinstance(nut, Nut):
            return None
        else:
            low = nut.across_flats / _LEAST_CUTTER
            try:
                high = largest_cutter(nut, 180 / nut.sides - 0.1, clearance=pocket.flat_clearance)
            except FlatsError:
                return None
        return (low, high) if high > low else None

    # --- what is made --------------------------------------------------------------------

    def _made(self) -> tuple[_Captured, str]:
        """The pocket and all about it that the fields ask for, and the Python that makes it."""
        asked, find = self._asked(), self._finds
        self._show(asked)
        if find == "cutter_diameter" and self.relief.value != _AS_CUT:
            raise ValueError(
                "the largest cutter is found for corners as it leaves them: choose 'as cut', or "
                "find something else."
            )
        asked -= {find} if find == "nut_clearance" else {find, "across_flats"}
        read = self._read(*(name for name in self.fields if name in asked))
        fastener, told = self._fastener(read)
        lines = []
        given = {name: read[name] for name in (*self._kind.asked, "recess") if name in read}
        names = {name: typed(size) for name, size in given.items()}
        if find == "cutter_diameter":
            usual = counterbore.USUAL["nut_clearance"].like(fastener.across_flats)
            clearance, most = read.get("nut_clearance", usual), read["most_turning"]
            given[find] = read[find] = largest_cutter(fastener, most, clearance=clearance)
            names[find] = f"largest_cutter(nut, {typed(most)}, clearance={typed(clearance)})"
            lines.append(f"nut = {told}")
            told = "nut"
        given |= self._chosen(names)
        given["plate_thickness"] = read["plate_thickness"]
        names = {"plate_thickness": typed(read["plate_thickness"]), **names}
        options = ", ".join(f"{name}={text}" for name, text in names.items())
        pocket = self._kind.pocket(fastener, **given)
        lines.append(f"pocket = {self._kind.pocket.__name__}({told}, {options})")
        screw, no_screw = self._screw_for(pocket, read, lines)
        held = self._held(pocket, read, lines)
        about = {name: read[name] for name in ("cutting_length", "reach") if name in read}
        flutes = whole(read["flutes"]) if "flutes" in read else 1
        cutter = EndMill(read["cutter_diameter"], flutes=flutes, **about)
        width = typed(read["cutter_diameter"])
        if find == "cutter_diameter":
            width = "pocket.seat.cutter_diameter"
        told = ", ".join(
            [width, f"flutes={flutes}", *(f"{n}={typed(s)}" for n, s in about.items())]
        )
        checked = {"screw": screw, "no_screw": no_screw or None, "held": held, "cutter": cutter}
        written = {"screw": "screw", "held": "held", "cutter": f"EndMill({told})"}
        written["no_screw"] = repr(no_screw)
        if "most_turning" in read:
            checked["most_turning"] = read["most_turning"]
            written["most_turning"] = typed(read["most_turning"])
        checked = {name: value for name, value in checked.items() if value is not None}
        listed = ", ".join(f"{name}={written[name]}" for name in checked)
        lines.append(f"checks.counterbore(pocket, {listed})")
        return _Captured(pocket, screw, no_screw, held, checked), "\n".join(lines)

    def _fastener(self, read: Mapping[str, Quantity]) -> tuple[Any, str]:
        kind = self._kind
        if self.standard.value != _MEASURED and kind.maker is not None:
            standard, size = self.standard.value, self.size.value
            return kind.maker(standard, size), f"{kind.maker.__name__}({standard!r}, {size!r})"
        told = [*map(repr, kind.first), *(typed(read[name]) for name in kind.positional)]
        named: dict[str, Any] = {}
        for name in kind.named:
            if name in ("thread", "size"):
                # A washer only asks which screw it is for, not for its pitch.
                turns = read[name]
                named[name] = turns.size if name == "size" else self.fields[name].text.strip()
                told.append(f"{name}={named[name]!r}")
            elif name in read:
                named[_NAMES.get(name, name)] = read[name]
                told.append(f"{_NAMES.get(name, name)}={typed(read[name])}")
        made = kind.make(*kind.first, *(read[name] for name in kind.positional), **named)
        return made, f"{kind.make.__name__}({', '.join(told)})"

    def _chosen(self, names: dict[str, str]) -> dict[str, Any]:
        """What is chosen instead of typed; its text is added to `names`."""
        chosen: dict[str, Any] = {}
        if self._bored_through:
            chosen["through"], names["through"] = True, "True"
        if self.face.value == "B":
            chosen["face"], names["face"] = "B", "'B'"
        if self._kind.make is CapScrew and self.washer.value:
            size = nuts.thread(self.fields["thread"].text).size
            chosen["washer"] = nuts.washer(self.washer.value, size)
            names["washer"] = f"washer({self.washer.value!r}, {size!r})"
        return chosen

    def _screw_for(
        self, pocket: Pocket, read: Mapping[str, Quantity], lines: list[str]
    ) -> tuple[ScrewLength | None, str]:
        """The screw, or why there is none; its line of Python is added to `lines`."""
        if "mating_part" not in read:
            return None, ""
        names = ("mating_part", "washers", "behind", "screw_length")
        given = {name.replace("screw_", ""): read[name] for name in names if name in read}
        told = ", ".join(f"{name}={typed(size)}" for name, size in given.items())
        try:
            screw = pocket.screw(**given)
        except ScrewError as error:
            return None, str(error)
        lines.append(f"screw = pocket.screw({told})")
        return screw, ""

    def _held(
        self, pocket: Pocket, read: Mapping[str, Quantity], lines: list[str]
    ) -> Holding | None:
        """What it holds, if a load was given; its line of Python is added to `lines`."""
        if "load" not in read:
            return None
        strengths = {n: read[n] for n in ("bearing_strength", "shear_strength") if n in read}
        told = "".join(f", {name}={typed(size)}" for name, size in strengths.items())
        lines.append(f"held = pocket.holding({typed(read['load'])}{told})")
        return pocket.holding(read["load"], **strengths)

    # --- what is kept --------------------------------------------------------------------

    def _kept(self) -> Kept:
        asked, find = self._asked(), self._finds
        if find == "cutter_diameter":
            raise KeepingError(
                f"{self.fields[find].text} is the largest cutter that would do, and none of a "
                "drawer. Choose something else to find, and type the cutter you have."
            )
        asked -= {"across_flats" if find == "across_flats" else find}
        if find != "nut_clearance":
            asked -= {"across_flats"}
        feature = {name: self._value(name) if name in asked else None for name in _OF_FEATURE}
        # The hole is told by its diameter.
        feature |= {"through": True if self._bored_through else None, "fit": None}
        cutter = {
            "name": self._called("cutter_diameter", "end mill"),
            "kind": "end mill",
            "diameter": self._value("cutter_diameter"),
            "cutting_length": self._value("cutting_length"),
            "reach": self._value("reach"),
            **self._run_at(),
        }
        if not self.fields["flutes"].blank:
            cutter["flutes"] = self._whole("flutes")
        drawer = {"fastener": self._fastener_kept(), "cutter": cutter}
        if "relief_cutter" in asked:
            drawer["relief_cutter"] = {
                "name": self._called("relief_cutter", "end mill"),
                "kind": "end mill",
                "diameter": self._value("relief_cutter"),
            }
        else:
            feature["relief_cutter"] = None
        if self._kind.make is CapScrew and self.washer.value:
            size = nuts.thread(self.fields["thread"].text).size
            drawer["washer"] = {
                "name": f"{size} washer",
                "kind": "washer",
                "standard": self.washer.value,
                "size": size,
            }
        else:
            feature["washer"] = None
        return Kept(feature, drawer, face=self.face.value, hole=feature["hole_diameter"])

    def _fastener_kept(self) -> dict[str, Any]:
        kind, measured = self._kind, self.standard.value == _MEASURED
        names = (*kind.positional, *kind.named)
        kept: dict[str, Any] = dict.fromkeys(("standard", "size"))
        kept |= dict.fromkeys(_NAMES.get(name, name) for name in names)
        if measured:
            kept |= {_NAMES.get(name, name): self._value(name) for name in names}
            for name in {"thread", "size"} & {*names}:
                turns = self.fields[name].read(self._unit)
                kept[name] = turns.size if name == "size" else self.fields[name].text.strip()
        else:
            kept |= {"standard": self.standard.value, "size": self.size.value}
        size = kept["size"] or kept["thread"]
        return {"name": f"{size} {self.kind.value}", "kind": self.kind.value, **kept}

    def _take(self, taken: Taken) -> str:
        given, cutter = taken.feature.given, taken.drawn("cutter")
        if given["fastener"] is None:
            raise KeepingError(
                f"{taken.feature.name} holds no fastener, and this panel is for what lies in a "
                "pocket. Name one in the file, or look at it in the whole part."
            )
        self._take_fastener(taken)
        self.face.value = taken.feature.face
        self.through.value = "through" if given["through"] else "blind"
        self.find.value = "across_flats" if given["across_flats"] is None else "nut_clearance"
        self.buy.value = _TO_BUY if given["screw_length"] is None else _AT_HAND
        relief = taken.drawn("relief_cutter")
        self.relief.value = "relieved" if relief else _AS_CUT
        washer = taken.drawn("washer").get("standard", "")
        if given["washer"] and washer not in nuts.WASHERS:
            raise KeepingError(
                f"the washer {given['washer']!r} is not from a table, and this panel takes no "
                "other. Give it a standard and a size in the file."
            )
        self.washer.value = washer
        begin = _BEGIN[self._unit]
        self._fill({name: taken.text(name, begin.get(name, "")) for name in _OF_FEATURE})
        self._fill(
            {
                "cutter_diameter": as_text(cutter.get("diameter")),
                "cutting_length": as_text(cutter.get("cutting_length")),
                "reach": as_text(cutter.get("reach")),
                "relief_cutter": as_text(relief.get("diameter", begin["relief_cutter"])),
            }
        )
        self.fields["flutes"].text = as_text(cutter.get("flutes"))
        self._take_run_at(cutter)
        self._take_hole(taken)
        strengths = {
            name: tuple(f"{each.magnitude:g} {each.units:~P}" for each in (row.bearing, row.shear))
            for name, row in starting_strengths().items()
        }
        here = (self.fields["bearing_strength"].text, self.fields["shear_strength"].text)
        alike = (name for name, texts in strengths.items() if texts == here)
        self.material.value = next(alike, _YOURS)
        untold = {"turned": "how the pocket is turned", "measured": "what was measured on it"}
        left = [told for key, told in untold.items() if key in taken.entry]
        return f"Not shown here, and kept: {', '.join(left)}." if left else ""

    def _take_fastener(self, taken: Taken) -> None:
        entry, made = taken.drawn("fastener"), taken.part.fasteners[taken.feature.given["fastener"]]
        self.kind.value = entry["kind"]
        self._fill_tables()
        standard, size = entry.get("standard", _MEASURED), entry.get("size")
        known = nuts.listed(self._kind.tables, standard) if standard in self._kind.tables else ()
        if size in known:
            self.standard.value = standard
            self.size.entry.options = list(known)
            self.size.value = size
            self._fill_fastener()
            return
        self.standard.value = _MEASURED
        for name in (*self._kind.positional, *self._kind.named):
            key = _NAMES.get(name, name)
            self.fields[name].text = as_text(
                getattr(made, key) if "standard" in entry else entry.get(key)
            )

    def _take_hole(self, taken: Taken) -> None:
        if "hole_diameter" not in self._asked():
            return
        made = taken.feature.made
        stack = None if made is None else made.stack
        hole = taken.text("hole_diameter", None if stack is None else stack.hole_diameter)
        turns = nuts.thread(self.fields["size" if self._kind.make is Washer else "thread"].text)
        fit, drill = fit_and_hole(turns.size, hole, self._unit)
        self.fit.value = fit or _MEASURED
        self.fields["hole_diameter"].text = hole if "hole_diameter" in taken.entry else drill

    # --- what is told --------------------------------------------------------------------

    def _tell(self, made: _Captured) -> None:
        self.pocket, self.screw, self.held = made.pocket, made.screw, made.held
        self.findings = checks.counterbore(made.pocket, **made.checked)
        self._no_screw = made.no_screw
        self._fill_found()
        self._figure.draw(made.pocket, made.screw, self._unit)
        self._picture.value = picture(self._figure)
        self._headline.value = self._told_first()
        self._numbers.value = self._number_table()
        self._findings.value = finding_list(self.findings)
        self._line.value = python_line(self.python)

    def _fill_found(self) -> None:
        """Write what was asked for, and beside empty fields what was taken for them."""
        pocket, seat = self.pocket, self.pocket.seat
        with self._quietly():
            taken = {allowed.name: _fine(allowed.size) for allowed in pocket.allowances}
            for name, field in self.fields.items():
                field.usual(taken.get(name, "") if field.optional else "")
            if self._finds and seat is not None:
                found = {
                    "across_flats": seat.across,
                    "cutter_diameter": seat.cutter_diameter,
                    "nut_clearance": pocket.flat_clearance,
                }
                for name, size in found.items():
                    if not self.fields[name].enabled:
                        # The largest cutter rounded up would be too large.
                        show = at_most if name == "cutter_diameter" else _fine
                        self.fields[name].text = show(size)
                        self.fields[name].mark("")
            self._set_sliders()

    def _set_sliders(self) -> None:
        seat = self.pocket.seat
        cutter = None if seat is None else seat.cutter_diameter
        fixed = {"cutter_diameter": self.relief.value != _AS_CUT, "recess": False}
        for name, here in (("cutter_diameter", cutter), ("recess", self.pocket.recess)):
            ends, slider = self._ends(name), self._sliders[name]
            slider.entry.disabled = ends is None or fixed[name] or self._finds == name
            if ends is not None and here is not None:
                slider.stand_at(here, *ends)

    def _told_first(self) -> str:
        """What is typed at the machine, and whether something speaks against it."""
        told = [_told_step(step) for step in self.pocket.stack.steps(self.pocket.face)]
        hole = self.pocket.stack.hole_diameter
        if hole is not None:
            told.append(f"hole {_fine(hole)}")
        if self.screw is not None:
            told.append(f"screw {self.screw.thread}, {sizes.show(self.screw.length)} long")
        lines = "<br>".join(told)
        return f"<div class='headline'>{lines}</div>{finding_counts(self.findings)}"

    def _number_table(self) -> str:
        pocket = self.pocket
        rows: list[tuple[str, Quantity, str]] = []
        for step in pocket.stack.steps(pocket.face):
            # The pocket's size is not the nut's.
            name = "pocket" if step.name == "nut" else step.name
            wide = "diameter" if step.shape == "round" else "across flats"
            rows.append((f"{name} {wide}", step.across, f"of the {step.shape} pocket"))
            rows.append((f"{name} depth", step.depth, f"below face {pocket.face}"))
        rows += self._rows_of_corners()
        proud = pocket.recess.magnitude < 0
        rows.append(
            (
                "proud" if proud else "recess",
                abs(pocket.recess),
                f"of the fastener {'above' if proud else 'below'} the face",
            )
        )
        web = pocket.stack.web
        rows.append(("web", web.thickness, f"left between {web.above} and {web.below}"))
        rows += [
            (allowed.name.replace("_", " "), allowed.size, allowed.reason)
            for allowed in pocket.allowances
            if allowed.name != "recess"
        ]
        found = {"across_flats": "pocket across flats", "cutter_diameter": "cutter", "": ""}
        bold = found.get(self._finds, "nut clearance")
        told = number_table(rows, self._unit, found=[bold])
        if self.screw is not None:
            told += _text_table(str(self.screw).partition("\n")[0], self.screw.rows())
        if self.held is not None:
            told += _text_table("what it holds", self.held.rows())
            told += f"<p>{html.escape(CAUTION)}</p>"
        return told

    def _rows_of_corners(self) -> list[tuple[str, Quantity, str]]:
        seat, turning = self.pocket.seat, self.pocket.turning
        if seat is None or turning is None or seat.cutter_diameter is None:
            return []
        rows = [("cutter", seat.cutter_diameter, "that follows the flats")]
        if turning.least is not None:
            rows.append(("largest nut turns", turning.least, "either way, with sharp corners"))
        if turning.most is not None:
            rows.append(
                ("smallest nut turns", turning.most, f"then held by the {turning.stopped_by}")
            )
        if seat.relief is not None:
            relief = seat.relief
            rows.append(("relief circle", relief.circle_diameter, "the reliefs' centres lie on it"))
            rows.append(("flat left", relief.flat_left, "at most, of each flat"))
        return rows


def _text_table(title: str, rows: list[tuple[str, str]]) -> str:
    lines = "".join(
        f"<tr><td>{html.escape(label)}</td><td>{html.escape(text)}</td></tr>"
        for label, text in rows
    )
    return f"<h4>{html.escape(title)}</h4><table class='numbers'>{lines}</table>"


def _told_step(step: Step) -> str:
    """What is typed at the machine for one step."""
    round_one = step.shape == "round"
    wide = f"⌀{_fine(step.across)}" if round_one else f"{_fine(step.across)} across flats"
    what = step.name if round_one else f"{step.shape} pocket"
    corners = ""
    if step.relief is not None:
        corners = f", corners relieved on ⌀{_fine(step.relief.circle_diameter)}"
    return f"{what} {wide}, {_fine(step.depth)} deep{corners}"


def _likely_table(tables: Mapping[str, str], unit: str) -> str:
    """The first table in the unit in use."""
    inch = [name for name in tables if name.startswith("ASME")]
    return next(iter(inch if unit == "in" and inch else tables), _MEASURED)


def _likely(known: list[str], unit: str) -> str | None:
    """A size in the middle of what the shop has."""
    for size in ("M8", "1/4") if unit == "mm" else ("1/4", "M8"):
        if size in known:
            return size
    return known[0] if known else None


def _display(widget: Any, shown: bool) -> None:
    widget.layout.display = None if shown else "none"
