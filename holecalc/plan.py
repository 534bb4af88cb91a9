"""The order of work: which setup, which cutter, which feature, with every number to be typed.

What registers the part when it is turned over is cut before all else, edges after all else, and in
between each feature's cuts in their order: the hole before what goes round it, roughing before
finishing. Within that, the cutter is changed as seldom as can be.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np

from holecalc import cutting, sizes
from holecalc.countersink import Sink
from holecalc.cutters import EndMill
from holecalc.cutting import CuttingError
from holecalc.form_cutter import Edge, FormCutterError
from holecalc.helix import Bore
from holecalc.part import CornersCut, Cut, Cutter, Drilled, Feature, FlatsCut, Part, Setup
from holecalc.relations import RelationsError
from holecalc.sizes import Quantity

__all__ = [
    "NOT_TOLD",
    "Operation",
    "Plan",
    "SetupPlan",
    "edge_passes",
    "fewest_changes",
    "plan",
]

_fine = partial(sizes.show, fine=True)
_rate = sizes.show_rate

SINK_TURNS = 2
"""Turns down to a countersink's depth, before the flat one (common practice, no source)."""

NOT_TOLD = "not told"
"""What stands for a number that the file does not tell, and nothing else does."""


@dataclass(frozen=True)
class Operation:
    """One cutter at one feature, at all its positions.

    Parameters
    ----------
    number : int
        In the order of work, from 1, over all setups.
    setup : Setup
        How the part lies.
    feature : Feature
        What it makes.
    cut : Cut
        Which of its cuts.
    xy : array
        X and Y [mm] of each position, in the setup's coordinates.
    settings : tuple of (str, str)
        Every number to be typed, with what it is.
    circles : tuple of float
        Diameters [mm] of the circles the cutter's axis runs on; none for what is drilled.
    length : pint.Quantity
        Of the cutter's path at one position, cutting; without the moves between.
    time : pint.Quantity or None
        For that; None where no feed is known.
    spindle_speed : pint.Quantity or None
        What the cutter turns at; None where nothing tells it.
    """

    number: int
    setup: Setup
    feature: Feature
    cut: Cut
    xy: Any
    settings: tuple[tuple[str, str], ...]
    circles: tuple[float, ...]
    length: Quantity
    time: Quantity | None
    spindle_speed: Quantity | None = None

    @property
    def cutter(self) -> Cutter:
        """With what."""
        return self.cut.cutter

    @property
    def count(self) -> int:
        """At how many positions."""
        return max(1, len(self.xy))

    @property
    def untold_feed(self) -> str:
        """Which key of its cutter would let it be timed; empty where it is timed."""
        if self.time is not None:
            return ""
        if isinstance(self.cutter.tool, EndMill):
            if isinstance(self.cut.work, CornersCut):
                return "plunge_feed"
            if self.cutter.chip_load is not None:
                return "spindle_speed"
        return "feed"

    def __str__(self) -> str:
        numbers = ", ".join(f"{label} {text}" for label, text in self.settings)
        return (
            f"{self.number}. {self.cutter}: {self.feature.name}, {self.cut.what}, "
            f"{self.count}×: {numbers}"
        )


@dataclass(frozen=True)
class SetupPlan:
    """The work of one setup.

    Parameters
    ----------
    setup : Setup
        How the part lies.
    operations : tuple of Operation
        In order.
    changes : int
        How often a cutter is put in; one that is in from the setup before is not counted.
    rapid : pint.Quantity or None
        Feed of the moves between, where the file says.
    """

    setup: Setup
    operations: tuple[Operation, ...]
    changes: int
    rapid: Quantity | None = None

    @cached_property
    def length(self) -> Quantity:
        """Of all paths."""
        return _sum([each.length * each.count for each in self.operations], sizes.from_mm(0.0))

    @cached_property
    def time(self) -> Quantity:
        """Of all operations whose time is known; cutting only."""
        known = [each.time * each.count for each in self.operations if each.time is not None]
        return _sum(known, sizes.ureg.Quantity(0.0, "s"))

    @cached_property
    def moves(self) -> Quantity:
        """Length of the moves between, in X and Y: straight from the zero and place to place.

        An edge is taken to begin and end at the zero.
        """
        zero = np.zeros((1, 2))
        stops = np.concatenate(
            [zero, *(each.xy if len(each.xy) else zero for each in self.operations)]
        )
        return sizes.from_mm(float(np.hypot(*np.diff(stops, axis=0).T).sum()))

    @property
    def moves_time(self) -> Quantity | None:
        """For the moves between; None where the file gives no rapid feed."""
        return _time(self.moves, self.rapid)

    @property
    def untimed(self) -> tuple[Operation, ...]:
        """The operations that have no feed."""
        return tuple(each for each in self.operations if each.time is None)

    @property
    def duration(self) -> str:
        """How long it takes, in words that say what is left out."""
        return _duration((self,))

    @property
    def cutters(self) -> tuple[Cutter, ...]:
        """Each that is used, in the order of first use."""
        return tuple({each.cutter.name: each.cutter for each in self.operations}.values())

    def __str__(self) -> str:
        head = (
            f"{self.setup}: {self.changes} cutter change{'s' * (self.changes != 1)}, "
            f"{self.duration}"
        )
        return "\n".join([head, *(f"  {each}" for each in self.operations)])


@dataclass(frozen=True)
class Plan:
    """The order of work of a part."""

    part: Part
    setups: tuple[SetupPlan, ...]

    @property
    def operations(self) -> tuple[Operation, ...]:
        """All of them."""
        return tuple(each for setup in self.setups for each in setup.operations)

    @property
    def changes(self) -> int:
        """How often a cutter is put in."""
        return sum(setup.changes for setup in self.setups)

    @property
    def time(self) -> Quantity:
        """Of all operations whose time is known; cutting only."""
        return _sum([each.time for each in self.setups], sizes.ureg.Quantity(0.0, "s"))

    @property
    def duration(self) -> str:
        """How long it takes, in words that say what is left out."""
        return _duration(self.setups)

    def __str__(self) -> str:
        return "\n".join(map(str, self.setups))


def _duration(setups: Sequence[SetupPlan]) -> str:
    if not any(each.operations for each in setups):
        return "nothing is planned"
    cutting_time = _sum([each.time for each in setups], sizes.ureg.Quantity(0.0, "s"))
    untimed = [each for setup in setups for each in setup.untimed]
    moves = [each.moves_time for each in setups if each.moves_time is not None]
    minutes, seconds = divmod(round(sum(each.m_as("s") for each in moves)), 60)
    about = f"about {minutes} min {seconds} s" if minutes else f"about {seconds} s"
    about += " of moves between"
    why = f"not timed, since no feed is told: type {_untold_feeds(untimed)}"
    if len(untimed) == sum(len(each.operations) for each in setups):
        return f"the cutting is {why}{f'; {about}' if moves else ''}"
    told = f"{_rate(cutting_time)} of cutting"
    told += f" and {about}" if moves else ", without the moves between"
    if untimed:
        several = len(untimed) > 1
        told += f"; {len(untimed)} operation{'s' * several} {'are' if several else 'is'} {why}"
    return told


def _untold_feeds(untimed: Sequence[Operation]) -> str:
    """The keys to type, each with the cutters it is for."""
    cutters: dict[str, list[str]] = {}
    for each in untimed:
        names = cutters.setdefault(each.untold_feed, [])
        if each.cutter.name not in names:
            names.append(each.cutter.name)
    return "; ".join(f"{key} for {', '.join(names)}" for key, names in cutters.items())


def _sum(quantities: Sequence[Quantity], nothing: Quantity) -> Quantity:
    return sum(quantities[1:], start=quantities[0]) if quantities else nothing


def plan(part: Part) -> Plan:
    """Plan a part's work.

    Parameters
    ----------
    part : Part
        Features that could not be worked out are left out; :func:`holecalc.checks.part` tells
        them.

    Returns
    -------
    Plan

    Notes
    -----
    Times are for cutting at the feed. The moves between are timed where ``[machine]`` gives a
    rapid feed: straight in X and Y, in the order of the positions. Lifting, changing cutters,
    speeding up and slowing down are in neither. Where the
    drawer has no speed or feed for an end mill, the middle of the starting values is taken (common
    practice, no source), and the operation says so. A speed is taken only where the file tells the
    fastest that the spindle turns; a feed that a person gave for a speed they did not tell is left
    alone, and the speed is not told.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> made = plan(loads(demo.text("table-insert")))
    >>> for operation in made.operations:
    ...     print(operation.setup.face, operation.cutter, "|", operation.feature.name)
    B 1/8 end mill | pin holes
    B 1/8 end mill | fence nuts
    B 1/8 end mill | fence nuts
    B 1/8 end mill | fence nuts
    A #7 drill | corner screws
    A 82 degree countersink | corner screws
    A 1/4 end mill | opening
    """
    with sizes.shown_in(part.unit):
        setups: list[SetupPlan] = []
        number, loaded = 0, None
        described: dict[tuple[int, int], _Described] = {}
        for setup in part.setups:
            operations: list[Operation] = []
            changes = 0
            for feature, index in _ordered(part, setup, loaded):
                assert feature.made is not None
                cut = feature.made.cuts[index]
                number += 1
                key = (id(feature.made), index)
                if key not in described:
                    described[key] = _describe(cut, setup, part)
                changes += cut.cutter.name != loaded
                loaded = cut.cutter.name
                operations.append(_operation(number, setup, feature, cut, described[key]))
            setups.append(SetupPlan(setup, tuple(operations), changes, part.machine.rapid))
        return Plan(part, tuple(setups))


def _operation(
    number: int, setup: Setup, feature: Feature, cut: Cut, described: _Described
) -> Operation:
    xy = np.empty((0, 2)) if feature.at is None else setup.xy(feature.at.xy())
    if isinstance(cut.work, CornersCut):
        corners = cut.work.centres(setup.angle(cut.work.step.turned))
        xy = (xy[:, None] + corners).reshape(-1, 2)
    return Operation(
        number,
        setup,
        feature,
        cut,
        xy,
        described.settings,
        described.circles,
        described.length,
        described.time,
        described.spindle_speed,
    )


# --- order ---------------------------------------------------------------------------------------


def _ordered(part: Part, setup: Setup, loaded: str | None) -> list[tuple[Feature, int]]:
    there = [each for each in part.features if each.face == setup.face and each.made is not None]
    registers = [each for each in there if each.name == part.turn.registers]
    edges = [each for each in there if each.kind == "edge"]
    rest = [each for each in there if each not in registers and each.kind != "edge"]
    ordered: list[tuple[Feature, int]] = []
    for phase in (registers, rest, edges):
        chains = [[cut.cutter.name for cut in each.made.cuts] for each in phase if each.made]
        for chain, index in fewest_changes(chains, loaded):
            ordered.append((phase[chain], index))
            loaded = chains[chain][index]
    return ordered


MOST_STATES = 20_000


def fewest_changes(
    chains: Sequence[Sequence[str]], loaded: str | None = None
) -> list[tuple[int, int]]:
    """Merge chains of cuts so that the cutter changes as seldom as can be.

    Parameters
    ----------
    chains : sequence of sequences of str
        The cutters of each feature's cuts, in the order they have to be made.
    loaded : str, optional
        The cutter that is in.

    Returns
    -------
    list of (int, int)
        Chain and index, in the order of work.

    Notes
    -----
    A breadth-first search over how far each chain is: with a cutter in, everything that it can
    do is done, which never makes the rest worse. Chains that are alike count as one. Beyond
    20,000 states (a dozen quite different chains) the cutter that does most next is taken, which
    need not be the best.

    Examples
    --------
    >>> fewest_changes([["drill", "vee"], ["mill"], ["mill", "vee"]], "mill")
    [(1, 0), (2, 0), (0, 0), (0, 1), (2, 1)]
    """
    kinds = list(dict.fromkeys(map(tuple, chains)))
    start = tuple(0 for _ in kinds)
    if loaded is not None:
        start = _advanced(kinds, start, loaded)
    sequence = ([loaded] if loaded is not None else []) + _searched(kinds, start)
    return _work(chains, sequence)


def _searched(kinds: Sequence[tuple[str, ...]], start: tuple[int, ...]) -> list[str]:
    done = tuple(len(kind) for kind in kinds)
    reached: dict[tuple[int, ...], list[str]] = {start: []}
    queue = deque([start])
    while queue and done not in reached:
        if len(reached) > MOST_STATES:
            # Only on from the state that is farthest along.
            queue = deque([max(reached, key=sum)])
        state = queue.popleft()
        for cutter in _choices(kinds, state):
            after = _advanced(kinds, state, cutter)
            if after not in reached:
                reached[after] = [*reached[state], cutter]
                queue.append(after)
    return reached[done]


def _choices(kinds: Sequence[tuple[str, ...]], state: tuple[int, ...]) -> list[str]:
    following = (kind[at] for kind, at in zip(kinds, state, strict=True) if at < len(kind))
    return list(dict.fromkeys(following))


def _advanced(
    kinds: Sequence[tuple[str, ...]], state: tuple[int, ...], cutter: str
) -> tuple[int, ...]:
    after = []
    for kind, at in zip(kinds, state, strict=True):
        while at < len(kind) and kind[at] == cutter:
            at += 1
        after.append(at)
    return tuple(after)


def _work(chains: Sequence[Sequence[str]], sequence: Sequence[str]) -> list[tuple[int, int]]:
    ordered = []
    at = [0] * len(chains)
    for cutter in sequence:
        for index, chain in enumerate(chains):
            while at[index] < len(chain) and chain[at[index]] == cutter:
                ordered.append((index, at[index]))
                at[index] += 1
    return ordered


# --- numbers -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Described:
    settings: tuple[tuple[str, str], ...]
    circles: tuple[float, ...]
    length: Quantity
    time: Quantity | None
    spindle_speed: Quantity | None


def _describe(cut: Cut, setup: Setup, part: Part) -> _Described:
    work = cut.work
    if isinstance(work, Drilled):
        return _drilled(work, cut.cutter)
    if isinstance(work, Bore):
        return _bored(work, cut.cutter, part)
    if isinstance(work, FlatsCut):
        return _flats(work, cut.cutter, setup, part)
    if isinstance(work, CornersCut):
        return _corners(work, cut.cutter)
    if isinstance(work, Sink):
        return _sunk(work, cut.cutter)
    return _edged(work, cut.cutter, part)


def _time(length: Quantity, feed: Quantity | None) -> Quantity | None:
    return None if feed is None else (length / feed).to("s")


def _told(rate: Quantity | None) -> str:
    return NOT_TOLD if rate is None else _rate(rate)


def _run_at(cutter: Cutter, label: str, feed: Quantity | None) -> list[tuple[str, str]]:
    return [("spindle", _told(cutter.spindle_speed)), (label, _told(feed))]


def _drilled(work: Drilled, cutter: Cutter) -> _Described:
    settings = [
        ("depth, full diameter", _fine(work.depth)),
        ("depth, tip", _fine(work.tip_depth)),
        *_run_at(cutter, "feed down", cutter.feed),
    ]
    time = _time(work.tip_depth, cutter.feed)
    return _Described(tuple(settings), (), work.tip_depth, time, cutter.spindle_speed)


@dataclass(frozen=True)
class _Rates:
    """What an end mill is run at: its speed, its feed at the wall, and where they come from."""

    spindle_speed: Quantity | None
    wall_feed: Quantity | None
    note: str


def _rates(cutter: Cutter, part: Part) -> _Rates:
    """The drawer's speed and feed, and starting values for what it does not tell.

    A feed is right for one speed only. Where a person gave the feed and not the speed, theirs is
    not known, and no other goes with it. A spindle whose fastest is not told may not reach a
    starting value either.
    """
    assert isinstance(cutter.tool, EndMill)
    speed, chip, wall, taken = cutter.spindle_speed, cutter.chip_load, cutter.feed, []
    untold = chip is None and wall is None
    if untold or (speed is None and wall is None):
        try:
            starting = cutting.starting(
                part.plate.material,
                cutter.tool,
                slowest=part.machine.slowest,
                fastest=part.machine.fastest,
            )
        except (CuttingError, RelationsError):
            return _Rates(speed, None, "")
        if speed is None and part.machine.fastest is not None:
            speed = starting.spindle_speed.middle
            taken.append("speed")
        if untold and speed is not None:
            chip = starting.chip_load.middle
            taken.append("feed")
    if wall is None and speed is not None and chip is not None:
        fed = cutting.FEED.solve(spindle_speed=speed, flutes=cutter.tool.flutes, chip_load=chip)
        wall = fed.wall_feed
    note = f"{' and '.join(taken)}: starting values" if taken else ""
    return _Rates(speed, wall, note)


def _axis_feeds(bore: Bore, wall: Quantity | None) -> list[Quantity] | None:
    """On each ring, so that the wall has its feed."""
    if wall is None:
        return None
    try:
        return [
            cutting.FEED.solve(
                wall_feed=wall,
                bore_diameter=ring.cut.bore_diameter,
                path_diameter=ring.cut.path_diameter,
            ).axis_feed
            for ring in bore.rings
        ]
    except RelationsError:
        return None


def _bored(work: Bore, cutter: Cutter, part: Part) -> _Described:
    rates = _rates(cutter, part)
    feeds = _axis_feeds(work, rates.wall_feed)
    settings = [("bore, as set", _fine(work.bore_diameter))]
    if work.start_depth.magnitude:
        settings.append(("from", _fine(work.start_depth)))
    settings += [("depth", _fine(work.depth)), ("spindle", _told(rates.spindle_speed))]
    time = None if feeds is None else sizes.ureg.Quantity(0.0, "s")
    for index, ring in enumerate(work.rings):
        label = f"ring {index + 1}, " if len(work.rings) > 1 else ""
        settings += [
            (f"{label}path diameter", _fine(ring.cut.path_diameter)),
            (f"{label}turns", _rate(ring.cut.passes)),
            (f"{label}pitch", _fine(ring.cut.pitch)),
        ]
        flat = work.flat_turns(ring)
        if feeds is not None:
            settings.append((f"{label}axis feed", _rate(feeds[index])))
            length = ring.cut.path_length + flat * ring.turn_length
            time = time + (length / feeds[index]).to("s")
        if flat:
            settings.append((f"{label}flat turns", str(flat)))
    if feeds is None:
        settings.append(("axis feed", NOT_TOLD))
    if rates.note:
        settings.append(("note", rates.note))
    circles = tuple(float(sizes.mm(ring.cut.path_diameter)) for ring in work.rings)
    return _Described(tuple(settings), circles, work.path_length, time, rates.spindle_speed)


def _flats(work: FlatsCut, cutter: Cutter, setup: Setup, part: Part) -> _Described:
    rates = _rates(cutter, part)
    settings = [
        ("depth", _fine(work.step.depth)),
        ("corner", f"{sizes.show(setup.angle(work.step.turned))} from X"),
    ]
    for index, lap in enumerate(work.laps, start=1):
        label = f"lap {index}, " if len(work.laps) > 1 else ""
        settings.append((f"{label}flats of the path", _fine(lap)))
    settings += [("spindle", _told(rates.spindle_speed)), ("feed", _told(rates.wall_feed))]
    if rates.note:
        settings.append(("note", rates.note))
    time = _time(work.path_length, rates.wall_feed)
    return _Described(tuple(settings), (), work.path_length, time, rates.spindle_speed)


def _corners(work: CornersCut, cutter: Cutter) -> _Described:
    drilled = work.drill is not None
    settings = [("depth, full diameter" if drilled else "depth", _fine(work.step.depth))]
    if drilled:
        settings.append(("depth, tip", _fine(work.tip_depth)))
    settings.append(("each from the middle", _fine(work.relief.centre_radius)))
    # What an end mill is fed along a wall is several times what it may be fed straight down.
    feed = cutter.feed if drilled else cutter.plunge_feed
    settings += _run_at(cutter, "feed down", feed)
    time = _time(work.tip_depth, feed)
    return _Described(tuple(settings), (), work.tip_depth, time, cutter.spindle_speed)


def _sunk(work: Sink, cutter: Cutter) -> _Described:
    cut = work.cut
    circle = sizes.mm(cut.circle_diameter)
    if circle > 0:
        turn = math.pi * cut.circle_diameter
        down = SINK_TURNS * np.hypot(sizes.mm(turn), sizes.mm(cut.depth) / SINK_TURNS)
        length = sizes.from_mm(float(down), cut.depth.units) + turn
        settings = [
            ("circle", _fine(cut.circle_diameter)),
            ("turns", f"{SINK_TURNS} and a flat one"),
        ]
    else:
        length = cut.depth
        settings = [("circle", "0, a plunge")]
    settings += [
        ("depth of the tip", _fine(cut.depth)),
        *_run_at(cutter, "axis feed", cutter.feed),
    ]
    circles = (float(circle),) if circle > 0 else ()
    time = _time(length, cutter.feed)
    return _Described(tuple(settings), circles, length, time, cutter.spindle_speed)


def edge_passes(edge: Edge) -> list[tuple[str, Quantity, Quantity]]:
    """What each pass of an edge is for, and its offset and depth; the last leaves the edge."""
    try:
        return [(each.kind, each.setting.offset, each.setting.depth) for each in edge.passes()]
    except FormCutterError:
        # Less is cut than one skin: a single pass.
        return [("finishing", edge.offset, edge.depth)]


def _edged(work: Edge, cutter: Cutter, part: Part) -> _Described:
    straight = 2 * (part.plate.length + part.plate.width)
    settings = []
    length = 0 * straight
    for index, (kind, offset, depth) in enumerate(edge_passes(work), start=1):
        settings.append((f"pass {index}, {kind}", f"offset {_fine(offset)}, depth {_fine(depth)}"))
        # Round each corner of the plate the axis runs a quarter of a circle.
        length = length + straight + 2 * math.pi * offset
    settings += _run_at(cutter, "feed", cutter.feed)
    time = _time(length, cutter.feed)
    return _Described(tuple(settings), (), length, time, cutter.spindle_speed)
