"""A part as DXF: outlines, centres and the circles to cut on, for each setup.

Each setup is drawn in its own coordinates, from the corner that is its zero, one over the other;
layers tell them apart, in plain words::

    setup 1 face A up - plate
    setup 1 face A up - outlines
    setup 1 face A up - operation 3, 5 mm end mill, bore 6.60 mm, cover screws

Circles on an operation's layer are those the cutter's axis runs on; points are the centres. What
goes straight down has a point alone, wherever it does. Flats and edges are closed polylines of the
axis, one for each lap or pass. Sizes are in the part's unit.
"""

from __future__ import annotations

import io
import math
import re
from pathlib import Path
from typing import TYPE_CHECKING

from holecalc import flats, sheet, sizes
from holecalc.form_cutter import Edge
from holecalc.part import FlatsCut, Part, Setup
from holecalc.plan import Operation, Plan, edge_passes, plan
from holecalc.sizes import Quantity

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

__all__ = ["drawing", "layer_of", "text", "write"]

# Values of $INSUNITS in the DXF reference; the measurement system goes with them.
_UNITS = {"mm": (4, 1), "in": (1, 0)}
_NOT_IN_A_NAME = re.compile(r"""[<>/\\":;?*|=`\x00-\x1f]""")
LONGEST = 200
QUARTER = math.tan(math.pi / 8)
"""Bulge of a quarter circle: the tangent of a quarter of its sweep."""


def _setup_layer(setup: Setup, what: str) -> str:
    return _named(f"setup {setup.number} face {setup.face} up - {what}")


def _named(name: str) -> str:
    """A name that DXF permits; what it does not is a space."""
    return " ".join(_NOT_IN_A_NAME.sub(" ", name).split())[:LONGEST]


def layer_of(operation: Operation) -> str:
    """The layer of an operation.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> print(layer_of(plan(loads(demo.text("bearing-plate"))).operations[2]))
    setup 1 face A up - operation 3, 5 mm end mill, bore 6.60 mm, cover screws
    """
    return _setup_layer(
        operation.setup,
        f"operation {operation.number}, {operation.cutter}, {operation.cut.what}, "
        f"{operation.feature.name}",
    )


def drawing(part: Part, *, planned: Plan | None = None) -> Drawing:
    """A part as a DXF drawing.

    Parameters
    ----------
    part : Part
        The part.
    planned : Plan, optional
        Its plan, where there is one already.

    Returns
    -------
    ezdxf.document.Drawing

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> made = drawing(loads(demo.text("bearing-plate")))
    >>> circles = made.modelspace().query("CIRCLE")
    >>> sorted({round(circle.dxf.radius, 3) for circle in circles if "finish" in circle.dxf.layer})
    [1.51, 17.5]
    """
    from ezdxf.filemanagement import new

    planned = plan(part) if planned is None else planned
    made = new("R2010")
    # By this a file is known for ours when it is written again.
    made.header.custom_vars.append("holecalc drawing", part.file)
    made.header["$INSUNITS"], made.header["$MEASUREMENT"] = _UNITS[part.unit]
    space = made.modelspace()
    scale = 1 / 25.4 if part.unit == "in" else 1.0
    for each in planned.setups:
        _outlines(space, part, each.setup, scale)
        for operation in each.operations:
            _operation(space, part, operation, scale)
    for name in sorted({entity.dxf.layer for entity in space}):
        if name not in made.layers:
            made.layers.add(name)
    return made


def text(part: Part, *, planned: Plan | None = None) -> str:
    """A part as the text of a DXF file; the parameters are those of :func:`drawing`."""
    out = io.StringIO()
    drawing(part, planned=planned).write(out)
    return out.getvalue()


def write(part: Part, path: Path | str, *, planned: Plan | None = None) -> Path:
    """Write a part to a DXF file, over an earlier one of ours only.

    Parameters
    ----------
    part : Part
        The part.
    path : pathlib.Path or str
        Where to. A drawing made here is replaced; any other file is left alone.
    planned : Plan, optional
        Its plan, where there is one already.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    holecalc.sheet.SheetError
        Another file has that name, or it cannot be written.
    """
    return sheet.write(text(part, planned=planned), path).path


def _outlines(space: Modelspace, part: Part, setup: Setup, scale: float) -> None:
    """The plate, and every outline in the face that is up."""
    length, width = sizes.mm(part.plate.length) * scale, sizes.mm(part.plate.width) * scale
    _closed(
        space,
        [(0, 0, 0), (length, 0, 0), (length, width, 0), (0, width, 0)],
        _setup_layer(setup, "plate"),
    )
    layer = _setup_layer(setup, "outlines")
    for feature in part.features:
        if feature.at is None or feature.made is None or feature.made.stack is None:
            continue
        stack = feature.made.stack
        steps = stack.steps(setup.face)
        for x, y in (setup.xy(feature.at.xy()) * scale).tolist():
            for step in steps if feature.kind != "countersink" else steps[:1]:
                if step.shape == "round":
                    _circle(space, (x, y), sizes.mm(step.across) * scale, layer)
                    continue
                turned = setup.angle(step.turned)
                corners = sizes.mm(flats.corners(step.shape, step.across, turned)) * scale
                _closed(space, [(x + a, y + b, 0) for a, b in corners.tolist()], layer)
                if step.relief is not None:
                    small = sizes.mm(step.relief.cutter_diameter) * scale
                    for a, b in (sizes.mm(step.relief.centres(turned)) * scale).tolist():
                        _circle(space, (x + a, y + b), small, layer)
            if stack.hole_diameter is not None:
                _circle(space, (x, y), sizes.mm(stack.hole_diameter) * scale, layer)


def _operation(space: Modelspace, part: Part, operation: Operation, scale: float) -> None:
    layer, work, setup = layer_of(operation), operation.cut.work, operation.setup
    if isinstance(work, Edge):
        for _, offset, _ in edge_passes(work):
            _closed(space, _round_the_plate(part, offset, scale), layer)
        return
    laps = work.paths(setup.angle(work.step.turned)) if isinstance(work, FlatsCut) else ()
    for x, y in (operation.xy * scale).tolist():
        space.add_point((x, y), dxfattribs={"layer": layer})
        for diameter in operation.circles:
            _circle(space, (x, y), diameter * scale, layer)
        for lap in laps:
            _closed(space, [(x + a, y + b, 0) for a, b in (lap * scale).tolist()], layer)


def _round_the_plate(
    part: Part, offset: Quantity, scale: float
) -> list[tuple[float, float, float]]:
    """Parallel to the plate's sides at the offset, and a quarter circle round each corner."""
    length, width = sizes.mm(part.plate.length) * scale, sizes.mm(part.plate.width) * scale
    off = sizes.mm(offset) * scale
    return [
        (0, -off, 0),
        (length, -off, QUARTER),
        (length + off, 0, 0),
        (length + off, width, QUARTER),
        (length, width + off, 0),
        (0, width + off, QUARTER),
        (-off, width, 0),
        (-off, 0, QUARTER),
    ]


def _circle(space: Modelspace, at: tuple[float, float], diameter: float, layer: str) -> None:
    space.add_circle(at, diameter / 2, dxfattribs={"layer": layer})


def _closed(space: Modelspace, points: list[tuple[float, float, float]], layer: str) -> None:
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
