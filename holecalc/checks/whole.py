"""What goes wrong with a whole part: between features, setups, clamps and the drawer."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from holecalc import sizes
from holecalc.checks.bores import helix
from holecalc.checks.edges import form_cutter
from holecalc.checks.findings import Finding, Findings, Weight
from holecalc.checks.pockets import counterbore
from holecalc.checks.sinks import countersink
from holecalc.counterbore import Pocket, wall_between
from holecalc.cutters import EndMill
from holecalc.form_cutter import Edge, FormCutter
from holecalc.helix import Bore
from holecalc.part import (
    Drilled,
    Feature,
    KeepClear,
    Part,
    Registration,
    ReliefCut,
    TurningError,
)
from holecalc.part.positions import XY
from holecalc.sizes import Quantity
from holecalc.stack import Stack

if TYPE_CHECKING:
    from holecalc.plan import Operation, Plan

_fine = partial(sizes.show, fine=True)

THIN = 0.25
"""Of the plate's thickness: the least to leave between features (common practice, no source)."""
OFF = 0.1
"""Millimetres; features of two faces farther off than this show (common practice, no source)."""
MOST_WALLS = 40
SIDES = {"left": 180, "right": 0, "lower": 270, "upper": 90}


def part(made: Part, planned: Plan | None = None) -> Findings:
    """What goes wrong with a part: each feature by itself, and all of them together.

    Parameters
    ----------
    made : holecalc.part.Part
        The part.
    planned : holecalc.plan.Plan, optional
        Its plan, where there is one already.

    Returns
    -------
    Findings

    Notes
    -----
    Walls are reckoned between what is cut, in any direction; a cone counts as eight steps, each as
    wide as the cone is at its upper end, and errs to the safe side by an eighth of its slope at the
    most. Positions and outlines are as drawn: what registration adds is told by itself.

    Examples
    --------
    >>> from holecalc import demo
    >>> from holecalc.part import loads
    >>> text = demo.text("bearing-plate").replace("[220, 90]", "[145, 90]")
    >>> print(part(loads(text))[0])
    ■ stop: dowel holes and bearing bore run 2.510 mm into each other; dowel holes is what \
registers the part. Move one of them.
    """
    from holecalc.plan import plan

    with sizes.shown_in(made.unit):
        planned = plan(made) if planned is None else planned
        found = [
            *_file(made),
            *_drawer(made),
            *_alone(made),
            *_drills(planned),
            *_reliefs(planned),
            *_feeds(planned),
            *_walls(made),
            *_edges(made),
            *_turning(made),
            *_clear(made, planned),
        ]
        return Findings(found)


def _file(made: Part) -> list[Finding]:
    return [
        Finding(
            Weight.LOOK,
            f"Line {fault.line} of {made.file}: {fault.where} is {fault.reason}",
            "Put its name right, or leave it if it is yours.",
            "part file",
        )
        for fault in made.unknown
    ]


def _drawer(made: Part) -> list[Finding]:
    found = []
    for feature in made.features:
        if feature.missing:
            found.append(
                Finding(
                    Weight.STOP,
                    f"{feature.name}: {feature.missing}",
                    "Put one in the drawer, or name another.",
                    "cutters at hand",
                )
            )
        elif feature.problem:
            found.append(
                Finding(
                    Weight.STOP,
                    f"{feature.name} (line {feature.line}) cannot be made: {feature.problem}",
                    "Nothing of it is planned until that is put right.",
                    "part file",
                )
            )
    return found


# --- each by itself ------------------------------------------------------------------------------


def _alone(made: Part) -> Iterator[Finding]:
    """What the single features' checks say; features that are alike say it once."""
    alike: dict[int, list[Feature]] = defaultdict(list)
    for feature in made.features:
        if feature.made is not None:
            alike[id(feature.made)].append(feature)
    for features in alike.values():
        first = features[0]
        more = f" and {len(features) - 1} like it" if len(features) > 1 else ""
        for finding in dict.fromkeys(_of_one(first)):
            yield Finding(
                finding.weight, f"{first.name}{more}: {finding.what}", finding.cure, finding.topic
            )


def _of_one(feature: Feature) -> Iterator[Finding]:
    assert feature.made is not None
    main, cuts = feature.made.main, feature.made.cuts
    for cut in cuts:
        if isinstance(cut.work, Bore):
            yield from helix(cut.work)
        elif isinstance(cut.work, Edge):
            yield from form_cutter(cut.work, spindle_speed=cut.cutter.spindle_speed)
    if feature.kind == "countersink":
        # As planned, not as corrected: the correction makes up for what the measurement showed.
        yield from countersink(main)
    if isinstance(main, Pocket):
        mill = [cut.cutter.tool for cut in cuts if not isinstance(cut.work, ReliefCut)][-1]
        yield from counterbore(main, cutter=mill if isinstance(mill, EndMill) else None)


def _drills(planned: Plan) -> Iterator[Finding]:
    for operation in planned.operations:
        work = operation.cut.work
        if not isinstance(work, Drilled) or work.drill.length is None:
            continue
        if sizes.mm(work.tip_depth) > sizes.mm(work.drill.length) + 1e-4:
            yield Finding(
                Weight.STOP,
                f"{operation.feature.name}: {operation.cutter} goes {_fine(work.tip_depth)} deep "
                f"and its flutes are {_fine(work.drill.length)} long.",
                "Take a longer drill.",
                "cutters at hand",
            )


def _reliefs(planned: Plan) -> Iterator[Finding]:
    for operation in planned.operations:
        work, mill = operation.cut.work, operation.cutter.tool
        if not isinstance(work, ReliefCut) or not isinstance(mill, EndMill):
            continue
        # A thin cutter beside a high wall: its shank would rub as its holder would.
        long = mill.cutting_length if mill.cutting_length is not None else mill.reach
        if long is not None and sizes.mm(work.step.depth) > sizes.mm(long) + 1e-4:
            yield Finding(
                Weight.STOP,
                f"{operation.feature.name}: the corners are {_fine(work.step.depth)} deep and "
                f"{operation.cutter} cuts {_fine(long)} deep.",
                "Take a longer cutter, or leave the corners as they are.",
                "cutter's reach",
            )


def _feeds(planned: Plan) -> Iterator[Finding]:
    without = {each.cutter.name: each.cutter for each in planned.operations if each.time is None}
    for name, cutter in without.items():
        yield Finding(
            Weight.NOTE,
            f"{name}: the file tells no feed for it, so neither its feed nor its time is on the "
            "sheet.",
            "Give it spindle_speed and feed"
            + (", or chip_load." if _is_mill(cutter.tool) else "."),
            "cutters at hand",
        )


def _is_mill(tool: object) -> bool:
    return isinstance(tool, EndMill)


# --- walls ---------------------------------------------------------------------------------------


def _least(made: Part) -> Quantity:
    return THIN * made.plate.thickness if made.least_wall is None else made.least_wall


def _stacks(made: Part) -> list[tuple[Feature, Stack, XY]]:
    return [
        (feature, feature.made.stack, feature.at.xy())
        for feature in made.features
        if feature.made is not None and feature.made.stack is not None and feature.at is not None
    ]


def _walls(made: Part) -> list[Finding]:
    """Walls between neighbours, wherever they are thinner than they should be."""
    placed = _stacks(made)
    if not placed:
        return []
    xy = np.concatenate([positions for *_, positions in placed])
    owner = np.repeat(np.arange(len(placed)), [len(positions) for *_, positions in placed])
    reach = np.array([sizes.mm(stack.reach) for _, stack, _ in placed])[owner]
    least = sizes.mm(_least(made))
    pairs = _near(xy, reach, least)
    owners = owner[pairs]
    walls = _between(placed, owners, xy[pairs[:, 1]] - xy[pairs[:, 0]])
    thin: dict[tuple[int, int], tuple[float, int]] = {}
    for row in np.flatnonzero(walls < least - 1e-6).tolist():
        key = (int(owners[row, 0]), int(owners[row, 1]))
        before, times = thin.get(key, (math.inf, 0))
        thin[key] = (min(before, float(walls[row])), times + 1)
    ranked = sorted(thin.items(), key=lambda item: item[1][0])
    found = [
        _thin(made, placed[one][0], placed[other][0], wall, times)
        for (one, other), (wall, times) in ranked[:MOST_WALLS]
    ]
    if len(ranked) > MOST_WALLS:
        more = len(ranked) - MOST_WALLS
        wall = ranked[MOST_WALLS][1][0]
        found.append(
            Finding(
                Weight.STOP if wall <= 0 else Weight.LOOK,
                f"{more} more pairs of features stand as near as that; the nearest of them leave "
                f"{_fine(_out(made, wall))}.",
                "Put the ones above right first.",
                "walls of a part",
            )
        )
    return found


def _near(xy: XY, reach: XY, least: float) -> XY:
    """Pairs of positions whose outlines may come nearer than that.

    One tree for each class of like sizes: a single wide bore does not make every small hole a
    neighbour of every other, and the whole stays n log n.
    """
    from scipy.spatial import cKDTree

    classes = np.floor(np.log2(np.maximum(reach, 1e-3))).astype(int)
    trees = []
    for value in np.unique(classes):
        members = np.flatnonzero(classes == value)
        trees.append((members, cKDTree(xy[members]), float(reach[members].max())))
    found = [np.empty((0, 2), dtype=int)]
    for index, (members, tree, widest) in enumerate(trees):
        pairs = tree.query_pairs(2 * widest + least, output_type="ndarray")
        found.append(members[pairs].reshape(-1, 2))
        for others, their_tree, their_widest in trees[index + 1 :]:
            lists = tree.query_ball_tree(their_tree, widest + their_widest + least)
            counts = [len(each) for each in lists]
            if sum(counts):
                ours = np.repeat(members, counts)
                theirs = others[list(itertools.chain.from_iterable(lists))]
                found.append(np.column_stack([ours, theirs]))
    pairs = np.sort(np.concatenate(found), axis=1)
    distance = np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T)
    return np.asarray(pairs[distance - reach[pairs].sum(axis=1) < least])


def _between(placed: list[tuple[Feature, Stack, XY]], owners: XY, apart: XY) -> XY:
    """What is left between the features of each pair [mm].

    Parameters
    ----------
    placed : list
        The features with their stacks.
    owners : array
        One row of two indices into `placed` for each pair.
    apart : array
        From the first's axis to the second's [mm].
    """
    walls = np.full(len(owners), math.inf)
    number = {id(stack): index for index, (_, stack, _) in enumerate(placed)}
    stacks = np.array([number[id(stack)] for _, stack, _ in placed])[owners]
    on_axis = np.hypot(*apart.T) <= 1e-3
    for row in np.flatnonzero(on_axis).tolist():
        one, other = (placed[index][:2] for index in owners[row])
        walls[row] = _on_one_axis(*one, *other)
    beside = np.flatnonzero(~on_axis)
    # Rows that take the same two stacks stand together, and are reckoned together.
    order = beside[np.lexsort(stacks[beside].T)]
    starts = np.flatnonzero(np.any(np.diff(stacks[order], axis=0) != 0, axis=1)) + 1
    for rows in np.split(order, starts):
        if len(rows):
            first, second = (placed[index][1] for index in stacks[rows[0]])
            walls[rows] = _beside(first, second, apart[rows])
    return walls


def _beside(first: Stack, second: Stack, apart: XY) -> XY:
    """`wall_between` for many displacements at once [mm]; in one go where all is round."""
    ours, theirs = first.prisms(), second.prisms()
    if any(outline.sides for outline, *_ in (*ours, *theirs)):
        known: dict[tuple[float, float], float] = {}
        for along, across in np.round(apart, 6).tolist():
            if (along, across) not in known:
                wall = wall_between(
                    first, second, along=sizes.from_mm(along), across=sizes.from_mm(across)
                )
                known[along, across] = float(sizes.mm(wall))
        return np.array([known[tuple(each)] for each in np.round(apart, 6).tolist()])
    (radius, top, bottom), (their_radius, their_top, their_bottom) = (
        np.array([(outline.reach, low, high) for outline, low, high in prisms]).T
        for prisms in (ours, theirs)
    )
    aside = np.hypot(*apart.T)[:, None, None] - radius[:, None] - their_radius
    below = np.maximum(top[:, None] - their_bottom, their_top - bottom[:, None])
    aslant = np.hypot(np.maximum(aside, 0), np.maximum(below, 0))
    walls = np.where((aside > 0) & (below > 0), aslant, np.maximum(aside, below))
    return np.asarray(walls.min(axis=(1, 2)))


def _on_one_axis(one: Feature, first: Stack, other: Feature, second: Stack) -> float:
    """What is left between two features on one axis [mm]; only what is not meant counts."""
    if one.face != other.face and not _through(first) and not _through(second):
        deep = [_deepest(stack, each.face) for stack, each in ((first, one), (second, other))]
        return float(sizes.mm(first.plate_thickness)) - sum(deep)
    # The same outline twice is one too many; one inside the other is a step.
    same = abs(sizes.mm(first.reach) - sizes.mm(second.reach)) < 1e-6 and one.face == other.face
    return -float(sizes.mm(first.reach)) if same else math.inf


def _through(stack: Stack) -> bool:
    return stack.hole_diameter is not None


def _deepest(stack: Stack, face: str) -> float:
    return max((float(sizes.mm(stack.floor(face, step))) for step in stack.steps(face)), default=0)


def _out(made: Part, value: float) -> Quantity:
    return sizes.from_mm(value, made.unit)


def _thin(made: Part, one: Feature, other: Feature, wall: float, times: int) -> Finding:
    who = f"{one.name} and {other.name}" if one is not other else f"Two of {one.name}"
    often = f", at {times} places" if times > 1 else ""
    if wall <= 1e-6:
        registers = [each.name for each in (one, other) if each.name == made.turn.registers]
        lost = f"; {registers[0]} is what registers the part" if registers else ""
        return Finding(
            Weight.STOP,
            f"{who} run {_fine(_out(made, -wall))} into each other{often}{lost}.",
            "Move one of them.",
            "walls of a part",
        )
    return Finding(
        Weight.LOOK,
        f"{who} leave {_fine(_out(made, wall))} of plate between them{often}; it breaks out, or "
        "bends away from the cutter.",
        f"Leave {_told_least(made)}, or cut one of them less deep.",
        "walls of a part",
    )


def _told_least(made: Part) -> str:
    least = sizes.show(_least(made), fine=True, towards="up")
    if made.least_wall is not None:
        return f"at least {least}"
    return f"at least {least}, a quarter of the plate (common practice, no source)"


def _edges(made: Part) -> Iterator[Finding]:
    """Walls to the plate's edges, less what an edge cutter takes off the face there."""
    legs = {"A": 0.0, "B": 0.0}
    for feature in made.features:
        if feature.kind == "edge" and feature.made is not None:
            leg = float(sizes.mm(feature.made.main.leg_on_face))
            legs[feature.face] = max(legs[feature.face], leg)
    length, width = sizes.mm(made.plate.length), sizes.mm(made.plate.width)
    least = sizes.mm(_least(made))
    extents: dict[int, dict[str, float]] = {}
    zero = sizes.from_mm(0.0)
    for feature, stack, xy in _stacks(made):
        if id(stack) not in extents:
            extents[id(stack)] = {
                side: -float(sizes.mm(stack.wall_to_edge(zero, angle)))
                for side, angle in SIDES.items()
            }
        taken = max(legs.values()) if _through(stack) else legs[feature.face]
        room = {
            "left": xy[:, 0],
            "right": length - xy[:, 0],
            "lower": xy[:, 1],
            "upper": width - xy[:, 1],
        }
        side = min(room, key=lambda name: float(room[name].min()) - extents[id(stack)][name])
        wall = float(room[side].min()) - extents[id(stack)][side]
        if wall <= 1e-6:
            yield Finding(
                Weight.STOP,
                f"{feature.name} breaks out of the plate's {side} edge by "
                f"{_fine(_out(made, -wall))}.",
                "Move it inwards, or look at the plate's size again.",
                "walls of a part",
            )
        elif wall - taken < least - 1e-6:
            off = f", {_fine(_out(made, taken))} of which the edge cutter takes" if taken else ""
            yield Finding(
                Weight.LOOK,
                f"{feature.name} leaves {_fine(_out(made, wall))} of plate to the {side} "
                f"edge{off}.",
                f"Leave {_told_least(made)}.",
                "walls of a part",
            )


# --- turning over --------------------------------------------------------------------------------


def _turning(made: Part) -> list[Finding]:
    if len(made.setups) < 2:
        return []
    first = made.setups[0].face
    if not made.turn.registers:
        return [
            Finding(
                Weight.LOOK,
                "The part is turned over and nothing registers it: how far the two faces' features "
                "stand off each other is not known.",
                "Name the feature with two holes for pins: registers and pin_diameter under "
                "[turn].",
                "registration",
            )
        ]
    feature = made.feature(made.turn.registers)
    if feature.face != first:
        return [
            Finding(
                Weight.STOP,
                f"{feature.name} registers the part when it is turned over, and is itself cut from "
                f"face {feature.face}, after that.",
                f"Cut it from face {first}.",
                "registration",
            )
        ]
    try:
        pins = made.registration
    except TurningError as error:
        return [Finding(Weight.STOP, f"{feature.name}: {error}", "", "registration")]
    return [] if pins is None else _registered(made, pins)


def _registered(made: Part, pins: Registration) -> list[Finding]:
    second = made.setups[1].face
    worst, who = 0.0, ""
    for feature, _, xy in _stacks(made):
        if feature.face == second:
            off = float(pins.offsets(xy).max())
            if off > worst:
                worst, who = off, feature.name
    if not who:
        return []
    weight = Weight.LOOK if worst > OFF else Weight.NOTE
    unit = made.unit
    shift = sizes.from_mm(float(sizes.mm(max(pins.room))) / 2, unit)
    return [
        Finding(
            weight,
            f"On its pins the part can be {_fine(shift)} off and turned by "
            f"{sizes.show(pins.rotation, places=3)}, over {_fine(pins.distance)}: {who} stands up "
            f"to {_fine(_out(made, worst))} off what was cut from face {made.setups[0].face}, a "
            f"zone of {_fine(_out(made, 2 * worst))} in diameter.",
            "Bore the holes nearer to the pins' size, or farther apart."
            if weight is Weight.LOOK
            else "Push it against the pins the same way each time.",
            "registration",
        )
    ]


# --- clamps and pins -----------------------------------------------------------------------------


def _clear(made: Part, planned: Plan) -> Iterator[Finding]:
    for setup in planned.setups:
        things = [each for each in made.keep_clear if each.face == setup.setup.face]
        if setup.setup.number == 2:
            things += _pins(made)
        told: set[tuple[str, str]] = set()
        for thing, operation in itertools.product(things, setup.operations):
            if thing.name.startswith("pin ") and operation.feature.name == made.turn.registers:
                continue
            gap = _gap(made, thing, operation)
            if gap < -1e-6 and (thing.name, operation.feature.name) not in told:
                told.add((thing.name, operation.feature.name))
                yield Finding(
                    Weight.STOP,
                    f"{operation.feature.name}: {operation.cutter} runs "
                    f"{_fine(_out(made, -gap))} into {thing.name}, in {setup.setup}.",
                    "Move it, or cut this in another setup.",
                    "keep clear",
                )


def _pins(made: Part) -> list[KeepClear]:
    try:
        pins = made.registration
    except TurningError:
        return []
    if pins is None:
        return []
    setup = made.setups[1]
    across = pins.pin_diameter
    return [
        KeepClear(
            f"pin {number}",
            setup.face,
            (sizes.from_mm(float(x)), sizes.from_mm(float(y))),
            (across, across),
            True,
        )
        for number, (x, y) in enumerate(setup.xy(np.array([pins.first, pins.second])), start=1)
    ]


def _gap(made: Part, thing: KeepClear, operation: Operation) -> float:
    """From what a cutter sweeps to a thing in the way [mm]; negative where it runs into it."""
    middle = np.array([sizes.mm(thing.at[0]), sizes.mm(thing.at[1])])
    half = np.array([sizes.mm(thing.size[0]), sizes.mm(thing.size[1])]) / 2
    if isinstance(operation.cutter.tool, FormCutter):
        return _gap_to_edge(made, middle, half, operation)
    sweeps = float(max(operation.circles, default=0.0) + sizes.mm(operation.cutter.diameter)) / 2
    away = np.abs(operation.xy - middle)
    if thing.round:
        return float((np.hypot(*away.T) - half[0]).min()) - sweeps
    outside = np.maximum(away - half, 0)
    return float(np.hypot(*outside.T).min()) - sweeps


def _gap_to_edge(made: Part, middle: XY, half: XY, operation: Operation) -> float:
    """Between a thing and the band along the plate's edges that a form cutter sweeps."""
    edge = operation.cut.work
    assert isinstance(edge, Edge)
    radius = float(sizes.mm(operation.cutter.diameter)) / 2
    offset = float(sizes.mm(edge.offset))
    size = np.array([sizes.mm(made.plate.length), sizes.mm(made.plate.width)])
    inside = float(np.minimum(middle - half, size - middle - half).min()) - (radius - offset)
    low, high = -(radius + offset), size + radius + offset
    outside = float(np.maximum(low - (middle + half), (middle - half) - high).max())
    return max(inside, outside)
