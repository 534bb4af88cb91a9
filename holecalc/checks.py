"""What will go wrong, said before the plate is cut.

Each check compares two numbers. A finding names them, what follows, and what would cure it; no
finding means that it was checked and is in order. Findings have three weights: *stop* (the part
or the cutter will be spoilt), *look* (it can be cut, but perhaps not as meant), and *note*.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import partial

from holecalc import countersink as _countersink
from holecalc import sizes
from holecalc.countersink import Sink, told_recess
from holecalc.sizes import Quantity

__all__ = ["Finding", "Findings", "Weight", "countersink"]

_fine = partial(sizes.show, fine=True)


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
            f"Make the circle at least {_fine(cut.top_diameter - widest)}, or take a wider cutter.",
            "circles that work",
        )
    ]


def _tip_and_hole(sink: Sink) -> list[Finding]:
    cut, cutter = sink.cut, sink.cutter
    start = cutter.flank_start_diameter
    reach = cut.circle_diameter + start
    if _exceeds(reach, cut.hole_diameter):
        return [
            Finding(
                Weight.STOP,
                f"The tip sweeps {_fine(reach)} and the hole is {_fine(cut.hole_diameter)}: the "
                "cone does not reach the hole and a ledge is left round it.",
                f"Make the circle at most {_fine(cut.hole_diameter - start)}.",
                "circles that work",
            )
        ]
    least = cutter.cutting_diameter / 4
    if _exceeds(least, cut.hole_cutting_diameter):
        return [
            Finding(
                Weight.LOOK,
                f"At the hole's edge the cutter cuts at {_fine(cut.hole_cutting_diameter)} of its "
                f"{_fine(cutter.cutting_diameter)}: so near the tip the edge is slow and rubs.",
                f"Make the circle at most {_fine(cut.hole_diameter - least)} to cut at a "
                "quarter of the cutter's diameter (common practice, no source).",
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
    if _exceeds(cut.cone_depth, thickness):
        findings.append(
            Finding(
                Weight.STOP,
                f"The cone ends {_fine(cut.cone_depth)} down and the plate is "
                f"{_fine(thickness)}: the hole's far edge becomes a knife edge and grows.",
                "Take a thicker plate, a smaller head or a wider angle.",
                "circles that work",
            )
        )
    allowed = thickness + (sink.tip_below if sink.tip_below is not None else 0 * thickness)
    if _exceeds(cut.depth, allowed):
        lower = next(limit for limit in sink.limits.lower if "plate" in limit.because)
        findings.append(
            Finding(
                Weight.STOP,
                f"The tip goes {_fine(cut.depth)} deep in a plate of {_fine(thickness)}: "
                f"{_fine(cut.depth - thickness)} into what lies under it.",
                f"Make the circle at least {_fine(lower.circle_diameter)}, or put a board under "
                "the plate and allow the tip into it.",
                "circles that work",
            )
        )
    return findings


def _plunge(sink: Sink) -> list[Finding]:
    if sizes.mm(sink.cut.circle_diameter) > 0:
        return []
    return [
        Finding(
            Weight.NOTE,
            "A circle of 0 is a plunge: the whole flank cuts at once, which chatters.",
            f"Any circle up to {_fine(sink.limits.largest)} cuts the same cone.",
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
                f"A {sizes.show(head.head_angle)} head in a {sizes.show(cut.included_angle)} sink "
                f"touches only at {line}; under load it digs in or works loose.",
                f"Take a {sizes.show(head.head_angle)} cutter.",
                "seat of a head",
            )
        )
    proud = seat.recess.magnitude < 0 and abs(sizes.mm(seat.recess)) >= 0.0005
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
