"""Features of a part: what they are, and the cuts that make them.

A feature is read from the file, worked out once by the module named after it, and broken down
into its cuts in the order they have to be made: the hole, then what goes round it; roughing, then
finishing. What cannot be worked out is kept with the reason, for the checks to tell.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, TypeAlias

import numpy as np

from holecalc import callouts, counterbore, fasteners, flats, gauging, helix, nuts, sizes
from holecalc import countersink as _countersink
from holecalc.callouts import Callout, CalloutStep
from holecalc.counterbore import Pocket
from holecalc.countersink import Sink
from holecalc.cutters import Drill, EndMill, VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.form_cutter import Edge, FormCutter
from holecalc.gauging import Correction
from holecalc.helix import Bore
from holecalc.part.drawer import Cutter, Fastener
from holecalc.part.positions import XY, Positions
from holecalc.part.reading import Table
from holecalc.sizes import Quantity
from holecalc.stack import Stack, Step

__all__ = ["Cut", "Drilled", "Feature", "FlatsCut", "Made", "Plate", "ReliefCut", "Work"]

_fine = partial(sizes.show, fine=True)

KINDS = ("countersink", "counterbore", "bore", "hole", "edge")
FACES = ("A", "B")
_SAME = 0.011
"""Millimetres; a drill within this of a hole is the drill for it."""


class FeatureError(ValueError):
    """A feature cannot be worked out; the message says why, and what would help."""


class MissingCutter(FeatureError):
    """The cutter a feature needs is not in the drawer."""


@dataclass(frozen=True)
class Plate:
    """What the part is made of.

    Parameters
    ----------
    length, width : pint.Quantity
        Along X and Y.
    thickness : pint.Quantity
        As measured.
    material : str
        What it is.
    """

    length: Quantity
    width: Quantity
    thickness: Quantity
    material: str

    def __str__(self) -> str:
        size = " × ".join(sizes.show(size) for size in (self.length, self.width, self.thickness))
        return f"{self.material or 'plate'}, {size}"


@dataclass(frozen=True)
class Drilled:
    """A hole drilled straight down.

    Parameters
    ----------
    drill : Drill
        With what.
    depth : pint.Quantity
        Of the full diameter, below the face.
    through : bool
        Whether it goes through.
    """

    drill: Drill
    depth: Quantity
    through: bool

    @property
    def tip_depth(self) -> Quantity:
        """Of the drill's point."""
        return self.depth + self.drill.point_height


@dataclass(frozen=True)
class FlatsCut:
    """The flats of a hexagon or square, followed at full depth after the round was cut.

    Parameters
    ----------
    step : holecalc.stack.Step
        The pocket.
    """

    step: Step

    @property
    def path_length(self) -> Quantity:
        """Once round, at the cutter's axis."""
        corners = sizes.mm(self.step.path_corners)
        total = sum(math.dist(corner, corners[index - 1]) for index, corner in enumerate(corners))
        return sizes.from_mm(total, self.step.across.units)


@dataclass(frozen=True)
class ReliefCut:
    """The corners of a hexagon or square relieved, straight down at each.

    Parameters
    ----------
    step : holecalc.stack.Step
        The pocket, with its relief.
    """

    step: Step

    @property
    def relief(self) -> flats.Relief:
        """Where the cutter goes."""
        assert self.step.relief is not None
        return self.step.relief

    def centres(self, turned: Quantity) -> XY:
        """Where it goes down, from the pocket's middle [mm], with one corner at that angle."""
        return np.asarray(sizes.mm(self.relief.centres(turned)))


Work: TypeAlias = Drilled | Bore | FlatsCut | ReliefCut | Sink | Edge


@dataclass(frozen=True)
class Cut:
    """One cut of a feature.

    Parameters
    ----------
    what : str
        In a few words.
    cutter : Cutter
        With what.
    work : Drilled, Bore, FlatsCut, ReliefCut, Sink or Edge
        The numbers.
    """

    what: str
    cutter: Cutter
    work: Work


@dataclass(frozen=True)
class Made:
    """A feature worked out.

    Parameters
    ----------
    cuts : tuple of Cut
        In the order they have to be made.
    stack : Stack or None
        What is cut away about each position; None for an edge.
    main : Sink, Pocket, Stack, Bore, Drilled or Edge
        What the module named after the feature says.
    corrections : tuple of Correction
        What the first part's measurements changed.
    notes : tuple of str
        What was taken without being told.
    """

    cuts: tuple[Cut, ...]
    stack: Stack | None
    main: Any
    corrections: tuple[Correction, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Feature:
    """A feature of the part.

    Parameters
    ----------
    name, note : str
        As typed.
    kind : str
        ``"countersink"``, ``"counterbore"``, ``"bore"``, ``"hole"`` or ``"edge"``.
    face : {"A", "B"}
        It is cut from.
    at : Positions or None
        Where; None for an edge, which goes all round.
    callout : Callout or None
        The drawing's, where the file has it.
    made : Made or None
        Worked out; None where it could not be.
    problem : str
        Why not.
    missing : str
        Which cutter that lacks.
    line : int
        Of the file.
    measured : mapping
        What was measured on the first part, by the name of the quantity.
    """

    name: str
    note: str
    kind: str
    face: str
    at: Positions | None
    callout: Callout | None
    made: Made | None
    problem: str
    missing: str
    line: int
    measured: Mapping[str, Quantity] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many there are."""
        return 1 if self.at is None else len(self.at.xy())

    def as_callout(self, unit: str) -> Callout | None:
        """The feature as a drawing calls it out; None for what no callout tells.

        The file's own callout where it has one, else one of what was worked out, rounded as
        calculated sizes are shown. Hexagons and squares, and what could not be worked out, have
        none.

        Parameters
        ----------
        unit : {"mm", "in"}
            Of the drawing.
        """

        def told(size: Quantity) -> Quantity:
            return sizes.length(sizes.show(size, unit, fine=True))

        if self.callout is not None or self.made is None or self.made.stack is None:
            return self.callout
        stack, main = self.made.stack, self.made.main
        steps = stack.steps(self.face)
        if any(step.shape != "round" for step in steps):
            return None
        if isinstance(main, Sink):
            cut = main.cut
            cone = CalloutStep("countersink", told(cut.top_diameter), cut.included_angle)
            return Callout(told(cut.hole_diameter), None, self.count, (cone,))
        bores = tuple(
            CalloutStep("counterbore", told(step.across), depth=told(step.depth)) for step in steps
        )
        if stack.hole_diameter is not None:
            return Callout(told(stack.hole_diameter), None, self.count, bores)
        *wider, hole = steps
        return Callout(
            told(hole.across), told(hole.depth), self.count, bores[: len(wider)], through_told=False
        )


# --- reading -------------------------------------------------------------------------------------


@dataclass
class Workshop:
    """What features are worked out with: plate and drawers, and what was worked out before.

    Features that say the same but for name and place are worked out once.
    """

    plate: Plate
    cutters: Mapping[str, Cutter]
    fasteners: Mapping[str, Fastener]
    unit: str
    before: dict[str, tuple[Made | None, str, str]] = field(default_factory=dict)
    unusable: set[str] = field(default_factory=set)

    def cutter(self, name: str) -> Cutter:
        """A cutter by its name."""
        try:
            return self.cutters[name]
        except KeyError:
            known = ", ".join(self.cutters) or "nothing"
            raise MissingCutter(
                f"the cutter {name!r} is not in the drawer, which holds {known}."
            ) from None

    def for_hole(self, diameter: Quantity) -> Cutter:
        """A drill of that diameter, or else the widest end mill that still goes round in it."""
        for cutter in self.cutters.values():
            if isinstance(cutter.tool, Drill):
                off = sizes.mm(cutter.tool.diameter) - sizes.mm(diameter)
                if abs(off) <= _SAME:
                    return cutter
        mills = [
            cutter
            for cutter in self.cutters.values()
            if isinstance(cutter.tool, EndMill)
            and sizes.mm(cutter.diameter) <= 0.85 * sizes.mm(diameter)
        ]
        if not mills:
            raise MissingCutter(
                f"the drawer has no drill of {_fine(diameter)} and no end mill that goes round "
                "in such a hole."
            )
        return max(mills, key=lambda cutter: sizes.mm(cutter.diameter))


Settings: TypeAlias = dict[str, Any]

_COMMON = ("name", "kind", "face", "at", "callout", "note", "measured")
_LENGTHS: Mapping[str, tuple[str, ...]] = {
    "countersink": ("hole_diameter", "top_diameter", "circle_diameter", "depth"),
    "counterbore": (
        *("hole_diameter", "diameter", "depth", "flange_clearance", "barrel_clearance"),
        *("nut_clearance", "head_clearance", "washer_clearance", "gap", "across_flats"),
        *("tip_room",),
    ),
    "bore": ("diameter", "depth", "max_pitch", "breakthrough", "finishing"),
    "hole": ("diameter", "depth", "breakthrough"),
    "edge": ("offset", "depth", "allowance"),
}
_SIGNED: Mapping[str, tuple[str, ...]] = {
    "countersink": ("recess", "tip_below"),
    "counterbore": ("recess",),
}
_TEXTS: Mapping[str, tuple[str, ...]] = {
    "countersink": ("fastener", "cutter", "hole_cutter", "fit"),
    "counterbore": ("fastener", "cutter", "hole_cutter", "fit", "relief_cutter"),
    "bore": ("cutter", "finish_cutter"),
    "hole": ("cutter",),
    "edge": ("cutter",),
}
_MEASURABLE: Mapping[str, tuple[str, ...]] = {
    "countersink": ("top_diameter", "cone_depth"),
    "counterbore": ("recess",),
    "bore": ("bore_diameter",),
    "hole": (),
    "edge": ("step_on_face", "step_on_wall", "leg_on_face", "leg_on_wall"),
}
_EITHER = (
    ("top_diameter", "cone_depth"),
    ("step_on_face", "leg_on_face"),
    ("step_on_wall", "leg_on_wall"),
)
"""Measurements that the same setting answers."""


def read_feature(table: Table, shop: Workshop) -> Feature | None:
    """Read one ``[[feature]]`` and work it out."""
    name = table.text("name", required=True)
    note = table.text("note")
    callout = None
    if table.has("callout"):
        typed = table.text("callout", required=True)
        callout = table.made(lambda: callouts.read(typed, shop.unit), "callout")
    kind = table.choice("kind", KINDS, default=None if callout is None else callout.kind)
    face = table.choice("face", FACES, default="A")
    at = table.positions("at") if kind != "edge" else None
    given = _given(table, kind)
    if callout is not None:
        _from_callout(table, kind, callout, given, at)
    measured = _measured(table, kind)
    if given.get("fastener") in shop.unusable:
        table.sound = False
    elif (
        kind == "counterbore"
        and given["fastener"] is not None
        and given["fastener"] not in shop.fasteners
    ):
        known = ", ".join(shop.fasteners) or "nothing"
        table.fail("fastener", f"{given['fastener']!r} is not in the file, which has {known}.")
    elif kind == "countersink":
        _wants_flat_head(table, given, shop)
    for key, needed in (("bore", "diameter"), ("hole", "diameter"), ("edge", "cutter")):
        if kind == key and given[needed] is None and not table.has(needed):
            table.fail("", f"{needed} is missing.")
    table.done()
    if not table.sound:
        return None
    key = json.dumps(
        [kind, face, *(f"{name}={value}" for name, value in (given | measured).items())]
    )
    if key not in shop.before:
        shop.before[key] = _worked_out(kind, face, given, measured, shop)
    made, problem, missing = shop.before[key]
    return Feature(
        name, note, kind, face, at, callout, made, problem, missing, table.line, measured
    )


def _given(table: Table, kind: str) -> Settings:
    given: Settings = {key: table.length(key, zero=True) for key in _LENGTHS[kind]}
    given |= {key: table.length(key, signed=True) for key in _SIGNED.get(kind, ())}
    given |= {
        key: table.text(key, required=True) if table.has(key) else None for key in _TEXTS[kind]
    }
    if kind == "counterbore":
        given["turned"] = table.angle("turned")
        given["through"] = table.flag("through", default=False)
    if kind == "bore":
        given["max_ramp_angle"] = table.angle("max_ramp_angle")
        given["passes"] = table.integer("passes") if table.has("passes") else None
        given["leave_core"] = table.flag("leave_core", default=False)
        given["spring_turns"] = table.integer("spring_turns", default=0, least=0)
    return given


def _wants_flat_head(table: Table, given: Settings, shop: Workshop) -> None:
    name = given["fastener"]
    heads = [key for key, each in shop.fasteners.items() if isinstance(each, FlatHead)]
    if name is None:
        table.fail("", "fastener is missing: which flat head lies in it?")
    elif name not in heads:
        known = ", ".join(heads) or "none"
        table.fail("fastener", f"{name!r} is no flat head of this file. Those are: {known}.")
    if given["cutter"] is None and not table.has("cutter"):
        table.fail("", "cutter is missing: which vee cutter cuts it?")


def _from_callout(
    table: Table, kind: str, callout: Callout, given: Settings, at: Positions | None
) -> None:
    """Take what the callout says, and refuse what contradicts it."""
    hole = "hole_diameter" if kind in ("countersink", "counterbore") else "diameter"
    said: Settings = {hole: callout.diameter}
    if kind in ("bore", "hole"):
        said["depth"] = callout.depth
    steps = [step for step in callout.steps if step.kind in (kind, "spotface")]
    if len(callout.steps) > 1 or len(steps) != len(callout.steps):
        table.fail("callout", f"a {kind} takes one such step; write a feature for each face.")
        return
    if kind == "edge" or callout.kind not in (kind, "hole"):
        table.fail("callout", f"it is that of a {callout.kind}, and the feature is a {kind}.")
        return
    for step in steps:
        if kind == "countersink":
            said["top_diameter"] = step.diameter
        elif given["fastener"] is None:
            said |= {"diameter": step.diameter, "depth": step.depth}
    for key, size in said.items():
        if size is None:
            continue
        if given[key] is not None and abs(sizes.mm(given[key]) - sizes.mm(size)) > 1e-6:
            table.fail(
                key, f"{sizes.show(given[key])} is given and the callout says {sizes.show(size)}."
            )
        given[key] = size
    places = 0 if at is None else len(at.xy())
    if at is not None and callout.count != places:
        table.fail("callout", f"it says {callout.count} and there are {places} positions.")
    if kind == "countersink" and steps:
        given["callout_angle"] = steps[0].included_angle


def _measured(table: Table, kind: str) -> dict[str, Quantity]:
    inner = table.table("measured")
    if inner is None:
        return {}
    if not _MEASURABLE[kind]:
        table.fail("measured", f"nothing measured on a {kind} changes what is set.")
    found = {key: inner.length(key, signed=True) for key in _MEASURABLE[kind]}
    for one, other in _EITHER:
        if found.get(one) is not None and found.get(other) is not None:
            inner.fail(
                other,
                f"{one} was measured too, and one setting answers both. Keep the one you trust "
                "more.",
            )
    inner.done()
    table.sound = table.sound and inner.sound
    return {key: size for key, size in found.items() if size is not None}


# --- working out ---------------------------------------------------------------------------------


def _worked_out(
    kind: str, face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> tuple[Made | None, str, str]:
    work: Callable[..., Made] = {
        "countersink": _make_countersink,
        "counterbore": _make_counterbore,
        "bore": _make_bore,
        "hole": _make_hole,
        "edge": _make_edge,
    }[kind]
    try:
        return work(face, given, measured, shop), "", ""
    except MissingCutter as error:
        return None, "", str(error)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        return None, str(error) or type(error).__name__, ""


def _hole_cut(
    diameter: Quantity, cutter_name: str | None, shop: Workshop, depth: Quantity | None = None
) -> Cut:
    """The hole alone, with a drill or round in a helix."""
    cutter = shop.cutter(cutter_name) if cutter_name else shop.for_hole(diameter)
    if isinstance(cutter.tool, Drill):
        off = sizes.mm(cutter.tool.diameter) - sizes.mm(diameter)
        if abs(off) > _SAME:
            raise FeatureError(
                f"the hole is {_fine(diameter)} and the drill {cutter.name} "
                f"{_fine(cutter.tool.diameter)}. Take the drill of that diameter."
            )
        through = depth is None
        below = sizes.length("0.02 in" if shop.unit == "in" else "0.5 mm")
        deep = shop.plate.thickness + below if depth is None else depth
        return Cut(f"drill {sizes.show(diameter)}", cutter, Drilled(cutter.tool, deep, through))
    bore = _bore(
        _mill(cutter),
        bore_diameter=diameter,
        depth=depth,
        plate_thickness=shop.plate.thickness,
    )
    return Cut(f"bore {sizes.show(diameter)}", cutter, bore)


def _mill(cutter: Cutter) -> EndMill:
    if not isinstance(cutter.tool, EndMill):
        raise FeatureError(f"{cutter.name} is not an end mill. Name one.")
    return cutter.tool


MOST_RINGS = 100


def _bore(mill: EndMill, *, bore_diameter: Quantity, **options: Any) -> Bore:
    """A helical bore, unless it is a pocket that nobody would go round and round in."""
    rings = sizes.mm(bore_diameter) / sizes.mm(mill.cutting_diameter)
    if rings > MOST_RINGS and not options.get("leave_core"):
        raise FeatureError(
            f"a bore of {_fine(bore_diameter)} with a cutter of {_fine(mill.cutting_diameter)} "
            f"takes some {rings:.0f} rings. Take a wider cutter, or leave the core (leave_core)."
        )
    return helix.bore(mill, bore_diameter=bore_diameter, **options)


def _make_hole(face: str, given: Settings, measured: Any, shop: Workshop) -> Made:
    diameter, depth = given["diameter"], given["depth"]
    cut = _hole_cut(diameter, given["cutter"], shop, depth)
    if depth is None:
        return Made((cut,), Stack(shop.plate.thickness, hole_diameter=diameter), cut.work)
    point = cut.work.drill.point_angle if isinstance(cut.work, Drilled) else None
    if point is not None and sizes.rad(point) >= math.pi:
        point = None
    return Made((cut,), _blind(face, diameter, depth, point, shop), cut.work)


def _blind(
    face: str, diameter: Quantity, depth: Quantity, point: Quantity | None, shop: Workshop
) -> Stack:
    step = Step("round", diameter, depth=depth, point_angle=point)
    return Stack(shop.plate.thickness, **{"from_a" if face == "A" else "from_b": [step]})


def _make_bore(
    face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> Made:
    diameter, depth, allowance = given["diameter"], given["depth"], given["finishing"]
    cutter = shop.cutter(given["cutter"]) if given["cutter"] else shop.for_hole(diameter)
    last = shop.cutter(given["finish_cutter"]) if given["finish_cutter"] else cutter
    limits = {
        key: given[key] for key in ("max_pitch", "max_ramp_angle", "passes", "leave_core")
    } | {"depth": depth, "breakthrough": given["breakthrough"]}
    corrected = diameter
    corrections: tuple[Correction, ...] = ()
    planned = _bore(
        _mill(last), bore_diameter=diameter, plate_thickness=shop.plate.thickness, **limits
    )
    if measured:
        corrections = (
            gauging.correct(
                planned.cut, change="path_diameter", bore_diameter=measured["bore_diameter"]
            ),
        )
        corrected = diameter + corrections[0].new - corrections[0].old
    cuts = []
    if (allowance is not None and allowance.magnitude) or last is not cutter:
        rough = diameter - 2 * (allowance if allowance is not None else 0 * diameter)
        if sizes.mm(rough) < sizes.mm(diameter):
            roughed = _bore(
                _mill(cutter), bore_diameter=rough, plate_thickness=shop.plate.thickness, **limits
            )
            cuts.append(Cut(f"rough bore {_fine(rough)}", cutter, roughed))
        limits |= {"passes": None, "max_pitch": None, "max_ramp_angle": None, "leave_core": False}
        pilot = rough if cuts else None
    else:
        pilot = None
    bore = _bore(
        _mill(last),
        bore_diameter=corrected,
        plate_thickness=shop.plate.thickness,
        pilot_diameter=pilot,
        spring_turns=given["spring_turns"],
        **limits,
    )
    finish = "finish bore" if cuts else "bore"
    cuts.append(Cut(f"{finish} {sizes.show(diameter)}", last, bore))
    if depth is None:
        stack = Stack(shop.plate.thickness, hole_diameter=diameter)
    else:
        stack = _blind(face, diameter, depth, None, shop)
    return Made(tuple(cuts), stack, bore, corrections)


def _make_countersink(
    face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> Made:
    head = shop.fasteners[given["fastener"]]
    cutter = shop.cutter(given["cutter"])
    if not isinstance(cutter.tool, VeeCutter):
        raise FeatureError(f"{cutter.name} is not a vee cutter. Name one.")
    assert isinstance(head, FlatHead)
    angle = given.get("callout_angle")
    if angle is not None and abs((angle - cutter.tool.included_angle).m_as("deg")) > 1e-6:
        raise FeatureError(
            f"the callout's angle is {sizes.show(angle)} and {cutter.name} has "
            f"{sizes.show(cutter.tool.included_angle)}. Take a cutter of the callout's angle."
        )
    hole, notes = given["hole_diameter"], []
    if hole is None:
        fit = given["fit"] or "normal"
        size = head.name.split(" ")[0]
        hole = fasteners.clearance_hole(size, fit)
        notes.append(f"hole {sizes.show(hole)}: the {fit} clearance hole for {size}")
    how = {
        key: given[key]
        for key in ("recess", "top_diameter", "circle_diameter", "depth", "tip_below")
    }
    sink = _countersink.sink(
        head, cutter.tool, hole_diameter=hole, plate_thickness=shop.plate.thickness, **how
    )
    drilled = _hole_cut(hole, given["hole_cutter"], shop)
    corrections: list[Correction] = []
    cut_sink = sink
    if measured:
        ((name, size), *_) = measured.items()
        corrections.append(gauging.correct(sink.cut, **{name: size}))
        cut_sink = _countersink.sink(
            head,
            cutter.tool,
            hole_diameter=hole,
            plate_thickness=shop.plate.thickness,
            tip_below=given["tip_below"],
            circle_diameter=sink.cut.circle_diameter,
            depth=corrections[0].new,
        )
    cuts = (drilled, Cut(f"countersink {sizes.show(sink.cut.top_diameter)}", cutter, cut_sink))
    return Made(cuts, _cone(face, sink, shop), sink, tuple(corrections), tuple(notes))


CONE_STEPS = 8


def _cone(face: str, sink: Sink, shop: Workshop) -> Stack:
    """A cone as steps, each as wide as the cone is at its upper end: never less than is cut."""
    cut = sink.cut
    top, hole, deep = cut.top_diameter, cut.hole_diameter, cut.cone_depth
    deep = min(deep, 0.999 * shop.plate.thickness)
    steps = [
        Step(
            "round",
            top - (top - hole) * index / CONE_STEPS,
            depth=deep * (index + 1) / CONE_STEPS,
        )
        for index in range(CONE_STEPS)
    ]
    return Stack(
        shop.plate.thickness,
        hole_diameter=hole,
        **{"from_a" if face == "A" else "from_b": steps},
    )


def _pocket(
    face: str, fastener: Fastener, given: Settings, cutter: Cutter, shop: Workshop
) -> Pocket:
    """The pocket for a fastener, with the clearances that such a pocket has."""
    thickness = shop.plate.thickness

    def told(*keys: str) -> Settings:
        return {key: given[key] for key in keys if given[key] is not None}

    common: Settings = {"plate_thickness": thickness, "face": face, **told("recess")}
    hole = told("hole_diameter", "fit")
    if isinstance(fastener, nuts.TNut):
        more = told("flange_clearance", "barrel_clearance", "gap")
        return counterbore.pocket_for_t_nut(
            fastener, through=given["through"], **common, **hole, **more
        )
    if isinstance(fastener, nuts.Nut):
        make = (
            counterbore.pocket_for_hex_nut
            if fastener.shape == "hexagon"
            else counterbore.pocket_for_square_nut
        )
        relief = shop.cutter(given["relief_cutter"]).diameter if given["relief_cutter"] else None
        return make(
            fastener,
            cutter_diameter=cutter.diameter,
            relief_cutter=relief,
            **common,
            **hole,
            **told("nut_clearance", "across_flats", "turned"),
        )
    if isinstance(fastener, nuts.Insert):
        more = told("flange_clearance", "tip_room")
        return counterbore.pocket_for_insert(fastener, through=given["through"], **common, **more)
    if isinstance(fastener, nuts.CapScrew):
        return counterbore.pocket_for_cap_screw(
            fastener, **common, **hole, **told("head_clearance")
        )
    if isinstance(fastener, nuts.Washer):
        return counterbore.pocket_for_washer(fastener, **common, **hole, **told("washer_clearance"))
    raise FeatureError("a flat head lies in a countersink. Make the feature one.")


def _make_counterbore(
    face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> Made:
    fastener = shop.fasteners[given["fastener"]] if given["fastener"] else None
    if given["cutter"] is None:
        raise FeatureError("cutter is missing. Name the end mill that cuts the pocket.")
    cutter = shop.cutter(given["cutter"])
    _mill(cutter)
    corrections: tuple[Correction, ...] = ()
    notes: tuple[str, ...] = ()
    deeper: Quantity = 0 * shop.plate.thickness
    if fastener is None:
        wide, deep = given["diameter"], given["depth"]
        if wide is None or deep is None:
            raise FeatureError("without a fastener, a diameter and a depth are needed.")
        step = Step("round", wide, depth=deep)
        stack = Stack(
            shop.plate.thickness,
            hole_diameter=given["hole_diameter"],
            **{"from_a" if face == "A" else "from_b": [step]},
        )
        main: Pocket | Stack = stack
        if measured:
            raise FeatureError("without a fastener nothing has a recess that could be measured.")
    else:
        main = pocket = _pocket(face, fastener, given, cutter, shop)
        stack = pocket.stack
        notes = tuple(map(str, pocket.allowances))
        if measured:
            corrections = (gauging.correct(pocket.depths(), recess=measured["recess"]),)
            deeper = corrections[0].new - corrections[0].old
    cuts = [_hole_cut(stack.hole_diameter, given["hole_cutter"], shop)] * (
        stack.hole_diameter is not None
    )
    cuts += _step_cuts(stack.steps(face), stack.hole_diameter, cutter, given, shop, deeper)
    return Made(tuple(cuts), stack, main, corrections, notes)


def _step_cuts(
    steps: Sequence[Step],
    hole: Quantity | None,
    cutter: Cutter,
    given: Settings,
    shop: Workshop,
    deeper: Quantity,
) -> list[Cut]:
    cuts: list[Cut] = []
    start = None
    for step in steps:
        depth = step.depth + deeper
        label = step.name or "pocket"
        bore = _bore(
            _mill(cutter),
            bore_diameter=step.across,
            depth=depth,
            start_depth=start,
            plate_thickness=shop.plate.thickness,
            pilot_diameter=hole,
        )
        cuts.append(Cut(f"{label}, round {sizes.show(step.across)}", cutter, bore))
        if step.shape != "round":
            flat = Step(
                step.shape,
                step.across,
                depth=depth,
                cutter_diameter=step.cutter_diameter,
                relief=step.relief,
                turned=step.turned,
                name=step.name,
            )
            cuts.append(
                Cut(f"{step.shape} {sizes.show(step.across)} across flats", cutter, FlatsCut(flat))
            )
            if step.relief is not None and given["relief_cutter"]:
                small = shop.cutter(given["relief_cutter"])
                _mill(small)
                cuts.append(Cut("corners relieved", small, ReliefCut(flat)))
        start = depth
    return cuts


def _make_edge(
    face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> Made:
    cutter = shop.cutter(given["cutter"])
    if not isinstance(cutter.tool, FormCutter):
        raise FeatureError(f"{cutter.name} is not a form cutter. Name one.")
    allowance = given["allowance"] if given["allowance"] is not None else 0
    edge = cutter.tool.edge(
        shop.plate.thickness, offset=given["offset"], depth=given["depth"], allowance=allowance
    )
    corrections: tuple[Correction, ...] = ()
    cut_edge = edge
    if measured:
        corrections = edge.correct(**measured)
        new = {"offset": edge.offset, "depth": edge.depth} | {
            each.change: each.new for each in corrections
        }
        cut_edge = cutter.tool.edge(shop.plate.thickness, allowance=allowance, **new)
    return Made((Cut("edge all round", cutter, cut_edge),), None, edge, corrections)
