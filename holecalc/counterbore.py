r"""Counterbores: pockets that take in nuts, T-nuts, inserts, heads and washers.

From the fastener in hand and the plate to the stack of pockets, with every clearance stated and
the reason for it; from the pocket to the screw, to what it holds and to what tolerances do to it.

::

     face A  ____                         ____  ---
             |##|   ___________________   |##|   |  recess
             |##|   |_____ flange _____|  |##|  ---
             |##|____   |         |   ____|##|        clearance: of the pocket over the fastener,
             |#######|  | barrel  |  |#######|        on the diameter or across flats
             |#######|  |_________|  |#######|  ---
             |#######|____       ____|#######|  ---  gap
             |############| hole |############|
     face B  |############|      |############|

What is cut is a :class:`Stack` of :class:`Step`; :mod:`holecalc.stack` has its geometry,
:mod:`holecalc.flats` that of hexagons and squares, :mod:`holecalc.screws` the screw's and
:mod:`holecalc.holding` the loads. Sizes are given as everywhere in holecalc, text or quantities.
Derivations: ``references/derivations-counterbore.md``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import TypeAlias

from holecalc import fasteners, flats, nuts, sizes
from holecalc import holding as _holding
from holecalc.fasteners import FastenerError
from holecalc.flats import Turning
from holecalc.holding import Holding
from holecalc.nuts import CapScrew, Insert, Nut, Thread, TNut, Washer
from holecalc.relations import Solution
from holecalc.screws import ScrewLength, screw_length
from holecalc.sizes import Quantity, Size
from holecalc.stack import (
    CLOSE,
    DEPTHS,
    DRILL_POINT,
    CounterboreError,
    Stack,
    Step,
    Web,
    html_table,
    or_zero,
    positive,
    wall_between,
)

__all__ = [
    "DEPTHS",
    "DRILL_POINT",
    "USUAL",
    "Allowance",
    "CounterboreError",
    "Pocket",
    "ScrewLength",
    "Stack",
    "Step",
    "Web",
    "both_faces",
    "pocket_for_cap_screw",
    "pocket_for_hex_nut",
    "pocket_for_insert",
    "pocket_for_square_nut",
    "pocket_for_t_nut",
    "pocket_for_washer",
    "screw_length",
    "wall_between",
]

_fine = partial(sizes.show, fine=True)


@dataclass(frozen=True)
class Allowance:
    """A clearance or recess, and why it is what it is.

    Parameters
    ----------
    name : str
        The argument that sets it.
    size : pint.Quantity
        Its value.
    reason : str
        Why; "as given" where it was.
    """

    name: str
    size: Quantity
    reason: str

    def __str__(self) -> str:
        return f"{self.name.replace('_', ' ')} {_fine(self.size)}: {self.reason}"


@dataclass(frozen=True)
class Usual:
    """A clearance or recess that is taken where none is given.

    Parameters
    ----------
    metric, inch : str
        For fasteners measured in millimetres, and in inches.
    reason : str
        Why.
    """

    metric: str
    inch: str
    reason: str

    def like(self, quantity: Quantity) -> Quantity:
        """In inches where that is, else in millimetres."""
        inches = quantity.units == sizes.ureg.inch
        return sizes.length(self.inch if inches else self.metric)


USUAL: Mapping[str, Usual] = MappingProxyType(
    {
        "flange_clearance": Usual(
            "1.0 mm", "0.040 in", "stamped flanges are out of round and off their barrel's middle"
        ),
        "barrel_clearance": Usual(
            "0.2 mm", "0.008 in", "the barrel goes in without force and is still guided"
        ),
        "nut_clearance": Usual(
            "0.2 mm", "0.008 in", "the largest nut drops in and still turns little"
        ),
        "recess": Usual(
            "0.5 mm", "0.020 in", "nothing stands proud when plate or fastener is a little off"
        ),
        "insert_recess": Usual(
            "0.2 mm", "0.008 in", "parts close on the plate and do not pull on the insert"
        ),
        "gap": Usual(
            "0.5 mm", "0.020 in", "the flange touches before the barrel does; room for chips"
        ),
        "head_room": Usual(
            "0.3 mm", "0.012 in", "beyond the play: wherever the screw stands in its hole"
        ),
    }
)
"""What is taken where nothing is given: common practice, no source."""


Fastener: TypeAlias = Nut | TNut | Insert | CapScrew | Washer


@dataclass(frozen=True)
class Pocket:
    """A stack and the fastener it takes in.

    Parameters
    ----------
    fastener : Nut, TNut, Insert, CapScrew or Washer
        What lies in it.
    stack : Stack
        What is cut.
    face : str
        From which face, ``"A"`` or ``"B"``.
    depth : pint.Quantity
        Of the floor the fastener lies on, below that face.
    height : pint.Quantity
        Of the fastener above that floor, with a washer under it if there is one.
    bearing : tuple of pint.Quantity or None
        Outside and inside diameter of the ring it presses on; None where it holds by its sides.
    thread_starts : pint.Quantity or None
        Plate between the face the screw enters and the first turn of the thread; None for what
        has no thread inside.
    thread_length : pint.Quantity or None
        Of the thread inside.
    room : pint.Quantity or None
        Beyond the thread, to the face or to the floor of a blind hole.
    blind : bool
        Whether a screw's tip would meet a floor there.
    allowances : tuple of Allowance
        The clearances and recesses taken, and why.
    """

    fastener: Fastener
    stack: Stack
    face: str
    depth: Quantity
    height: Quantity
    bearing: tuple[Quantity, Quantity] | None
    thread_starts: Quantity | None
    thread_length: Quantity | None
    room: Quantity | None
    blind: bool
    allowances: tuple[Allowance, ...]

    @property
    def recess(self) -> Quantity:
        """Of the fastener below the face; negative where it stands proud."""
        return self.depth - self.height

    @property
    def seat(self) -> Step | None:
        """The step whose floor the fastener lies on; None for an insert in a bare hole."""
        for step in self.stack.steps(self.face):
            if abs(sizes.mm(step.depth - self.depth)) < CLOSE:
                return step
        return None

    @property
    def turning(self) -> Turning | None:
        """How far a nut turns before it is held; None for anything else."""
        seat = self.seat
        if not isinstance(self.fastener, Nut) or seat is None:
            return None
        return flats.turning(
            self.fastener,
            seat.across,
            cutter_diameter=seat.cutter_diameter,
            relief=seat.relief,
        )

    @property
    def flat_clearance(self) -> Quantity | None:
        """Room across flats beyond what a nut's corners need; None for anything else.

        Examples
        --------
        >>> from holecalc.nuts import hex_nut
        >>> pocket = pocket_for_hex_nut(
        ...     hex_nut("ISO 4032", "M8"), plate_thickness="18 mm", cutter_diameter="6 mm",
        ...     across_flats="14 mm",
        ... )
        >>> print(sizes.show(pocket.flat_clearance, fine=True))
        0.196 mm
        """
        nut, seat = self.fastener, self.seat
        if not isinstance(nut, Nut) or seat is None:
            return None
        room = seat.across - nut.across_flats
        if seat.relief is not None:
            return room
        needs = 2 * seat.outline.corner_radius * (1 - math.cos(seat.outline.half))
        return room - sizes.from_mm(needs, room.units)

    def depths(self, *, zero: str = "face") -> Solution:
        """The depths as a solution, for sensitivities, spreads and corrections.

        Parameters
        ----------
        zero : {"face", "table"}
            Where the machine's zero is: on the plate's face, so that the depth holds and the
            web takes what the plate's thickness is off; or on the table under it, so that the
            floor's height holds and the recess takes it.

        Returns
        -------
        holecalc.relations.Solution
            Of :data:`DEPTHS`.

        Raises
        ------
        CounterboreError
            There is no such zero.

        Notes
        -----
        Sheet stock is off its nominal thickness by several percent (common practice, no
        source): measure it, and give what it varies by over the sheet as its tolerance.

        Examples
        --------
        >>> from holecalc.nuts import TNut
        >>> pocket = pocket_for_t_nut(
        ...     TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8"), plate_thickness="18 mm"
        ... )
        >>> print(pocket.depths().spread("web", plate_thickness="0.4 mm", depth="0.1 mm"))
        nominal               6.500 mm
        worst case            6.000 mm to 7.000 mm
        root-sum-square       6.500 mm ± 0.412 mm
        from plate thickness  ± 0.400 mm
        from depth            ± 0.100 mm
        >>> print(pocket.depths(zero="table").spread("recess", plate_thickness="0.4 mm").least)
        0.1 mm
        """
        if zero not in ("face", "table"):
            raise CounterboreError(f"the zero is on the 'face' or on the 'table', not {zero!r}.")
        stack, other = self.stack, "B" if self.face == "A" else "A"
        deepest = max(
            [self.depth, *(stack.floor(self.face, step) for step in stack.steps(self.face))],
            key=sizes.mm,
        )
        facing = [stack.floor(other, step) for step in stack.steps(other)]
        thickness = stack.plate_thickness
        at_table = {"floor_height": thickness - self.depth}
        return DEPTHS.solve(
            plate_thickness=thickness,
            height=self.height,
            below=_no_dust(deepest - self.depth),
            other_depth=max(facing, key=sizes.mm) if facing else 0,
            **(at_table if zero == "table" else {"depth": self.depth}),
        )

    def screw(
        self,
        *,
        mating_part: Size,
        washers: Size = 0,
        behind: Size = 0,
        least_engaged: Size | None = None,
        length: Size | None = None,
        lengths: Sequence[Size] | None = None,
    ) -> ScrewLength:
        """The screw for this pocket: :func:`screw_length` with what the pocket says.

        Parameters
        ----------
        mating_part, washers, least_engaged, length, lengths
            As for :func:`screw_length`.
        behind : size, optional
            Free space beyond the plate's face, where the screw's tip may stand proud of it.

        Returns
        -------
        ScrewLength

        Raises
        ------
        CounterboreError
            There is no thread in this pocket.
        holecalc.screws.ScrewError
            No length will do.

        Examples
        --------
        >>> from holecalc.nuts import hex_nut
        >>> pocket = pocket_for_hex_nut(
        ...     hex_nut("ISO 4032", "M8"), plate_thickness="18 mm", cutter_diameter="6 mm",
        ...     recess="3 mm",
        ... )
        >>> print(pocket.screw(mating_part="12 mm", washers="1.6 mm"))
        M8×1.25 screw, 30.00 mm long
          clamped            21.800 mm: mating part 12.000 mm, washers 1.600 mm, plate 8.200 mm
          engaged            6.800 mm: 5.4 turns, 0.85 diameters
          tip                1.400 mm through the thread, 1.1 pitches; 1.600 mm short of the face
          would do           29.850 mm to 31.600 mm
        """
        if self.thread_starts is None or self.thread_length is None:
            raise CounterboreError(
                f"{self.fastener} has no thread to screw into. Work the screw out from the nut."
            )
        turns: Thread = self.fastener.thread  # type: ignore[union-attr]
        room = self.room
        if room is not None and not self.blind:
            room = room + or_zero(behind, room)
        return screw_length(
            turns,
            mating_part=mating_part,
            washers=washers,
            plate=_no_dust(self.thread_starts),
            thread_length=self.thread_length,
            room=room,
            blind=self.blind,
            least_engaged=least_engaged,
            length=length,
            lengths=lengths,
        )

    def holding(
        self,
        load: Size,
        *,
        bearing_strength: Size | None = None,
        shear_strength: Size | None = None,
    ) -> Holding:
        """How the fastener presses on the plate: :func:`holecalc.holding.holding`.

        Parameters
        ----------
        load : force
            Clamp or pull load.
        bearing_strength, shear_strength : stress, optional
            Of the plate's material.

        Returns
        -------
        holecalc.holding.Holding

        Raises
        ------
        CounterboreError
            The fastener does not press on a floor.
        holecalc.holding.HoldingError
            Nothing is left to press on.

        Examples
        --------
        >>> from holecalc.nuts import TNut
        >>> pocket = pocket_for_t_nut(
        ...     TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8"), plate_thickness="18 mm"
        ... )
        >>> print(f"{pocket.holding('2 kN').pressure:.2f~P}")
        6.63 MPa
        """
        seat = self.seat
        if self.bearing is None or seat is None:
            raise CounterboreError(
                f"{self.fastener} holds by its sides, and what that bears is for its maker to say."
            )
        outside, inside = self.bearing
        return _holding.holding(
            load,
            outside_diameter=outside,
            inside_diameter=inside,
            plate_under=self.stack.thickness_under(self.face, seat),
            bearing_strength=bearing_strength,
            shear_strength=shear_strength,
        )

    def rows(self) -> list[tuple[str, str]]:
        """The whole as lines of label and text."""
        rows = [("for", str(self.fastener)), *self.stack.rows()]
        proud = sizes.mm(self.recess) < -CLOSE
        label = "proud" if proud else "recess"
        rows.append((label, _fine(abs(self.recess))))
        if self.turning is not None:
            rows.append(("nut", str(self.turning)))
        return rows + [("allowed", str(allowance)) for allowance in self.allowances]

    def __str__(self) -> str:
        width = max(len(label) for label, _ in self.rows())
        return "\n".join(f"{label:<{width}}  {text}" for label, text in self.rows())

    def _repr_html_(self) -> str:
        return html_table(self.rows())


class _Allowances:
    """Takes what was given, else what is usual, and keeps account of it."""

    def __init__(self, like: Quantity) -> None:
        self.like = like
        self.taken: list[Allowance] = []

    def take(self, name: str, given: Size | None, usual: str) -> Quantity:
        if given is not None:
            return self.note(name, or_zero(given, self.like), "as given")
        return self.note(name, USUAL[usual].like(self.like), USUAL[usual].reason)

    def note(self, name: str, size: Quantity, reason: str) -> Quantity:
        if name.endswith("clearance") and size.magnitude < 0:
            raise CounterboreError(
                f"the {name.replace('_', ' ')} is {_fine(size)}; it cannot be negative, or the "
                "part does not go in."
            )
        self.taken.append(Allowance(name, size, reason))
        return size

    def all(self) -> tuple[Allowance, ...]:
        return tuple(self.taken)


def pocket_for_t_nut(
    t_nut: TNut,
    *,
    plate_thickness: Size,
    flange_clearance: Size | None = None,
    barrel_clearance: Size | None = None,
    recess: Size | None = None,
    gap: Size | None = None,
    hole_diameter: Size | None = None,
    fit: str = "normal",
    through: bool = False,
    face: str = "A",
) -> Pocket:
    """A flange pocket with a barrel pocket below it, and the screw's hole through the web.

    ::

        flange pocket   flange_diameter + flange_clearance    recess + flange_thickness deep
        barrel pocket   barrel_diameter + barrel_clearance    + barrel_length + gap
        hole            for the screw, through the web

    Parameters
    ----------
    t_nut : TNut
        As measured.
    plate_thickness : size
        Of the plate, as measured.
    flange_clearance, barrel_clearance : size, optional
        On the diameters. 1 mm and 0.2 mm (0.040 and 0.008 in) by default, see :data:`USUAL`.
    recess : size, optional
        Of the flange below the face; 0.5 mm (0.020 in) by default.
    gap : size, optional
        Below the barrel; 0.5 mm (0.020 in) by default.
    hole_diameter : size, optional
        Of the screw's hole; by default its clearance hole.
    fit : {"close", "normal", "loose"}
        Of that hole.
    through : bool, default False
        Bore for the barrel right through the plate instead of leaving a web.
    face : {"A", "B"}
        The one the T-nut goes in from; the screw comes from the other.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        The plate is too thin for it, or the sizes do not make a stack.
    holecalc.fasteners.FastenerError
        There is no clearance hole for this thread.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import TNut
    >>> nut = TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8")
    >>> print(pocket_for_t_nut(nut, plate_thickness="18 mm").stack)
    18.00 mm plate, hole 9.00 mm
      from A: flange (round 23.000 mm), 2.000 mm deep
      from A: barrel (round 10.000 mm), 11.500 mm deep
      web 6.500 mm between barrel (round 10.000 mm) and face B
    """
    plate = positive(plate_thickness, "plate thickness")
    allow = _Allowances(t_nut.flange_diameter)
    wide = t_nut.flange_diameter + allow.take(
        "flange_clearance", flange_clearance, "flange_clearance"
    )
    bore = t_nut.barrel_diameter + allow.take(
        "barrel_clearance", barrel_clearance, "barrel_clearance"
    )
    below = allow.take("recess", recess, "recess")
    seat = below + t_nut.flange_thickness
    flange = Step("round", wide, depth=seat, name="flange")
    thread_ends = seat + t_nut.barrel_length
    if through:
        if sizes.mm(thread_ends) > sizes.mm(plate) + CLOSE:
            raise CounterboreError(
                f"{t_nut} needs {_fine(thread_ends)} and the plate is {_fine(plate)} thick: its "
                "barrel would stand out of the other face. Take a shorter T-nut."
            )
        stack = _stack(plate, bore, [flange], face)
    else:
        deep = thread_ends + allow.take("gap", gap, "gap")
        if sizes.mm(deep) >= sizes.mm(plate) - CLOSE:
            raise CounterboreError(
                f"the barrel of {t_nut} needs {_fine(deep)} and the plate is {_fine(plate)} "
                "thick. Take a thicker plate or a shorter T-nut, or bore for the barrel right "
                "through (through=True)."
            )
        barrel = Step("round", bore, depth=deep, name="barrel")
        hole = _hole(t_nut.thread, hole_diameter, fit)
        stack = _stack(plate, hole, [flange, barrel], face)
    return Pocket(
        t_nut,
        stack,
        face,
        seat,
        t_nut.flange_thickness,
        (t_nut.flange_diameter, bore),
        plate - thread_ends,
        t_nut.flange_thickness + t_nut.barrel_length,
        below,
        False,
        allow.all(),
    )


def pocket_for_hex_nut(
    nut: Nut,
    *,
    plate_thickness: Size,
    cutter_diameter: Size,
    relief_cutter: Size | None = None,
    relief_reach: Size | None = None,
    nut_clearance: Size | None = None,
    recess: Size | None = None,
    across_flats: Size | None = None,
    hole_diameter: Size | None = None,
    fit: str = "normal",
    turned: Size = 0,
    face: str = "A",
) -> Pocket:
    """A hexagon pocket for a nut, and the screw's hole through the web.

    Without relief its flats stand off by what the nut's corners need; with it they do not.

    Parameters
    ----------
    nut : Nut
        A hexagon nut, measured or from a table.
    plate_thickness : size
        Of the plate, as measured.
    cutter_diameter : size
        Of the cutter that follows the flats.
    relief_cutter : size, optional
        Of the cutter that relieves the corners; no relief by default.
    relief_reach : size, optional
        As for :func:`holecalc.flats.relief`.
    nut_clearance : size, optional
        Across flats, beyond what the corners need; 0.2 mm (0.008 in) by default, see
        :data:`USUAL`.
    recess : size, optional
        Of the nut below the face; 0.5 mm (0.020 in) by default.
    across_flats : size, optional
        Of the pocket, where the drawing gives that.
    hole_diameter : size, optional
        Of the screw's hole; by default its clearance hole.
    fit : {"close", "normal", "loose"}
        Of that hole.
    turned : angle, default 0
        Of one corner from the X axis, seen from face A.
    face : {"A", "B"}
        The one the nut goes in from; the screw comes from the other.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        The nut is no hexagon, or the sizes do not make a stack.
    holecalc.flats.FlatsError
        The cutters or the nut do not go into the pocket.
    holecalc.fasteners.FastenerError
        There is no clearance hole for this thread.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import hex_nut
    >>> pocket = pocket_for_hex_nut(
    ...     hex_nut("ISO 4032", "M8"), plate_thickness="18 mm", cutter_diameter="6 mm",
    ...     nut_clearance=0,
    ... )
    >>> print(pocket.seat)
    nut (hexagon 13.804 mm across flats), 7.300 mm deep
    >>> print(pocket.turning)
    turns 0.0° to 13.7° either way, then stopped by the flats
    """
    return _pocket_for_nut(
        "hexagon",
        nut,
        plate_thickness=plate_thickness,
        cutter_diameter=cutter_diameter,
        relief_cutter=relief_cutter,
        relief_reach=relief_reach,
        nut_clearance=nut_clearance,
        recess=recess,
        across_flats=across_flats,
        hole_diameter=hole_diameter,
        fit=fit,
        turned=turned,
        face=face,
    )


def pocket_for_square_nut(
    nut: Nut,
    *,
    plate_thickness: Size,
    cutter_diameter: Size,
    relief_cutter: Size | None = None,
    relief_reach: Size | None = None,
    nut_clearance: Size | None = None,
    recess: Size | None = None,
    across_flats: Size | None = None,
    hole_diameter: Size | None = None,
    fit: str = "normal",
    turned: Size = 0,
    face: str = "A",
) -> Pocket:
    """A square pocket for a nut; all as for :func:`pocket_for_hex_nut`.

    Parameters
    ----------
    nut : Nut
        A square nut, measured or from a table.
    plate_thickness, cutter_diameter, relief_cutter, relief_reach, nut_clearance, recess
        As for :func:`pocket_for_hex_nut`.
    across_flats, hole_diameter, fit, turned, face
        Likewise.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        The nut is no square, or the sizes do not make a stack.
    holecalc.flats.FlatsError
        The cutters or the nut do not go into the pocket.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import square_nut
    >>> pocket = pocket_for_square_nut(
    ...     square_nut("DIN 562", "M5"), plate_thickness="12 mm", cutter_diameter="3 mm"
    ... )
    >>> print(pocket.seat)
    nut (square 9.079 mm across flats), 3.200 mm deep
    """
    return _pocket_for_nut(
        "square",
        nut,
        plate_thickness=plate_thickness,
        cutter_diameter=cutter_diameter,
        relief_cutter=relief_cutter,
        relief_reach=relief_reach,
        nut_clearance=nut_clearance,
        recess=recess,
        across_flats=across_flats,
        hole_diameter=hole_diameter,
        fit=fit,
        turned=turned,
        face=face,
    )


def _pocket_for_nut(
    shape: str,
    nut: Nut,
    *,
    plate_thickness: Size,
    cutter_diameter: Size,
    relief_cutter: Size | None,
    relief_reach: Size | None,
    nut_clearance: Size | None,
    recess: Size | None,
    across_flats: Size | None,
    hole_diameter: Size | None,
    fit: str,
    turned: Size,
    face: str,
) -> Pocket:
    if nut.shape != shape:
        raise CounterboreError(f"{nut} is a {nut.shape}, and this pocket is a {shape}.")
    if relief_reach is not None and relief_cutter is None:
        raise CounterboreError("a reach was given for a relief, but no cutter for it.")
    plate = positive(plate_thickness, "plate thickness")
    cutter = positive(cutter_diameter, "cutter diameter")
    allow = _Allowances(nut.across_flats)
    if across_flats is None:
        clearance = allow.take("nut_clearance", nut_clearance, "nut_clearance")
        wide = nut.across_flats + clearance
        if relief_cutter is None:
            relations = flats.HEXAGON if shape == "hexagon" else flats.SQUARE
            wide = relations.solve(
                nut_across_flats=nut.across_flats, clearance=clearance, cutter_diameter=cutter
            ).pocket_across_flats
    else:
        if nut_clearance is not None:
            raise CounterboreError(
                "a clearance and the pocket's across flats were both given, and each fixes the "
                "other. Give one."
            )
        wide = allow.note("across_flats", positive(across_flats, "across flats"), "as given")
    corners = None
    if relief_cutter is not None:
        corners = flats.relief(shape, wide, relief_cutter, reach=relief_reach)
    below = allow.take("recess", recess, "recess")
    seat = below + nut.height
    step = Step(
        shape,
        wide,
        depth=seat,
        cutter_diameter=cutter,
        relief=corners,
        turned=turned,
        name="nut",
    )
    flats.refuse_what_does_not_go_in(nut, step.outline, wide)
    hole = _hole(nut.thread, hole_diameter, fit)
    return Pocket(
        nut,
        _stack(plate, hole, [step], face),
        face,
        seat,
        nut.height,
        (nut.bearing_diameter, hole),
        plate - seat,
        nut.height,
        below,
        False,
        allow.all(),
    )


def pocket_for_insert(
    insert: Insert,
    *,
    plate_thickness: Size,
    recess: Size | None = None,
    flange_clearance: Size | None = None,
    tip_room: Size | None = None,
    point_angle: Size | None = None,
    through: bool = False,
    face: str = "A",
) -> Pocket:
    """A hole for a threaded insert, blind or through, with a pocket for its flange if it has one.

    Parameters
    ----------
    insert : Insert
        With the hole its maker asks for.
    plate_thickness : size
        Of the plate, as measured.
    recess : size, optional
        Of the insert's face below the plate's; 0.2 mm (0.008 in) by default, see :data:`USUAL`.
    flange_clearance : size, optional
        On the flange's diameter; 1 mm (0.040 in) by default.
    tip_room : size, optional
        Below the insert, for the screw's tip and for chips; two pitches by default (common
        practice, no source).
    point_angle : angle, optional
        Of the drill, where the hole is drilled to that depth; a flat floor by default.
    through : bool, default False
        Whether the hole goes through.
    face : {"A", "B"}
        The one the insert goes in from, and the screw as well.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        The plate is too thin for it, or the sizes do not make a stack.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import Insert
    >>> print(pocket_for_insert(Insert("6.4 mm", "9.5 mm", thread="M5"), plate_thickness="15 mm"))
    for      insert M5×0.8, 9.50 mm long
    plate    15.00 mm plate
    from A   insert (round 6.400 mm), 11.300 mm deep
    web      3.700 mm between insert (round 6.400 mm) and face B
    recess   0.200 mm
    allowed  recess 0.200 mm: parts close on the plate and do not pull on the insert
    allowed  tip room 1.600 mm: two pitches, for the screw's tip and for chips
    """
    plate = positive(plate_thickness, "plate thickness")
    allow = _Allowances(insert.hole_diameter)
    below = allow.take("recess", recess, "insert_recess")
    if below.magnitude < 0:
        raise CounterboreError("an insert that stands proud is pulled out. Give a recess of 0.")
    steps = []
    seat = below + 0 * insert.length
    bearing = None
    thick = 0 * insert.length
    if insert.flange_diameter is not None and insert.flange_thickness is not None:
        thick = insert.flange_thickness
        seat = below + thick
        wide = insert.flange_diameter + allow.take(
            "flange_clearance", flange_clearance, "flange_clearance"
        )
        steps.append(Step("round", wide, depth=seat, name="flange"))
        bearing = (insert.flange_diameter, insert.hole_diameter)
    ends = seat + insert.length
    if through:
        room = plate - ends
        stack = _stack(plate, insert.hole_diameter, steps, face)
        if sizes.mm(room) < -CLOSE:
            raise CounterboreError(
                f"{insert} needs {_fine(ends)} and the plate is {_fine(plate)} thick. Take a "
                "shorter insert or a thicker plate."
            )
    else:
        if tip_room is None:
            room = allow.note(
                "tip_room",
                2 * insert.thread.pitch,
                "two pitches, for the screw's tip and for chips",
            )
        else:
            room = allow.note("tip_room", or_zero(tip_room, ends), "as given")
        hole = Step(
            "round",
            insert.hole_diameter,
            depth=ends + room,
            point_angle=point_angle,
            name="insert",
        )
        stack = _stack(plate, None, [*steps, hole], face)
    return Pocket(
        insert,
        stack,
        face,
        seat,
        thick,
        bearing,
        below,
        thick + insert.length,
        room,
        not through,
        allow.all(),
    )


def pocket_for_cap_screw(
    screw: CapScrew,
    *,
    plate_thickness: Size,
    washer: Washer | None = None,
    head_clearance: Size | None = None,
    recess: Size | None = None,
    hole_diameter: Size | None = None,
    fit: str = "normal",
    face: str = "A",
) -> Pocket:
    """A counterbore for a screw's cylindrical head, and its hole through the web.

    Parameters
    ----------
    screw : CapScrew
        Measured, or from a table.
    plate_thickness : size
        Of the plate, as measured.
    washer : Washer, optional
        Under the head.
    head_clearance : size, optional
        On the diameter of the head or the washer, whichever is wider. By default the screw's play
        in its hole (and the washer's on the screw) and 0.3 mm (0.012 in): wherever the screw
        stands in its hole, its head goes in.
    recess : size, optional
        Of the head below the face; 0.5 mm (0.020 in) by default, see :data:`USUAL`.
    hole_diameter : size, optional
        Of the screw's hole; by default its clearance hole.
    fit : {"close", "normal", "loose"}
        Of that hole.
    face : {"A", "B"}
        The one the screw goes in from.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        The sizes do not make a stack.
    holecalc.fasteners.FastenerError
        There is no clearance hole for this thread.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import cap_screw
    >>> pocket = pocket_for_cap_screw(cap_screw("ISO 4762", "M6"), plate_thickness="15 mm")
    >>> print(pocket.seat)
    head (round 11.120 mm), 6.500 mm deep
    """
    plate = positive(plate_thickness, "plate thickness")
    hole = _hole(screw.thread, hole_diameter, fit)
    allow = _Allowances(screw.head_diameter)
    widest, height = screw.head_diameter, screw.head_height
    play = hole - screw.thread.diameter
    if washer is not None:
        height = height + washer.thickness
        if washer.outside_diameter > widest:
            widest = washer.outside_diameter
            play = play + washer.inside_diameter - screw.thread.diameter
    clearance = _clearance_for_play(allow, "head_clearance", head_clearance, play.to(widest.units))
    seat = allow.take("recess", recess, "recess") + height
    step = Step("round", widest + clearance, depth=seat, name="head")
    return Pocket(
        screw,
        _stack(plate, hole, [step], face),
        face,
        seat,
        height,
        (widest, hole),
        None,
        None,
        None,
        False,
        allow.all(),
    )


def pocket_for_washer(
    washer: Washer,
    *,
    plate_thickness: Size,
    washer_clearance: Size | None = None,
    recess: Size = 0,
    hole_diameter: Size | None = None,
    fit: str = "normal",
    face: str = "A",
) -> Pocket:
    """A pocket that lets a washer into the plate, and the screw's hole through the web.

    Parameters
    ----------
    washer : Washer
        Measured, or from a table.
    plate_thickness : size
        Of the plate, as measured.
    washer_clearance : size, optional
        On its diameter. By default the screw's play in its hole, the washer's on the screw, and
        0.3 mm (0.012 in).
    recess : size, optional
        Of the washer below the face; 0 by default, level with the plate, since a head or a nut
        lies on it.
    hole_diameter : size, optional
        Of the screw's hole; by default the clearance hole for the washer's size.
    fit : {"close", "normal", "loose"}
        Of that hole.
    face : {"A", "B"}
        The one the washer lies on.

    Returns
    -------
    Pocket

    Raises
    ------
    CounterboreError
        It is not known which screw the washer is for, or the sizes do not make a stack.
    holecalc.sizes.SizeError
        A value cannot be read.

    Examples
    --------
    >>> from holecalc.nuts import washer
    >>> print(pocket_for_washer(washer("ISO 7089", "M8"), plate_thickness="10 mm").seat)
    washer (round 17.700 mm), 1.800 mm deep
    """
    plate = positive(plate_thickness, "plate thickness")
    allow = _Allowances(washer.outside_diameter)
    if not washer.size:
        raise CounterboreError(
            f"{washer} does not say which screw it is for. Give its size, such as M8."
        )
    turns = nuts.thread(washer.size)
    hole = _hole(turns, hole_diameter, fit)
    play = (hole - turns.diameter + washer.inside_diameter - turns.diameter).to(
        washer.outside_diameter.units
    )
    clearance = _clearance_for_play(allow, "washer_clearance", washer_clearance, play)
    wide = washer.outside_diameter + clearance
    seat = washer.thickness + allow.note(
        "recess",
        or_zero(recess, washer.thickness),
        "as given" if recess != 0 else "level with the plate: a head or a nut lies on it",
    )
    return Pocket(
        washer,
        _stack(plate, hole, [Step("round", wide, depth=seat, name="washer")], face),
        face,
        seat,
        washer.thickness,
        (washer.outside_diameter, hole),
        None,
        None,
        None,
        False,
        allow.all(),
    )


def both_faces(one: Pocket, other: Pocket) -> Stack:
    """One stack with a pocket in either face, about one hole.

    Parameters
    ----------
    one, other : Pocket
        From different faces of the same plate.

    Returns
    -------
    Stack

    Raises
    ------
    CounterboreError
        They are from the same face, have different plates or holes, or meet.

    Examples
    --------
    >>> from holecalc.nuts import cap_screw, hex_nut
    >>> head = pocket_for_cap_screw(cap_screw("ISO 4762", "M6"), plate_thickness="20 mm")
    >>> nut = pocket_for_hex_nut(
    ...     hex_nut("ISO 4032", "M6"), plate_thickness="20 mm", cutter_diameter="3 mm", face="B"
    ... )
    >>> print(both_faces(head, nut).web)
    7.800 mm between head (round 11.120 mm) and nut (hexagon 10.602 mm across flats)
    """
    if one.face == other.face:
        raise CounterboreError(
            f"both pockets are cut from face {one.face}. Cut one from the other."
        )
    first, second = (one, other) if one.face == "A" else (other, one)
    plates = [pocket.stack.plate_thickness for pocket in (first, second)]
    holes: list[Quantity] = [pocket.stack.hole_diameter for pocket in (first, second)]
    if abs(sizes.mm(plates[0] - plates[1])) > CLOSE:
        raise CounterboreError(
            f"the plates are {_fine(plates[0])} and {_fine(plates[1])} thick. Give both the same."
        )
    if None in holes or abs(sizes.mm(holes[0] - holes[1])) > CLOSE:
        told = ["none" if hole is None else _fine(hole) for hole in holes]
        raise CounterboreError(f"the holes are {told[0]} and {told[1]}. Give both the same.")
    return Stack(
        plates[0], hole_diameter=holes[0], from_a=first.stack.from_a, from_b=second.stack.from_b
    )


def _stack(plate: Quantity, hole: Quantity | None, steps: Sequence[Step], face: str) -> Stack:
    if face not in ("A", "B"):
        raise CounterboreError(f"a plate has the faces 'A' and 'B', not {face!r}.")
    return Stack(
        plate,
        hole_diameter=hole,
        from_a=steps if face == "A" else (),
        from_b=steps if face == "B" else (),
    )


def _clearance_for_play(
    allow: _Allowances, name: str, given: Size | None, play: Quantity
) -> Quantity:
    if given is not None:
        return allow.take(name, given, "head_room")
    usual = USUAL["head_room"]
    room = usual.like(allow.like)
    return allow.note(name, play + room, f"{_fine(play)} of play, and {_fine(room)} {usual.reason}")


def _hole(turns: Thread, given: Size | None, fit: str) -> Quantity:
    if given is not None:
        hole = positive(given, "hole diameter")
        if not hole > turns.diameter:
            raise CounterboreError(
                f"an {turns} screw does not pass a hole of {_fine(hole)}. Make it wider."
            )
        return hole
    try:
        return fasteners.clearance_hole(turns.size, fit)
    except FastenerError as error:
        raise FastenerError(f"{error} Or give the hole's diameter.") from None


def _no_dust(size: Quantity) -> Quantity:
    """What should be 0 and is not quite, for rounding, as 0."""
    return 0 * size if abs(sizes.mm(size)) < CLOSE else size
