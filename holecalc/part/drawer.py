"""The drawer: cutters and fasteners of a part file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from holecalc import fasteners, nuts, sizes
from holecalc.cutters import Drill, EndMill, VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.form_cutter import SHAPES, UNCERTAINTIES, FormCutter, read_trace
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer
from holecalc.part.reading import Table
from holecalc.sizes import Quantity

__all__ = ["Cutter", "Fastener", "Tool", "read_cutter", "read_fastener"]


Tool: TypeAlias = Drill | EndMill | VeeCutter | FormCutter
Fastener: TypeAlias = FlatHead | TNut | Nut | Insert | CapScrew | Washer


@dataclass(frozen=True)
class Cutter:
    """A cutter of the drawer, with what it is run at.

    Parameters
    ----------
    name : str
        What the drawer calls it.
    tool : Drill, EndMill, VeeCutter or FormCutter
        What it is.
    spindle_speed, feed, chip_load : pint.Quantity or None
        What it is run at, where the file says so. The feed is that of the wall for an end mill,
        straight down for a drill, and of the axis for the others.
    plunge_feed : pint.Quantity or None
        Of an end mill, straight down.
    maximum_spindle_speed : pint.Quantity or None
        Marked on it.
    reach : pint.Quantity or None
        How deep it goes before what holds it meets the plate: from the tip to the holder, or the
        length of a drill's flutes.
    """

    name: str
    tool: Tool
    spindle_speed: Quantity | None = None
    feed: Quantity | None = None
    chip_load: Quantity | None = None
    plunge_feed: Quantity | None = None
    maximum_spindle_speed: Quantity | None = None
    reach: Quantity | None = None

    @property
    def widest(self) -> Quantity:
        """The larger of what it cuts and its shank."""
        shank = getattr(self.tool, "shank_diameter", None)
        return self.diameter if shank is None else max(self.diameter, shank)

    @property
    def diameter(self) -> Quantity:
        """The largest it cuts."""
        if isinstance(self.tool, Drill):
            return self.tool.diameter
        if isinstance(self.tool, FormCutter):
            return self.tool.largest_diameter
        return self.tool.cutting_diameter

    def __str__(self) -> str:
        return self.name

    def told(self) -> str:
        """Its dimensions, in a few words."""
        if isinstance(self.tool, Drill):
            return f"drill {sizes.show(self.tool.diameter)}, {sizes.show(self.tool.point_angle)}"
        if isinstance(self.tool, EndMill):
            flutes = f"{self.tool.flutes} flute{'s' * (self.tool.flutes > 1)}"
            return f"end mill {sizes.show(self.tool.cutting_diameter)}, {flutes}"
        if isinstance(self.tool, VeeCutter):
            tip = f", tip {sizes.show(self.tool.tip_diameter)}" * bool(
                self.tool.tip_diameter.magnitude
            )
            return (
                f"vee cutter {sizes.show(self.tool.cutting_diameter)}, "
                f"{sizes.show(self.tool.included_angle)}{tip}"
            )
        return f"form cutter, {self.tool.shape}, {sizes.show(self.tool.largest_diameter)}"


CUTTERS = ("drill", "end mill", "vee", "form")


def read_cutter(table: Table) -> Cutter | None:
    """Read one ``[[cutter]]``."""
    name = table.text("name", required=True)
    kind = table.choice("kind", CUTTERS)
    tool = {"drill": _drill, "end mill": _end_mill, "vee": _vee, "form": _form}[kind](table)
    speed = table.spindle_speed("spindle_speed")
    feed, chip = table.feed("feed"), table.length("chip_load")
    if feed is not None and chip is not None:
        table.fail("feed", "a feed and a chip load were both given, and each fixes the other.")
    if isinstance(tool, EndMill):
        plunge, marked, reach = table.feed("plunge_feed"), tool.maximum_spindle_speed, tool.reach
    else:
        plunge, marked = None, table.spindle_speed("maximum_spindle_speed")
        reach = tool.length if isinstance(tool, Drill) else table.length("reach")
    table.done()
    if tool is None or not table.sound:
        return None
    return Cutter(name, tool, speed, feed, chip, plunge, marked, reach)


def _drill(table: Table) -> Tool | None:
    diameter = table.length("diameter", required=True)
    angle, long = table.angle("point_angle"), table.length("length")
    if diameter is None or not table.sound:
        return None
    return table.made(lambda: Drill(diameter, point_angle=angle or 118, length=long))


def _end_mill(table: Table) -> Tool | None:
    diameter = table.length("diameter", required=True)
    flutes = table.integer("flutes", required=True)
    given = {key: table.length(key) for key in ("cutting_length", "reach", "shank_diameter")}
    speed = table.spindle_speed("maximum_spindle_speed")
    ramp = table.angle("maximum_ramp_angle")
    centre = table.flag("centre_cutting", default=True)
    dead = table.length("dead_diameter")
    if diameter is None or not table.sound:
        return None
    return table.made(
        lambda: EndMill(
            diameter,
            flutes=flutes,
            maximum_spindle_speed=speed,
            maximum_ramp_angle=ramp,
            centre_cutting=centre,
            dead_diameter=dead,
            **given,
        )
    )


def _vee(table: Table) -> Tool | None:
    diameter = table.length("diameter", required=True)
    angle = table.angle("included_angle", required=True)
    tip = table.length("tip_diameter", zero=True)
    radius = table.length("tip_radius", zero=True)
    if not table.sound:
        return None
    return table.made(lambda: VeeCutter(diameter, angle, tip_diameter=tip, tip_radius=radius))


def _form(table: Table) -> Tool | None:
    shape = table.choice("shape", SHAPES)
    for key, measured in (("calipers", _calipered), ("trace", _traced)):
        readings = table.table(key)
        if readings is not None:
            more = {key: table.length(key) for key in ("shank_diameter", "bearing_diameter")}
            made = measured(readings, shape, more)
            readings.done()
            table.sound = table.sound and readings.sound
            return made
    lengths = {
        key: table.length(key)
        for key in (
            *("radius", "arc_height", "largest_diameter", "stub_diameter"),
            *("shoulder_height", "shank_diameter", "bearing_diameter"),
        )
    }
    begin = table.length("begin_diameter", required=True, zero=True)
    stub = table.length("stub_height", zero=True)
    angles = {key: table.angle(key) for key in ("begin_angle", "end_angle", "flank_angle")}
    if not table.sound:
        return None
    return table.made(
        lambda: FormCutter(
            shape,
            begin_diameter=begin,
            stub_height=0 if stub is None else stub,
            **lengths,
            **angles,
        )
    )


def _calipered(table: Table, shape: str, more: Mapping[str, Quantity]) -> Tool | None:
    """From what calipers read and what is marked on the cutter."""
    read = {
        key: table.angle(key) if key == "marked_angle" else table.length(key)
        for key in UNCERTAINTIES
    }
    stub, doubt = table.length("stub_height", zero=True), table.length("uncertainty")
    # One for all that was read; what is marked was not.
    of = [key for key in UNCERTAINTIES if not key.startswith("marked")]
    if not table.sound:
        return None
    return table.made(
        lambda: FormCutter.from_calipers(
            shape,
            stub_height=0 if stub is None else stub,
            uncertainties=None if doubt is None else dict.fromkeys(of, doubt),
            **read,
            **more,
        )
    )


def _traced(table: Table, shape: str, more: Mapping[str, Quantity]) -> Tool | None:
    """From traced points, whose heading says the unit where it is not told beside them."""
    points, unit = table.text("points", required=True), table.text("unit") or None
    doubt, radius = table.length("uncertainty", required=True), table.length("radius")
    beside = {
        key: table.length(key) for key in ("stub_diameter", "largest_diameter", "shoulder_height")
    }
    if not table.sound:
        return None
    return table.made(
        lambda: FormCutter.from_trace(
            read_trace(points, unit),
            uncertainty=doubt,
            radius=radius,
            shape=shape,
            **beside,
            **more,
        ),
        "points",
    )


# --- fasteners -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Kind:
    """How a fastener is read: from a table of a standard, or from what was measured."""

    made: Callable[..., Fastener]
    lengths: tuple[str, ...]
    optional: tuple[str, ...] = ()
    threaded: bool = True
    tabulated: Callable[[str, str], Fastener] | None = None
    positional: tuple[Any, ...] = ()


_KINDS: Mapping[str, _Kind] = {
    "T-nut": _Kind(
        TNut,
        ("flange_diameter", "flange_thickness", "barrel_diameter", "barrel_length"),
        ("prong_length",),
    ),
    "hexagon nut": _Kind(
        Nut,
        ("across_flats", "height"),
        ("across_corners", "least_across_flats", "least_height", "bearing_diameter"),
        tabulated=nuts.hex_nut,
        positional=("hexagon",),
    ),
    "square nut": _Kind(
        Nut,
        ("across_flats", "height"),
        ("across_corners", "least_across_flats", "least_height", "bearing_diameter"),
        tabulated=nuts.square_nut,
        positional=("square",),
    ),
    "insert": _Kind(Insert, ("hole_diameter", "length"), ("flange_diameter", "flange_thickness")),
    "cap screw": _Kind(CapScrew, ("head_diameter", "head_height"), tabulated=nuts.cap_screw),
    "washer": _Kind(
        Washer,
        ("inside_diameter", "outside_diameter", "thickness"),
        threaded=False,
        tabulated=nuts.washer,
    ),
}
FASTENERS = ("flat head", *_KINDS)


def read_fastener(table: Table) -> tuple[str, Fastener] | None:
    """Read one ``[[fastener]]``: its name and what it is."""
    name = table.text("name", required=True)
    kind = table.choice("kind", FASTENERS)
    made = _flat_head(table, name) if kind == "flat head" else _other(table, name, _KINDS[kind])
    table.done()
    return None if made is None or not table.sound else (name, made)


def _flat_head(table: Table, name: str) -> Fastener | None:
    if table.has("standard"):
        standard = table.choice("standard", fasteners.FLAT_HEAD_STANDARDS)
        size = table.text("size", required=True)
        largest = table.flag("largest", default=True)
        if not table.sound:
            return None
        return table.made(lambda: fasteners.flat_head(standard, size, largest=largest), "size")
    head = table.length("head_diameter", required=True)
    angle = table.angle("head_angle", required=True)
    shank = table.length("shank_diameter", required=True)
    land, height = table.length("edge_land", zero=True), table.length("head_height")
    if land is not None and height is not None:
        table.fail("edge_land", "the land and the height were both given. Give one.")
    if not table.sound:
        return None
    if height is not None:
        return table.made(
            lambda: FlatHead.from_height(head, angle, height, shank_diameter=shank, name=name)
        )
    return table.made(
        lambda: FlatHead(head, angle, edge_land=land, shank_diameter=shank, name=name)
    )


def _other(table: Table, name: str, kind: _Kind) -> Fastener | None:
    tabulated = kind.tabulated
    if tabulated is not None and table.has("standard"):
        standard = table.text("standard", required=True)
        size = table.text("size", required=True)
        return table.made(lambda: tabulated(standard, size), "size") if table.sound else None
    measured = [table.length(key, required=True) for key in kind.lengths]
    more: dict[str, Any] = {key: table.length(key) for key in kind.optional}
    if kind.threaded:
        more["thread"] = table.text("thread", required=True)
    else:
        more["size"] = table.text("size")
    if not table.sound:
        return None
    return table.made(lambda: kind.made(*kind.positional, *measured, name=name, **more))
