"""What goes wrong with a countersink."""

from __future__ import annotations

from holecalc import countersink as _countersink
from holecalc import sizes
from holecalc.checks.findings import Finding, Findings, Weight, at_least, at_most, exceeds, fine
from holecalc.countersink import CircleLimits, Sink, told_recess
from holecalc.sizes import Quantity

__all__ = ["countersink"]

_ANGLES_DIFFER = 0.5
"""Degrees; less than the tolerance any head's angle is made to."""

_MEASURED = 0.05
"""Millimetres; as near as calipers are read across a head."""

_LEFT_UNDER = 1 / 4
"""Of the head's height, that should be left of the plate below it (common practice, no source)."""

_ROUNDED = 0.01
"""Millimetres; more than the rounding of what is told moves a circle."""

_CIRCLES, _SEAT = "circles that work", "seat of a head"


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
    circle = _least_circle(sink.limits)
    cure = (
        f"Make the circle {circle}, or take a wider cutter."
        if circle
        else f"No circle works with this cutter: take one at least "
        f"{at_least(cut.face_cutting_diameter)} wide."
    )
    return [
        Finding(
            Weight.STOP,
            f"At the face the cut needs {fine(cut.face_cutting_diameter)} of the cutter and it "
            f"is {fine(widest)} wide: its shank or corner rubs there.",
            cure,
            _CIRCLES,
        )
    ]


def _tip_and_hole(sink: Sink) -> list[Finding]:
    cut = sink.cut
    if not sink.reaches_hole:
        circle = _largest_circle(sink.limits)
        room = cut.hole_diameter - cut.circle_diameter
        if circle:
            cure = f"Make the circle {circle}."
        elif sizes.mm(room) > 0:
            cure = (
                "No circle works with this cutter: take one with flanks that start at a diameter "
                f"of at most {at_most(room)}."
            )
        else:
            cure = "No circle works with this cutter: take one that is wider, with a narrower tip."
        return [
            Finding(
                Weight.STOP,
                f"The tip sweeps {fine(sink.swept_diameter)} and the hole is "
                f"{fine(cut.hole_diameter)}: the cone does not reach the hole and a ledge is left "
                "round it.",
                cure,
                _CIRCLES,
            )
        ]
    bound = sink.limits.of("slow tip").circle_diameter
    if not exceeds(cut.circle_diameter, bound):
        return []
    circle, asked = _most_circle(sink.limits, bound), sink.least_hole_cutting_diameter
    why = (
        "to cut there at a quarter of the cutter's diameter (common practice, no source)"
        if asked is None
        else f"to cut there at {fine(asked)} or more, as was asked"
    )
    return [
        Finding(
            Weight.LOOK,
            f"At the hole's edge the cutter cuts at {fine(cut.hole_cutting_diameter)} of its "
            f"{fine(sink.cutter.cutting_diameter)}: so near the tip the edge is slow and rubs.",
            f"{f'Make the circle {circle}' if circle else _other_cutter(sink)}, {why}.",
            _CIRCLES,
        )
    ]


def _other_cutter(sink: Sink) -> str:
    """The cutter that cuts the hole's edge far enough from its tip, where no circle does."""
    cut, asked = sink.cut, sink.least_hole_cutting_diameter
    top, hole = cut.top_diameter, cut.hole_diameter
    if asked is not None:
        if exceeds(asked, hole):
            return f"Ask for no more than the hole's {fine(hole)}"
        return _wider_cutter(sink, top - hole + asked, hole - asked)
    told = at_most(4 * cut.hole_cutting_diameter)
    widest = sizes.length(told)
    if not exceeds(max(cut.face_cutting_diameter, sink.cutter.flank_start_diameter), widest):
        return f"Take a cutter of at most {told}"
    if exceeds(top, 4 * hole):
        return "Make the hole larger or the sink narrower"
    # Wide enough at the face, w >= top - C, on the largest circle there may be, C = hole - w/4.
    wide = 4 * (top - hole) / 3
    return _wider_cutter(sink, wide, hole - wide / 4)


def _wider_cutter(sink: Sink, wide: Quantity, circle: Quantity) -> str:
    """A cutter so wide, which works on about this circle."""
    under = [limit.circle_diameter for limit in sink.limits.lower if limit.kind == "plate"]
    board = any(exceeds(least, circle - sizes.from_mm(_ROUNDED)) for least in under)
    let_in = ", with its tip let into a board under the plate" if board else ""
    return f"Take a cutter at least {at_least(wide)} wide on a circle it works on{let_in}"


def _least_circle(limits: CircleLimits) -> str:
    """The smallest circle that can be cut, as it is typed in; nothing where none can."""
    told = at_least(limits.smallest)
    return f"at least {told}" if _can_be_cut(limits, sizes.length(told)) else ""


def _most_circle(limits: CircleLimits, bound: Quantity) -> str:
    """A largest circle that can be cut, as it is typed in; nothing where it cannot."""
    told = at_most(bound)
    return f"at most {told}" if _can_be_cut(limits, sizes.length(told)) else ""


def _largest_circle(limits: CircleLimits) -> str:
    """The largest circle that works, or else the largest that can be cut at all."""
    ledge = limits.of("ledge").circle_diameter
    return _most_circle(limits, limits.largest) or _most_circle(limits, ledge)


def _can_be_cut(limits: CircleLimits, circle: Quantity) -> bool:
    """Whether nothing is spoilt on a circle; the tip may still do the cutting."""
    ledge = limits.of("ledge").circle_diameter
    return not exceeds(limits.smallest, circle) and not exceeds(circle, ledge)


def _plate(sink: Sink) -> list[Finding]:
    cut, thickness = sink.cut, sink.plate_thickness
    if thickness is None:
        return [
            Finding(
                Weight.NOTE,
                "The plate's thickness is not given, so whether the tip or the cone goes through "
                "it was not checked.",
                "Measure the plate.",
                _CIRCLES,
            )
        ]
    findings = []
    # A ledge is to go, so it is no ground to pass what comes through the plate without it.
    the = "The" if sink.reaches_hole else "Without the ledge the"
    if not exceeds(thickness, cut.cone_depth):
        findings.append(
            Finding(
                Weight.STOP,
                f"{the} cone ends {fine(cut.cone_depth)} down and the plate is "
                f"{fine(thickness)}: no straight hole is left, and its far edge is a knife edge.",
                "Take a thicker plate, a smaller head or a wider angle.",
                _CIRCLES,
            )
        )
    allowed = thickness + (sink.tip_below if sink.tip_below is not None else 0 * thickness)
    if exceeds(cut.depth, allowed):
        circle = _least_circle(sink.limits)
        board = "ut a board under the plate and allow the tip into it."
        findings.append(
            Finding(
                Weight.STOP,
                f"The tip goes {fine(cut.depth)} deep in a plate of {fine(thickness)}: "
                f"{fine(cut.depth - thickness)} into what lies under it.",
                f"Make the circle {circle}, or p{board}" if circle else f"P{board}",
                _CIRCLES,
            )
        )
    return findings + _under_the_head(sink, thickness, the)


def _under_the_head(sink: Sink, thickness: Quantity, the: str) -> list[Finding]:
    cut = sink.cut
    seat = _countersink.seat(
        sink.head,
        top_diameter=cut.top_diameter,
        included_angle=cut.included_angle,
        hole_diameter=cut.hole_diameter,
    )
    down = seat.recess + sink.head.head_height
    if not exceeds(thickness, down):
        return [
            Finding(
                Weight.STOP,
                f"{the} head goes {fine(down)} down and the plate is {fine(thickness)}: nothing of "
                "the plate is left under it.",
                "Take a thicker plate or a smaller head, or let it lie less deep.",
                _SEAT,
            )
        ]
    left, wanted = thickness - down, _LEFT_UNDER * sink.head.head_height
    if not exceeds(wanted, left):
        return []
    return [
        Finding(
            Weight.LOOK,
            f"Under the head only {fine(left)} of the plate is left: it may pull through.",
            f"Leave at least {at_least(wanted)}, a quarter of the head's height (common practice, "
            "no source): take a thicker plate or a smaller head, or let it lie less deep.",
            _SEAT,
        )
    ]


def _plunge(sink: Sink) -> list[Finding]:
    if sizes.mm(sink.cut.circle_diameter) > 0:
        return []
    limits = sink.limits
    circle = _most_circle(limits, limits.largest) if sizes.mm(limits.largest) > 0 else ""
    if not circle:
        cure = "With another cutter there is room for a circle."
    elif exceeds(limits.smallest, sink.cut.circle_diameter):
        cure = f"Any circle of {_least_circle(limits)} and {circle} cuts the same cone."
    else:
        cure = f"Any circle up to {at_most(limits.largest)} cuts the same cone."
    return [
        Finding(
            Weight.NOTE,
            "A circle of 0 is a plunge: the whole flank cuts at once, which chatters.",
            cure,
            _CIRCLES,
        )
    ]


def _head(sink: Sink) -> list[Finding]:
    cut, head, seat = sink.cut, sink.head, sink.seat
    findings = []
    apart = (head.head_angle - cut.included_angle).m_as("deg")
    if abs(apart) >= _ANGLES_DIFFER:
        gap, where = (
            (seat.rim_gap, "at its rim")
            if seat.contact == "hole edge"
            else (seat.hole_gap, "at the hole")
        )
        findings.append(
            Finding(
                Weight.LOOK,
                f"The head's angle is {sizes.show(head.head_angle)} and the sink's "
                f"{sizes.show(cut.included_angle)}: it touches only at {seat.place}, and stands "
                f"{fine(gap)} clear {where}; under load it digs in or works loose.",
                f"Take a cutter of {sizes.show(head.head_angle)}.",
                _SEAT,
            )
        )
    if seat.recess.magnitude >= 0 or seat.flush:
        return findings
    measured = abs(sizes.mm(cut.top_diameter) - sizes.mm(head.head_diameter)) < _MEASURED
    if measured and sizes.mm(head.edge_land) > 0:
        what = (
            f"The sink is as wide as the head measures, {fine(head.head_diameter)}, but the "
            f"head's cone ends sharp at {fine(head.sharp_diameter)}: it stands "
            f"{told_recess(seat.recess)}."
        )
    else:
        ledge = "" if sink.reaches_hole else ", on the ledge that is left"
        what = f"The head stands {told_recess(seat.recess)}{ledge}."
    return [*findings, Finding(Weight.LOOK, what, _to_lie_flush(sink), _SEAT)]


def _to_lie_flush(sink: Sink) -> str:
    """What would make a proud head flush, and nothing worse with it."""
    cut, thickness = sink.cut, sink.plate_thickness
    cone = {"included_angle": cut.included_angle, "hole_diameter": cut.hole_diameter}
    flush = _countersink.top_diameter_for(sink.head, 0, **cone)
    told = fine(flush.to(cut.top_diameter.units))
    if not sink.reaches_hole:
        return f"Without the ledge, a top diameter of {told} lets it lie flush."
    # Any cutter leaves the same cone, so a sharp one that plunges tells its depth.
    plunged = _countersink.CUT.solve(top_diameter=told, circle_diameter=0, tip_diameter=0, **cone)
    deepest = max(plunged.cone_depth, sink.head.head_height)
    if thickness is not None and not exceeds(thickness, deepest):
        return (
            f"Flush it needs a top diameter of {told}, for which the plate is too thin. Take a "
            "thicker plate or a smaller head."
        )
    limits = _countersink.circle_limits(
        sink.cutter,
        told,
        cut.hole_diameter,
        plate_thickness=thickness,
        tip_below=sink.tip_below,
        least_hole_cutting_diameter=sink.least_hole_cutting_diameter,
    )
    if _can_be_cut(limits, cut.circle_diameter):
        return f"Make the top diameter {told} for a flush head."
    least, most = _least_circle(limits), _largest_circle(limits)
    if least and most:
        return f"Make the top diameter {told} for a flush head, and the circle {least} and {most}."
    return (
        f"Flush it needs a top diameter of {told}, which no circle cuts with this cutter and plate."
        " Take another cutter."
    )
