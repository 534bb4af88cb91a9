"""What goes wrong with a countersink."""

from __future__ import annotations

from holecalc import countersink as _countersink
from holecalc import sizes
from holecalc.checks.findings import Finding, Findings, Weight, at_least, at_most, exceeds, fine
from holecalc.countersink import Sink, told_recess
from holecalc.sizes import Quantity

__all__ = ["countersink"]

_ANGLES_DIFFER = 0.5
"""Degrees; less than the tolerance any head's angle is made to."""


def countersink(sink: Sink) -> Findings:
    """What goes wrong with a countersink.

    Parameters
    ----------
    sink : holecalc.countersink.Sink
        The head, the cutter, the cut and the seat.

    Returns
    -------
    Findings

    Examples
    --------
    >>> from holecalc import cutters, fasteners
    >>> print(countersink(_countersink.sink(
    ...     fasteners.flat_head("ISO 7046-2", "M6"), cutters.VeeCutter("8 mm", 90),
    ...     hole_diameter="6.6 mm", circle_diameter="4 mm", plate_thickness="20 mm",
    ... )))
    ■ stop: At the face the cut needs 8.600 mm of the cutter and it is 8.000 mm wide: its shank \
or corner rubs there. Make the circle at least 4.600 mm, or take a wider cutter.
    """
    return Findings(
        [
            *_cutter_at_the_face(sink),
            *_tip_and_hole(sink),
            *_plate(sink),
            *_plunge(sink),
            *_head(sink),
        ]
    )


def _cutter_at_the_face(sink: Sink) -> list[Finding]:
    cut, widest = sink.cut, sink.cutter.cutting_diameter
    if not exceeds(cut.face_cutting_diameter, widest):
        return []
    return [
        Finding(
            Weight.STOP,
            f"At the face the cut needs {fine(cut.face_cutting_diameter)} of the cutter and it "
            f"is {fine(widest)} wide: its shank or corner rubs there.",
            f"Make the circle at least {at_least(cut.top_diameter - widest)}, or take a wider "
            "cutter.",
            "circles that work",
        )
    ]


def _tip_and_hole(sink: Sink) -> list[Finding]:
    cut, cutter = sink.cut, sink.cutter
    start = cutter.flank_start_diameter
    reach = cut.circle_diameter + start
    if exceeds(reach, cut.hole_diameter):
        room = cut.hole_diameter - start
        cure = (
            f"Make the circle at most {at_most(room)}."
            if room.magnitude >= 0
            else f"Take a cutter with a tip narrower than {fine(cut.hole_diameter)}."
        )
        return [
            Finding(
                Weight.STOP,
                f"The tip sweeps {fine(reach)} and the hole is {fine(cut.hole_diameter)}: the "
                "cone does not reach the hole and a ledge is left round it.",
                cure,
                "circles that work",
            )
        ]
    least = cutter.cutting_diameter / 4
    if exceeds(least, cut.hole_cutting_diameter):
        room = cut.hole_diameter - least
        cure = (
            f"Make the circle at most {at_most(room)}"
            if room.magnitude >= 0
            else f"Take a cutter of at most {at_most(4 * cut.hole_diameter)}"
        )
        return [
            Finding(
                Weight.LOOK,
                f"At the hole's edge the cutter cuts at {fine(cut.hole_cutting_diameter)} of its "
                f"{fine(cutter.cutting_diameter)}: so near the tip the edge is slow and rubs.",
                f"{cure}, to cut there at a quarter of the cutter's diameter (common practice, no "
                "source).",
                "circles that work",
            )
        ]
    return []


def _plate(sink: Sink) -> list[Finding]:
    cut, thickness = sink.cut, sink.plate_thickness
    if thickness is None:
        return [
            Finding(
                Weight.NOTE,
                "The plate's thickness is not given, so whether the tip or the cone goes through "
                "it was not checked.",
                "Measure the plate.",
                "circles that work",
            )
        ]
    findings = []
    if not exceeds(thickness, cut.cone_depth):
        findings.append(
            Finding(
                Weight.STOP,
                f"The cone ends {fine(cut.cone_depth)} down and the plate is "
                f"{fine(thickness)}: no straight hole is left, and its far edge is a knife edge.",
                "Take a thicker plate, a smaller head or a wider angle.",
                "circles that work",
            )
        )
    allowed = thickness + (sink.tip_below if sink.tip_below is not None else 0 * thickness)
    if exceeds(cut.depth, allowed):
        lower = next(limit for limit in sink.limits.lower if limit.beyond == "tip below the plate")
        findings.append(
            Finding(
                Weight.STOP,
                f"The tip goes {fine(cut.depth)} deep in a plate of {fine(thickness)}: "
                f"{fine(cut.depth - thickness)} into what lies under it.",
                f"Make the circle at least {at_least(lower.circle_diameter)}, or put a board "
                "under the plate and allow the tip into it.",
                "circles that work",
            )
        )
    return findings


def _plunge(sink: Sink) -> list[Finding]:
    if sizes.mm(sink.cut.circle_diameter) > 0:
        return []
    largest = sink.limits.largest
    cure = (
        f"Any circle up to {at_most(largest)} cuts the same cone."
        if sizes.mm(largest) > 0
        else "With a narrower cutter there is room for a circle."
    )
    return [
        Finding(
            Weight.NOTE,
            "A circle of 0 is a plunge: the whole flank cuts at once, which chatters.",
            cure,
            "circles that work",
        )
    ]


def _head(sink: Sink) -> list[Finding]:
    cut, head, seat = sink.cut, sink.head, sink.seat
    findings = []
    apart = (head.head_angle - cut.included_angle).m_as("deg")
    if abs(apart) >= _ANGLES_DIFFER:
        line = {
            "rim": f"its rim, and stands {fine(seat.hole_gap)} clear at the hole",
            "hole edge": f"the hole's edge, and stands {fine(seat.rim_gap)} clear at its rim",
            "face": f"the sink's edge in the face, and stands {fine(seat.hole_gap)} clear at "
            "the hole",
            "cone": "the cone",
        }[seat.contact]
        findings.append(
            Finding(
                Weight.LOOK,
                f"The head's angle is {sizes.show(head.head_angle)} and the sink's "
                f"{sizes.show(cut.included_angle)}: it touches only at {line}; under load it digs "
                "in or works loose.",
                f"Take a cutter of {sizes.show(head.head_angle)}.",
                "seat of a head",
            )
        )
    proud = seat.recess.magnitude < 0 and told_recess(seat.recess) != "flush"
    measured = abs(sizes.mm(cut.top_diameter) - sizes.mm(head.head_diameter)) < 0.05
    if proud and measured and sizes.mm(head.edge_land) > 0:
        flush = _flush(sink)
        findings.append(
            Finding(
                Weight.LOOK,
                f"The sink is as wide as the head measures, {fine(head.head_diameter)}, but the "
                f"head's cone ends sharp at {fine(head.sharp_diameter)}: it stands "
                f"{told_recess(seat.recess)}.",
                f"Make the top diameter {fine(flush)} for a flush head.",
                "seat of a head",
            )
        )
    elif proud:
        findings.append(
            Finding(
                Weight.LOOK,
                f"The head stands {told_recess(seat.recess)}.",
                f"Make the top diameter {fine(_flush(sink))} for a flush head.",
                "seat of a head",
            )
        )
    return findings


def _flush(sink: Sink) -> Quantity:
    top = _countersink.top_diameter_for(
        sink.head,
        0,
        included_angle=sink.cut.included_angle,
        hole_diameter=sink.cut.hole_diameter,
    )
    return top.to(sink.cut.top_diameter.units)
