"""What goes wrong with a helical bore, and with its speed and feed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from holecalc import helix as _helix
from holecalc import sizes
from holecalc.checks.findings import Finding, Findings, Weight, exceeds, fine, listed
from holecalc.cutting import Run, Starting
from holecalc.helix import Bore, Ring
from holecalc.sizes import Quantity, Size

__all__ = ["helix", "untold"]


_USUAL_RAMP = sizes.angle(15)
"""The ramp that cures aim at where the cutter's maker names none (common practice, no source)."""

_STEEP_RAMP = sizes.angle(20)
_LEAST_OPEN_SHARE = 0.3
_DEEP = 3
_FEED_OFF = 0.1
_FEED_FAR_OFF = 0.5


def helix(
    made: Bore,
    run: Run | None = None,
    *,
    typed_feed: Size | None = None,
    starting: Starting | None = None,
    most_pitch_share: float = 0.5,
    cutter_by_itself: bool = False,
) -> Findings:
    """What goes wrong with a helical bore.

    Parameters
    ----------
    made : holecalc.helix.Bore
        The bore.
    run : holecalc.cutting.Run, optional
        Its speed and feed; they are not asked about when left out.
    typed_feed : feed, optional
        What is typed at the control, if that may not be the axis feed of `run`.
    starting : holecalc.cutting.Starting, optional
        Starting values for the material, to compare with.
    most_pitch_share : float, default 0.5
        The pitch above which to look, as a share of the cutter's diameter (common practice, no
        source).
    cutter_by_itself : bool, default False
        Whether what the cutter's data lack is asked for elsewhere, with :func:`untold`.

    Returns
    -------
    Findings

    Raises
    ------
    holecalc.sizes.SizeError
        The typed feed cannot be read.

    Examples
    --------
    >>> from holecalc import cutters
    >>> print(helix(_helix.bore(
    ...     cutters.EndMill("1/4 in", flutes=2, cutting_length="1 in", reach="1-1/4 in"),
    ...     bore_diameter="0.2656 in", depth="1 in", plate_thickness="1-1/4 in", passes=4,
    ... )))
    ■ stop: The axis runs on a circle of only 0.0156 in and each turn goes down 0.2500 in: a \
ramp of 78.91°, more down than round, is a plunge. Make at least 77 turns, for a ramp of 15°, or \
drill the hole, or take a narrower cutter.
    ▲ look: The pitch of 0.2500 in is 100 % of the cutter's diameter, and the wall is cut as high \
as that. Make more turns, for 0.1250 in or less (common practice, no source).
    ▲ look: The cutter fills 89 % of the bore and goes 1.0000 in deep: the chips have nowhere to \
go, pack and heat. Take a cutter of at most 0.2222 in (common practice, no source), or come up and \
clear the bore on the way.
    """
    findings = [
        *_helix_ramp(made),
        *_helix_pitch(made, most_pitch_share),
        *_helix_middle(made),
        *_helix_reach(made),
        *([] if cutter_by_itself else untold({"": [made]})),
        *_helix_chips(made),
        *_helix_core(made),
        *_helix_floor(made),
        *_helix_plate(made),
    ]
    if run is not None:
        findings += [*_helix_speed(made, run), *_helix_feed(run, typed_feed)]
    if starting is not None:
        findings += _helix_starting(made, run, starting)
    return Findings(findings)


def _helix_ramp(made: Bore) -> list[Finding]:
    ring = _steepest(made)
    cut, marked = ring.cut, made.cutter.maximum_ramp_angle
    ramp = sizes.show(cut.ramp_angle)
    if _plunges(ring):
        weight, cure = Weight.STOP, "drill the hole, or take a narrower cutter"
        what = f"The axis runs on a circle of only {fine(cut.path_diameter)} and each turn goes "
        what += f"down {fine(cut.pitch)}: a ramp of {ramp}, more down than round, is a plunge."
    elif marked is not None and _steeper(cut.ramp_angle, marked):
        weight, cure = Weight.STOP, "take a cutter that may ramp as steep"
        what = f"The ramp at the axis is {ramp} and the cutter may ramp at most "
        what += f"{sizes.show(marked)}."
    elif marked is None and _steeper(cut.ramp_angle, _STEEP_RAMP):
        weight, cure = Weight.LOOK, "ask the cutter's maker"
        what = f"The ramp at the axis is {ramp}, and how steep the cutter may ramp was not given. "
        what += f"Over {sizes.show(_STEEP_RAMP)} is steep (common practice, no source)."
    else:
        return []
    wanted = _USUAL_RAMP if marked is None else min(marked, _USUAL_RAMP)
    turns = _helix.passes_for(
        bore_diameter=cut.bore_diameter,
        cutter_diameter=cut.cutter_diameter,
        depth=cut.depth,
        max_ramp_angle=wanted,
    )
    more = f"Make at least {turns.passes} turns, for a ramp of {sizes.show(wanted)}, or {cure}."
    return [Finding(weight, what, more, "helix")]


def _helix_pitch(made: Bore, share: float) -> list[Finding]:
    ring = max(made.rings, key=lambda ring: ring.cut.base["pitch"])
    pitch, cutter = ring.cut.pitch, made.cutter
    if cutter.cutting_length is not None and exceeds(pitch, cutter.cutting_length):
        return [
            Finding(
                Weight.STOP,
                f"The pitch is {fine(pitch)} and the flutes are {fine(cutter.cutting_length)} "
                "long: the shank would have to cut the rest.",
                "Make more turns, or take a cutter with longer flutes.",
                "helix",
            )
        ]
    most = share * cutter.cutting_diameter
    if exceeds(pitch, most):
        return [
            Finding(
                Weight.LOOK,
                f"The pitch of {fine(pitch)} is "
                f"{100 * (pitch / cutter.cutting_diameter).m_as(''):.0f} % of the cutter's "
                f"diameter, and the wall is cut as high as that.",
                f"Make more turns, for {fine(most)} or less (common practice, no source).",
                "chips",
            )
        ]
    return []


def _helix_middle(made: Bore) -> list[Finding]:
    cutter, first = made.cutter, made.rings[0].cut
    if cutter.centre_cutting:
        return []
    findings = []
    swept = first.path_diameter + made.pilot_diameter
    dead = cutter.dead_diameter
    widest = cutter.cutting_diameter if dead is None else dead
    if exceeds(widest, swept):
        if dead is None:
            weight = Weight.LOOK
            what = "How wide the middle of the cutter is that has no edge was not given; if it is "
            what += f"over {fine(swept)}, a pip"
        else:
            weight = Weight.STOP
            what = f"The middle of the cutter, {fine(dead)} without an edge, never leaves the "
            what += f"bore's axis on a path of {fine(first.path_diameter)}: a pip of "
            what += fine(dead - swept)
        findings.append(
            Finding(
                Weight.STOP if _plunges(made.rings[0]) else weight,
                f"{what} stays there and the cutter bears on it.",
                f"Drill a pilot hole of at least {fine(widest - first.path_diameter)}, make the "
                f"bore at least {fine(cutter.cutting_diameter + widest)}, or take a "
                "centre-cutting cutter.",
                "middle of the cutter",
            )
        )
    return findings


def untold(bores: Mapping[str, Sequence[Bore]]) -> list[Finding]:
    """What was not checked since the cutter's data lack it, once for all the bores it makes.

    Parameters
    ----------
    bores : mapping of str to sequence of holecalc.helix.Bore
        Bores of one cutter, by the feature they make; a single one may be called nothing.

    Returns
    -------
    list of Finding

    Examples
    --------
    >>> from holecalc import cutters
    >>> mill = cutters.EndMill("6 mm", flutes=1, cutting_length="22 mm")
    >>> bores = {
    ...     name: [_helix.bore(mill, bore_diameter=wide, depth=deep, plate_thickness="20 mm")]
    ...     for name, wide, deep in (("vents", "9 mm", "8 mm"), ("hub", "30 mm", "12 mm"))
    ... }
    >>> print(*untold(bores))
    · note: The length of the cutter's reach is not given, so whether it is long enough for vents \
(8.000 mm) and hub (12.000 mm) was not checked. Measure it as it is clamped.
    """
    cutter = next(iter(bores.values()))[0].cutter
    findings = []
    if not cutter.centre_cutting and cutter.maximum_ramp_angle is None:
        ramps = {
            name: sizes.show(max(_steepest(bore).cut.ramp_angle for bore in each))
            for name, each in bores.items()
        }
        findings.append(
            Finding(
                Weight.LOOK,
                "The cutter is not centre-cutting, so its end sets how steep it may ramp; that was "
                f"not given, and the ramp is {_of_each(ramps)}.",
                "Ask its maker, and never plunge with it.",
                "middle of the cutter",
            )
        )
    lacking = [
        label
        for label, size in (("flutes", cutter.cutting_length), ("reach", cutter.reach))
        if size is None
    ]
    if lacking:
        depths = {name: fine(max(bore.depth for bore in each)) for name, each in bores.items()}
        findings.append(
            Finding(
                Weight.NOTE,
                f"The length of the cutter's {' and '.join(lacking)} is not given, so whether it "
                f"is long enough for {_of_each(depths)} was not checked.",
                "Measure it as it is clamped.",
                "reach",
            )
        )
    return findings


def _of_each(told: Mapping[str, str]) -> str:
    """Sizes, each behind what it belongs to."""
    return listed(f"{name} ({size})" if name else size for name, size in told.items())


def _helix_reach(made: Bore) -> list[Finding]:
    cutter, findings = made.cutter, []
    if cutter.reach is not None and exceeds(made.depth, cutter.reach):
        findings.append(
            Finding(
                Weight.STOP,
                f"The bore goes {fine(made.depth)} below the face and the cutter reaches "
                f"{fine(cutter.reach)}: the holder runs into the plate.",
                f"Clamp it {fine(made.depth - cutter.reach)} further out, or take a longer one.",
                "reach",
            )
        )
    wall = made.depth - made.start_depth
    if cutter.cutting_length is not None and exceeds(wall, cutter.cutting_length):
        beyond = f"The wall is {fine(wall)} high and the flutes {fine(cutter.cutting_length)}: "
        over = cutter.shank_diameter - cutter.cutting_diameter
        cure = "Take a cutter with longer flutes, or one with a relieved neck."
        if exceeds(over, 0 * over):
            what = f"the shank is {fine(over / 2)} wider on the radius and runs into the face."
            findings.append(Finding(Weight.STOP, beyond + what, cure, "reach"))
        elif not exceeds(-over, 0 * over):
            what = "above them the shank, as wide as the cutter, rubs on the wall."
            findings.append(Finding(Weight.LOOK, beyond + what, cure, "reach"))
    return findings


def _helix_chips(made: Bore) -> list[Finding]:
    first, cutter = made.rings[0].cut, made.cutter.cutting_diameter
    wall = made.depth - made.start_depth
    if made.pilot_diameter.magnitude:
        return []
    filled = (cutter / first.bore_diameter).m_as("") ** 2
    if filled > 1 - _LEAST_OPEN_SHARE and exceeds(wall, cutter):
        narrow = first.bore_diameter * (1 - _LEAST_OPEN_SHARE) ** 0.5
        return [
            Finding(
                Weight.LOOK,
                f"The cutter fills {100 * filled:.0f} % of the bore and goes {fine(wall)} deep: "
                "the chips have nowhere to go, pack and heat.",
                f"Take a cutter of at most {fine(narrow)} (common practice, no source), or come "
                "up and clear the bore on the way.",
                "chips",
            )
        ]
    if exceeds(wall, _DEEP * made.bore_diameter):
        return [
            Finding(
                Weight.LOOK,
                f"The bore is {(wall / made.bore_diameter).m_as(''):.1f} times as deep as wide: "
                "chips do not come up by themselves.",
                f"Clear it every {fine(_DEEP * made.bore_diameter)} or less (common practice, no "
                "source), by air or suction.",
                "chips",
            )
        ]
    return []


def _helix_core(made: Bore) -> list[Finding]:
    core = made.core_diameter
    if core is None:
        return []
    least = _helix.least_cutter(made.bore_diameter, pilot_diameter=made.pilot_diameter)
    no_core = f"Cut it in rings, or take a cutter of more than {fine(least)}"
    if made.breakthrough is not None:
        return [
            Finding(
                Weight.STOP,
                f"A core of {fine(core)} comes loose beside the turning cutter, which can jam it "
                "or throw it.",
                f"{no_core}, or screw the core down before it is cut through.",
                "core",
            )
        ]
    return [
        Finding(
            Weight.LOOK,
            f"A core of {fine(core)} is left standing in the bore, "
            f"{fine(made.depth - made.start_depth)} high.",
            f"{no_core}.",
            "core",
        )
    ]


def _helix_floor(made: Bore) -> list[Finding]:
    left, cut = made.left, made.cut
    if left is None or not left.height.magnitude:
        return []
    partly = cut.passes.magnitude < 1
    where = "on the floor" if made.breakthrough is None else "above the plate's far face"
    what = f"Without a finishing turn up to {fine(left.height)} stays {where}, along "
    what += f"{sizes.show(left.arc)} of the wall."
    if partly:
        what += " The helix is less than one turn, so part of the wall is not cut at all."
    cure = "Add a finishing turn"
    if made.breakthrough is not None and not partly:
        cure += f", or go {fine(cut.pitch)} below the plate"
    return [Finding(Weight.STOP if partly else Weight.LOOK, what, f"{cure}.", "last turn")]


def _helix_plate(made: Bore) -> list[Finding]:
    thickness = made.plate_thickness
    if thickness is None:
        return [
            Finding(
                Weight.NOTE,
                "The plate's thickness is not given, so whether the bore goes through it was not "
                "checked.",
                "Measure the plate.",
                "last turn",
            )
        ]
    if made.breakthrough is None and not exceeds(thickness, made.depth):
        return [
            Finding(
                Weight.STOP,
                f"The bore is to be blind and {fine(made.depth)} deep, and the plate is "
                f"{fine(thickness)}: it goes through.",
                "Make it shallower, or plan it as a through hole.",
                "last turn",
            )
        ]
    if made.breakthrough is not None and not exceeds(made.breakthrough, 0 * thickness):
        return [
            Finding(
                Weight.LOOK,
                "The helix ends exactly at the plate's far face: where the plate is thicker or "
                "the zero is off, a skin stays.",
                "Go a little below it, into a board under the plate.",
                "last turn",
            )
        ]
    return []


def _helix_speed(made: Bore, run: Run) -> list[Finding]:
    marked, speed = made.cutter.maximum_spindle_speed, sizes.show_rate(run.spindle_speed)
    if marked is None:
        return [
            Finding(
                Weight.NOTE,
                f"The cutter's maximum speed is not given, so {speed} was not checked.",
                "Read what is marked on it or its packet; never run it faster.",
                "speed and feed",
            )
        ]
    if run.spindle_speed <= marked:
        return []
    return [
        Finding(
            Weight.STOP,
            f"{speed} is more than the {sizes.show_rate(marked)} marked on the cutter: it can fly "
            "apart.",
            "Slow the spindle down.",
            "speed and feed",
        )
    ]


def _helix_feed(run: Run, typed_feed: Size | None) -> list[Finding]:
    worst = run.rings[0]
    axis, wall = sizes.show_rate(worst.axis_feed), sizes.show_rate(worst.wall_feed)
    several = len(run.rings) > 1
    if typed_feed is None:
        if worst.ratio < 1 + _FEED_OFF:
            return []
        return [
            Finding(
                Weight.NOTE,
                f"The feed to type is {axis}{' on the first ring' * several}, not the wall's "
                f"{wall}, which would make the wall {worst.ratio:.2f} times as fast as meant.",
                "Type each ring's own." if several else f"Type {axis}.",
                "speed and feed",
            )
        ]
    findings = []
    typed = sizes.feed(typed_feed, f"{worst.ring.cut.depth.units:~P}")
    for ring in run.rings:
        off = (typed / ring.axis_feed).m_as("")
        if 1 - _FEED_OFF <= off <= 1 + _FEED_OFF:
            continue
        wall = sizes.show_rate((off * ring.wall_feed).to(ring.wall_feed.units))
        findings.append(
            Finding(
                Weight.STOP if off > 1 + _FEED_FAR_OFF else Weight.LOOK,
                f"{sizes.show_rate(typed)} typed at the control, on a path of "
                f"{fine(ring.ring.cut.path_diameter)}, makes {wall} at the wall: {off:.2f} "
                "times what was meant, and so is every chip.",
                f"Type {sizes.show_rate(ring.axis_feed)}.",
                "speed and feed",
            )
        )
    return findings


def _helix_starting(made: Bore, run: Run | None, starting: Starting) -> list[Finding]:
    steepest = _steepest(made).cut
    pitch = max((ring.cut.pitch for ring in made.rings), key=sizes.mm)
    compared = [("pitch", fine(pitch), pitch, starting.pitch, True)]
    ramp = steepest.ramp_angle
    compared.append(("ramp at the axis", sizes.show(ramp), ramp, starting.ramp_angle, True))
    if run is not None:
        speed = run.spindle_speed
        told = sizes.show_rate(speed)
        compared.append(("spindle speed", told, speed, starting.spindle_speed, False))
        chip = run.rings[-1].chip_load
        compared.append(("chip load at the wall", fine(chip), chip, starting.chip_load, False))
    return [
        Finding(
            Weight.LOOK,
            f"The {label} is {told}; usual in {starting.material} is {span}.",
            "A starting value (common practice, no source): the cutter maker's data go before it.",
            "starting values",
        )
        for label, told, value, span, only_above in compared
        if not (span.contains(value) or (only_above and value < span.low))
    ]


def _plunges(ring: Ring) -> bool:
    return bool(ring.cut.base["ramp_angle"] >= math.pi / 4)


def _steepest(made: Bore) -> Ring:
    return max(made.rings, key=lambda ring: ring.cut.base["ramp_angle"])


def _steeper(one: Quantity, other: Quantity) -> bool:
    """Whether one angle is more than another by more than typed angles are rounded."""
    return bool(sizes.rad(one) > sizes.rad(other) + 1e-4)
