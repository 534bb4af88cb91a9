r"""Gauging: what a ball or two say about a cone, and what to change when it is not right.

A ball of diameter B dropped into a cone of included angle A touches along a circle

::

               _____   ---
             /   |   \  | p, protrusion      k = B cos(A/2)
    --\-----|----o----|-/--- face            its centre is B / (2 sin(A/2)) above the
       \     \   |   / /                     cone's apex, the face D / (2 tan(A/2))
        \     `-_|_-' /
         \ |<--- k -->|                      the circle it touches on
          \          /

.. math:: p = \frac{B}{2}\left(1 + \frac{1}{\sin(A/2)}\right) - \frac{D}{2 \tan(A/2)}

Two balls in the same cone differ in height by the first term alone, which gives the angle
without the diameter. Derivations: ``references/derivations.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

from holecalc import sizes, tolerance
from holecalc.relations import ANGLE, LENGTH, Condition, Relations, Solution, Variable
from holecalc.sizes import Quantity, Size

__all__ = ["BALL", "TWO_BALLS", "Correction", "correct"]

_fine = partial(sizes.show, fine=True)

_NOTHING = 1e-6
"""Millimetres or radians: less is the rounding of the sums, not a difference."""

BALL = Relations(
    "ball in a cone",
    Variable("ball_diameter", "B", LENGTH, "diameter of the ball"),
    Variable("top_diameter", "D", LENGTH, "diameter of the cone in the face"),
    Variable("included_angle", "A", ANGLE, "angle between the cone's flanks", high=math.pi),
    Variable(
        "protrusion",
        "p",
        LENGTH,
        "top of the ball above the face; negative when it lies below",
        low=-math.inf,
    ),
    Variable("contact_diameter", "k", LENGTH, "circle on which the ball touches the cone"),
    Variable("hole_diameter", "d", LENGTH, "the hole below the cone", optional=True),
    equations=(
        "p = B/2*(1 + 1/sin(A/2)) - D/(2*tan(A/2))",
        "k = B*cos(A/2)",
    ),
    conditions=(
        Condition(
            "k <= D",
            "the ball is too large for the cone: it would touch outside the face and so sits on "
            "the edge, which tells nothing about the flanks; take a smaller ball",
        ),
        Condition(
            "d <= k",
            "the ball is too small for the cone: it would touch below the cone's end and so sits "
            "on the hole's edge, or drops through; take a larger ball",
        ),
    ),
)
"""A ball in a cone: protrusion to top diameter and back.

Examples
--------
>>> ball = BALL.solve(ball_diameter="1/2 in", top_diameter="0.5 in", included_angle=82)
>>> print(sizes.show(ball.protrusion))
0.3435 in
"""

TWO_BALLS = Relations(
    "two balls in a cone",
    Variable("large_ball_diameter", "B", LENGTH, "diameter of the larger ball"),
    Variable("small_ball_diameter", "b", LENGTH, "diameter of the smaller ball"),
    Variable("height_difference", "m", LENGTH, "top of the larger ball above that of the smaller"),
    Variable("included_angle", "A", ANGLE, "angle between the cone's flanks", high=math.pi),
    equations=("m = (B - b)/2*(1 + 1/sin(A/2))",),
)
"""Two balls in the same cone, one after the other: the included angle from their heights.

Examples
--------
>>> cone = TWO_BALLS.solve(
...     large_ball_diameter="12 mm", small_ball_diameter="8 mm", height_difference="4.83 mm"
... )
>>> print(sizes.show(cone.included_angle, places=1))
89.9°
"""


@dataclass(frozen=True)
class Correction:
    """What to change after measuring.

    Parameters
    ----------
    change : str
        The quantity to change.
    old, new : pint.Quantity
        Its value on the part measured, and on the next.
    why : str
        Why this one, and how the number comes about.
    """

    change: str
    old: Quantity
    new: Quantity
    why: str

    def __str__(self) -> str:
        what, old, new = self.change.replace("_", " "), _fine(self.old), _fine(self.new)
        if old == new:
            return f"leave {what} at {old}: {self.why}"
        return f"{what}: from {old} to {new}. {self.why}"


def correct(
    planned: Solution,
    *,
    change: str = "depth",
    plus_minus: Any = None,
    **measured: Size,
) -> Correction:
    """From one measured size to what to change for the next part.

    What the measurement shows beyond the plan is taken as a standing error (of the zero on the
    face, the tip, the cutter's true size) that the next part will have as well. So `change` is
    moved by as much as moves the measured quantity back, with all else that is set at the
    machine left as it was.

    Parameters
    ----------
    planned : Solution
        What the part was made to.
    change : str
        The quantity to change. A countersink's depth, by default: the tip's wear and the zero on
        the face act on it directly, and it does not alter where the cutter cuts.
    plus_minus : tolerance, optional
        The measuring uncertainty, as :func:`holecalc.tolerance.plus_minus` reads it: a difference
        within it, or one too small to be written, is no reason to change anything.
    **measured : size
        The one quantity that was measured.

    Returns
    -------
    Correction

    Raises
    ------
    TypeError
        Not exactly one measured quantity, or one that does not result from what is set, or a
        `change` that is not set.
    holecalc.relations.RelationsError
        No permitted value would put it right.
    holecalc.sizes.SizeError
        The measurement or its uncertainty cannot be read.

    Examples
    --------
    >>> from holecalc.countersink import CUT
    >>> cut = CUT.solve(
    ...     top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm",
    ...     included_angle=90,
    ... )
    >>> print(correct(cut, top_diameter="12.80 mm"))
    depth: from 4.200 mm to 4.100 mm. top diameter came out 0.200 mm large; 0.1 mm less deep \
makes it 0.200 mm smaller.
    """
    if len(measured) != 1:
        raise TypeError(
            f"correct() takes one measured quantity at a time, and was given {len(measured)}. "
            "Where several are off, correct the one that matters most and measure again."
        )
    ((name, value),) = measured.items()
    relations = planned.relations
    set_there = {other: planned[other] for other in relations.settings if other in planned}
    if name not in planned or name in set_there:
        results = [other for other in planned if other not in set_there]
        raise TypeError(f"{name!r} cannot be measured here. These can: {', '.join(results)}.")
    if not set_there:
        raise TypeError(f"nothing in {relations.title} is set at a machine, to be corrected.")
    if change not in set_there:
        raise TypeError(f"{change!r} is not set at the machine. These are: {', '.join(set_there)}.")
    as_planned = relations.solve(**set_there)
    moves = as_planned.sensitivity(name)
    if change not in moves:
        raise TypeError(f"{change!r} does not move {name}. These do: {', '.join(moves)}.")
    wanted, old = planned[name], planned[change]
    kind = relations.variables[name].kind
    off = (kind.read(value, sizes.unit_of(wanted)) - wanted).to(wanted.units)
    label, moved = name.replace("_", " "), change.replace("_", " ")
    doubt = None
    if plus_minus is not None:
        doubt = tolerance.plus_minus(plus_minus, wanted, read=kind.read)
    if _within(off, doubt, kind.base):
        within = "" if doubt is None else f" within {doubt}"
        return Correction(change, old, old, f"{label} came out as planned{within}.")
    held = {other: size for other, size in set_there.items() if other != change}
    new = relations.solve(**held, **{name: wanted - off})[change].to(old.units)
    step = sizes.ureg.Quantity(
        relations.variables[change].kind.steps.get(sizes.unit_of(old), 1.0), old.units
    )
    effect = (moves[change] * step).to(wanted.units)
    more = bool(new > old)
    way = (
        ("less deep", "deeper")[more] if change == "depth" else f"{('less', 'more')[more]} {moved}"
    )
    grows = (effect.magnitude > 0) == more
    return Correction(
        change,
        old,
        new,
        f"{label} came out {_fine(abs(off))} {'large' if off.magnitude > 0 else 'small'}; "
        f"{step.magnitude:g} {sizes.unit_of(step)} {way} makes it {_fine(abs(effect))} "
        f"{'larger' if grows else 'smaller'}.",
    )


def _within(off: Quantity, doubt: tolerance.PlusMinus | None, base: Any) -> bool:
    """Whether a difference is none, or no more than there is doubt."""
    if not any(digit in _fine(off) for digit in "123456789"):
        return True
    if doubt is None:
        return False
    below, value, above = (each.m_as(base) for each in (doubt.below, off, doubt.above))
    return bool(below - _NOTHING <= value <= above + _NOTHING)
