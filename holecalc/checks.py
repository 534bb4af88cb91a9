"""What will go wrong, said before the plate is cut.

Each check compares two numbers. A finding names them, what follows, and what would cure it; no
finding means that it was checked and is in order. Findings have three weights: *stop* (the part
or the cutter will be spoilt), *look* (it can be cut, but perhaps not as meant), and *note*.
"""

from __future__ import annotations

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import partial

from holecalc import countersink as _countersink
from holecalc import flats as _flats
from holecalc import helix as _helix
from holecalc import sizes
from holecalc.counterbore import CounterboreError, Pocket
from holecalc.countersink import Sink, told_recess
from holecalc.cutters import EndMill
from holecalc.cutting import Run, Starting
from holecalc.form_cutter import (
    RIM_SPEED,
    ArcFit,
    BothFaces,
    CaliperReport,
    Edge,
    FormCutter,
)
from holecalc.helix import Bore, Ring
from holecalc.holding import CAUTION, Holding
from holecalc.nuts import Nut, TNut
from holecalc.screws import ScrewLength
from holecalc.sizes import Quantity, Size

__all__ = ["Finding", "Findings", "Weight", "counterbore", "countersink", "form_cutter", "helix"]

_fine = partial(sizes.show, fine=True)
_at_least = partial(sizes.show, fine=True, towards="up")
_at_most = partial(sizes.show, fine=True, towards="down")


class Weight(IntEnum):
    """How much a finding matters."""

    STOP = 3
    LOOK = 2
    NOTE = 1

    @property
    def word(self) -> str:
        """The weight as one word."""
        return self.name.lower()

    @property
    def mark(self) -> str:
        """A sign that tells the weights apart without colour."""
        return {Weight.STOP: "■", Weight.LOOK: "▲", Weight.NOTE: "·"}[self]


@dataclass(frozen=True)
class Finding:
    """One thing that will go wrong.

    Parameters
    ----------
    weight : Weight
        How much it matters.
    what : str
        What is the case and what follows, with the numbers.
    cure : str
        What would put it right.
    topic : str
        Heading of ``references/derivations.md`` that explains it.
    """

    weight: Weight
    what: str
    cure: str
    topic: str

    def __str__(self) -> str:
        return f"{self.weight.mark} {self.weight.word}: {self.what} {self.cure}"


class Findings(tuple[Finding, ...]):
    """Findings, the gravest first; none means that all was checked and is in order."""

    def __new__(cls, findings: Sequence[Finding] = ()) -> Findings:
        """Sort by weight; findings of one weight stay in the order they were found."""
        return super().__new__(cls, sorted(findings, key=lambda finding: -finding.weight))

    @property
    def worst(self) -> Weight | None:
        """The gravest weight there is, or None."""
        return self[0].weight if self else None

    def __str__(self) -> str:
        return "\n".join(map(str, self)) or "checked: nothing found"

    __repr__ = __str__

    def _repr_html_(self) -> str:
        if not self:
            return "<p>Checked: nothing found.</p>"
        items = "".join(
            f"<li><b>{finding.weight.mark} {finding.weight.word}</b>: "
            f"{html.escape(finding.what)} <i>{html.escape(finding.cure)}</i></li>"
            for finding in self
        )
        return f"<ul style='list-style:none;padding-left:0'>{items}</ul>"


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
    if not _exceeds(cut.face_cutting_diameter, widest):
        return []
    return [
        Finding(
            Weight.STOP,
            f"At the face the cut needs {_fine(cut.face_cutting_diameter)} of the cutter and it "
            f"is {_fine(widest)} wide: its shank or corner rubs there.",
            f"Make the circle at least {_at_least(cut.top_diameter - widest)}, or take a wider "
            "cutter.",
            "circles that work",
        )
    ]


def _tip_and_hole(sink: Sink) -> list[Finding]:
    cut, cutter = sink.cut, sink.cutter
    start = cutter.flank_start_diameter
    reach = cut.circle_diameter + start
    if _exceeds(reach, cut.hole_diameter):
        room = cut.hole_diameter - start
        cure = (
            f"Make the circle at most {_at_most(room)}."
            if room.magnitude >= 0
            else f"Take a cutter with a tip narrower than {_fine(cut.hole_diameter)}."
        )
        return [
            Finding(
                Weight.STOP,
                f"The tip sweeps {_fine(reach)} and the hole is {_fine(cut.hole_diameter)}: the "
                "cone does not reach the hole and a ledge is left round it.",
                cure,
                "circles that work",
            )
        ]
    least = cutter.cutting_diameter / 4
    if _exceeds(least, cut.hole_cutting_diameter):
        room = cut.hole_diameter - least
        cure = (
            f"Make the circle at most {_at_most(room)}"
            if room.magnitude >= 0
            else f"Take a cutter of at most {_at_most(4 * cut.hole_diameter)}"
        )
        return [
            Finding(
                Weight.LOOK,
                f"At the hole's edge the cutter cuts at {_fine(cut.hole_cutting_diameter)} of its "
                f"{_fine(cutter.cutting_diameter)}: so near the tip the edge is slow and rubs.",
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
    if not _exceeds(thickness, cut.cone_depth):
        findings.append(
            Finding(
                Weight.STOP,
                f"The cone ends {_fine(cut.cone_depth)} down and the plate is "
                f"{_fine(thickness)}: no straight hole is left, and its far edge is a knife edge.",
                "Take a thicker plate, a smaller head or a wider angle.",
                "circles that work",
            )
        )
    allowed = thickness + (sink.tip_below if sink.tip_below is not None else 0 * thickness)
    if _exceeds(cut.depth, allowed):
        lower = next(limit for limit in sink.limits.lower if limit.beyond == "tip below the plate")
        findings.append(
            Finding(
                Weight.STOP,
                f"The tip goes {_fine(cut.depth)} deep in a plate of {_fine(thickness)}: "
                f"{_fine(cut.depth - thickness)} into what lies under it.",
                f"Make the circle at least {_at_least(lower.circle_diameter)}, or put a board "
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
        f"Any circle up to {_at_most(largest)} cuts the same cone."
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
            "rim": f"its rim, and stands {_fine(seat.hole_gap)} clear at the hole",
            "hole edge": f"the hole's edge, and stands {_fine(seat.rim_gap)} clear at its rim",
            "face": f"the sink's edge in the face, and stands {_fine(seat.hole_gap)} clear at "
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
                f"The sink is as wide as the head measures, {_fine(head.head_diameter)}, but the "
                f"head's cone ends sharp at {_fine(head.sharp_diameter)}: it stands "
                f"{told_recess(seat.recess)}.",
                f"Make the top diameter {_fine(flush)} for a flush head.",
                "seat of a head",
            )
        )
    elif proud:
        findings.append(
            Finding(
                Weight.LOOK,
                f"The head stands {told_recess(seat.recess)}.",
                f"Make the top diameter {_fine(_flush(sink))} for a flush head.",
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


def _exceeds(one: Quantity, other: Quantity) -> bool:
    """Whether one length is more than another by more than a tenth of a micrometre."""
    return bool(sizes.mm(one) > sizes.mm(other) + 1e-4)


# --- helical bores -------------------------------------------------------------------------------

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
        what = f"The axis runs on a circle of only {_fine(cut.path_diameter)} and each turn goes "
        what += f"down {_fine(cut.pitch)}: a ramp of {ramp}, more down than round, is a plunge."
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
    if cutter.cutting_length is not None and _exceeds(pitch, cutter.cutting_length):
        return [
            Finding(
                Weight.STOP,
                f"The pitch is {_fine(pitch)} and the flutes are {_fine(cutter.cutting_length)} "
                "long: the shank would have to cut the rest.",
                "Make more turns, or take a cutter with longer flutes.",
                "helix",
            )
        ]
    most = share * cutter.cutting_diameter
    if _exceeds(pitch, most):
        return [
            Finding(
                Weight.LOOK,
                f"The pitch of {_fine(pitch)} is "
                f"{100 * (pitch / cutter.cutting_diameter).m_as(''):.0f} % of the cutter's "
                f"diameter, and the wall is cut as high as that.",
                f"Make more turns, for {_fine(most)} or less (common practice, no source).",
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
    if _exceeds(widest, swept):
        if dead is None:
            weight = Weight.LOOK
            what = "How wide the middle of the cutter is that has no edge was not given; if it is "
            what += f"over {_fine(swept)}, a pip"
        else:
            weight = Weight.STOP
            what = f"The middle of the cutter, {_fine(dead)} without an edge, never leaves the "
            what += f"bore's axis on a path of {_fine(first.path_diameter)}: a pip of "
            what += _fine(dead - swept)
        findings.append(
            Finding(
                Weight.STOP if _plunges(made.rings[0]) else weight,
                f"{what} stays there and the cutter bears on it.",
                f"Drill a pilot hole of at least {_fine(widest - first.path_diameter)}, make the "
                f"bore at least {_fine(cutter.cutting_diameter + widest)}, or take a "
                "centre-cutting cutter.",
                "middle of the cutter",
            )
        )
    if cutter.maximum_ramp_angle is None:
        findings.append(
            Finding(
                Weight.LOOK,
                "The cutter is not centre-cutting, so its end sets how steep it may ramp; that was "
                f"not given, and the ramp is {sizes.show(_steepest(made).cut.ramp_angle)}.",
                "Ask its maker, and never plunge with it.",
                "middle of the cutter",
            )
        )
    return findings


def _helix_reach(made: Bore) -> list[Finding]:
    cutter, findings = made.cutter, []
    untold = [
        label
        for label, size in (("flutes", cutter.cutting_length), ("reach", cutter.reach))
        if size is None
    ]
    if untold:
        findings.append(
            Finding(
                Weight.NOTE,
                f"The length of the cutter's {' and '.join(untold)} is not given, so whether it "
                f"is long enough for {_fine(made.depth)} was not checked.",
                "Measure it as it is clamped.",
                "reach",
            )
        )
    if cutter.reach is not None and _exceeds(made.depth, cutter.reach):
        findings.append(
            Finding(
                Weight.STOP,
                f"The bore goes {_fine(made.depth)} below the face and the cutter reaches "
                f"{_fine(cutter.reach)}: the holder runs into the plate.",
                f"Clamp it {_fine(made.depth - cutter.reach)} further out, or take a longer one.",
                "reach",
            )
        )
    wall = made.depth - made.start_depth
    if cutter.cutting_length is not None and _exceeds(wall, cutter.cutting_length):
        beyond = f"The wall is {_fine(wall)} high and the flutes {_fine(cutter.cutting_length)}: "
        over = cutter.shank_diameter - cutter.cutting_diameter
        cure = "Take a cutter with longer flutes, or one with a relieved neck."
        if _exceeds(over, 0 * over):
            what = f"the shank is {_fine(over / 2)} wider on the radius and runs into the face."
            findings.append(Finding(Weight.STOP, beyond + what, cure, "reach"))
        elif not _exceeds(-over, 0 * over):
            what = "above them the shank, as wide as the cutter, rubs on the wall."
            findings.append(Finding(Weight.LOOK, beyond + what, cure, "reach"))
    return findings


def _helix_chips(made: Bore) -> list[Finding]:
    first, cutter = made.rings[0].cut, made.cutter.cutting_diameter
    wall = made.depth - made.start_depth
    if made.pilot_diameter.magnitude:
        return []
    filled = (cutter / first.bore_diameter).m_as("") ** 2
    if filled > 1 - _LEAST_OPEN_SHARE and _exceeds(wall, cutter):
        narrow = first.bore_diameter * (1 - _LEAST_OPEN_SHARE) ** 0.5
        return [
            Finding(
                Weight.LOOK,
                f"The cutter fills {100 * filled:.0f} % of the bore and goes {_fine(wall)} deep: "
                "the chips have nowhere to go, pack and heat.",
                f"Take a cutter of at most {_fine(narrow)} (common practice, no source), or come "
                "up and clear the bore on the way.",
                "chips",
            )
        ]
    if _exceeds(wall, _DEEP * made.bore_diameter):
        return [
            Finding(
                Weight.LOOK,
                f"The bore is {(wall / made.bore_diameter).m_as(''):.1f} times as deep as wide: "
                "chips do not come up by themselves.",
                f"Clear it every {_fine(_DEEP * made.bore_diameter)} or less (common practice, no "
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
    no_core = f"Cut it in rings, or take a cutter of more than {_fine(least)}"
    if made.breakthrough is not None:
        return [
            Finding(
                Weight.STOP,
                f"A core of {_fine(core)} comes loose beside the turning cutter, which can jam it "
                "or throw it.",
                f"{no_core}, or screw the core down before it is cut through.",
                "core",
            )
        ]
    return [
        Finding(
            Weight.LOOK,
            f"A core of {_fine(core)} is left standing in the bore, "
            f"{_fine(made.depth - made.start_depth)} high.",
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
    what = f"Without a finishing turn up to {_fine(left.height)} stays {where}, along "
    what += f"{sizes.show(left.arc)} of the wall."
    if partly:
        what += " The helix is less than one turn, so part of the wall is not cut at all."
    cure = "Add a finishing turn"
    if made.breakthrough is not None and not partly:
        cure += f", or go {_fine(cut.pitch)} below the plate"
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
    if made.breakthrough is None and not _exceeds(thickness, made.depth):
        return [
            Finding(
                Weight.STOP,
                f"The bore is to be blind and {_fine(made.depth)} deep, and the plate is "
                f"{_fine(thickness)}: it goes through.",
                "Make it shallower, or plan it as a through hole.",
                "last turn",
            )
        ]
    if made.breakthrough is not None and not _exceeds(made.breakthrough, 0 * thickness):
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
    if typed_feed is None:
        if worst.ratio < 1 + _FEED_OFF:
            return []
        return [
            Finding(
                Weight.NOTE,
                f"The feed to type is {axis}, not the wall's {wall}, which would take the wall by "
                f"{worst.ratio:.2f} times as fast as meant.",
                f"Type {axis}.",
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
                f"{_fine(ring.ring.cut.path_diameter)}, takes the wall by at {wall}: {off:.2f} "
                "times what was meant, and so is every chip.",
                f"Type {sizes.show_rate(ring.axis_feed)}.",
                "speed and feed",
            )
        )
    return findings


def _helix_starting(made: Bore, run: Run | None, starting: Starting) -> list[Finding]:
    steepest = _steepest(made).cut
    pitch = max((ring.cut.pitch for ring in made.rings), key=sizes.mm)
    compared = [("pitch", _fine(pitch), pitch, starting.pitch, True)]
    ramp = steepest.ramp_angle
    compared.append(("ramp at the axis", sizes.show(ramp), ramp, starting.ramp_angle, True))
    if run is not None:
        speed = run.spindle_speed
        told = sizes.show_rate(speed)
        compared.append(("spindle speed", told, speed, starting.spindle_speed, False))
        ring = run.rings[-1]
        chip = sizes.from_mm(
            ring.wall_feed.m_as("mm/min") / speed.m_as("rpm") / made.cutter.flutes,
            made.bore_diameter.units,
        )
        compared.append(("chip load at the wall", _fine(chip), chip, starting.chip_load, False))
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


# --- form cutters --------------------------------------------------------------------------------

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
                f"The largest diameter, {_fine(largest)}, reaches {most} at "
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
            f"At {sizes.show_rate(speed)} the largest diameter, {_fine(largest)}, runs at "
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
        f"it goes {_fine(further)} deeper, until the bare stub stops it"
        if further.magnitude > 0
        else "nothing stops it"
    )
    return [
        Finding(
            Weight.LOOK,
            f"The bearing is off, which held the cut to where the arc begins, "
            f"{_fine(cutter.begin_diameter)} across: fed by hand {reach}, and it throws the work.",
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
                f"From this trace the tangent setting is known only within {_fine(2 * worst)} "
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
    if _exceeds(0 * clearance, clearance):
        first = "Finish the wall first, or take" if edge.allowance.magnitude else "Take"
        return [
            Finding(
                Weight.STOP,
                f"The stub, {_fine(stub)} across, runs {_fine(-clearance)} into {stock}; it has "
                "no edges there and burns.",
                f"{first} a cutter with a stub of at most {_fine(widest)}."
                if widest.magnitude > 0
                else f"{first} the cutter further out.",
                "stub and stock",
            )
        ]
    if sizes.mm(clearance) < _SCRAPES:
        return [
            Finding(
                Weight.NOTE,
                f"The stub, {_fine(stub)} across, passes {stock} by {_fine(clearance)}: with any "
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
    cure = f"Make the {what} {_fine(wanted)}."
    if sizes.mm(step) > _FELT:
        leaves = f"At {what} {_fine(setting)} the cut leaves {told}."
        return [Finding(Weight.LOOK, leaves, cure, topic)]
    if cutter.shape == "straight":
        return []
    if sizes.mm(short) > _FELT:
        return [Finding(Weight.LOOK, f"At {what} {_fine(setting)} the cut {told}.", cure, topic)]
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
                    f"The arc ends {_fine(edge.step_on_face)} below the face and the shoulder's "
                    "height is not given, so whether its top stays above the face was not checked.",
                    "Measure the shoulder.",
                    "what an error of the setting leaves",
                )
            )
    elif _exceeds(buried, 0 * buried):
        found.append(
            Finding(
                Weight.STOP,
                f"The top of the shoulder is {_fine(buried)} below the face: what stands above it "
                "is not cut, and the cutter's back rubs in the slot.",
                f"Make the depth at most {_fine(edge.depth - buried)}.",
                "what an error of the setting leaves",
            )
        )
    if not edge.wall_left.magnitude:
        found.append(
            Finding(
                Weight.LOOK,
                f"The plate is {_fine(edge.plate_thickness)} and the cut leaves nothing of its "
                "wall: nothing is left to measure the offset from.",
                "Take a smaller radius or a thicker plate, or measure the plate's size before.",
                "both faces",
            )
        )
    below = edge.tip_below_plate
    if _exceeds(below, 0 * below):
        found.append(
            Finding(
                Weight.LOOK,
                f"The tip reaches {_fine(below)} below the plate, into what it lies on.",
                f"Let the edge stand out, or raise the plate by more than {_fine(below)}.",
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
            f"{_fine(cut.cusp_setback)} inside it, and the plate is that much smaller.",
            f"Take a plate of at least {_fine(least)}, or smaller radii, to keep a flat.",
            "both faces",
        )
    ]


# --- counterbores --------------------------------------------------------------------------------

_TURNS_TOO_FAR = 10
_NARROW_RING = 0.1
_THIN = 0.25


def counterbore(
    pocket: Pocket,
    *,
    screw: ScrewLength | None = None,
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
    least = _THIN * thickness if least_left is None else sizes.length(least_left)
    findings = [
        *_counterbore_nut(pocket, sizes.angle(most_turning)),
        *_counterbore_recess(pocket),
        *_counterbore_web(pocket, least),
        *_counterbore_t_nut(pocket),
        *_counterbore_ring(pocket),
    ]
    for label, wall in (walls or {}).items():
        findings += _counterbore_wall(label, wall, least)
    if cutter is not None:
        findings += _counterbore_cutter(pocket, cutter)
    if screw is not None:
        findings += _counterbore_screw(screw)
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
                f"The pocket is {_fine(seat.across)} across flats and a nut may be only "
                f"{_fine(nut.across_corners)} over its corners: it spins when the screw is "
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
        how = f"before its corners meet the flats, which then hold each by {_fine(bite)}"
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
    return f"Take a cutter of at most {_at_most(largest)}, or relieve the corners with a small one."


def _counterbore_recess(pocket: Pocket) -> list[Finding]:
    proud = -pocket.recess
    if not _exceeds(proud, 0 * proud):
        return []
    return [
        Finding(
            Weight.LOOK,
            f"It stands {_fine(proud)} proud of the face.",
            f"Make the pocket {_at_least(proud)} deeper to be flush.",
            "depths of a pocket",
        )
    ]


def _counterbore_web(pocket: Pocket, least: Quantity) -> list[Finding]:
    findings, web = [], pocket.stack.web
    if _exceeds(least, web.thickness):
        findings.append(
            Finding(
                Weight.LOOK,
                f"Only {_fine(web.thickness)} of the plate's "
                f"{_fine(pocket.stack.plate_thickness)} is left between {web.above} and "
                f"{web.below}.",
                f"Leave {_at_least(least)} (common practice, no source), or see what it holds.",
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
                    f"A 118° drill would go {_fine(point)} deeper at its point and break through "
                    f"the {_fine(web.thickness)} that is left.",
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
    if not _exceeds(under, t_nut.prong_length) and t_nut.prong_length.magnitude:
        findings.append(
            Finding(
                Weight.STOP,
                f"The prongs are {_fine(t_nut.prong_length)} long and the plate under the flange "
                f"{_fine(under)}: they come out of the other face.",
                "Shorten the prongs, or take a thicker plate.",
                "depths of a pocket",
            )
        )
    chain = pocket.stack.steps(pocket.face)
    if len(chain) > 1:
        gap = chain[-1].depth - pocket.depth - t_nut.barrel_length
        if not _exceeds(gap, 0 * gap):
            findings.append(
                Finding(
                    Weight.STOP if _exceeds(-gap, 0 * gap) else Weight.LOOK,
                    f"The barrel is {_fine(t_nut.barrel_length)} long below the flange and its "
                    f"pocket {_fine(chain[-1].depth - pocket.depth)}: it stands on its end before "
                    "the flange is down, or with the first chip under it.",
                    f"Make the barrel's pocket {_at_least(0.5 * _one_mm(gap) - gap)} deeper.",
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
    if _exceeds(ring, _NARROW_RING * inside):
        return []
    nothing = not _exceeds(ring, 0 * ring)
    left = "nothing is left to press on" if nothing else f"a ring of {_fine(ring)} carries all"
    return [
        Finding(
            Weight.STOP if nothing else Weight.LOOK,
            f"The face that presses is {_fine(outside)} across and the hole under it "
            f"{_fine(inside)}: {left}.",
            f"Make the hole at most {_at_most(outside / (1 + 2 * _NARROW_RING))} (common practice, "
            "no source), or put a washer under it.",
            "bearing and shear-out",
        )
    ]


def _counterbore_wall(label: str, wall: Quantity, least: Quantity) -> list[Finding]:
    if not _exceeds(least, wall):
        return []
    if not _exceeds(wall, 0 * wall):
        return [
            Finding(
                Weight.STOP,
                f"Nothing is left to the {label}: the pocket breaks into it by {_fine(abs(wall))}.",
                f"Move it {_at_least(least - wall)} away (common practice, no source).",
                "what a stack leaves",
            )
        ]
    return [
        Finding(
            Weight.LOOK,
            f"The wall to the {label} is only {_fine(wall)}.",
            f"Move it {_at_least(least - wall)} away (common practice, no source).",
            "what a stack leaves",
        )
    ]


def _counterbore_cutter(pocket: Pocket, cutter: EndMill) -> list[Finding]:
    findings = []
    wide = cutter.cutting_diameter
    for step in pocket.stack.steps(pocket.face):
        if _exceeds(wide, step.across):
            findings.append(
                Finding(
                    Weight.STOP,
                    f"The cutter is {_fine(wide)} and the {step.name or step.shape} pocket "
                    f"{_fine(step.across)}: it does not go in.",
                    "Take a narrower cutter.",
                    "cutter's reach",
                )
            )
        elif step.cutter_diameter is not None and _exceeds(wide, step.cutter_diameter):
            findings.append(
                Finding(
                    Weight.STOP,
                    f"The {step.name or step.shape} pocket was worked out for a cutter of "
                    f"{_fine(step.cutter_diameter)} and this one is {_fine(wide)}: its corners "
                    "come out rounder than the nut's.",
                    "Work the pocket out for this cutter.",
                    "pockets with flats",
                )
            )
    deepest = max(step.depth for step in pocket.stack.steps(pocket.face))
    if cutter.reach is not None and _exceeds(deepest, cutter.reach):
        findings.append(
            Finding(
                Weight.STOP,
                f"The pocket is {_fine(deepest)} deep and the cutter reaches "
                f"{_fine(cutter.reach)}: its holder comes down on the plate.",
                f"Clamp it {_at_least(deepest - cutter.reach)} farther out, or take a longer one.",
                "cutter's reach",
            )
        )
    elif cutter.cutting_length is not None and _exceeds(deepest, cutter.cutting_length):
        findings.append(
            Finding(
                Weight.LOOK,
                f"The pocket is {_fine(deepest)} deep and the flutes are "
                f"{_fine(cutter.cutting_length)} long: above them the shank rubs on the wall.",
                "Take longer flutes, or a cutter with a relieved neck.",
                "cutter's reach",
            )
        )
    return findings


def _counterbore_screw(screw: ScrewLength) -> list[Finding]:
    findings = []
    beyond, length = screw.beyond, sizes.show(screw.length)
    if not _exceeds(screw.engaged, 0 * screw.engaged):
        return [
            Finding(
                Weight.STOP,
                f"The {length} screw does not reach the thread, which starts "
                f"{_fine(screw.grip)} from its head.",
                f"It has to be at least {_at_least(screw.shortest)} long.",
                "screw length",
            )
        ]
    if screw.bottoms and beyond is not None:
        findings.append(
            Finding(
                Weight.STOP,
                f"The {length} screw meets the floor of the hole, {_fine(abs(beyond))} before its "
                "head clamps anything.",
                "Take a shorter one, a washer, or a deeper hole.",
                "screw length",
            )
        )
    if screw.proud and beyond is not None:
        findings.append(
            Finding(
                Weight.LOOK,
                f"The tip of the {length} screw stands {_fine(beyond)} out of the face.",
                f"Put washers of {_at_least(beyond)} under its head, or take a shorter one.",
                "screw length",
            )
        )
    if _exceeds(screw.shortest, screw.length):
        findings.append(
            Finding(
                Weight.LOOK,
                f"The {length} screw engages {screw.turns:.1f} turns, {screw.diameters:.2f} "
                f"diameters, and the thread is {_fine(screw.thread_length)} long.",
                f"Make it at least {_at_least(screw.shortest)} long, to engage "
                f"{_fine(screw.least_engaged)} or fill a thinner nut (common practice, no source).",
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
