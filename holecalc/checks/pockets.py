"""What goes wrong with a counterbore and what it holds."""

from __future__ import annotations

import math
from collections.abc import Mapping

from holecalc import flats as _flats
from holecalc import sizes
from holecalc.checks.findings import Finding, Findings, Weight, at_least, at_most, exceeds, fine
from holecalc.counterbore import CounterboreError, Pocket
from holecalc.cutters import EndMill
from holecalc.holding import CAUTION, Holding
from holecalc.nuts import Nut, TNut
from holecalc.screws import ScrewLength
from holecalc.sizes import Quantity, Size

__all__ = ["counterbore"]


_TURNS_TOO_FAR = 10
_NARROW_RING = 0.1
THIN = 0.25
"""Of the plate's thickness: the least to leave of it (common practice, no source)."""
_NO_SOURCE = " (common practice, no source)"
"""Stands behind a least that nobody asked for."""


def counterbore(
    pocket: Pocket,
    *,
    screw: ScrewLength | None = None,
    no_screw: str = "",
    held: Holding | None = None,
    cutter: EndMill | None = None,
    walls: Mapping[str, Quantity] | None = None,
    most_turning: Size = _TURNS_TOO_FAR,
    least_left: Size | None = None,
) -> Findings:
    """What goes wrong with a pocket for a nut, T-nut, insert, head or washer.

    Parameters
    ----------
    pocket : holecalc.counterbore.Pocket
        The fastener and its stack.
    screw : holecalc.screws.ScrewLength, optional
        The screw that goes into it; not asked about when left out.
    no_screw : str
        Why there is none, where one was asked for.
    held : holecalc.holding.Holding, optional
        What it carries; not asked about when left out.
    cutter : holecalc.cutters.EndMill, optional
        That cuts it; not asked about when left out.
    walls : mapping of str to pint.Quantity, optional
        What is left beside it, by what it is left to, as ``Stack.wall_to_edge`` and its kin tell.
    most_turning : angle, default 10
        How far a nut may turn before it is held (common practice, no source).
    least_left : size, optional
        The least web and wall; a quarter of the plate's thickness by default (common practice,
        no source).

    Returns
    -------
    Findings

    Raises
    ------
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc import counterbore as cb, nuts
    >>> pocket = cb.pocket_for_hex_nut(
    ...     nuts.hex_nut("ISO 4032", "M8"), plate_thickness="18 mm", cutter_diameter="6 mm",
    ...     nut_clearance=0,
    ... )
    >>> print(counterbore(pocket))
    ▲ look: The nut turns up to 13.73° before its corners meet the flats, which then hold each by \
0.288 mm. Take a cutter of at most 3.827 mm, or relieve the corners with a small one (at \
most 10°: common practice, no source).
    """
    thickness = pocket.stack.plate_thickness
    least = THIN * thickness if least_left is None else sizes.length(least_left)
    by = _NO_SOURCE if least_left is None else ""
    findings = [
        *_counterbore_nut(pocket, sizes.angle(most_turning)),
        *_counterbore_recess(pocket),
        *_counterbore_web(pocket, least, by),
        *_counterbore_t_nut(pocket),
        *_counterbore_ring(pocket),
    ]
    for label, wall in (walls or {}).items():
        findings += _counterbore_wall(label, wall, least, by)
    if cutter is not None:
        findings += _counterbore_cutter(pocket, cutter)
    if screw is not None:
        findings += _counterbore_screw(screw)
    if no_screw:
        findings.append(
            Finding(
                Weight.STOP,
                f"No screw: {no_screw}",
                "Change what is screwed on, or the recess.",
                "screw length",
            )
        )
    if held is not None:
        findings += _counterbore_held(held)
    return Findings(findings)


def _counterbore_nut(pocket: Pocket, most: Quantity) -> list[Finding]:
    nut, turning, seat = pocket.fastener, pocket.turning, pocket.seat
    if not isinstance(nut, Nut) or turning is None or seat is None:
        return []
    if turning.most is None:
        return [
            Finding(
                Weight.STOP,
                f"The pocket is {fine(seat.across)} across flats and a nut may be only "
                f"{fine(nut.across_corners)} over its corners: it spins when the screw is "
                "tightened.",
                _counterbore_hold(pocket, nut, most),
                "turning of a nut",
            )
        ]
    if sizes.rad(turning.most) <= sizes.rad(most) + 1e-6:
        return []
    if turning.stopped_by == "ends of the flats":
        how = "before it meets the ends of what the reliefs left of the flats"
    elif turning.stopped_by == "flats":
        bite = (nut.across_corners - seat.across) / 2
        how = f"before its corners meet the flats, which then hold each by {fine(bite)}"
    else:
        how = f"before its corners meet the {turning.stopped_by}"
    return [
        Finding(
            Weight.LOOK,
            f"The nut turns up to {sizes.show(turning.most)} {how}.",
            f"{_counterbore_hold(pocket, nut, most)[:-1]} (at most {sizes.show(most)}: common "
            "practice, no source).",
            "turning of a nut",
        )
    ]


def _counterbore_hold(pocket: Pocket, nut: Nut, most: Quantity) -> str:
    """What would hold a nut that turns too far."""
    seat = pocket.seat
    if seat is None or seat.relief is not None:
        return "Relieve the corners with a smaller cutter, or leave less clearance."
    # What the corners need is the cutter's; the rest of the pocket's width is clearance.
    needs = seat.outline.corner_radius * 2 * (1 - math.cos(seat.outline.half))
    clearance = seat.across - nut.across_flats - sizes.from_mm(needs, seat.across.units)
    try:
        largest = _flats.largest_cutter(nut, most, clearance=max(clearance, 0 * clearance))
    except _flats.FlatsError:
        return "Leave less clearance, or measure the nuts: most have larger corners than the least."
    return f"Take a cutter of at most {at_most(largest)}, or relieve the corners with a small one."


def _counterbore_recess(pocket: Pocket) -> list[Finding]:
    proud = -pocket.recess
    if not exceeds(proud, 0 * proud):
        return []
    return [
        Finding(
            Weight.LOOK,
            f"It stands {fine(proud)} proud of the face.",
            f"Make the pocket {at_least(proud)} deeper to be flush.",
            "depths of a pocket",
        )
    ]


def _counterbore_web(pocket: Pocket, least: Quantity, by: str) -> list[Finding]:
    findings, web = [], pocket.stack.web
    if exceeds(least, web.thickness):
        findings.append(
            Finding(
                Weight.LOOK,
                f"Only {fine(web.thickness)} of the plate's "
                f"{fine(pocket.stack.plate_thickness)} is left between {web.above} and "
                f"{web.below}.",
                f"Leave {at_least(least)}{by}, or see what it holds.",
                "what a stack leaves",
            )
        )
    last = pocket.stack.steps(pocket.face)[-1:]
    if last and last[0].shape == "round" and last[0].point_angle is None:
        try:
            pocket.stack.drilled(pocket.face)
        except CounterboreError:
            point = last[0].across / (2 * math.tan(math.radians(59)))
            findings.append(
                Finding(
                    Weight.NOTE,
                    f"A 118° drill would go {fine(point)} deeper at its point and break through "
                    f"the {fine(web.thickness)} that is left.",
                    "Mill this bottom flat.",
                    "drilled bottoms",
                )
            )
    return findings


def _counterbore_t_nut(pocket: Pocket) -> list[Finding]:
    t_nut, seat = pocket.fastener, pocket.seat
    if not isinstance(t_nut, TNut) or seat is None:
        return []
    findings = []
    under = pocket.stack.thickness_under(pocket.face, seat)
    if not exceeds(under, t_nut.prong_length) and t_nut.prong_length.magnitude:
        findings.append(
            Finding(
                Weight.STOP,
                f"The prongs are {fine(t_nut.prong_length)} long and the plate under the flange "
                f"{fine(under)}: they come out of the other face.",
                "Shorten the prongs, or take a thicker plate.",
                "depths of a pocket",
            )
        )
    chain = pocket.stack.steps(pocket.face)
    if len(chain) > 1:
        gap = chain[-1].depth - pocket.depth - t_nut.barrel_length
        if not exceeds(gap, 0 * gap):
            findings.append(
                Finding(
                    Weight.STOP if exceeds(-gap, 0 * gap) else Weight.LOOK,
                    f"The barrel is {fine(t_nut.barrel_length)} long below the flange and its "
                    f"pocket {fine(chain[-1].depth - pocket.depth)}: it stands on its end before "
                    "the flange is down, or with the first chip under it.",
                    f"Make the barrel's pocket {at_least(0.5 * _one_mm(gap) - gap)} deeper.",
                    "depths of a pocket",
                )
            )
    return findings


def _one_mm(like: Quantity) -> Quantity:
    return sizes.from_mm(1.0, like.units)


def _counterbore_ring(pocket: Pocket) -> list[Finding]:
    if pocket.bearing is None:
        return []
    outside, inside = pocket.bearing
    ring = (outside - inside) / 2
    if exceeds(ring, _NARROW_RING * inside):
        return []
    nothing = not exceeds(ring, 0 * ring)
    left = "nothing is left to press on" if nothing else f"a ring of {fine(ring)} carries all"
    return [
        Finding(
            Weight.STOP if nothing else Weight.LOOK,
            f"The face that presses is {fine(outside)} across and the hole under it "
            f"{fine(inside)}: {left}.",
            f"Make the hole at most {at_most(outside / (1 + 2 * _NARROW_RING))} (common practice, "
            "no source), or put a washer under it.",
            "bearing and shear-out",
        )
    ]


def _counterbore_wall(label: str, wall: Quantity, least: Quantity, by: str) -> list[Finding]:
    if not exceeds(least, wall):
        return []
    if not exceeds(wall, 0 * wall):
        return [
            Finding(
                Weight.STOP,
                f"Nothing is left to the {label}: the pocket breaks into it by {fine(abs(wall))}.",
                f"Move it {at_least(least - wall)} away{by}.",
                "what a stack leaves",
            )
        ]
    return [
        Finding(
            Weight.LOOK,
            f"The wall to the {label} is only {fine(wall)}.",
            f"Move it {at_least(least - wall)} away{by}.",
            "what a stack leaves",
        )
    ]


def _counterbore_cutter(pocket: Pocket, cutter: EndMill) -> list[Finding]:
    findings = []
    wide = cutter.cutting_diameter
    for step in pocket.stack.steps(pocket.face):
        if exceeds(wide, step.across):
            findings.append(
                Finding(
                    Weight.STOP,
                    f"The cutter is {fine(wide)} and the {step.name or step.shape} pocket "
                    f"{fine(step.across)}: it does not go in.",
                    "Take a narrower cutter.",
                    "cutter's reach",
                )
            )
        elif step.cutter_diameter is not None and exceeds(wide, step.cutter_diameter):
            findings.append(
                Finding(
                    Weight.STOP,
                    f"The {step.name or step.shape} pocket was worked out for a cutter of "
                    f"{fine(step.cutter_diameter)} and this one is {fine(wide)}: its corners "
                    "come out rounder than the nut's.",
                    "Work the pocket out for this cutter.",
                    "pockets with flats",
                )
            )
    deepest = max(step.depth for step in pocket.stack.steps(pocket.face))
    if cutter.reach is not None and exceeds(deepest, cutter.reach):
        findings.append(
            Finding(
                Weight.STOP,
                f"The pocket is {fine(deepest)} deep and the cutter reaches "
                f"{fine(cutter.reach)}: its holder comes down on the plate.",
                f"Clamp it {at_least(deepest - cutter.reach)} farther out, or take a longer one.",
                "cutter's reach",
            )
        )
    elif cutter.cutting_length is not None and exceeds(deepest, cutter.cutting_length):
        findings.append(
            Finding(
                Weight.LOOK,
                f"The pocket is {fine(deepest)} deep and the flutes are "
                f"{fine(cutter.cutting_length)} long: above them the shank rubs on the wall.",
                "Take longer flutes, or a cutter with a relieved neck.",
                "cutter's reach",
            )
        )
    return findings


def _counterbore_screw(screw: ScrewLength) -> list[Finding]:
    findings = []
    beyond, length = screw.beyond, sizes.show(screw.length)
    if not exceeds(screw.engaged, 0 * screw.engaged):
        return [
            Finding(
                Weight.STOP,
                f"The {length} screw does not reach the thread, which starts "
                f"{fine(screw.grip)} from its head.",
                f"It has to be at least {at_least(screw.shortest)} long.",
                "screw length",
            )
        ]
    if screw.bottoms and beyond is not None:
        findings.append(
            Finding(
                Weight.STOP,
                f"The {length} screw meets the floor of the hole, {fine(abs(beyond))} before its "
                "head clamps anything.",
                "Take a shorter one, a washer, or a deeper hole.",
                "screw length",
            )
        )
    if screw.proud and beyond is not None:
        findings.append(
            Finding(
                Weight.LOOK,
                f"The tip of the {length} screw stands {fine(beyond)} out of the face.",
                f"Put washers of {at_least(beyond)} under its head, or take a shorter one.",
                "screw length",
            )
        )
    if exceeds(screw.shortest, screw.length):
        findings.append(
            Finding(
                Weight.LOOK,
                f"The {length} screw engages {screw.turns:.1f} turns, {screw.diameters:.2f} "
                f"diameters, and the thread is {fine(screw.thread_length)} long.",
                f"Make it at least {at_least(screw.shortest)} long, to engage "
                f"{fine(screw.least_engaged)} or fill a thinner nut (common practice, no source).",
                "screw length",
            )
        )
    return findings


def _counterbore_held(held: Holding) -> list[Finding]:
    findings = []
    for strength, stress, load, word, verb in (
        (held.bearing_strength, held.pressure, held.load_to_bed, "pressure", "beds into the plate"),
        (held.shear_strength, held.shear, held.load_to_shear, "shear", "shears a plug out"),
    ):
        if strength is None or load is None or stress <= strength:
            continue
        findings.append(
            Finding(
                Weight.STOP,
                f"At {_figures(held.load)} the {word} is {_figures(stress)} and the material "
                f"stands {_figures(strength)}: it {verb} at {_figures(load)}.",
                f"Load it less, or put a wider washer under it. {CAUTION}",
                "bearing and shear-out",
            )
        )
    if held.bearing_strength is None or held.shear_strength is None:
        findings.append(
            Finding(
                Weight.NOTE,
                f"At {_figures(held.load)} the pressure is {_figures(held.pressure)} and the "
                f"shear {_figures(held.shear)}; without the material's strengths neither was "
                "compared.",
                f"Give both. {CAUTION}",
                "bearing and shear-out",
            )
        )
    return findings


def _figures(quantity: Quantity) -> str:
    return f"{quantity.magnitude:.4g} {quantity.units:~P}"
