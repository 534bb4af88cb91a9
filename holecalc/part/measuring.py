"""What is measured on a first part: of each feature, how, and what the file calls it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from holecalc.counterbore import Pocket
from holecalc.countersink import Sink
from holecalc.form_cutter import Edge
from holecalc.helix import Bore
from holecalc.part.features import Drilled, Feature
from holecalc.sizes import Quantity
from holecalc.stack import Stack

__all__ = ["Measurement", "to_measure"]


@dataclass(frozen=True)
class Measurement:
    """One size to measure on a feature.

    Parameters
    ----------
    what : str
        In the trade's terms.
    how : str
        With what, and where.
    wanted : pint.Quantity or None
        What it should be; None where the feature could not be worked out.
    key : str
        What the file calls it under ``measured``; empty for what is only written down, because
        nothing that is set would put it right.
    """

    what: str
    how: str
    wanted: Quantity | None
    key: str = ""


_HOW = {
    "top diameter": "Calipers across the sink, from edge to edge in the face",
    "cone depth": "Depth gauge, from the face to where the cone meets the hole",
    "recess of the fastener": (
        "Fastener seated: from the plate's face down to the fastener's; negative if it stands proud"
    ),
    "diameter": "Inside micrometer or pins, halfway down, two ways across; take the mean",
    "depth": "Depth gauge, from the face to the floor, away from the wall",
    "depth, full diameter": "Depth gauge, from the face to where the point begins",
    "step on the face": "Depth gauge, from the face down to where the edge begins; 0 for none",
    "step on the wall": "From the wall in to where the edge ends; 0 for none",
    "width on the face": "From the wall, as a square shows it, to where the edge ends in the face",
    "height on the wall": "From the face down to where the edge ends in the wall",
}


def to_measure(feature: Feature) -> tuple[Measurement, ...]:
    """What is to be measured on a feature.

    Parameters
    ----------
    feature : Feature
        The feature.

    Returns
    -------
    tuple of Measurement
        Those that change what is set first have a `key`.

    Examples
    --------
    >>> from holecalc import demo, part, sizes
    >>> sinks = part.loads(demo.text("bearing-plate")).feature("cover screws")
    >>> [(each.key, sizes.show(each.wanted)) for each in to_measure(sinks)]
    [('top_diameter', '12.60 mm'), ('cone_depth', '3.00 mm')]
    """
    if feature.made is None:
        # It may be what was measured that leaves nothing to be made: that has to be seen.
        return tuple(Measurement(key.replace("_", " "), "", None, key) for key in feature.measured)
    return tuple(Measurement(what, _HOW[what], size, key) for what, size, key in _wanted(feature))


def _wanted(feature: Feature) -> Iterator[tuple[str, Quantity, str]]:
    assert feature.made is not None
    main, stack = feature.made.main, feature.made.stack
    if isinstance(main, Sink):
        yield "top diameter", main.cut.top_diameter, "top_diameter"
        if main.reaches_hole:
            yield "cone depth", main.cut.cone_depth, "cone_depth"
    elif isinstance(main, Pocket):
        yield "recess of the fastener", main.recess, "recess"
    elif isinstance(main, Stack):
        for step in main.steps(feature.face):
            yield "diameter", step.across, ""
            yield "depth", step.depth, ""
    elif isinstance(main, Bore):
        wide = main.bore_diameter if stack is None else 2 * stack.reach
        yield "diameter", wide, "bore_diameter" if feature.kind == "bore" else ""
        if main.breakthrough is None:
            yield "depth", main.depth, ""
    elif isinstance(main, Drilled):
        yield "diameter", main.drill.diameter, ""
        if not main.through:
            yield "depth, full diameter", main.depth, ""
    elif isinstance(main, Edge):
        yield "step on the face", main.step_on_face, "step_on_face"
        yield "width on the face", main.leg_on_face, "leg_on_face"
        yield "step on the wall", main.step_on_wall, "step_on_wall"
        yield "height on the wall", main.leg_on_wall, "leg_on_wall"
