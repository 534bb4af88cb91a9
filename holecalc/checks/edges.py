"""What goes wrong with an edge cut by a form cutter."""

from __future__ import annotations

from holecalc import sizes
from holecalc.checks.findings import Finding, Findings, Weight, exceeds, fine
from holecalc.form_cutter import (
    RIM_SPEED,
    ArcFit,
    BothFaces,
    CaliperReport,
    Edge,
    FormCutter,
)
from holecalc.sizes import Size

__all__ = ["form_cutter"]


_FELT = 0.02
"""Millimetres; a smaller step on an edge goes with the sandpaper (common practice, no source)."""
_SCRAPES = 0.05
"""Millimetres; runout alone makes a stub that passes closer than this mark the wall (common
practice, no source)."""
_OWN = 5.0
"""Degrees; a smaller corner is within what an arc's end can be measured to."""
_SURE = 0.1
"""Millimetres within which a setting should be known (common practice, no source)."""


def form_cutter(
    cut: Edge | BothFaces, *, spindle_speed: Size | None = None, rim_speed: Size = RIM_SPEED
) -> Findings:
    """What goes wrong with an edge that a form cutter leaves.

    Parameters
    ----------
    cut : holecalc.form_cutter.Edge or BothFaces
        The cutter, the plate and the setting.
    spindle_speed : spindle speed, optional
        What it turns at.
    rim_speed : surface speed, optional
        The fastest its largest diameter should go.

    Returns
    -------
    Findings

    Examples
    --------
    >>> from holecalc.form_cutter import FormCutter
    >>> cutter = FormCutter(
    ...     "concave", begin_diameter="12.7 mm", radius="6.35 mm", stub_height="5 mm",
    ...     shoulder_height="1 mm",
    ... )
    >>> print(form_cutter(cutter.edge("19 mm", allowance="0.38 mm"), spindle_speed=18000))
    ■ stop: The stub, 12.700 mm across, runs 0.380 mm into the stock on the wall; it has no \
edges there and burns. Finish the wall first, or take a cutter with a stub of at most 11.940 mm.
    """
    edges = [cut] if isinstance(cut, Edge) else [cut.top, cut.bottom]
    found: list[Finding] = []
    for edge in edges:
        found += [
            *_rim(edge.cutter, spindle_speed, rim_speed),
            *_no_bearing(edge.cutter),
            *_evidence(edge.cutter),
            *_stub(edge),
            *_met(edge, "face"),
            *_met(edge, "wall"),
            *_over_and_under(edge),
        ]
    if isinstance(cut, BothFaces):
        found += _cusp(cut)
    # Both faces with one cutter and one setting have one and the same to say.
    return Findings(list(dict.fromkeys(found)))


def _rim(cutter: FormCutter, spindle_speed: Size | None, rim_speed: Size) -> list[Finding]:
    limit, largest = cutter.spindle_limit(rim_speed), cutter.largest_diameter
    most = sizes.show_rate(sizes.surface_speed(rim_speed))
    marked = "what is marked on the cutter goes before"
    if spindle_speed is None:
        return [
            Finding(
                Weight.NOTE,
                f"The largest diameter, {fine(largest)}, reaches {most} at "
                f"{sizes.show_rate(limit)}, and what the spindle turns at is not given.",
                f"Stay below that (common practice, no source); {marked}.",
                "rim speed",
            )
        ]
    speed = sizes.spindle_speed(spindle_speed)
    if speed <= limit:
        return []
    rim = sizes.surface_speed(rim_speed) * float(speed / limit)
    return [
        Finding(
            Weight.STOP,
            f"At {sizes.show_rate(speed)} the largest diameter, {fine(largest)}, runs at "
            f"{sizes.show_rate(rim)}, faster than {most} (common practice, no source).",
            f"Turn at most {sizes.show_rate(limit)}; {marked}.",
            "rim speed",
        )
    ]


def _no_bearing(cutter: FormCutter) -> list[Finding]:
    if not cutter.bearing_off:
        return []
    further = (cutter.begin_diameter - cutter.stub_diameter) / 2
    reach = (
        f"it goes {fine(further)} deeper, until the bare stub stops it"
        if further.magnitude > 0
        else "nothing stops it"
    )
    return [
        Finding(
            Weight.LOOK,
            f"The bearing is off, which held the cut to where the arc begins, "
            f"{fine(cutter.begin_diameter)} across: fed by hand {reach}, and it throws the work.",
            "Never feed it by hand without its bearing, in a hand-held machine or over a table; "
            "run it only on a machine that holds both cutter and plate.",
            "without its bearing",
        )
    ]


def _evidence(cutter: FormCutter) -> list[Finding]:
    evidence = cutter.evidence
    if isinstance(evidence, CaliperReport):
        if evidence.agrees:
            return []
        return [
            Finding(
                Weight.LOOK,
                f"The measurements disagree by more than they may be off; {evidence.verdict}.",
                "Measure again, and leave out what cannot be measured well.",
                "which measurement is off",
            )
        ]
    if evidence is None:
        return []
    found = [
        Finding(
            Weight.LOOK,
            f"A traced point lies on no part of the cutter: {stray}.",
            "Measure it again, or look whether the cutter is chipped there.",
            "points that do not belong",
        )
        for stray in evidence.strays
    ]
    errors = [error for error in (evidence.offset_error, evidence.depth_error) if error is not None]
    worst = max(errors, default=None)
    if worst is not None and sizes.mm(2 * worst) > _SURE:
        cure = "Trace more points and further round the arc, or cut a trial edge and correct."
        if isinstance(evidence.fit, ArcFit) and not evidence.fit.settle().settled:
            cure = f"{str(evidence.fit.settle()).capitalize()}; or cut a trial edge and correct."
        found.append(
            Finding(
                Weight.LOOK,
                f"From this trace the tangent setting is known only within {fine(2 * worst)} "
                "(95 %).",
                cure,
                "how well a short arc tells its radius",
            )
        )
    return found


def _stub(edge: Edge) -> list[Finding]:
    clearance = edge.stub_clearance
    if clearance is None:
        return []
    stub = edge.cutter.stub_diameter
    widest = 2 * (edge.offset - edge.allowance)
    stock = "the stock on the wall" if edge.allowance.magnitude else "the wall"
    if exceeds(0 * clearance, clearance):
        first = "Finish the wall first, or take" if edge.allowance.magnitude else "Take"
        return [
            Finding(
                Weight.STOP,
                f"The stub, {fine(stub)} across, runs {fine(-clearance)} into {stock}; it has "
                "no edges there and burns.",
                f"{first} a cutter with a stub of at most {fine(widest)}."
                if widest.magnitude > 0
                else f"{first} the cutter further out.",
                "stub and stock",
            )
        ]
    if sizes.mm(clearance) < _SCRAPES:
        return [
            Finding(
                Weight.NOTE,
                f"The stub, {fine(stub)} across, passes {stock} by {fine(clearance)}: with any "
                "runout it marks it.",
                "Round the edge over before the wall is finished.",
                "stub and stock",
            )
        ]
    return []


def _met(edge: Edge, side: str) -> list[Finding]:
    """What the cut looks like where it meets the face or the wall."""
    cutter, best = edge.cutter, edge.cutter.tangent_setting()
    if side == "face":
        what, setting, wanted = "depth", edge.depth, best.depth
        step, told, short = edge.step_on_face, edge.face_told, wanted - setting
    else:
        what, setting, wanted = "offset", edge.offset, best.offset
        step, told, short = edge.step_on_wall, edge.wall_told, setting - wanted
    topic = "what an error of the setting leaves"
    cure = f"Make the {what} {fine(wanted)}."
    if sizes.mm(step) > _FELT:
        leaves = f"At {what} {fine(setting)} the cut leaves {told}."
        return [Finding(Weight.LOOK, leaves, cure, topic)]
    if cutter.shape == "straight":
        return []
    if sizes.mm(short) > _FELT:
        return [Finding(Weight.LOOK, f"At {what} {fine(setting)} the cut {told}.", cure, topic)]
    ends = cutter.end_angle if side == "face" else cutter.begin_angle
    quarter = 90.0 if (cutter.shape == "concave") == (side == "face") else 0.0
    if abs(ends.m_as("deg") - quarter) <= _OWN:
        return []
    return [
        Finding(
            Weight.NOTE,
            f"The cutter's own arc is less than a quarter, and the cut {told}.",
            "No setting changes that. Take it so, or ease the corner by hand.",
            "tangent settings",
        )
    ]


def _over_and_under(edge: Edge) -> list[Finding]:
    found = []
    buried = edge.buried
    if buried is None:
        if edge.step_on_face.magnitude:
            found.append(
                Finding(
                    Weight.NOTE,
                    f"The arc ends {fine(edge.step_on_face)} below the face and the shoulder's "
                    "height is not given, so whether its top stays above the face was not checked.",
                    "Measure the shoulder.",
                    "what an error of the setting leaves",
                )
            )
    elif exceeds(buried, 0 * buried):
        found.append(
            Finding(
                Weight.STOP,
                f"The top of the shoulder is {fine(buried)} below the face: what stands above it "
                "is not cut, and the cutter's back rubs in the slot.",
                f"Make the depth at most {fine(edge.depth - buried)}.",
                "what an error of the setting leaves",
            )
        )
    if not edge.wall_left.magnitude:
        found.append(
            Finding(
                Weight.LOOK,
                f"The plate is {fine(edge.plate_thickness)} and the cut leaves nothing of its "
                "wall: nothing is left to measure the offset from.",
                "Take a smaller radius or a thicker plate, or measure the plate's size before.",
                "both faces",
            )
        )
    below = edge.tip_below_plate
    if exceeds(below, 0 * below):
        found.append(
            Finding(
                Weight.LOOK,
                f"The tip reaches {fine(below)} below the plate, into what it lies on.",
                f"Let the edge stand out, or raise the plate by more than {fine(below)}.",
                "tangent settings",
            )
        )
    return found


def _cusp(cut: BothFaces) -> list[Finding]:
    if cut.cusp_angle is None:
        return []
    least = cut.top.leg_on_wall + cut.bottom.leg_on_wall
    return [
        Finding(
            Weight.LOOK,
            f"The cuts from both faces meet before the wall: a ridge is left "
            f"{fine(cut.cusp_setback)} inside it, and the plate is that much smaller.",
            f"Take a plate of at least {fine(least)}, or smaller radii, to keep a flat.",
            "both faces",
        )
    ]
