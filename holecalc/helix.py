r"""Bores cut by a cutter that winds down on a helix.

The axis of a cutter of diameter c runs on a circle of diameter P while it goes down by the pitch
p in every turn. Its side cuts a bore of diameter D = P + c:

::

          |<-------- D -------->|            one turn, unrolled
     -----|         |           |-----               _______________
          | /-------|-\         |            axis  .-'r             | p    tan r = p / (pi P)
          | |   c   | |         |                 |<---- pi P ---->|
          | |    |<-|>| P/2     |                    _______________________
          | |       | |         |            wall  .--''e                  | p
          | \_______|_/         |                 |<------- pi D -------->|

.. math:: D = P + c, \quad p = h/n, \quad \tan r = \frac{p}{\pi P}, \quad L = \frac{h}{\sin r}

Being wound down over n turns to the depth h, the axis has gone the length L. The ramp is steeper
at the axis (r) than at the wall (e), and the nearer the cutter's diameter comes to the bore's, the
nearer the helix comes to a plunge.

Depths are from the face the bore is cut from, positive into the plate. Results are in the unit of
the first size given. Derivations: ``references/derivations-helix.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

from holecalc import sizes
from holecalc.cutters import EndMill
from holecalc.relations import ANGLE, COUNT, LENGTH, Relations, Solution, Variable
from holecalc.sizes import Quantity, Size

__all__ = [
    "BORE",
    "Bore",
    "Engagement",
    "HelixError",
    "Left",
    "Ring",
    "TurnLimit",
    "Turns",
    "bore",
    "engagement",
    "least_cutter",
    "left_without_finishing_turn",
    "passes_for",
    "stepped",
]

_fine = partial(sizes.show, fine=True)


_MOST_RINGS = 200


class HelixError(ValueError):
    """The sizes do not make a helical bore; the message says why, and what would."""


BORE = Relations(
    "helical bore",
    Variable("bore_diameter", "D", LENGTH, "diameter of the bore"),
    Variable("cutter_diameter", "c", LENGTH, "diameter the cutter cuts"),
    Variable("path_diameter", "P", LENGTH, "circle the cutter's axis runs on"),
    Variable("depth", "h", LENGTH, "how far down the helix goes"),
    Variable("passes", "n", COUNT, "turns from the top of the helix to its depth"),
    Variable("pitch", "p", LENGTH, "how far down one turn goes"),
    Variable("ramp_angle", "r", ANGLE, "slope of the helix at the cutter's axis", high=math.pi / 2),
    Variable("edge_ramp_angle", "e", ANGLE, "slope of the helix at the wall", high=math.pi / 2),
    Variable("path_length", "L", LENGTH, "length of the helix at the cutter's axis"),
    equations=(
        "P = D - c",
        "p = h/n",
        "p = pi*P*tan(r)",
        "p = pi*D*tan(e)",
        "L = h/sin(r)",
    ),
    settings=("cutter_diameter", "path_diameter", "depth", "passes"),
)
"""What ties a helical bore's diameters, depth, turns, pitch, ramp and length together.

Examples
--------
>>> cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=8)
>>> print(sizes.show(cut.pitch), sizes.show(cut.ramp_angle), sizes.show(cut.path_length))
2.50 mm 14.86° 78.01 mm
>>> cut = BORE.solve(
...     bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", path_length="189.554 mm"
... )
>>> print(sizes.show_rate(cut.passes))
20
"""


@dataclass(frozen=True)
class TurnLimit:
    """One thing that asks for a number of turns.

    Parameters
    ----------
    least : float
        The turns it takes to satisfy it, not rounded.
    because : str
        What asks for them, with its numbers.
    """

    least: float
    because: str


@dataclass(frozen=True)
class Turns:
    """A whole number of turns, and what decided it.

    Parameters
    ----------
    passes : int
        The turns.
    limits : tuple of TurnLimit
        Everything that was asked for, the deciding one first.
    cut : Solution
        The quantities of :data:`BORE` with so many turns.
    """

    passes: int
    limits: tuple[TurnLimit, ...]
    cut: Solution

    def __str__(self) -> str:
        asked = [f"{limit.because} needs {limit.least:.2f}" for limit in self.limits]
        return f"{_told_turns(self.passes)}: {'; '.join(asked)}"


def passes_for(
    *,
    bore_diameter: Size,
    cutter_diameter: Size,
    depth: Size,
    max_pitch: Size | None = None,
    max_ramp_angle: Size | None = None,
    max_edge_ramp_angle: Size | None = None,
) -> Turns:
    """The least whole number of turns that keeps within every limit.

    Parameters
    ----------
    bore_diameter, cutter_diameter, depth : size
        As in :data:`BORE`.
    max_pitch : size, optional
        The most the cutter may go down in a turn.
    max_ramp_angle, max_edge_ramp_angle : angle, optional
        The steepest the helix may be at the cutter's axis, where makers of cutters mean it, and
        at the wall.

    Returns
    -------
    Turns
        The deciding limit stands first in its `limits`.

    Raises
    ------
    HelixError
        No limit was given, or one that no number of turns satisfies.
    holecalc.relations.RelationsError
        The cutter does not fit in the bore.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(passes_for(
    ...     bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm",
    ...     max_pitch="3 mm", max_ramp_angle=15,
    ... ))
    8 turns: a ramp of at most 15° at the axis needs 7.92; a pitch of at most 3.000 mm needs 6.67
    """
    one = BORE.solve(
        bore_diameter=bore_diameter, cutter_diameter=cutter_diameter, depth=depth, passes=1
    )
    down = one.base["depth"]
    limits = []
    if max_pitch is not None:
        pitch = sizes.length(max_pitch)
        _refuse_nothing("pitch", pitch)
        limits.append(
            TurnLimit(down / sizes.mm(pitch), f"a pitch of at most {_fine(pitch)}"),
        )
    for angle, circle, where in (
        (max_ramp_angle, one.base["path_diameter"], "at the axis"),
        (max_edge_ramp_angle, one.base["bore_diameter"], "at the wall"),
    ):
        if angle is not None:
            ramp = sizes.angle(angle)
            _refuse_nothing("ramp", ramp)
            if sizes.rad(ramp) < math.pi / 2:
                least = down / (math.pi * circle * math.tan(sizes.rad(ramp)))
                because = f"a ramp of at most {sizes.show(ramp)} {where}"
                limits.append(TurnLimit(least, because))
    if not limits:
        raise HelixError(
            "nothing limits the turns. Give max_pitch, max_ramp_angle or max_edge_ramp_angle."
        )
    limits.sort(key=lambda limit: -limit.least)
    # A pitch that divides the depth must not cost a turn more for the last bit of a float.
    passes = max(1, math.ceil(limits[0].least * (1 - 1e-9)))
    cut = BORE.solve(
        bore_diameter=bore_diameter, cutter_diameter=cutter_diameter, depth=depth, passes=passes
    )
    return Turns(passes, tuple(limits), cut)


def least_cutter(
    bore_diameter: Size, *, pilot_diameter: Size | None = None, overlap: Size | None = None
) -> Quantity:
    r"""The narrowest cutter that leaves no core standing, on a single path.

    ::

        |<---------- D ---------->|
        |<- c ->|         |<- c ->|        a core of P - c = D - 2c stands, unless the cutter
        |_______|  core   |_______|        reaches to the pilot hole d, or past the axis
                |<- D-2c->|

    .. math:: c = \frac{D - d}{2} + o

    Parameters
    ----------
    bore_diameter : size
        The bore, D.
    pilot_diameter : size, optional
        A hole that is there already, d.
    overlap : size, optional
        How far past the pilot hole's edge, or the axis, the cutter should reach, o. Exactly none
        by default, where the core just vanishes.

    Returns
    -------
    pint.Quantity
        The cutter's diameter, in the unit of the bore.

    Raises
    ------
    HelixError
        The bore is no wider than the pilot hole.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(least_cutter("47 mm"), least_cutter("1 in", overlap="0.02 in"))
    23.5 mm 0.52 in
    """
    wide = sizes.length(bore_diameter)
    pilot = 0 * wide if pilot_diameter is None else sizes.length(pilot_diameter)
    _refuse_pilot(wide, pilot)
    past = 0 * wide if overlap is None else sizes.length(overlap)
    return ((wide - pilot) / 2 + past).to(wide.units)


@dataclass(frozen=True)
class Engagement:
    """How a cutter is engaged as it winds down.

    Parameters
    ----------
    engaged_angle : pint.Quantity
        The part of its circumference that is in the cut, seen from above: 180° in the solid.
    height : pint.Quantity
        Of the chip at the wall: the pitch. From there it falls to nothing where the cutter has
        just been.
    effective_width : pint.Quantity
        The width of a straight cut of the same height and feed that would remove as much. More
        than the cutter's diameter where its end does the greater part.
    """

    engaged_angle: Quantity
    height: Quantity
    effective_width: Quantity


def engagement(cut: Solution, *, opened: Size | None = None) -> Engagement:
    r"""How much of the cutter is in the cut.

    ::

                 __---__
              .-'       '-.         the cutter's centre is P/2 from the axis o; a point of its
            .'   opened    '.       edge at the angle t from the outward direction lies on the
           /      .---.   __ \      radius rho:
          |      |  b  | /  \ |
          |      |  o--|-+P/2||     rho^2 = (P/2)^2 + (c/2)^2 + 2 (P/2)(c/2) cos t
          |      |     | \_c/ |
           \      '---'      /      it cuts where rho is more than b/2, half of what is open
            '.             .'
              '-.__   __.-'
                   '''

    A turn takes the ring from the opened diameter b to D by a pitch deep, over the path's
    circumference, so that a straight cut would be w wide:

    .. math:: w = \frac{\pi (D^2 - b^2)/4}{\pi P} = \frac{D^2 - b^2}{4 P}

    Parameters
    ----------
    cut : Solution
        Of :data:`BORE`.
    opened : size, optional
        What is open already: a pilot hole, or the ring before. Nothing by default.

    Returns
    -------
    Engagement

    Raises
    ------
    HelixError
        As much is open already as would be cut.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    Where a core is left standing, b is the core's diameter P - c.

    Examples
    --------
    >>> cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=8)
    >>> at = engagement(cut, opened="8 mm")
    >>> print(sizes.show(at.engaged_angle), sizes.show(at.effective_width))
    58.14° 1.42 mm
    """
    wide, cutter, path = (
        cut.base[name] for name in ("bore_diameter", "cutter_diameter", "path_diameter")
    )
    unit = cut.bore_diameter.units
    open_now = 0 * cut.bore_diameter if opened is None else sizes.length(opened)
    _refuse_pilot(cut.bore_diameter, open_now)
    already = sizes.mm(open_now)
    cosine = (already**2 - path**2 - cutter**2) / (2 * path * cutter)
    uncut = max(already, path - cutter)
    return Engagement(
        engaged_angle=sizes.from_rad(math.acos(max(-1.0, min(1.0, cosine)))),
        height=cut.pitch,
        effective_width=sizes.from_mm((wide**2 - uncut**2) / (4 * path), unit),
    )


@dataclass(frozen=True)
class Left:
    """What a helix leaves where no finishing turn follows it.

    Parameters
    ----------
    height : pint.Quantity
        The tallest of it, at the wall just past the helix's end: above the floor, or above the
        plate's far face where the helix goes below that. 0 where nothing is left.
    arc : pint.Quantity
        How far round the wall it reaches.
    """

    height: Quantity
    arc: Quantity


def left_without_finishing_turn(cut: Solution, *, breakthrough: Size | None = None) -> Left:
    r"""What the last turn leaves standing at the wall.

    The axis passed the place at the angle s past the helix's end the last time s short of a turn
    ago, and was higher then, so that a wedge stands there:

    ::

           end of the helix
           |                         ___---| p      height(s) = p (1 - s / 2 pi)
           |           ___---'''           |
           |___---'''______________________|_______ depth
           |<------------- one turn ------>|
              s = 2 pi              s = 0

    Of a through hole only what is higher than the breakthrough b is left in the plate: p - b at
    most, along 1 - b/p of the wall. A helix of less than one turn leaves the wall it never came
    past at its full height.

    Parameters
    ----------
    cut : Solution
        Of :data:`BORE`.
    breakthrough : size, optional
        How far below the plate the helix goes; none for a blind bore.

    Returns
    -------
    Left

    Raises
    ------
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=8)
    >>> left = left_without_finishing_turn(cut, breakthrough="0.5 mm")
    >>> print(sizes.show(left.height), "along", sizes.show(left.arc))
    2.00 mm along 288°
    """
    below = 0 * cut.pitch if breakthrough is None else sizes.length(breakthrough)
    tallest = min(cut.pitch, cut.depth)
    cleared = min(sizes.mm(below) / sizes.mm(cut.pitch), 1.0)
    height = sizes.mm(tallest) - sizes.mm(below)
    return Left(
        sizes.from_mm(max(height, 0.0), cut.pitch.units),
        sizes.from_rad(2 * math.pi * (1 - cleared) if height > 0 else 0.0),
    )


@dataclass(frozen=True)
class Ring:
    """One helix of a bore.

    Parameters
    ----------
    cut : Solution
        The quantities of :data:`BORE`.
    opened : pint.Quantity
        The diameter that was open before it; 0 in the solid.
    limits : tuple of TurnLimit
        What decided the turns, where they were not given.
    """

    cut: Solution
    opened: Quantity
    limits: tuple[TurnLimit, ...] = ()

    @property
    def engagement(self) -> Engagement:
        """How the cutter is engaged in it."""
        return engagement(self.cut, opened=self.opened)

    @property
    def turn_length(self) -> Quantity:
        """The length of one flat turn at the axis."""
        return math.pi * self.cut.path_diameter

    def __str__(self) -> str:
        cut = self.cut
        return (
            f"{_told_turns(cut.passes.magnitude)} of {_fine(cut.pitch)} on a path of "
            f"{_fine(cut.path_diameter)}, ramp {sizes.show(cut.ramp_angle)} "
            f"(wall {sizes.show(cut.edge_ramp_angle)})"
        )


@dataclass(frozen=True)
class Bore:
    """A bore, all of it: the rings it is cut in and the turns that finish it.

    Parameters
    ----------
    cutter : EndMill
        What cuts it.
    rings : tuple of Ring
        From the middle outwards; a single one where one helix does it.
    bore_diameter : pint.Quantity
        The bore.
    start_depth, depth : pint.Quantity
        Where the helix starts and where it ends, below the face.
    plate_thickness : pint.Quantity or None
        Of the plate, if known.
    breakthrough : pint.Quantity or None
        How far below the plate the cutter goes; None for a blind bore.
    pilot_diameter : pint.Quantity
        The hole that was there before; 0 for none.
    finishing_turn : bool
        Whether each helix ends with a flat turn at its depth.
    spring_turns : int
        How many more the last one is given, to cut what the cutter sprang away from.
    """

    cutter: EndMill
    rings: tuple[Ring, ...]
    bore_diameter: Quantity
    start_depth: Quantity
    depth: Quantity
    plate_thickness: Quantity | None
    breakthrough: Quantity | None
    pilot_diameter: Quantity
    finishing_turn: bool
    spring_turns: int

    @property
    def cut(self) -> Solution:
        """The helix that makes the bore's wall."""
        return self.rings[-1].cut

    @property
    def core_diameter(self) -> Quantity | None:
        """Of the core that is left standing, or None."""
        first = self.rings[0].cut
        core = first.path_diameter - first.cutter_diameter
        return core if sizes.mm(core) > sizes.mm(self.pilot_diameter) + 1e-9 else None

    def flat_turns(self, ring: Ring) -> int:
        """How many turns at depth follow a ring's helix."""
        return int(self.finishing_turn) + (self.spring_turns if ring is self.rings[-1] else 0)

    @property
    def path_length(self) -> Quantity:
        """At the cutter's axis: every helix and every flat turn, without the moves between."""
        lengths = [
            ring.cut.path_length + self.flat_turns(ring) * ring.turn_length for ring in self.rings
        ]
        return sum(lengths[1:], start=lengths[0])

    @property
    def volume(self) -> Quantity:
        """Of the material removed from the plate."""
        end = self.depth
        if self.plate_thickness is not None:
            end = min(end, self.plate_thickness)
        inner = self.core_diameter
        hollow = self.pilot_diameter**2
        if inner is not None:
            hollow = inner**2
        area = math.pi / 4 * (self.bore_diameter**2 - hollow)
        return area * (end - self.start_depth)

    @property
    def left(self) -> Left | None:
        """What the last turn leaves standing at the wall; None after a finishing turn."""
        if self.finishing_turn or self.spring_turns:
            return None
        return left_without_finishing_turn(self.cut, breakthrough=self.breakthrough)

    def __str__(self) -> str:
        depth = f"{_fine(self.depth)} deep"
        if self.breakthrough is not None:
            depth += f" ({_fine(self.breakthrough)} below the plate)"
        if self.start_depth.magnitude:
            depth = f"from {_fine(self.start_depth)} down to {depth}"
        if self.pilot_diameter.magnitude:
            depth += f", from a pilot hole of {_fine(self.pilot_diameter)}"
        head = (
            f"{_fine(self.bore_diameter)} bore, {depth}, "
            f"cutter {_fine(self.cutter.cutting_diameter)}"
        )
        lines = [f"{head}: {self.rings[0]}"]
        if len(self.rings) > 1:
            lines = [f"{head}, {len(self.rings)} rings:", *(f"  {ring}" for ring in self.rings)]
        each = " each" if len(self.rings) > 1 else ""
        flat = [f"a finishing turn{each}"] if self.finishing_turn else []
        if self.spring_turns:
            flat.append(f"{self.spring_turns} spring turn{'s' * (self.spring_turns > 1)}")
        tail = f"; {' and '.join(flat)}" if flat else "; no finishing turn"
        return "\n".join(lines) + f"{tail}; {sizes.show(self.path_length)} of path"


def bore(
    cutter: EndMill,
    *,
    bore_diameter: Size,
    depth: Size | None = None,
    plate_thickness: Size | None = None,
    breakthrough: Size | None = None,
    start_depth: Size | None = None,
    pilot_diameter: Size | None = None,
    passes: Size | None = None,
    pitch: Size | None = None,
    max_pitch: Size | None = None,
    max_ramp_angle: Size | None = None,
    max_edge_ramp_angle: Size | None = None,
    max_step: Size | None = None,
    leave_core: bool = False,
    finishing_turn: bool = True,
    spring_turns: int = 0,
) -> Bore:
    r"""Plan a bore: one helix, or rings from the middle outwards where one would leave a core.

    One helix opens no more than twice the cutter's diameter. For a wider bore the first ring
    opens the middle, and every further one widens it by at most `max_step` on the radius:

    ::

        |<------------------ D ------------------>|
        | 3  | 2  |<------ first ring ------>| 2  | 3  |
             |<->| step                P1 <= d + c - 2 o,  o = c/20 past the axis, or the pilot's
                                       edge, so that no thread of a core is left

    Parameters
    ----------
    cutter : EndMill
        The cutter. Its marked ramp angle and its cutting length are limits too.
    bore_diameter : size
        The bore.
    depth : size, optional
        Of a blind bore, from the face. Left out for a through hole.
    plate_thickness : size, optional
        Of the plate; needed for a through hole.
    breakthrough : size, optional
        For a through hole, how far below the plate the cutter goes: 0.5 mm or 0.02 in by default
        (common practice, no source).
    start_depth : size, optional
        Below the face, where the helix starts: the floor of what was cut before. The face by
        default.
    pilot_diameter : size, optional
        A hole that is there already, on the same axis and at least as deep.
    passes : number, optional
        The turns of each helix, instead of limits.
    pitch : size, optional
        How far down each turn goes, instead of limits; the turns need not come out whole.
    max_pitch, max_ramp_angle, max_edge_ramp_angle : size and angles, optional
        Limits, as for :func:`passes_for`. With none of these, nor `passes` or `pitch`, the pitch is
        at most half the cutter's diameter (common practice, no source).
    max_step : size, optional
        The most a further ring may widen the bore, on the radius: half the cutter's diameter by
        default (common practice, no source).
    leave_core : bool, default False
        Cut the outer ring alone, and leave a core.
    finishing_turn : bool, default True
        End each helix with a flat turn at its depth.
    spring_turns : int, default 0
        Further turns at the bore's full size.

    Returns
    -------
    Bore
        Also where it will not go well: :func:`holecalc.checks.helix` says what goes wrong.

    Raises
    ------
    HelixError
        The depth or the turns are told twice, the depth not at all, or a size leaves nothing to
        cut.
    holecalc.relations.RelationsError
        The cutter does not fit in the bore.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(bore(
    ...     EndMill("6 mm", flutes=1), bore_diameter="9 mm", plate_thickness="20 mm", passes=8
    ... ))
    9.000 mm bore, 20.500 mm deep (0.500 mm below the plate), cutter 6.000 mm: 8 turns of
    2.563 mm on a path of 3.000 mm, ramp 15.21° (wall 5.18°); a finishing turn; 87.56 mm of path
    >>> print(bore(
    ...     EndMill("12 mm", flutes=2), bore_diameter="47 mm", depth="14 mm", max_pitch="4 mm"
    ... ))
    47.000 mm bore, 14.000 mm deep, cutter 12.000 mm, 4 rings:
      4 turns of 3.500 mm on a path of 10.800 mm, ramp 5.89° (wall 2.8°)
      4 turns of 3.500 mm on a path of 18.867 mm, ramp 3.38° (wall 2.07°)
      4 turns of 3.500 mm on a path of 26.933 mm, ramp 2.37° (wall 1.64°)
      4 turns of 3.500 mm on a path of 35.000 mm, ramp 1.82° (wall 1.36°); a finishing turn each;
    1440.50 mm of path
    """
    wide = sizes.length(bore_diameter)
    unit = wide.units
    if not wide > cutter.cutting_diameter:
        raise HelixError(
            f"a cutter of {_fine(cutter.cutting_diameter)} cannot go round in a bore of "
            f"{_fine(wide)}. Take a narrower cutter, or drill the hole."
        )
    thickness = None if plate_thickness is None else sizes.length(plate_thickness).to(unit)
    end, below = _ends(depth, thickness, breakthrough, unit)
    start = 0 * wide if start_depth is None else sizes.length(start_depth).to(unit)
    if not end > start:
        raise HelixError(
            f"the helix would start {_fine(start)} down and end {_fine(end)} down. Start it above "
            "its end."
        )
    pilot = 0 * wide if pilot_diameter is None else sizes.length(pilot_diameter).to(unit)
    _refuse_pilot(wide, pilot)
    if isinstance(spring_turns, bool) or not isinstance(spring_turns, int) or spring_turns < 0:
        raise HelixError(f"spring turns are 0, 1, 2 …, not {spring_turns!r}.")
    limits = {
        "max_pitch": max_pitch,
        "max_ramp_angle": max_ramp_angle,
        "max_edge_ramp_angle": max_edge_ramp_angle,
    }
    fixed = {"passes": passes, "pitch": pitch}
    fixed = {name: value for name, value in fixed.items() if value is not None}
    if len(fixed) == 2:
        raise HelixError(
            "the turns and the pitch were both given, and each fixes the other. Give one."
        )
    if fixed and any(limit is not None for limit in limits.values()):
        told = "turns" if "passes" in fixed else "pitch"
        raise HelixError(
            f"the {told} and a limit were both given. Leave out {next(iter(fixed))}, or the limits."
        )
    if not fixed:
        limits = _with_cutter(limits, cutter)
    step = cutter.cutting_diameter / 2 if max_step is None else sizes.length(max_step)
    _refuse_nothing("step", step)
    rings = []
    opened = pilot
    for across in _ring_diameters(wide, cutter.cutting_diameter, pilot, step, leave_core):
        known = {
            "bore_diameter": across,
            "cutter_diameter": cutter.cutting_diameter,
            "depth": end - start,
        }
        if fixed:
            rings.append(Ring(BORE.solve(**known, **fixed), opened))
        else:
            turns = passes_for(**known, **limits)
            rings.append(Ring(turns.cut, opened, turns.limits))
        opened = across
    return Bore(
        cutter,
        tuple(rings),
        wide,
        start,
        end,
        thickness,
        below,
        pilot,
        finishing_turn,
        spring_turns,
    )


def stepped(
    cutter: EndMill,
    steps: list[tuple[Size, Size]],
    *,
    through_diameter: Size | None = None,
    plate_thickness: Size | None = None,
    **options: Any,
) -> tuple[Bore, ...]:
    """Plan a stepped bore: each step from the floor of the one above it.

    ::

        ----.               .----  face
            |  D1           |
            '--.         .--'      depth 1
               |  D2     |
               '--.   .--'         depth 2
                  | d |
        ----------'   '----------  through, or not

    Parameters
    ----------
    cutter : EndMill
        Cuts all of them.
    steps : list of (size, size)
        Diameter and depth from the face of each step, the widest first.
    through_diameter : size, optional
        Of a hole through the rest of the plate.
    plate_thickness : size, optional
        Needed for that.
    **options
        For every step, as for :func:`bore`.

    Returns
    -------
    tuple of Bore
        In the order they are cut.

    Raises
    ------
    HelixError
        A step is not narrower and deeper than the one above it.
    holecalc.relations.RelationsError
        The cutter does not fit in a step.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> for made in stepped(
    ...     EndMill("6 mm", flutes=2), [("18 mm", "6 mm"), ("10 mm", "12 mm")], max_pitch="2 mm"
    ... ):
    ...     print(made)
    18.000 mm bore, 6.000 mm deep, cutter 6.000 mm, 3 rings:
      3 turns of 2.000 mm on a path of 5.400 mm, ramp 6.72° (wall 3.2°)
      3 turns of 2.000 mm on a path of 8.700 mm, ramp 4.19° (wall 2.48°)
      3 turns of 2.000 mm on a path of 12.000 mm, ramp 3.04° (wall 2.03°); a finishing turn each;
    328.71 mm of path
    10.000 mm bore, from 6.000 mm down to 12.000 mm deep, cutter 6.000 mm: 3 turns of 2.000 mm on
    a path of 4.000 mm, ramp 9.04° (wall 3.64°); a finishing turn; 50.74 mm of path
    """
    read = [(sizes.length(across), sizes.length(down)) for across, down in steps]
    made = []
    above: tuple[Quantity, Quantity] | None = None
    for across, down in read:
        _refuse_widening(across, down, above)
        start = None if above is None else above[1]
        made.append(
            bore(
                cutter,
                bore_diameter=across,
                depth=down,
                start_depth=start,
                plate_thickness=plate_thickness,
                **options,
            )
        )
        above = (across, down)
    if through_diameter is not None:
        across = sizes.length(through_diameter)
        _refuse_widening(across, None, above)
        made.append(
            bore(
                cutter,
                bore_diameter=across,
                start_depth=None if above is None else above[1],
                plate_thickness=plate_thickness,
                **options,
            )
        )
    return tuple(made)


def _ring_diameters(
    wide: Quantity, cutter: Quantity, pilot: Quantity, step: Quantity, leave_core: bool
) -> list[Quantity]:
    """What each ring opens, from the middle outwards."""
    if leave_core:
        return [wide]
    first = pilot + 2 * cutter - 2 * cutter / 20
    if pilot > cutter:
        first = min(first, pilot + 2 * step)
    if sizes.mm(first) >= sizes.mm(wide) - 1e-9:
        return [wide]
    further = math.ceil(sizes.mm(wide - first) / (2 * sizes.mm(step)) * (1 - 1e-9))
    if further > _MOST_RINGS:
        raise HelixError(
            f"a bore of {sizes.show(wide)} with a cutter of {sizes.show(cutter)} takes {further} "
            f"rings, more than {_MOST_RINGS}. Take a wider cutter, or leave the core standing "
            "(leave_core=True)."
        )
    grow = (wide - first) / further
    return [*((first + i * grow).to(wide.units) for i in range(further)), wide]


def _with_cutter(limits: dict[str, Size | None], cutter: EndMill) -> dict[str, Size | None]:
    """The limits with the cutter's own, and the usual pitch where there is none at all."""
    pitch, ramp = limits["max_pitch"], limits["max_ramp_angle"]
    if all(limit is None for limit in limits.values()):
        pitch = cutter.cutting_diameter / 2
    lengths = [sizes.length(pitch)] if pitch is not None else []
    if cutter.cutting_length is not None:
        lengths.append(cutter.cutting_length)
    angles = [sizes.angle(ramp)] if ramp is not None else []
    if cutter.maximum_ramp_angle is not None:
        angles.append(cutter.maximum_ramp_angle)
    return {
        **limits,
        "max_pitch": min(lengths, default=None),
        "max_ramp_angle": min(angles, default=None),
    }


def _ends(
    depth: Size | None, thickness: Quantity | None, breakthrough: Size | None, unit: object
) -> tuple[Quantity, Quantity | None]:
    """Where the helix ends, and how far that is below the plate if it goes through."""
    if depth is not None:
        if breakthrough is not None:
            raise HelixError(
                "a depth and a breakthrough were both given. Give the depth of a blind bore, or "
                "the plate's thickness and the breakthrough of a through hole."
            )
        return sizes.length(depth).to(unit), None
    if thickness is None:
        raise HelixError("how deep? Give a depth, or the plate's thickness for a through hole.")
    if breakthrough is None:
        breakthrough = "0.5 mm" if f"{unit:~P}" == "mm" else "0.02 in"
    bare_nothing = isinstance(breakthrough, int | float) and breakthrough == 0
    below = 0 * thickness if bare_nothing else sizes.length(breakthrough).to(unit)
    if below.magnitude < 0:
        raise HelixError(
            f"a breakthrough of {_fine(below)} leaves a floor. Give the depth of a blind bore."
        )
    return thickness + below, below


def _refuse_widening(
    across: Quantity, down: Quantity | None, above: tuple[Quantity, Quantity] | None
) -> None:
    if above is None:
        return
    if not across < above[0]:
        raise HelixError(
            f"a step of {_fine(across)} below one of {_fine(above[0])} cannot be cut from this "
            "face. List the widest first, or cut it from the other face."
        )
    if down is not None and not down > above[1]:
        raise HelixError(
            f"the step of {_fine(across)} ends {_fine(down)} down, above the floor of the one "
            f"before it at {_fine(above[1])}. Measure every depth from the face."
        )


def _refuse_pilot(wide: Quantity, pilot: Quantity) -> None:
    if pilot.magnitude < 0 or not wide > pilot:
        raise HelixError(
            f"a bore of {_fine(wide)} leaves nothing to cut in a hole of {_fine(pilot)}. "
            "Measure both again."
        )


def _refuse_nothing(what: str, size: Quantity) -> None:
    if size.magnitude <= 0:
        raise HelixError(f"a {what} of {_fine(size)} never gets anywhere. Give more than 0.")


def _told_turns(passes: float) -> str:
    return f"{sizes.show_rate(sizes.count(passes))} turn{'' if passes == 1 else 's'}"
