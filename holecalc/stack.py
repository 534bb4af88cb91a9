r"""Stacks of pockets about one axis, and what they leave of a plate.

The steps of a stack lie one inside the other, each with its depth from the face it is cut from,
and a hole may go through the middle:

::

     face A  ____                         ____  ---  ---
             |##|<------- flange ------->|##|    |    | z1
             |##|____               _____|##|    |   ---       z1, z2: depths from face A
             |#######|<-- barrel -->|#######|    |
           t |#######|____      ____|#######|    | z2
             |############|    |############|   ---  ---
             |############|hole|############|         | w, web
     face B  |############|    |############|        ---

.. math:: w = t - z_2 - b

where b is the deepest step from the other face. What is left of a plate is also the wall to its
edge, to a neighbouring hole, or to another stack.

Sizes are given as everywhere in holecalc, text or quantities. Derivations:
``references/derivations-counterbore.md``.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import pairwise

import numpy as np

from holecalc import flats, nuts, sizes
from holecalc.flats import Outline, Relief
from holecalc.relations import ANGLE, LENGTH, Relations, Variable
from holecalc.sizes import Quantity, Size

__all__ = [
    "DEPTHS",
    "DRILL_POINT",
    "CounterboreError",
    "Stack",
    "Step",
    "Web",
    "wall_between",
]

_fine = partial(sizes.show, fine=True)

CLOSE = 1e-6
"""Millimetres; below what rounding or any person would notice."""


class CounterboreError(ValueError):
    """The sizes do not make a counterbore; the message says why, and what would."""


DRILL_POINT = Relations(
    "drill point",
    Variable("diameter", "d", LENGTH, "of the drill"),
    Variable("point_angle", "A", ANGLE, "between the drill's lips", high=math.pi),
    Variable("point_height", "p", LENGTH, "of the point, below the full diameter"),
    equations=("p = d/(2*tan(A/2))",),
    settings=("diameter", "point_angle"),
)
"""How far a drill's point goes below its full diameter.

Examples
--------
>>> point = DRILL_POINT.solve(diameter="10 mm", point_angle=118)
>>> print(sizes.show(point.point_height, fine=True))
3.004 mm
"""

DEPTHS = Relations(
    "depths of a pocket",
    Variable("plate_thickness", "t", LENGTH, "of the plate, as measured"),
    Variable("depth", "z", LENGTH, "of the floor the fastener lies on, below the face", zero=True),
    Variable(
        "floor_height",
        "H",
        LENGTH,
        "of that floor above the other face, for a machine that is zeroed on its table",
    ),
    Variable("height", "m", LENGTH, "of the fastener above that floor", zero=True),
    Variable(
        "recess",
        "k",
        LENGTH,
        "of the fastener below the face; negative where it stands proud",
        low=-math.inf,
    ),
    Variable("below", "g", LENGTH, "what is cut deeper than that floor", zero=True),
    Variable("other_depth", "b", LENGTH, "of the deepest step from the other face", zero=True),
    Variable("web", "w", LENGTH, "plate left between"),
    equations=("k = z - m", "w = t - z - g - b", "H = t - z"),
    settings=("plate_thickness", "depth", "height", "below", "other_depth"),
)
"""What ties a plate's thickness, a pocket's depths, its recess and the web.

Give the depth where the machine is zeroed on the plate's face, and the floor's height where it is
zeroed on the table: the thickness then acts on the web in the one case, on the recess in the
other.

Examples
--------
>>> made = DEPTHS.solve(
...     plate_thickness="18 mm", height="1.5 mm", recess="0.5 mm", below="9.5 mm", other_depth=0
... )
>>> print(made.depth, made.web)
2.0 mm 6.5 mm
"""


# --- steps and stacks ------------------------------------------------------------------------


@dataclass(frozen=True, init=False)
class Step:
    """One pocket of a stack.

    Parameters
    ----------
    shape : {"round", "hexagon", "square"}
        Seen from above.
    across : size
        Diameter, or across flats.
    depth : size
        Of its floor below the face it is cut from; for a drilled one, of the full diameter.
    cutter_diameter : size, optional
        Of the cutter that leaves its radius in the corners; sharp corners by default.
    relief : Relief, optional
        Of the corners.
    turned : angle, optional
        Of one corner from the X axis, seen from face A; 0 by default.
    point_angle : angle, optional
        Of the drill, for a round step with a drilled bottom; a flat floor by default.
    name : str, optional
        What it is for.

    Raises
    ------
    CounterboreError
        The values do not describe a pocket.
    holecalc.flats.FlatsError
        The cutter or the relief does not suit it.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(Step("hexagon", "13.8 mm", depth="7 mm", cutter_diameter="6 mm"))
    hexagon 13.800 mm across flats, 7.000 mm deep
    """

    shape: str
    across: Quantity
    depth: Quantity
    cutter_diameter: Quantity | None
    relief: Relief | None
    turned: Quantity
    point_angle: Quantity | None
    name: str = field(compare=False)

    def __init__(
        self,
        shape: str,
        across: Size,
        *,
        depth: Size,
        cutter_diameter: Size | None = None,
        relief: Relief | None = None,
        turned: Size = 0,
        point_angle: Size | None = None,
        name: str = "",
    ) -> None:
        if shape != "round" and shape not in nuts.SIDES:
            raise CounterboreError(f"a step is round, a hexagon or a square, not {shape!r}.")
        wide, deep = positive(across, "width"), positive(depth, "depth")
        cutter = None
        if cutter_diameter is not None:
            cutter = positive(cutter_diameter, "cutter diameter")
        point = None
        if point_angle is not None:
            point = sizes.angle(point_angle)
            if shape != "round":
                raise CounterboreError(f"a {shape} pocket is not drilled. Leave the angle out.")
            if not 0 < sizes.rad(point) < math.pi:
                raise CounterboreError(
                    f"a drill's point angle is between 0° and 180°, not {sizes.show(point)}. "
                    "Most drills have 118° or 140°."
                )
        values = (shape, wide, deep, cutter, relief, sizes.angle(turned), point, name)
        for label, value in zip(self.__dataclass_fields__, values, strict=True):
            object.__setattr__(self, label, value)
        # Made at once, so that a cutter or relief that does not suit it is refused here.
        _ = self.outline

    @cached_property
    def outline(self) -> Outline:
        """Seen from above, in millimetres."""
        return flats.outline(
            self.shape, self.across, self.cutter_diameter, self.relief, turned=self.turned
        )

    @property
    def path_corners(self) -> Quantity:
        """Where the axis of the cutter turns when it follows the flats, as X and Y.

        Raises
        ------
        CounterboreError
            The step is round, or its cutter is not known or fills it.
        """
        if self.shape == "round" or self.cutter_diameter is None:
            raise CounterboreError("only a pocket with flats and a known cutter has such corners.")
        inner = self.across - self.cutter_diameter
        if sizes.mm(inner) < CLOSE:
            raise CounterboreError("the cutter fills the pocket: plunge in the middle.")
        return flats.corners(self.shape, inner, self.turned)

    @property
    def _label(self) -> str:
        """A few words for messages."""
        kind = "" if self.shape == "round" else " across flats"
        what = f"{self.shape} {_fine(self.across)}{kind}"
        return f"{self.name} ({what})" if self.name else what

    def __str__(self) -> str:
        point = "" if self.point_angle is None else f", {sizes.show(self.point_angle)} point below"
        relieved = "" if self.relief is None else ", corners relieved"
        return f"{self._label}, {_fine(self.depth)} deep{point}{relieved}"


@dataclass(frozen=True)
class Web:
    """The least thickness of plate left in a stack.

    Parameters
    ----------
    thickness : pint.Quantity
        Of the plate there.
    above, below : str
        What it lies between.
    """

    thickness: Quantity
    above: str
    below: str

    def __str__(self) -> str:
        return f"{_fine(self.thickness)} between {self.above} and {self.below}"


@dataclass(frozen=True, init=False)
class Stack:
    """Pockets about one axis, cut into a plate from either face.

    Parameters
    ----------
    plate_thickness : size
        Of the plate, as measured.
    hole_diameter : size, optional
        Of the hole through the middle; none by default.
    from_a, from_b : iterable of Step, optional
        The steps cut from each face, in any order.

    Raises
    ------
    CounterboreError
        A step does not lie inside the one above it, is as deep as the plate, or meets one from
        the other face; or the hole is not inside the steps.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> print(Stack(
    ...     "18 mm",
    ...     hole_diameter="9 mm",
    ...     from_a=[Step("round", "23 mm", depth="2 mm"), Step("round", "10 mm", depth="11.5 mm")],
    ... ))
    18.00 mm plate, hole 9.00 mm
      from A: round 23.000 mm, 2.000 mm deep
      from A: round 10.000 mm, 11.500 mm deep
      web 6.500 mm between round 10.000 mm and face B
    """

    plate_thickness: Quantity
    hole_diameter: Quantity | None
    from_a: tuple[Step, ...]
    from_b: tuple[Step, ...]

    def __init__(
        self,
        plate_thickness: Size,
        *,
        hole_diameter: Size | None = None,
        from_a: Iterable[Step] = (),
        from_b: Iterable[Step] = (),
    ) -> None:
        thickness = positive(plate_thickness, "plate thickness")
        hole = None if hole_diameter is None else positive(hole_diameter, "hole diameter")
        steps = [tuple(sorted(face, key=lambda step: step.depth)) for face in (from_a, from_b)]
        for label, value in zip(self.__dataclass_fields__, (thickness, hole, *steps), strict=True):
            object.__setattr__(self, label, value)
        for face in "AB":
            self._refuse_undercut(face)
            self._refuse_hole(face)
            self._refuse_too_deep(face)
        self._refuse_meeting()

    # --- what is refused

    def _refuse_undercut(self, face: str) -> None:
        chain = self.steps(face)
        for upper, lower in pairwise(chain):
            if sizes.mm(lower.depth - upper.depth) < CLOSE:
                raise CounterboreError(
                    f"from face {face}, {upper._label} and {lower._label} are both "
                    f"{_fine(lower.depth)} deep. Leave the narrower one out, or make it deeper."
                )
            if not upper.outline.contains(lower.outline):
                raise CounterboreError(
                    f"from face {face}, {lower._label} reaches {_reach(lower)} from the axis and "
                    f"does not lie inside {upper._label} above it, which reaches {_reach(upper)}. "
                    "A stack narrows with depth: widen the upper step, or cut the lower one from "
                    "the other face."
                )
            if upper.point_angle is not None:
                self._refuse_swallowed(face, upper, lower)

    def _refuse_swallowed(self, face: str, upper: Step, lower: Step) -> None:
        if lower.shape != "round":
            raise CounterboreError(
                f"from face {face}, a {lower.shape} below the drilled {upper._label} has no flat "
                "floor to start from. Mill that one flat."
            )
        ends = self.floor(face, upper)
        if sizes.mm(lower.depth - ends) < CLOSE:
            raise CounterboreError(
                f"from face {face}, the point of the drilled {upper._label} ends {_fine(ends)} "
                f"down, and {lower._label} is only {_fine(lower.depth)} deep. Make that deeper, or "
                "mill the upper step flat."
            )

    def _refuse_hole(self, face: str) -> None:
        steps = self.steps(face)
        if not steps or self.hole_diameter is None:
            return
        last = steps[-1]
        hole = Outline(0, sizes.mm(self.hole_diameter))
        no_wider = hole.apothem >= last.outline.reach - CLOSE
        if no_wider or not last.outline.contains(hole):
            raise CounterboreError(
                f"from face {face}, the hole of {_fine(self.hole_diameter)} does not lie inside "
                f"{last._label}, so no floor is left there. Make the hole smaller or the step "
                "wider."
            )

    def _refuse_too_deep(self, face: str) -> None:
        for step in self.steps(face):
            deep = self.floor(face, step)
            if sizes.mm(deep) < sizes.mm(self.plate_thickness) - CLOSE:
                continue
            if sizes.mm(step.depth) < sizes.mm(self.plate_thickness) - CLOSE:
                raise CounterboreError(
                    f"from face {face}, the drill's point at the bottom of {step._label} goes "
                    f"{_fine(deep)} deep in a plate of {_fine(self.plate_thickness)}: it breaks "
                    "through. Mill the bottom flat."
                )
            raise CounterboreError(
                f"from face {face}, {step._label} is {_fine(step.depth)} deep in a plate of "
                f"{_fine(self.plate_thickness)}: no floor is left. Take a thicker plate, or make "
                "it the hole."
            )

    def _refuse_meeting(self) -> None:
        if self.from_a and self.from_b and sizes.mm(self.web.thickness) < CLOSE:
            last_a, last_b = self.from_a[-1], self.from_b[-1]
            floors = self.floor("A", last_a), self.floor("B", last_b)
            raise CounterboreError(
                f"{last_a._label} from face A goes {_fine(floors[0])} deep and {last_b._label} "
                f"from face B {_fine(floors[1])}: they meet in a plate of "
                f"{_fine(self.plate_thickness)}. Take a thicker plate, or less depth."
            )

    # --- depths

    def steps(self, face: str) -> tuple[Step, ...]:
        """The steps cut from face ``"A"`` or ``"B"``, from shallow to deep."""
        if face not in ("A", "B"):
            raise CounterboreError(f"a plate has the faces 'A' and 'B', not {face!r}.")
        return self.from_a if face == "A" else self.from_b

    def _inner(self, face: str, step: Step) -> Outline | None:
        """What is cut through a step's floor: the next step, the hole, or nothing."""
        chain = self.steps(face)
        after = chain[chain.index(step) + 1 :]
        if after:
            return after[0].outline
        return None if self.hole_diameter is None else Outline(0, sizes.mm(self.hole_diameter))

    def floor(self, face: str, step: Step) -> Quantity:
        """The deepest a step goes: its floor, or where its drill point runs into what is inside."""
        if step.point_angle is None:
            return step.depth
        inner = self._inner(face, step)
        start = 0.0 if inner is None else min(inner.apothem, step.outline.apothem)
        drop = (step.outline.apothem - start) / math.tan(sizes.rad(step.point_angle) / 2)
        return step.depth + sizes.from_mm(drop, step.depth.units)

    def thickness_under(self, face: str, step: Step) -> Quantity:
        """Least thickness of plate under a step's floor, to the other face or its pockets.

        Parameters
        ----------
        face : {"A", "B"}
            The one the step is cut from.
        step : Step
            One of this stack's.

        Returns
        -------
        pint.Quantity
            In the plate's unit.

        Examples
        --------
        >>> flange = Step("round", "23 mm", depth="2 mm")
        >>> stack = Stack("18 mm", hole_diameter="9 mm", from_a=[flange])
        >>> print(stack.thickness_under("A", flange))
        16.0 mm
        """
        return self._under(face, step).thickness

    def _under(self, face: str, step: Step) -> Web:
        other = "B" if face == "A" else "A"
        inner = self._inner(face, step)
        left = self.plate_thickness - self.floor(face, step)
        # A pocket from the other face that is narrower than what goes through this floor lies
        # below that, and not below the floor.
        facing = [
            theirs
            for theirs in self.steps(other)
            if inner is None or not inner.contains(theirs.outline)
        ]
        if not facing:
            return Web(left, step._label, f"face {other}")
        deepest = max(facing, key=lambda theirs: sizes.mm(self.floor(other, theirs)))
        return Web(left - self.floor(other, deepest), step._label, deepest._label)

    @property
    def web(self) -> Web:
        """The least thickness of plate left, and what it lies between."""
        found = [self._under(face, step) for face in "AB" for step in self.steps(face)]
        if not found:
            return Web(self.plate_thickness, "face A", "face B")
        return min(found, key=lambda web: sizes.mm(web.thickness))

    def drilled(self, face: str = "A", point_angle: Size = 118) -> Stack:
        """The same stack with the deepest round step from a face drilled instead of milled.

        Parameters
        ----------
        face : {"A", "B"}
            Which.
        point_angle : angle, default 118
            Of the drill.

        Returns
        -------
        Stack
            Whose web is what the point leaves.

        Raises
        ------
        CounterboreError
            The point breaks through, or the step is not round.

        Examples
        --------
        >>> stack = Stack("18 mm", from_a=[Step("round", "10 mm", depth="12 mm")])
        >>> print(stack.drilled(point_angle=118).web)
        2.996 mm between round 10.000 mm and face B
        """
        chain = self.steps(face)
        if not chain:
            raise CounterboreError(f"nothing is cut from face {face}.")
        last = chain[-1]
        pointed = Step(
            last.shape, last.across, depth=last.depth, point_angle=point_angle, name=last.name
        )
        mine = {"from_a": self.from_a, "from_b": self.from_b}
        mine["from_a" if face == "A" else "from_b"] = (*chain[:-1], pointed)
        return Stack(self.plate_thickness, hole_diameter=self.hole_diameter, **mine)

    # --- form

    @property
    def volume(self) -> Quantity:
        """Of all that is cut away.

        Examples
        --------
        >>> stack = Stack("10 mm", from_a=[Step("square", "5 mm", depth="4 mm")])
        >>> print(stack.volume)
        100.0 mm³
        """
        total, through = 0.0, sizes.mm(self.plate_thickness)
        for face in "AB":
            above = 0.0
            for step in self.steps(face):
                total += step.outline.area * (sizes.mm(step.depth) - above)
                above = sizes.mm(step.depth)
                total += self._point_volume(face, step)
            through -= above
        if self.hole_diameter is not None:
            total += math.pi / 4 * sizes.mm(self.hole_diameter) ** 2 * through
        unit = self.plate_thickness.units
        return sizes.ureg.Quantity(total, sizes.ureg.millimeter**3).to(unit**3)

    def _point_volume(self, face: str, step: Step) -> float:
        """Under a drilled step, outside of what is cut deeper there anyway [mm³]."""
        if step.point_angle is None:
            return 0.0
        drop = sizes.mm(self.floor(face, step) - step.depth)
        outer, inner = step.outline.apothem, self._inner(face, step)
        start = 0.0 if inner is None else inner.apothem
        return float(math.pi * drop * ((outer**2 + outer * start + start**2) / 3 - start**2))

    def profile(self, direction: Size = 0) -> tuple[Quantity, ...]:
        """Half a section through the axis, as lines from corner to corner.

        Parameters
        ----------
        direction : angle, default 0
            Of the section plane from the X axis, as seen from face A.

        Returns
        -------
        tuple of pint.Quantity
            One line from face A to face B, or, without a hole, one for each face that is cut;
            rows of radius and depth below face A, in the plate's unit.

        Examples
        --------
        >>> flange = Step("round", "23 mm", depth="2 mm")
        >>> stack = Stack("18 mm", hole_diameter="9 mm", from_a=[flange])
        >>> print(stack.profile()[0])
        [[11.5 0.0] [11.5 2.0] [4.5 2.0] [4.5 18.0]] mm
        """
        angle, thickness = sizes.rad(sizes.angle(direction)), sizes.mm(self.plate_thickness)
        from_a = self._wall("A", angle)
        from_b = [(radius, thickness - depth) for radius, depth in self._wall("B", angle)]
        if self.hole_diameter is None:
            lines = [line for line in (from_a, from_b[::-1]) if line]
        else:
            bore = sizes.mm(self.hole_diameter) / 2
            lines = [[*(from_a or [(bore, 0.0)]), *(from_b[::-1] or [(bore, thickness)])]]
        unit = self.plate_thickness.units
        return tuple(sizes.from_mm(np.array(line), unit) for line in lines)

    def _wall(self, face: str, angle: float) -> list[tuple[float, float]]:
        points: list[tuple[float, float]] = []
        for step in self.steps(face):
            radius, depth = step.outline.radial(angle), sizes.mm(step.depth)
            inner = self._inner(face, step)
            inside = 0.0 if inner is None else inner.radial(angle)
            # The floor of the step above ends where the wall of this one begins.
            points += [] if points else [(radius, 0.0)]
            points += [(radius, depth), (inside, sizes.mm(self.floor(face, step)))]
        return points

    # --- walls

    def _outlines(self) -> list[Outline]:
        found = [step.outline for step in (*self.from_a, *self.from_b)]
        if self.hole_diameter is not None:
            found.append(Outline(0, sizes.mm(self.hole_diameter)))
        return found

    @property
    def reach(self) -> Quantity:
        """The farthest point of any step from the axis."""
        return sizes.from_mm(
            max((outline.reach for outline in self._outlines()), default=0.0),
            self.plate_thickness.units,
        )

    def wall_to_edge(self, distance: Size, direction: Size | None = None) -> Quantity:
        """The least plate left between the stack and a straight edge.

        Parameters
        ----------
        distance : size
            From the axis to the edge.
        direction : angle, optional
            Square to the edge, from the X axis. By default whatever brings a corner nearest.

        Returns
        -------
        pint.Quantity
            Not above 0 where the pocket breaks out.

        Examples
        --------
        >>> stack = Stack("18 mm", from_a=[Step("square", "10 mm", depth="4 mm")])
        >>> print(stack.wall_to_edge("9 mm", 45))
        4.0 mm
        """
        away = sizes.length(distance)
        if direction is None:
            nearest = sizes.mm(self.reach)
        else:
            angle = sizes.rad(sizes.angle(direction))
            nearest = max(outline.extent(angle) for outline in self._outlines())
        return sizes.from_mm(sizes.mm(away) - nearest, away.units)

    def wall_to_hole(
        self, hole_diameter: Size, distance: Size, direction: Size | None = None
    ) -> Quantity:
        """The least plate left between the stack and a neighbouring hole.

        Parameters
        ----------
        hole_diameter : size
            Of the neighbour.
        distance : size
            From axis to axis.
        direction : angle, optional
            Of the neighbour, from the X axis. By default whatever brings a corner nearest.

        Returns
        -------
        pint.Quantity
            Not above 0 where they run into each other.

        Examples
        --------
        >>> stack = Stack("18 mm", from_a=[Step("round", "10 mm", depth="4 mm")])
        >>> print(stack.wall_to_hole("6 mm", "12 mm"))
        4.0 mm
        """
        away = sizes.length(distance)
        hole = Outline(0, sizes.mm(positive(hole_diameter, "neighbouring hole")))
        if direction is None:
            return away - self.reach - sizes.from_mm(hole.apothem, away.units)
        angle = sizes.rad(sizes.angle(direction))
        along, across = sizes.mm(away) * math.cos(angle), sizes.mm(away) * math.sin(angle)
        gap = min(outline.gap(hole, along, across) for outline in self._outlines())
        return sizes.from_mm(gap, away.units)

    def prisms(self) -> list[tuple[Outline, float, float]]:
        """Each step and the hole, from and to which depth below face A [mm]."""
        through = sizes.mm(self.plate_thickness)
        found = [(step.outline, 0.0, sizes.mm(self.floor("A", step))) for step in self.from_a]
        found += [
            (step.outline, through - sizes.mm(self.floor("B", step)), through)
            for step in self.from_b
        ]
        if self.hole_diameter is not None:
            found.append((Outline(0, sizes.mm(self.hole_diameter)), 0.0, through))
        return found

    def rows(self) -> list[tuple[str, str]]:
        """The whole as lines of label and text."""
        hole = "" if self.hole_diameter is None else f", hole {sizes.show(self.hole_diameter)}"
        rows = [("plate", f"{sizes.show(self.plate_thickness)} plate{hole}")]
        rows += [(f"from {face}", str(step)) for face in "AB" for step in self.steps(face)]
        return [*rows, ("web", str(self.web))]

    def __str__(self) -> str:
        (_, plate), *steps, (_, web) = self.rows()
        return "\n".join([plate, *(f"  {label}: {text}" for label, text in steps), f"  web {web}"])

    def _repr_html_(self) -> str:
        return html_table(self.rows())


def wall_between(one: Stack, other: Stack, *, along: Size, across: Size = 0) -> Quantity:
    """The least plate left between two stacks in one plate, in any direction.

    Where their pockets overlap seen from above, that is straight down; where they stand apart it
    is sideways; and where one is above the other and beside it as well, aslant.

    Parameters
    ----------
    one, other : Stack
        In the same plate.
    along, across : size
        Of the other's axis from the one's, in X and Y as seen from face A.

    Returns
    -------
    pint.Quantity
        Not above 0 where they run into each other; in the plate's unit.

    Raises
    ------
    CounterboreError
        They are in plates of different thickness.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    A drilled bottom counts as if it were flat at its lowest, which errs to the safe side.

    Examples
    --------
    >>> above = Stack("18 mm", from_a=[Step("round", "20 mm", depth="7 mm")])
    >>> below = Stack("18 mm", from_b=[Step("hexagon", "13 mm", depth="7 mm")])
    >>> print(sizes.show(wall_between(above, below, along="20.5055 mm")))
    5.00 mm
    """
    if abs(sizes.mm(one.plate_thickness - other.plate_thickness)) > CLOSE:
        raise CounterboreError(
            f"one stack is in a plate of {_fine(one.plate_thickness)} and the other of "
            f"{_fine(other.plate_thickness)}. Give both the same plate."
        )
    apart = [sizes.mm(or_zero(value, one.plate_thickness)) for value in (along, across)]
    least = math.inf
    for ours, top, bottom in one.prisms():
        for theirs, their_top, their_bottom in other.prisms():
            beside = ours.gap(theirs, *apart)
            between = max(top - their_bottom, their_top - bottom)
            if beside > 0 and between > 0:
                least = min(least, math.hypot(beside, between))
            else:
                least = min(least, max(beside, between))
    return sizes.from_mm(least, one.plate_thickness.units)


def positive(value: Size, label: str) -> Quantity:
    """Read a size that has to be more than 0."""
    size = _length(value, label)
    if not size.magnitude > 0:
        raise CounterboreError(f"the {label} is {sizes.show(size)}; it must be more than 0.")
    return size


def _length(value: Size, label: str) -> Quantity:
    try:
        return sizes.length(value)
    except sizes.SizeError as error:
        raise sizes.SizeError(f"{label}: {error}") from None


def or_zero(value: Size, like: Quantity) -> Quantity:
    """Read a size; 0 needs no unit."""
    if isinstance(value, int | float) and not isinstance(value, bool) and value == 0:
        return 0 * like
    return sizes.length(value)


def _reach(step: Step) -> str:
    return _fine(sizes.from_mm(step.outline.reach, step.across.units))


def html_table(rows: Sequence[tuple[str, str]]) -> str:
    """Lines of label and text as a table for a notebook."""
    cells = "".join(
        f"<tr><td style='text-align:left'>{html.escape(label)}</td>"
        f"<td style='text-align:left'>{html.escape(text)}</td></tr>"
        for label, text in rows
    )
    return f"<table>{cells}</table>"
