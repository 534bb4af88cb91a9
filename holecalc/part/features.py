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
from functools import cached_property, partial
from typing import Any, TypeAlias

import numpy as np

from holecalc import callouts, counterbore, fasteners, flats, gauging, helix, holding, nuts, sizes
from holecalc import countersink as _countersink
from holecalc.callouts import Callout, CalloutStep
from holecalc.counterbore import Pocket
from holecalc.countersink import Sink
from holecalc.cutters import Drill, EndMill, VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.form_cutter import Edge, FormCutter
from holecalc.gauging import Correction
from holecalc.helix import Bore
from holecalc.holding import Holding
from holecalc.part.drawer import Cutter, Fastener
from holecalc.part.positions import XY, Positions
from holecalc.part.reading import Table
from holecalc.screws import ScrewError, ScrewLength
from holecalc.sizes import Quantity
from holecalc.stack import Stack, Step

__all__ = ["CornersCut", "Cut", "Drilled", "Feature", "FlatsCut", "Made", "Plate", "Work"]

_fine = partial(sizes.show, fine=True)

KINDS = ("countersink", "counterbore", "bore", "hole", "edge")
FACES = ("A", "B")
SAME = 0.011
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

    @cached_property
    def laps(self) -> tuple[Quantity, ...]:
        """Across the flats of the axis's path, from the middle outwards."""
        assert self.step.cutter_diameter is not None
        return flats.laps(self.step.shape, self.step.across, self.step.cutter_diameter)

    def paths(self, turned: Quantity | None = None) -> tuple[XY, ...]:
        """Where the axis turns on each lap, from the middle [mm].

        Parameters
        ----------
        turned : pint.Quantity, optional
            Of one corner from X; as the pocket lies seen from face A by default.
        """
        turned = self.step.turned if turned is None else turned
        return tuple(
            np.asarray(sizes.mm(flats.corners(self.step.shape, lap, turned))) for lap in self.laps
        )

    @property
    def path_length(self) -> Quantity:
        """Of all laps, at the cutter's axis, without the moves between."""
        total = sum(
            math.dist(corner, path[index - 1])
            for path in self.paths()
            for index, corner in enumerate(path)
        )
        return sizes.from_mm(total, self.step.across.units)


@dataclass(frozen=True)
class CornersCut:
    """The corners of a hexagon or square relieved, by going straight down in each.

    Parameters
    ----------
    step : holecalc.stack.Step
        The pocket, with its relief.
    drill : Drill or None
        Where a drill does it, which goes its point deeper.
    """

    step: Step
    drill: Drill | None = None

    @property
    def relief(self) -> flats.Relief:
        """Where the cutter goes."""
        assert self.step.relief is not None
        return self.step.relief

    def centres(self, turned: Quantity) -> XY:
        """Where it goes down, from the pocket's middle [mm], with one corner at that angle."""
        return np.asarray(sizes.mm(self.relief.centres(turned)))

    @property
    def tip_depth(self) -> Quantity:
        """Of the cutter's end."""
        return self.step.depth if self.drill is None else self.step.depth + self.drill.point_height


Work: TypeAlias = Drilled | Bore | FlatsCut | CornersCut | Sink | Edge


@dataclass(frozen=True)
class Cut:
    """One cut of a feature.

    Parameters
    ----------
    what : str
        In a few words.
    cutter : Cutter
        With what.
    work : Drilled, Bore, FlatsCut, CornersCut, Sink or Edge
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
    corrected : Stack or None
        What is cut away as it is set after a correction, where that is more than is drawn.
    screw : ScrewLength or None
        The one for a captured fastener, where the feature tells what is screwed on.
    no_screw : str
        Why there is none although it does.
    held : Holding or None
        What the fastener carries, where the feature tells a load.
    """

    cuts: tuple[Cut, ...]
    stack: Stack | None
    main: Any
    corrections: tuple[Correction, ...] = ()
    notes: tuple[str, ...] = ()
    corrected: Stack | None = None
    screw: ScrewLength | None = None
    no_screw: str = ""
    held: Holding | None = None

    @property
    def most(self) -> Stack | None:
        """What is cut away at the most: as drawn, or as corrected where that is more."""
        return self.stack if self.corrected is None else self.corrected


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
    given : mapping
        What it was worked out from, by the keys of the file; the callout's sizes among them.
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
    given: Mapping[str, Any] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many there are."""
        return 1 if self.at is None else len(self.at.xy())

    def wanted(self, measured: str) -> Quantity | None:
        """What should have been measured; None where that cannot be told.

        Parameters
        ----------
        measured : str
            A key of :attr:`measured`.
        """
        if self.made is None:
            return None
        main = self.made.main
        return main.cut[measured] if isinstance(main, Sink) else getattr(main, measured)

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
                if abs(off) <= SAME:
                    return cutter
        return self.for_bore(diameter, f"no drill of {_fine(diameter)} and ")

    def for_bore(self, diameter: Quantity, nor: str = "") -> Cutter:
        """The widest end mill that still goes round in a hole of that diameter."""
        mills = [
            cutter
            for cutter in self.cutters.values()
            if isinstance(cutter.tool, EndMill)
            and sizes.mm(cutter.diameter) <= 0.85 * sizes.mm(diameter)
        ]
        if not mills:
            raise MissingCutter(
                f"the drawer has {nor}no end mill that goes round in a hole of {_fine(diameter)}."
            )
        return max(mills, key=lambda cutter: sizes.mm(cutter.diameter))


Settings: TypeAlias = dict[str, Any]

_LENGTHS: Mapping[str, tuple[str, ...]] = {
    "countersink": ("hole_diameter", "top_diameter", "circle_diameter", "depth"),
    "counterbore": (
        *("hole_diameter", "diameter", "depth", "flange_clearance", "barrel_clearance"),
        *("nut_clearance", "head_clearance", "washer_clearance", "gap", "across_flats"),
        *("tip_room", "relief_reach", "mating_part", "washers", "behind", "screw_length"),
    ),
    "bore": (
        *("diameter", "depth", "max_pitch", "pitch", "breakthrough", "finishing"),
        *("pilot_diameter",),
    ),
    "hole": ("diameter", "depth", "breakthrough"),
    "edge": ("offset", "depth", "allowance", "chamfer"),
}
_ANGLES: Mapping[str, tuple[str, ...]] = {
    "counterbore": ("turned", "point_angle", "most_turning"),
    "bore": ("max_ramp_angle",),
}
_HOLDING: Mapping[str, Callable[[Any], Quantity]] = {
    "load": holding.force,
    "bearing_strength": holding.stress,
    "shear_strength": holding.stress,
}
_FOR_ANY_POCKET = ("fastener", "cutter", "hole_cutter")
_SIGNED: Mapping[str, tuple[str, ...]] = {
    "countersink": ("recess", "tip_below"),
    "counterbore": ("recess",),
}
_TEXTS: Mapping[str, tuple[str, ...]] = {
    "countersink": ("fastener", "cutter", "hole_cutter", "fit"),
    "counterbore": ("fastener", "washer", "cutter", "hole_cutter", "fit", "relief_cutter"),
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
    face = _face(table, callout)
    at = table.positions("at") if kind != "edge" else None
    given = _given(table, kind)
    if callout is not None:
        fastener = shop.fasteners.get(given.get("fastener") or "")
        _from_callout(table, kind, callout, given, at, fastener)
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
    elif kind == "counterbore":
        _refuse_unused(table, given, shop.fasteners.get(given["fastener"] or ""))
    if given.get("fit") is not None and given["hole_diameter"] is not None:
        table.fail("fit", "the hole's diameter is told as well, and each fixes the other.")
    if given.get("washer") and not isinstance(shop.fasteners.get(given["washer"]), nuts.Washer):
        table.fail("washer", f"{given['washer']!r} is no washer of this file.")
    # What only a panel asks for is kept for it; the part is no other for it.
    table.table("panel")
    for key, needed in (("bore", "diameter"), ("hole", "diameter"), ("edge", "cutter")):
        if kind == key and given[needed] is None and not table.has(needed):
            table.fail("", f"{needed} is missing.")
    table.done()
    if not table.sound:
        return None
    # What was given and what was measured can have one name, and are not one thing.
    key = json.dumps([kind, face, _written(given), _written(measured)])
    if key not in shop.before:
        shop.before[key] = _worked_out(kind, face, given, measured, shop)
    made, problem, missing = shop.before[key]
    if callout is not None and made is not None and kind == "counterbore":
        other = _other_pocket(callout, made)
        if other:
            table.fail("callout", other)
            return None
    return Feature(
        name, note, kind, face, at, callout, made, problem, missing, table.line, measured, given
    )


def _written(values: Mapping[str, Any]) -> list[str]:
    return [f"{name}={value}" for name, value in values.items() if value is not None]


_SIDES = {"near": "A", "far": "B"}


def _face(table: Table, callout: Callout | None) -> str:
    """The face it is cut from, as the file or the callout says, which may not disagree."""
    sides = {step.side for step in callout.steps if step.side} if callout is not None else set()
    if len(sides) > 1 or "both" in sides:
        table.fail("callout", "it tells both sides. Write a feature for each face.")
    told = next((_SIDES[side] for side in sorted(sides) if side in _SIDES), None)
    face = table.choice("face", FACES, default=told or "A")
    if told is not None and face != told:
        table.fail(
            "face",
            f"the callout's side, seen from face A, is face {told}, and the feature's face is "
            f"{face}.",
        )
    return face


def _given(table: Table, kind: str) -> Settings:
    given: Settings = {key: table.length(key, zero=True) for key in _LENGTHS[kind]}
    given |= {key: table.length(key, signed=True) for key in _SIGNED.get(kind, ())}
    given |= {
        key: table.text(key, required=True) if table.has(key) else None for key in _TEXTS[kind]
    }
    given |= {key: table.angle(key) for key in _ANGLES.get(kind, ())}
    if kind == "counterbore":
        given["through"] = table.flag("through", default=False)
        given |= {key: table.size(key, read) for key, read in _HOLDING.items()}
    if kind == "bore":
        given["finishing_turn"] = table.flag("finishing_turn", default=True)
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


_SCREWED = ("mating_part", "washers", "behind", "screw_length")


def _taken(fastener: Fastener, given: Settings) -> tuple[str, ...]:
    """The keys that a fastener's pocket makes use of."""
    hole, held = ("hole_diameter", "fit"), (*_SCREWED, *_HOLDING)
    if isinstance(fastener, nuts.TNut):
        room = () if given["through"] else ("gap", *hole)
        return ("recess", "flange_clearance", "barrel_clearance", "through", *room, *held)
    if isinstance(fastener, nuts.Nut):
        flats = ("nut_clearance", "across_flats", "turned", "most_turning")
        return ("recess", *flats, "relief_cutter", "relief_reach", *hole, *held)
    if isinstance(fastener, nuts.Insert):
        flange = () if fastener.flange_diameter is None else ("flange_clearance",)
        blind = () if given["through"] else ("tip_room", "point_angle")
        return ("recess", "through", *flange, *blind, *held)
    if isinstance(fastener, nuts.CapScrew):
        return ("recess", "head_clearance", "washer", *hole, *held)
    return ("recess", "washer_clearance", *hole, *held)


def _refuse_unused(table: Table, given: Settings, fastener: Fastener | None) -> None:
    """A key that this pocket makes no use of would be dropped without a word."""
    if fastener is None:
        taken: tuple[str, ...] = ("diameter", "depth", "hole_diameter")
        pocket = "a counterbore without a fastener"
    else:
        taken = _taken(fastener, given)
        pocket = f"the pocket for {fastener}"
    for key, value in given.items():
        if value is None or value is False or key in taken or key in _FOR_ANY_POCKET:
            continue
        table.fail(
            key if table.has(key) else "callout",
            f"{pocket} makes no use of {key}. It takes {', '.join(taken)}.",
        )


_DRAWN = 0.013
"""Millimetres; what rounding to a thou, or to 0.01 mm, does to a size on a drawing."""


def _other_pocket(callout: Callout, made: Made) -> str:
    """How a fastener's pocket is not the callout's: there would be two numbers on one sheet."""
    stack = made.stack
    assert stack is not None
    steps = (*stack.from_a, *stack.from_b)

    def same(one: Quantity | None, other: Quantity) -> bool:
        return one is None or abs(sizes.mm(one) - sizes.mm(other)) <= _DRAWN

    def is_told(told: CalloutStep, step: Step) -> bool:
        wide, deep = same(told.diameter, step.across), same(told.depth, step.depth)
        return step.shape == "round" and wide and deep

    for told in callout.steps:
        if not any(is_told(told, step) for step in steps):
            deep = "" if told.depth is None else f", {_fine(told.depth)} deep"
            return (
                f"it says {told.kind} {_fine(told.diameter)}{deep}, and the fastener's pocket is "
                f"{'; '.join(map(str, steps))}. Put one of them right."
            )
    hole = stack.hole_diameter
    if hole is None:
        hole = min((step.across for step in steps), key=sizes.mm)
    if not same(callout.diameter, hole):
        return f"its hole is {_fine(callout.diameter)}, and the pocket's {_fine(hole)}."
    if stack.hole_diameter is not None:
        return "" if callout.depth is None else "its hole is blind, and the pocket's goes through."
    deepest = max((step.depth for step in steps), key=sizes.mm)
    if callout.through_told or not same(callout.depth, deepest):
        deep = "goes through" if callout.depth is None else f"is {_fine(callout.depth)} deep"
        return f"its hole {deep}, and the pocket's is {_fine(deepest)} deep."
    return ""


def _from_callout(
    table: Table,
    kind: str,
    callout: Callout,
    given: Settings,
    at: Positions | None,
    fastener: Fastener | None,
) -> None:
    """Take what the callout says, and refuse what contradicts it."""
    hole = "hole_diameter" if kind in ("countersink", "counterbore") else "diameter"
    said: Settings = {hole: callout.diameter}
    if isinstance(fastener, nuts.Insert) or given.get("through"):
        # The hole is the fastener's own, and is compared once it is worked out.
        said = {}
    if kind in ("bore", "hole"):
        said["depth"] = callout.depth
        if callout.depth is None and callout.through_told and given["depth"] is not None:
            table.fail("depth", f"{_fine(given['depth'])} is given, and the callout says THRU.")
    elif kind != "edge" and callout.depth is not None and not isinstance(fastener, nuts.Insert):
        table.fail("callout", f"its hole is blind, and that of a {kind} goes through.")
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
    known = _MEASURABLE[kind]
    for key in inner.values:
        if not known:
            inner.fail(key, f"nothing measured on a {kind} changes what is set.")
        elif key not in known:
            inner.fail(key, f"it is not what is measured on a {kind}: {' or '.join(known)}.")
    found: dict[str, Quantity] = {}
    for key in known:
        # A head may stand proud, and a step may be none at all; all else has a size.
        size = inner.length(key, signed=key == "recess", zero=key.startswith("step_"))
        if size is not None:
            found[key] = size
    for one, other in _EITHER:
        if one in found and other in found:
            inner.fail(
                other,
                f"{one} was measured too, and one setting answers both. Keep the one you trust "
                "more.",
            )
    table.sound = table.sound and inner.sound
    return found


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
    diameter: Quantity,
    cutter_name: str | None,
    shop: Workshop,
    depth: Quantity | None = None,
    breakthrough: Quantity | None = None,
) -> Cut:
    """The hole alone, with a drill or round in a helix."""
    cutter = shop.cutter(cutter_name) if cutter_name else shop.for_hole(diameter)
    if isinstance(cutter.tool, Drill):
        off = sizes.mm(cutter.tool.diameter) - sizes.mm(diameter)
        if abs(off) > SAME:
            raise FeatureError(
                f"the hole is {_fine(diameter)} and the drill {cutter.name} "
                f"{_fine(cutter.tool.diameter)}. Take the drill of that diameter."
            )
        through = depth is None
        below = sizes.length("0.02 in" if shop.unit == "in" else "0.5 mm")
        if breakthrough is not None:
            if not through:
                raise FeatureError("a depth and a breakthrough were both given. Give one.")
            below = breakthrough
        deep = shop.plate.thickness + below if depth is None else depth
        return Cut(f"drill {sizes.show(diameter)}", cutter, Drilled(cutter.tool, deep, through))
    bore = _bore(
        _mill(cutter),
        bore_diameter=diameter,
        depth=depth,
        breakthrough=breakthrough,
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
    cut = _hole_cut(diameter, given["cutter"], shop, depth, given["breakthrough"])
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
    leaves_stock = allowance is not None and allowance.magnitude > 0
    if given["finish_cutter"] and not leaves_stock:
        raise FeatureError(
            "finish_cutter is given, and not what the roughing leaves for it on the radius. Give "
            "finishing, or leave finish_cutter out."
        )
    cutter = shop.cutter(given["cutter"]) if given["cutter"] else shop.for_bore(diameter)
    last = shop.cutter(given["finish_cutter"]) if given["finish_cutter"] else cutter
    ends = {
        "depth": depth,
        "breakthrough": given["breakthrough"],
        "plate_thickness": shop.plate.thickness,
        "finishing_turn": given["finishing_turn"],
    }
    limits = {key: given[key] for key in ("max_pitch", "max_ramp_angle")}
    whole = {key: given[key] for key in ("passes", "pitch", "leave_core")}
    cuts, pilot = [], given["pilot_diameter"]
    if leaves_stock:
        rough = diameter - 2 * allowance
        roughed = _bore(
            _mill(cutter), bore_diameter=rough, pilot_diameter=pilot, **ends, **limits, **whole
        )
        cuts.append(Cut(f"rough bore {_fine(rough)}", cutter, roughed))
        pilot = rough
        # The finishing bore takes a thin wall: the turns are its own, and there is no core.
        whole = {}

    def finished(wide: Quantity) -> Bore:
        return _bore(
            _mill(last),
            bore_diameter=wide,
            pilot_diameter=pilot,
            spring_turns=given["spring_turns"],
            **ends,
            **limits,
            **whole,
        )

    def stacked(wide: Quantity) -> Stack:
        if depth is None:
            return Stack(shop.plate.thickness, hole_diameter=wide)
        return _blind(face, wide, depth, None, shop)

    bore = as_set = finished(diameter)
    corrections: tuple[Correction, ...] = ()
    corrected = None
    if measured:
        corrections = (gauging.correct(bore.cut, change="path_diameter", **measured),)
        wide = diameter + corrections[0].new - corrections[0].old
        as_set = finished(wide)
        corrected = stacked(wide) if wide > diameter else None
    finish = "finish bore" if cuts else "bore"
    cuts.append(Cut(f"{finish} {sizes.show(diameter)}", last, as_set))
    return Made(tuple(cuts), stacked(diameter), bore, corrections, (), corrected)


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
    cut_sink, corrected = sink, None
    if measured:
        corrections.append(gauging.correct(sink.cut, **measured))
        cut_sink = _countersink.sink(
            head,
            cutter.tool,
            hole_diameter=hole,
            plate_thickness=shop.plate.thickness,
            tip_below=given["tip_below"],
            circle_diameter=sink.cut.circle_diameter,
            depth=corrections[0].new,
        )
        if corrections[0].new > corrections[0].old:
            corrected = _cone(face, cut_sink, shop)
    cuts = (drilled, Cut(f"countersink {sizes.show(sink.cut.top_diameter)}", cutter, cut_sink))
    stack = _cone(face, sink, shop)
    return Made(cuts, stack, sink, tuple(corrections), tuple(notes), corrected)


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
            name="cone",
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
        relief = shop.cutter(given["relief_cutter"]) if given["relief_cutter"] else None
        if relief is not None and not isinstance(relief.tool, EndMill | Drill):
            raise FeatureError(
                f"{relief.name} does not go straight down and leave its own diameter. Name an end "
                "mill or a drill for the corners."
            )
        return make(
            fastener,
            cutter_diameter=cutter.diameter,
            relief_cutter=None if relief is None else relief.diameter,
            **common,
            **hole,
            **told("nut_clearance", "across_flats", "turned", "relief_reach"),
        )
    if isinstance(fastener, nuts.Insert):
        more = told("flange_clearance", "tip_room", "point_angle")
        return counterbore.pocket_for_insert(fastener, through=given["through"], **common, **more)
    if isinstance(fastener, nuts.CapScrew):
        under = shop.fasteners.get(given["washer"])
        assert under is None or isinstance(under, nuts.Washer)
        return counterbore.pocket_for_cap_screw(
            fastener, washer=under, **common, **hole, **told("head_clearance")
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
    as_set, corrected = stack, None
    if measured:
        corrections = (gauging.correct(pocket.depths(), recess=measured["recess"]),)
        deeper = corrections[0].new - corrections[0].old
        as_set = _deepened(stack, face, deeper)
        corrected = as_set if deeper.magnitude > 0 else None
    cuts = []
    if stack.hole_diameter is not None:
        cuts.append(_hole_cut(stack.hole_diameter, given["hole_cutter"], shop))
    elif given["hole_cutter"] is not None:
        raise FeatureError("hole_cutter is given, and this has no hole. Leave it out.")
    cuts += _step_cuts(as_set.steps(face), stack.hole_diameter, cutter, given, shop)
    if not isinstance(main, Pocket):
        return Made(tuple(cuts), stack, main, corrections, notes, corrected)
    screw, no_screw = _screw(main, given)
    held = None
    if given["load"] is not None:
        strengths = {key: given[key] for key in ("bearing_strength", "shear_strength")}
        held = main.holding(given["load"], **strengths)
    return Made(tuple(cuts), stack, main, corrections, notes, corrected, screw, no_screw, held)


def _deepened(stack: Stack, face: str, deeper: Quantity) -> Stack:
    """The same stack with all that is cut from a face so much deeper."""
    steps = [
        Step(
            step.shape,
            step.across,
            depth=step.depth + deeper,
            cutter_diameter=step.cutter_diameter,
            relief=step.relief,
            turned=step.turned,
            point_angle=step.point_angle,
            name=step.name,
        )
        for step in stack.steps(face)
    ]
    return Stack(
        stack.plate_thickness,
        hole_diameter=stack.hole_diameter,
        **{"from_a" if face == "A" else "from_b": steps},
    )


def _screw(pocket: Pocket, given: Settings) -> tuple[ScrewLength | None, str]:
    """The screw that is asked for, or why there is none."""
    if given["mating_part"] is None:
        return None, ""
    names = {"washers": "washers", "behind": "behind", "screw_length": "length"}
    told = {name: given[key] for key, name in names.items() if given[key] is not None}
    try:
        return pocket.screw(mating_part=given["mating_part"], **told), ""
    except ScrewError as error:
        return None, str(error)


def _step_cuts(
    steps: Sequence[Step],
    hole: Quantity | None,
    cutter: Cutter,
    given: Settings,
    shop: Workshop,
) -> list[Cut]:
    cuts: list[Cut] = []
    start = None
    for step in steps:
        label = step.name or "pocket"
        bore = _bore(
            _mill(cutter),
            bore_diameter=step.across,
            depth=step.depth,
            start_depth=start,
            plate_thickness=shop.plate.thickness,
            pilot_diameter=hole,
        )
        cuts.append(Cut(f"{label}, round {sizes.show(step.across)}", cutter, bore))
        if step.shape != "round":
            cuts.append(
                Cut(f"{step.shape} {sizes.show(step.across)} across flats", cutter, FlatsCut(step))
            )
            if step.relief is not None:
                small = shop.cutter(given["relief_cutter"])
                drill = small.tool if isinstance(small.tool, Drill) else None
                cuts.append(Cut("corners relieved", small, CornersCut(step, drill)))
        start = step.depth
    return cuts


def _make_edge(
    face: str, given: Settings, measured: Mapping[str, Quantity], shop: Workshop
) -> Made:
    cutter = shop.cutter(given["cutter"])
    if not isinstance(cutter.tool, FormCutter):
        raise FeatureError(f"{cutter.name} is not a form cutter. Name one.")
    allowance = given["allowance"] if given["allowance"] is not None else 0
    setting = {key: given[key] for key in ("offset", "depth")}
    if given["chamfer"] is not None:
        best = cutter.tool.chamfer_setting(given["chamfer"])
        setting = {
            key: getattr(best, key) if size is None else size for key, size in setting.items()
        }
    edge = cutter.tool.edge(shop.plate.thickness, allowance=allowance, **setting)
    corrections: tuple[Correction, ...] = ()
    cut_edge = edge
    if measured:
        corrections = edge.correct(**measured)
        new = {"offset": edge.offset, "depth": edge.depth} | {
            each.change: each.new for each in corrections
        }
        cut_edge = cutter.tool.edge(shop.plate.thickness, allowance=allowance, **new)
    return Made((Cut("edge all round", cutter, cut_edge),), None, edge, corrections)
