r"""Countersinks cut by a vee cutter that runs on a circle.

The cutter's axis runs on a circle of diameter C about the hole while its tip is z below the
face. Its flanks then cut the cone of included angle A that is D wide in the face:

::

            |<------- D ------->|
 face  -----\         |         /-----  ---
             \   C/2->|<-cutter/         |
              \       |  axis /          | z, depth of the tip
               \______|__T___/          ---
                 hole d

.. math:: D = C + T + 2 z \tan(A/2)

T is the flat at the cutter's tip, or the flat that a rounded tip acts as
(:func:`holecalc.cutters.flat_of_rounded_tip`). The cone ends where it meets the hole of diameter
d, at the cone depth (D - d) / (2 tan(A/2)).

Depths are from the face the feature is cut from, positive into the plate. Sizes are given as
everywhere in holecalc, text or quantities, and results are quantities in the unit of the top
diameter, or of the first size given. Derivations: ``references/derivations.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from holecalc import sizes, tolerance
from holecalc.cutters import VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.relations import ANGLE, LENGTH, Relations, Solution, Variable
from holecalc.sizes import Quantity, Size

__all__ = [
    "CUT",
    "CircleLimits",
    "CountersinkError",
    "Limit",
    "Seat",
    "Sink",
    "circle_limits",
    "seat",
    "sink",
    "told_recess",
    "top_diameter_for",
]

_fine = partial(sizes.show, fine=True)

_NOTHING = 1e-4
"""Millimetres: a tenth of a micrometre, below which two sizes are the same one."""


class CountersinkError(ValueError):
    """The sizes do not make a countersink; the message says why, and what would."""


CUT = Relations(
    "countersink cut",
    Variable("top_diameter", "D", LENGTH, "diameter of the cone in the face"),
    Variable(
        "circle_diameter", "C", LENGTH, "circle the cutter's axis runs on; 0 is a plunge", zero=True
    ),
    Variable("tip_diameter", "T", LENGTH, "flat at the cutter's tip; 0 if sharp", zero=True),
    Variable("depth", "z", LENGTH, "cutter's tip below the face"),
    Variable("included_angle", "A", ANGLE, "angle between the cutter's flanks", high=math.pi),
    Variable("hole_diameter", "d", LENGTH, "the hole below the cone", optional=True),
    Variable("cone_depth", "y", LENGTH, "where the cone meets the hole", optional=True),
    Variable("face_cutting_diameter", "f", LENGTH, "the cutter's diameter where it cuts the face"),
    Variable(
        "hole_cutting_diameter",
        "h",
        LENGTH,
        "the cutter's diameter where it cuts the hole's edge; negative where it cannot reach",
        low=-math.inf,
        optional=True,
    ),
    equations=(
        "D = C + T + 2*z*tan(A/2)",
        "f = D - C",
        "h = d - C",
        "y = (D - d)/(2*tan(A/2))",
    ),
    settings=("circle_diameter", "tip_diameter", "depth", "included_angle", "hole_diameter"),
)
"""What ties a countersink's circle, depth, top diameter, tip and angle together.

Examples
--------
>>> cut = CUT.solve(
...     top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle=60
... )
>>> print(sizes.show(cut.depth, places=3))
7.275 mm
"""


@dataclass(frozen=True)
class Limit:
    """One thing that bounds the circle.

    Parameters
    ----------
    kind : {"face", "plunge", "plate", "slow tip", "ledge"}
        Which of the things that bound it.
    circle_diameter : pint.Quantity
        The bound.
    beyond : str
        What is the case beyond it, in a few words.
    because : str
        What sets it, with its numbers.
    """

    kind: str
    circle_diameter: Quantity
    beyond: str
    because: str


@dataclass(frozen=True)
class CircleLimits:
    """The circles that work, and what ends them.

    Parameters
    ----------
    lower, upper : tuple of Limit
        Everything that bounds the circle from below and from above, the deciding one first.
    """

    lower: tuple[Limit, ...]
    upper: tuple[Limit, ...]

    @property
    def smallest(self) -> Quantity:
        """Smallest circle diameter that works."""
        return self.lower[0].circle_diameter

    @property
    def largest(self) -> Quantity:
        """Largest circle diameter that works."""
        return self.upper[0].circle_diameter

    @property
    def workable(self) -> bool:
        """Whether any circle works."""
        return bool(sizes.mm(self.smallest) <= sizes.mm(self.largest) + _NOTHING)

    def of(self, kind: str) -> Limit:
        """The limit of a kind.

        Raises
        ------
        KeyError
            Nothing of that kind bounds the circle.
        """
        for limit in (*self.lower, *self.upper):
            if limit.kind == kind:
                return limit
        raise KeyError(kind)

    def __str__(self) -> str:
        least = f"{_fine(self.smallest, towards='up')}: {self.lower[0].because}"
        most = f"{_fine(self.largest, towards='down')}: {self.upper[0].because}"
        if self.workable:
            return f"circle from {least}\n         to {most}"
        return f"no circle works\n  at least {least}\n  at most {most}"


def circle_limits(
    cutter: VeeCutter,
    top_diameter: Size,
    hole_diameter: Size,
    *,
    plate_thickness: Size | None = None,
    tip_below: Size | None = None,
    least_hole_cutting_diameter: Size | None = None,
) -> CircleLimits:
    r"""The smallest and largest circle that work for a cutter, and what sets each.

    ::

        C >= D - cutting diameter           the cutter is wide enough at the face
        C >= D - T - 2 (t + b) tan(A/2)     the tip stays above the plate's far face, or b below
        C <= d - start of the flanks        the tip stays inside the hole, else a ledge is left
        C <= d - h                          what cuts the hole's edge is at least h across

    By their kinds: face, plate, ledge and slow tip.

    Parameters
    ----------
    cutter : VeeCutter
        The cutter.
    top_diameter, hole_diameter : size
        Of the cone in the face, and of the hole below it.
    plate_thickness : size, optional
        Not asked about when left out.
    tip_below : size, optional
        How far below the plate the tip may go into what it lies on; not at all by default.
    least_hole_cutting_diameter : size, optional
        The least cutting diameter at the hole's edge. By default a quarter of the cutter's
        cutting diameter: nearer the tip the surface speed is under a quarter of the full one
        (common practice, no source).

    Returns
    -------
    CircleLimits

    Raises
    ------
    CountersinkError
        The top is not wider than the hole, the plate has no thickness, or there are several of
        a size: limits are those of one countersink.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> limits = circle_limits(VeeCutter("10 mm", 90), "12.6 mm", "6.6 mm")
    >>> print(sizes.show(limits.smallest), "because", limits.lower[0].because)
    2.60 mm because the cutter is 10.00 mm wide at most and the face needs 12.60 mm
    >>> print(sizes.show(limits.largest), "because", limits.upper[0].because)
    4.10 mm because at the hole's edge at least 2.50 mm of the cutter should cut
    """
    top = _one(top_diameter, "the top diameter")
    hole = _one(hole_diameter, "the hole")
    thickness, below = _plate(plate_thickness, tip_below)
    _refuse_no_cone(top, hole)
    slope = math.tan(sizes.rad(cutter.included_angle) / 2)
    unit = top.units
    show = sizes.show

    def to_unit(quantity: Quantity) -> str:
        return show(quantity.to(unit))

    lower = [
        Limit(
            "face",
            (top - cutter.cutting_diameter).to(unit),
            "cutter too narrow at the face",
            f"the cutter is {to_unit(cutter.cutting_diameter)} wide at most and the face needs "
            f"{to_unit(top)}",
        ),
        Limit("plunge", 0 * top, "no circle", "0 is a plunge"),
    ]
    if thickness is not None:
        allowed, reason = thickness, f"the plate is {to_unit(thickness)} thick"
        if below is not None:
            allowed = thickness + below
            reason += f" and the tip may go {to_unit(below)} below it"
        lower.append(
            Limit(
                "plate",
                (top - cutter.tip_diameter - 2 * allowed * slope).to(unit),
                "tip below the plate",
                reason,
            )
        )
    if least_hole_cutting_diameter is None:
        least = cutter.cutting_diameter / 4
    else:
        least = _one(least_hole_cutting_diameter, "the least cutting diameter at the hole's edge")
    start = cutter.flank_start_diameter
    upper = [
        Limit(
            "slow tip",
            (hole - least).to(unit),
            "tip does the cutting",
            f"at the hole's edge at least {to_unit(least)} of the cutter should cut",
        ),
        Limit(
            "ledge",
            (hole - start).to(unit),
            "tip outside the hole",
            f"the tip, {to_unit(start)} across, must stay inside the {to_unit(hole)} hole",
        ),
    ]
    return CircleLimits(
        tuple(sorted(lower, key=lambda limit: -limit.circle_diameter)),
        tuple(sorted(upper, key=lambda limit: limit.circle_diameter)),
    )


@dataclass(frozen=True)
class Seat:
    """How a head lies in a countersink.

    Parameters
    ----------
    recess : pint.Quantity
        Of the head's face below the plate's; negative where it stands proud.
    contact : str or array of str
        ``"cone"`` (all along), ``"rim"`` (the edge of the head, on the cone), ``"hole edge"``
        (the hole's edge, on the head's cone) or ``"face"`` (the sink's edge, on the head's
        cone).
    contact_diameter : pint.Quantity
        Where it touches; on the cone, where it touches widest.
    rim_gap : pint.Quantity
        Room beside the head at its rim, or in the face where the rim stands above it; measured
        square to the axis, on the radius.
    hole_gap : pint.Quantity
        Room beside the head at the hole's edge, likewise.
    """

    recess: Quantity
    contact: Any
    contact_diameter: Quantity
    rim_gap: Quantity
    hole_gap: Quantity

    @property
    def flush(self) -> bool:
        """Whether what is left of a recess can be neither written nor felt."""
        return told_recess(self.recess) == "flush"

    @property
    def place(self) -> str:
        """What it touches at, in words."""
        return _PLACES[self.contact]

    @property
    def bearing(self) -> str:
        """How it is held, in words."""
        along = self.contact == "cone"
        return f"bears all along {self.place}" if along else f"touches at {self.place}"

    def __str__(self) -> str:
        if np.ndim(self.recess.magnitude):
            return f"{np.size(self.recess.magnitude)} seats"
        return f"{told_recess(self.recess)}, {self.bearing} ({_fine(self.contact_diameter)} across)"


_PLACES = {
    "cone": "the cone",
    "rim": "its rim",
    "hole edge": "the hole's edge",
    "face": "the sink's edge in the face",
}


def told_recess(recess: Quantity) -> str:
    """A recess in words: flush, below the face, or proud.

    Parameters
    ----------
    recess : pint.Quantity
        One; negative for proud.

    Returns
    -------
    str

    Examples
    --------
    >>> told_recess(sizes.length("-0.65 mm"))
    '0.650 mm proud'
    """
    text = _fine(abs(recess))
    # What would be written as 0.0000 in is flush, as is what no gauge in the shop can tell.
    if abs(sizes.mm(recess)) < 0.0005 or sizes.mm(sizes.length(text)) == 0:
        return "flush"
    return f"{text} below the face" if recess.magnitude > 0 else f"{text} proud"


def seat(
    head: FlatHead,
    *,
    top_diameter: Size,
    included_angle: Size,
    hole_diameter: Size,
    cutter: VeeCutter | None = None,
    circle_diameter: Size = 0,
) -> Seat:
    r"""Lower a head into a countersink until it touches.

    Both outlines only get narrower with depth, so the head stops at the first of the corners
    that can meet a slope: the head's rim on the sink's cone, or the edge of the hole or of the
    face on the head's cone. With radii H (head), D/2 (face), r (hole), the land e, and a and b
    for half the sink's and the head's angle, W the smaller of H and D/2:

    ::

        ____|<-- H -->|              recess where the wide end decides (b >= a)
        e   |         |                (D/2 - H)/tan a - e        D/2 >= H: rim on cone
        ----|        /                -(H - D/2)/tan b - e        D/2 <  H: face edge
          --|------\/---- face
            |     / /               where the hole's edge decides (b < a)
            |    | |                  (D/2 - r)/tan a - (H - r)/tan b - e

    Where the cutter's tip sweeps wider than the hole, a ledge is left round it and its edge is
    only as deep as the tip goes, z. The outer corner of the ledge points away from the head:

    ::

        ____  |<- H ->|  ____ face
        e   | |       | /                 hole's edge:  z - (H - r)/tan b - e
        ----| |       |/  |
          --|--\_____/|   z              (D/2 - r)/tan a, above, is deeper than anything cut
            |   |<-r->|   |
            |   |

    Parameters
    ----------
    head : FlatHead
        The head.
    top_diameter, hole_diameter : size
        Of the sink in the face, and of the hole below; arrays broadcast.
    included_angle : angle
        Of the sink.
    cutter : VeeCutter, optional
        What cuts it, so that a ledge which its tip leaves counts. Without it the cone goes down
        to the hole.
    circle_diameter : size, default 0
        Of the circle that the cutter's axis runs on.

    Returns
    -------
    Seat

    Raises
    ------
    CountersinkError
        The head falls through the hole, the shank does not enter it, there is no cone, or the
        cutter does not cut such a one.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    Rigid parts: a head pulled into plywood or plastic goes deeper than where it first touches.
    The radius under a real head, where cone and shank meet, is not modelled.

    Examples
    --------
    >>> head = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")
    >>> print(seat(head, top_diameter="11.3 mm", included_angle=90, hole_diameter="6.6 mm"))
    0.650 mm proud, bears all along the cone (11.300 mm across)
    >>> blunt = VeeCutter("16 mm", 90, tip_diameter="3 mm")
    >>> print(seat(head, top_diameter="12.6 mm", included_angle=90, hole_diameter="6.6 mm",
    ...            cutter=blunt, circle_diameter="5 mm"))
    0.700 mm proud, touches at the hole's edge (6.600 mm across)
    """
    top, hole = sizes.length(top_diameter), sizes.length(hole_diameter)
    _refuse_no_cone(top, hole)
    _refuse_misfit(head, hole)
    outer, inner = sizes.mm(top) / 2, sizes.mm(hole) / 2
    rim, shank, land = _head_radii(head)
    half = _half(included_angle)
    sink_slope = np.tan(half)
    head_slope = np.tan(sizes.rad(head.head_angle) / 2)
    cone_depth = (outer - inner) / sink_slope
    if cutter is None:
        cut: _Cone | _Swept = _Cone(outer, sink_slope)
    else:
        cut = _swept_to(cutter, _or_nothing(circle_diameter, top), outer, half)
    edge_depth = cut.depth(inner)

    on_rim = cut.depth(rim) - land
    on_face = -(rim - outer) / head_slope - land
    wide = np.where(outer >= rim, on_rim, on_face)
    on_hole = edge_depth - (rim - inner) / head_slope - land
    recess = np.minimum(wide, on_hole)

    same = (np.abs(on_hole - wide) < 1e-9) & (np.abs(edge_depth - cone_depth) < 1e-9)
    contact = np.select(
        [same, on_hole < wide, outer >= rim], ["cone", "hole edge", "rim"], default="face"
    )
    widest = np.minimum(rim, outer)
    contact_radius = np.where(~same & (on_hole < wide), inner, widest)

    def head_radius(depth: Any) -> Any:
        """Of the head, at a depth below the plate's face."""
        return np.clip(rim - (depth - recess - land) * head_slope, shank, rim)

    rim_depth = np.maximum(recess + land, 0.0)
    rim_gap = cut.radius(rim_depth) - head_radius(rim_depth)
    hole_gap = inner - head_radius(edge_depth)

    def out(value: Any) -> Quantity:
        return sizes.from_mm(np.asarray(value)[()], top.units)

    return Seat(
        recess=out(recess),
        contact=str(contact) if np.ndim(contact) == 0 else contact,
        contact_diameter=out(2 * contact_radius),
        rim_gap=out(np.maximum(rim_gap, 0.0)),
        hole_gap=out(np.maximum(hole_gap, 0.0)),
    )


@dataclass(frozen=True)
class _Cone:
    """A cone down to wherever it is asked for [mm]."""

    outer: Any
    slope: Any

    def depth(self, radius: Any) -> Any:
        """Below the face, at a distance from the hole's axis."""
        return (self.outer - radius) / self.slope

    def radius(self, depth: Any) -> Any:
        """Of the wall at a depth: the inverse."""
        return self.outer - depth * self.slope


@dataclass(frozen=True)
class _Swept:
    r"""What a cutter cuts that runs round a circle [mm].

    ::

        |<- C/2 ->|                     the point is cut deepest when the axis is nearest,
        |    |<-->|  |radius - C/2|     and then as deep as the cutter is above its tip where
        |    |    |                     it is that wide:  z - height(|radius - C/2|)
        |    x   tip, z deep
        |<-->| radius
    """

    cutter: VeeCutter
    circle: Any
    tip_depth: Any

    def depth(self, radius: Any) -> Any:
        """Below the face, at a distance from the hole's axis; nothing where it does not cut."""
        away = np.abs(2 * radius - self.circle)
        height = sizes.mm(self.cutter.height_at(sizes.from_mm(away)))
        return np.maximum(self.tip_depth - height, 0.0)

    def radius(self, depth: Any) -> Any:
        """Of the outer wall at a depth."""
        height = np.maximum(self.tip_depth - depth, 0.0)
        return (self.circle + sizes.mm(self.cutter.diameter_at(sizes.from_mm(height)))) / 2


def _swept_to(cutter: VeeCutter, circle: Quantity, outer: Any, half: Any) -> _Swept:
    """A cutter on its circle, as deep as makes the cone so wide in the face."""
    if np.any(np.abs(sizes.rad(cutter.included_angle) / 2 - half) > 1e-9):
        raise CountersinkError(
            f"the cutter is of {sizes.show(cutter.included_angle)} and the sink is not. A sink has "
            "the angle of its cutter."
        )
    depth = (outer - (sizes.mm(circle) + sizes.mm(cutter.tip_diameter)) / 2) / np.tan(half)
    if np.any(depth <= 0):
        raise CountersinkError(
            f"the tip sweeps {_fine(np.max(circle + cutter.tip_diameter))} and the sink is no "
            "wider, so the tip would stand above the face. Make the circle smaller."
        )
    return _Swept(cutter, sizes.mm(circle), depth)


def top_diameter_for(
    head: FlatHead, recess: Size, *, included_angle: Size, hole_diameter: Size
) -> Quantity:
    """The top diameter that seats a head at a recess: the inverse of :func:`seat`.

    Parameters
    ----------
    head : FlatHead
        The head.
    recess : size
        Of its face below the plate's; negative for proud. Zero may be given as 0.
    included_angle : angle
        Of the sink.
    hole_diameter : size
        Of the hole below.

    Returns
    -------
    pint.Quantity
        In the unit of the recess, or of the hole where the recess is 0.

    Raises
    ------
    CountersinkError
        The head would stand on the bare hole before it is that proud, falls through it, or its
        shank does not enter it.
    holecalc.sizes.SizeError
        A value cannot be read.

    Notes
    -----
    For a cone that reaches the hole. On a ledge left round the hole the head lies higher.

    Examples
    --------
    >>> head = FlatHead("0.507 in", 82, shank_diameter="1/4 in")
    >>> print(sizes.show(top_diameter_for(head, 0, included_angle=90, hole_diameter="17/64 in")))
    0.5433 in
    """
    hole = sizes.length(hole_diameter)
    wanted = _or_nothing(recess, hole)
    _refuse_misfit(head, hole)
    inner, below = sizes.mm(hole) / 2, sizes.mm(wanted)
    rim, _, land = _head_radii(head)
    sink_slope = np.tan(_half(included_angle))
    head_slope = np.tan(sizes.rad(head.head_angle) / 2)
    down = below + land
    wide = rim + down * np.where(down >= 0, sink_slope, head_slope)
    narrow = inner + sink_slope * (down + (rim - inner) / head_slope)
    # The deeper a corner would let the head go, the smaller the sink it needs; it needs both.
    radius = np.maximum(wide, narrow)
    if np.any(radius <= inner):
        *_, edge, asked = (
            each[radius <= inner][0] for each in np.broadcast_arrays(radius, inner, below)
        )
        bare = sizes.from_mm((rim - edge) / head_slope + land, wanted.units)
        told = told_recess(sizes.from_mm(asked, wanted.units))
        raise CountersinkError(
            f"on the bare hole of {sizes.show(sizes.from_mm(2 * edge, hole.units))} the head "
            f"already stands only {_fine(bare)} proud, so it cannot be {told}. Ask for a deeper "
            "recess."
        )
    return sizes.from_mm(np.asarray(2 * radius)[()], wanted.units)


@dataclass(frozen=True)
class Sink:
    """A countersink for a head, all of it: the cut, the seat and the circles that work.

    Parameters
    ----------
    head : FlatHead
        What lies in it.
    cutter : VeeCutter
        What cuts it.
    cut : Solution
        The quantities of :data:`CUT`.
    seat : Seat
        How the head lies.
    limits : CircleLimits
        The circles that work.
    plate_thickness : pint.Quantity or None
        Of the plate, if known.
    tip_below : pint.Quantity or None
        How far the tip may go below the plate.
    least_hole_cutting_diameter : pint.Quantity or None
        The least of the cutter that is to cut the hole's edge, if one was asked for.
    """

    head: FlatHead
    cutter: VeeCutter
    cut: Solution
    seat: Seat
    limits: CircleLimits
    plate_thickness: Quantity | None
    tip_below: Quantity | None
    least_hole_cutting_diameter: Quantity | None = None

    @property
    def swept_diameter(self) -> Quantity:
        """What the tip sweeps, as far out as where the flanks start."""
        return self.cut.circle_diameter + self.cutter.flank_start_diameter

    @property
    def reaches_hole(self) -> bool:
        """Whether the cone goes down to the hole, without a ledge left round it."""
        return bool(sizes.mm(self.swept_diameter) <= sizes.mm(self.cut.hole_diameter) + _NOTHING)

    @property
    def edge_depth(self) -> Quantity:
        """How deep the hole's edge is: where the cone ends, or the ledge round the hole."""
        return self.depth_at(self.cut.hole_diameter)

    def depth_at(self, diameter: Size) -> Quantity:
        """How deep it is cut at a diameter, by whatever of the cutter comes there.

        Parameters
        ----------
        diameter : size
            From the hole's to the top diameter; an array is broadcast.

        Returns
        -------
        pint.Quantity
        """
        depth = self._swept.depth(sizes.mm(sizes.length(diameter)) / 2)
        return sizes.from_mm(depth, self.cut.top_diameter.units)

    def outline(self) -> list[tuple[float, float]]:
        """The wall as radius and depth [mm], from the face's edge to the hole's."""
        base, swept = self.cut.base, self._swept
        outer, inner = base["top_diameter"] / 2, base["hole_diameter"] / 2
        if self.reaches_hole:
            return [(float(outer), 0.0), (float(inner), float(base["cone_depth"]))]
        circle, start = base["circle_diameter"] / 2, sizes.mm(self.cutter.flank_start_diameter) / 2
        round_ = circle + start * np.linspace(1, -1, 49 if self.cutter.tip_radius else 2)
        # Where the cutter does not reach the hole at all, its inner flank comes up to the face.
        inner_top = circle - (outer - circle)
        corners = np.array([outer, *round_, inner_top, inner])
        radii = np.unique(np.clip(corners, inner, outer))[::-1]
        return [(float(radius), float(swept.depth(radius))) for radius in radii]

    def on_circle(self, circle_diameter: Size) -> Solution:
        """The cut that makes the same cone on another circle.

        Parameters
        ----------
        circle_diameter : size
            Or an array of them.

        Returns
        -------
        Solution
            Of :data:`CUT`.

        Raises
        ------
        holecalc.relations.RelationsError
            No cone is so wide on such a circle.
        """
        same = ("top_diameter", "tip_diameter", "included_angle", "hole_diameter")
        return CUT.solve(circle_diameter=circle_diameter, **{name: self.cut[name] for name in same})

    @property
    def _swept(self) -> _Swept:
        return _Swept(self.cutter, self.cut.base["circle_diameter"], self.cut.base["depth"])

    def __str__(self) -> str:
        cut = self.cut
        return (
            f"{self.head}\n"
            f"  circle {_fine(cut.circle_diameter)}, depth {_fine(cut.depth)}, "
            f"top diameter {_fine(cut.top_diameter)}\n"
            f"  head {self.seat}"
        )

    def recess_spread(self, **plus_minus: Any) -> tolerance.Spread:
        """What tolerances do to the recess.

        Parameters
        ----------
        **plus_minus : tolerance
            For any of ``depth``, ``circle_diameter``, ``included_angle``, ``hole_diameter`` and
            ``tip_diameter``, or ``tip_radius`` where the tip is rounded (the cut),
            ``head_diameter``, ``head_angle``, ``edge_land`` (the head), as
            :func:`holecalc.tolerance.plus_minus` reads them. Of a size that is 0, such as the
            tip of a sharp cutter, only a pair makes sense: ``("0 mm", "0.05 mm")``.

        Returns
        -------
        holecalc.tolerance.Spread

        Raises
        ------
        TypeError
            A name is none of these.
        holecalc.tolerance.ToleranceError
            At an end of the tolerances there is no cut, cutter or head.

        Examples
        --------
        >>> from holecalc import fasteners
        >>> made = sink(
        ...     fasteners.flat_head("ISO 7046-2", "M6"),
        ...     VeeCutter("10 mm", 90, tip_diameter="0.2 mm"),
        ...     hole_diameter="6.6 mm", recess="0.2 mm", circle_diameter="3.5 mm",
        ... )
        >>> print(made.recess_spread(depth="0.1 mm", head_diameter=("-0.3 mm", "0 mm")))
        nominal             0.200 mm
        worst case          0.100 mm to 0.450 mm
        root-sum-square     0.275 mm ± 0.125 mm
        from depth          ± 0.100 mm
        from head diameter  ± 0.075 mm
        """
        # How wide a rounded tip acts depends on the angle as well, so its radius is what varies.
        tip = "tip_radius" if self.cutter.tip_radius else "tip_diameter"
        of_cutter = {name: getattr(self.cutter, name) for name in (tip, "included_angle")}
        set_there = ("depth", "circle_diameter", "hole_diameter")
        of_cut = {name: self.cut[name] for name in set_there}
        of_head = {
            name: getattr(self.head, name) for name in ("head_diameter", "head_angle", "edge_land")
        }
        nominal = {**of_cut, **of_cutter, **of_head}
        for name in plus_minus:
            if name not in nominal:
                raise TypeError(
                    f"{name!r} does not move the recess. These do: {', '.join(nominal)}."
                )

        def recess(**values: Quantity) -> Quantity:
            cutter = VeeCutter(
                self.cutter.cutting_diameter, **{name: values[name] for name in of_cutter}
            )
            cut = CUT.solve(
                **{name: values[name] for name in of_cut},
                tip_diameter=cutter.tip_diameter,
                included_angle=cutter.included_angle,
            )
            head = FlatHead(
                **{name: values[name] for name in of_head}, shank_diameter=self.head.shank_diameter
            )
            lies = _lies(head, cutter, cut)
            return lies.recess.to(self.seat.recess.units)

        return tolerance.spread(recess, nominal, plus_minus)


def sink(
    head: FlatHead,
    cutter: VeeCutter,
    *,
    hole_diameter: Size,
    recess: Size | None = None,
    top_diameter: Size | None = None,
    circle_diameter: Size | None = None,
    depth: Size | None = None,
    plate_thickness: Size | None = None,
    tip_below: Size | None = None,
    least_hole_cutting_diameter: Size | None = None,
) -> Sink:
    """From a head, a hole and a cutter to the circle, the depth and the seat.

    Two of how the head should lie, the circle and the depth are given; the third follows. How it
    should lie is told by `recess`, or by `top_diameter` where the drawing gives that. With none
    of them the head is made flush on a circle from the middle of those that work; with the
    circle or the depth alone, flush too.

    Parameters
    ----------
    head : FlatHead
        The head.
    cutter : VeeCutter
        The cutter; its angle is the sink's.
    hole_diameter : size
        Of the hole below.
    recess : size, optional
        Of the head's face below the plate's; negative for proud.
    top_diameter : size, optional
        Of the sink in the face, instead of a recess.
    circle_diameter, depth : size, optional
        Of the circle the cutter's axis runs on, and of its tip.
    plate_thickness, tip_below, least_hole_cutting_diameter : size, optional
        As for :func:`circle_limits`.

    Returns
    -------
    Sink
        Also where it cannot be cut: :func:`holecalc.checks.countersink` says what goes wrong.
        Where the tip leaves a ledge round the hole the head lies higher than was asked for, and
        the seat says how high.

    Raises
    ------
    CountersinkError
        The head cannot lie so, no circle works and none was given, too much was given, the plate
        has no thickness, or there are several of a size.
    holecalc.relations.RelationsError
        The cut has no answer.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc import fasteners
    >>> print(sink(
    ...     fasteners.flat_head("ISO 7046-2", "M6"),
    ...     VeeCutter("10 mm", 90, tip_diameter="0.2 mm"),
    ...     hole_diameter="6.6 mm", circle_diameter="4 mm",
    ... ))
    M6 flat head, ISO 7046-2
      circle 4.000 mm, depth 4.200 mm, top diameter 12.600 mm
      head flush, bears all along the cone (11.300 mm across)
    """
    hole = _one(hole_diameter, "the hole")
    thickness, below = _plate(plate_thickness, tip_below)
    told: dict[str, Any] = {
        "recess": recess,
        "top diameter": top_diameter,
        "circle": circle_diameter,
        "depth": depth,
    }
    for label, value in told.items():
        _refuse_several(value, f"the {label}")
    limits_of = partial(
        circle_limits,
        cutter,
        hole_diameter=hole,
        plate_thickness=thickness,
        tip_below=below,
        least_hole_cutting_diameter=least_hole_cutting_diameter,
    )
    angle = cutter.included_angle
    if recess is not None and top_diameter is not None:
        raise CountersinkError(
            "a recess and a top diameter were both given, and each fixes the other. Give one."
        )
    lying = recess is not None or top_diameter is not None
    if lying and circle_diameter is not None and depth is not None:
        raise CountersinkError(
            "how the head lies, the circle and the depth were all given; two of them fix the "
            "third. Leave one out."
        )
    known: dict[str, Size] = {}
    if top_diameter is not None:
        known["top_diameter"] = sizes.length(top_diameter)
    elif lying or circle_diameter is None or depth is None:
        known["top_diameter"] = top_diameter_for(
            head, 0 if recess is None else recess, included_angle=angle, hole_diameter=hole
        )
    if circle_diameter is not None:
        known["circle_diameter"] = circle_diameter
    if depth is not None:
        known["depth"] = depth
    if circle_diameter is None and depth is None:
        known["circle_diameter"] = _middle(limits_of(known["top_diameter"]))
    if "top_diameter" in known:
        _refuse_no_cone(known["top_diameter"], hole)
    cut = CUT.solve(
        **known, tip_diameter=cutter.tip_diameter, included_angle=angle, hole_diameter=hole
    )
    return Sink(
        head,
        cutter,
        cut,
        _lies(head, cutter, cut),
        limits_of(cut.top_diameter),
        thickness,
        below,
        None if least_hole_cutting_diameter is None else sizes.length(least_hole_cutting_diameter),
    )


def _lies(head: FlatHead, cutter: VeeCutter, cut: Solution) -> Seat:
    """The seat in what is really cut."""
    return seat(
        head,
        top_diameter=cut.top_diameter,
        included_angle=cut.included_angle,
        hole_diameter=cut.hole_diameter,
        cutter=cutter,
        circle_diameter=cut.circle_diameter,
    )


def _middle(limits: CircleLimits) -> Quantity:
    """From the middle of the circles that work, to a round figure when that stays inside."""
    if not limits.workable:
        raise CountersinkError(f"{limits}. Take another cutter, or give the circle yourself.")
    middle = (limits.smallest + limits.largest) / 2
    unit = sizes.system_of(middle)
    step = {"mm": 0.1, "in": 0.005}[unit]
    rounded = sizes.length(round(middle.m_as(unit) / step) * step, unit).to(middle.units)
    return rounded if limits.smallest <= rounded <= limits.largest else middle


def _one(value: Size, label: str) -> Quantity:
    """One length."""
    _refuse_several(value, label)
    return sizes.length(value)


def _refuse_several(value: Any, label: str) -> None:
    magnitude = getattr(value, "magnitude", value)
    if np.ndim(magnitude):
        raise CountersinkError(
            f"{label} is {np.size(magnitude)} values, and a countersink has one. Take them one "
            "after the other; seat() and CUT.solve() take many at once."
        )


def _plate(
    plate_thickness: Size | None, tip_below: Size | None
) -> tuple[Quantity | None, Quantity | None]:
    """What is known of the plate, and of how far below it the tip may go."""
    thickness = None if plate_thickness is None else _one(plate_thickness, "the plate's thickness")
    below = None if tip_below is None else _or_nothing(tip_below, sizes.from_mm(0.0))
    if thickness is not None and thickness.magnitude <= 0:
        raise CountersinkError(
            f"the plate is {sizes.show(thickness)} thick; that must be more than 0. Measure it, or "
            "leave it out."
        )
    if below is not None:
        _refuse_several(below, "how far the tip may go below the plate")
        if below.magnitude < 0:
            raise CountersinkError(
                f"the tip may go {sizes.show(below)} below the plate; that cannot be negative. "
                "Leave it out for a tip that stays above the plate's far face."
            )
    return thickness, below


def _refuse_no_cone(top: Quantity, hole: Quantity) -> None:
    if np.any(sizes.mm(hole) <= 0):
        raise CountersinkError(f"the hole is {sizes.show(np.min(hole))}; it must be more than 0.")
    if np.any(sizes.mm(top) <= sizes.mm(hole)):
        raise CountersinkError(
            f"the top diameter, {sizes.show(np.min(top))}, is not wider than the hole, "
            f"{sizes.show(np.max(hole))}, so there is no cone. Widen the one or narrow the other."
        )


def _refuse_misfit(head: FlatHead, hole: Quantity) -> None:
    if np.any(sizes.mm(hole) >= sizes.mm(head.head_diameter)):
        raise CountersinkError(
            f"the head, {sizes.show(head.head_diameter)} across, falls through a hole of "
            f"{sizes.show(np.max(hole))}. Make the hole smaller."
        )
    if np.any(sizes.mm(hole) < sizes.mm(head.shank_diameter)):
        raise CountersinkError(
            f"the shank, {sizes.show(head.shank_diameter)} across, does not enter a hole of "
            f"{sizes.show(np.min(hole))}. Make the hole larger."
        )


def _head_radii(head: FlatHead) -> tuple[float, float, float]:
    """Rim radius, shank radius and land [mm]."""
    return (
        sizes.mm(head.head_diameter) / 2,
        sizes.mm(head.shank_diameter) / 2,
        sizes.mm(head.edge_land),
    )


def _half(included_angle: Size) -> Any:
    """Half an included angle [rad]."""
    half = sizes.rad(sizes.angle(included_angle)) / 2
    if np.any(half <= 0) or np.any(half >= math.pi / 2):
        raise CountersinkError(
            f"an included angle is between 0° and 180°, not {included_angle}. "
            "Measure from flank to flank."
        )
    return half


def _or_nothing(value: Size, like: Quantity) -> Quantity:
    """A length, where a literal 0 needs no unit: it is then in that of `like`."""
    if isinstance(value, int | float) and value == 0:
        return sizes.from_mm(0.0, like.units)
    return sizes.length(value)
