"""What goes wrong with a whole part: between features, setups, clamps and the drawer."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from holecalc import sizes
from holecalc.checks.bores import helix, untold
from holecalc.checks.edges import form_cutter
from holecalc.checks.findings import Finding, Findings, Weight, at_least, listed
from holecalc.checks.pockets import THIN, counterbore
from holecalc.checks.sinks import countersink
from holecalc.counterbore import CounterboreError, Pocket, wall_between
from holecalc.cutters import Drill, EndMill
from holecalc.flats import Outline
from holecalc.form_cutter import Edge, FormCutter, both_faces
from holecalc.gauging import Correction
from holecalc.helix import Bore
from holecalc.part import (
    CornersCut,
    Cut,
    Drilled,
    Feature,
    FlatsCut,
    KeepClear,
    Part,
    Registration,
    TurningError,
)
from holecalc.part.positions import XY
from holecalc.part.reading import FILL_IN
from holecalc.sizes import Quantity
from holecalc.stack import Stack

if TYPE_CHECKING:
    from holecalc.plan import Operation, Plan

_fine = partial(sizes.show, fine=True)

OFF = 0.1
"""Millimetres; features of two faces farther off than this show (common practice, no source)."""
ON_AXIS = 0.05
"""Millimetres; positions as near are one, but for rounding (common practice, no source)."""
MUCH = 0.05
"""Of a size, and 1 mm: a larger correction is looked at (common practice, no source)."""
TOO_MUCH = 0.25
"""Of a size: no standing error of a machine is as large (common practice, no source)."""
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
            *_measured(made),
            *_reach(planned),
            *_plunges(planned),
            *_speeds(made, planned),
            *_feeds(planned),
            *_unchecked(planned),
            *_floors(made),
            *_walls(made),
            *_edges(made),
            *_all_round(made),
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
        for finding in dict.fromkeys(_of_one(made, first)):
            yield Finding(
                finding.weight, f"{first.name}{more}: {finding.what}", finding.cure, finding.topic
            )


def _of_one(made: Part, feature: Feature) -> Iterator[Finding]:
    assert feature.made is not None
    main, cuts = feature.made.main, feature.made.cuts
    yield from _of_its_bores(cuts)
    # As planned: a correction makes up for what the measurement showed.
    if isinstance(main, Edge):
        speed = cuts[-1].cutter.spindle_speed
        yield from _and_as_set(
            form_cutter(main, spindle_speed=speed),
            form_cutter(cuts[-1].work, spindle_speed=speed),  # type: ignore[arg-type]
        )
    elif feature.kind == "countersink":
        yield from _and_as_set(countersink(main), countersink(cuts[-1].work))  # type: ignore[arg-type]
    if isinstance(main, Pocket):
        yield from _captured(made, feature, main)


def _of_its_bores(cuts: Sequence[Cut]) -> Iterator[Finding]:
    """What is wrong with each bore that a feature is cut by; which, where it is not all of them."""
    bores = [(cut.what, cut.work) for cut in cuts if isinstance(cut.work, Bore)]
    told: dict[Finding, list[str]] = defaultdict(list)
    for name, work in bores:
        for finding in helix(work, cutter_by_itself=True):
            told[finding].append(name)
    for finding, names in told.items():
        if len(names) == len(bores):
            yield finding
        else:
            yield replace(finding, what=f"{listed(dict.fromkeys(names))}: {finding.what}")


def _captured(part: Part, feature: Feature, pocket: Pocket) -> Iterator[Finding]:
    """What the check of pockets says, for each cutter that has a part in one."""
    assert feature.made is not None
    given, made = feature.given, feature.made
    about: dict[str, Any] = {"screw": made.screw, "held": made.held, "least_left": part.least_wall}
    about["no_screw"] = made.no_screw
    if given["most_turning"] is not None:
        about["most_turning"] = given["most_turning"]
    hole = pocket.stack.hole_diameter is not None
    for mill in dict.fromkeys(cut.cutter.tool for cut in made.cuts[hole:]):
        yield from counterbore(pocket, cutter=mill if isinstance(mill, EndMill) else None, **about)


def _and_as_set(planned: Findings, as_set: Findings) -> Iterator[Finding]:
    """What is wrong as planned, and what cannot be cut as it is set after a correction."""
    yield from planned
    if planned.worst is Weight.STOP:
        return
    for finding in as_set:
        if finding.weight is Weight.STOP:
            what = f"As corrected by what was measured: {finding.what}"
            yield Finding(finding.weight, what, finding.cure, finding.topic)


def _measured(made: Part) -> Iterator[Finding]:
    """Corrections so large that the measurement is the likelier error."""
    for feature in made.features:
        if feature.made is None:
            continue
        # A diameter goes with its own size, and all that lies along the plate with that.
        size = made.plate.thickness
        for key in feature.measured:
            wanted = feature.wanted(key)
            if key.endswith("diameter") and wanted is not None:
                size = wanted
        for each in feature.made.corrections:
            yield from _corrected(feature, each, size)


def _corrected(feature: Feature, each: Correction, size: Quantity) -> Iterator[Finding]:
    by, whole = abs(sizes.mm(each.new - each.old)), float(sizes.mm(size))
    if by <= min(MUCH * whole, 1.0) + 1e-6:
        return
    what = f"{feature.name}: what was measured changes the {each.change.replace('_', ' ')} from "
    what += f"{_fine(each.old)} to {_fine(each.new)}"
    if by > TOO_MUCH * whole:
        weight, why = Weight.STOP, ", more than a machine is ever off by: a slip, or another unit."
    else:
        weight, why = Weight.LOOK, ", which is much for what a cutter or a zero is off by."
    yield Finding(
        weight,
        what + why,
        "Measure again, and look at the point and the unit (common practice, no source).",
        "corrections",
    )


# --- cutters, speeds and feeds -------------------------------------------------------------------


def _deep(operation: Operation) -> Quantity | None:
    """How far below the face a cutter's tip goes, where nothing else looks at that."""
    work = operation.cut.work
    if isinstance(work, Drilled):
        return work.tip_depth
    if isinstance(work, CornersCut):
        # With a mill it is the pocket that says whether it reaches.
        return None if work.drill is None else work.tip_depth
    if isinstance(work, Edge):
        return work.depth
    return None if isinstance(work, Bore | FlatsCut) else work.cut.depth


def _reach(planned: Plan) -> Iterator[Finding]:
    # Features that are alike share their cuts, and say it once.
    for operation in {id(each.cut): each for each in reversed(planned.operations)}.values():
        deep, reach = _deep(operation), operation.cutter.reach
        if deep is None or reach is None or sizes.mm(deep) <= sizes.mm(reach) + 1e-4:
            continue
        drill = isinstance(operation.cutter.tool, Drill)
        its = f"its flutes are {_fine(reach)} long" if drill else f"it reaches {_fine(reach)}"
        yield Finding(
            Weight.STOP,
            f"{operation.feature.name}: {operation.cutter} goes {_fine(deep)} deep and {its}.",
            "Take a longer drill." if drill else "Clamp it farther out, or take a longer one.",
            "cutters at hand",
        )


def _plunges(planned: Plan) -> Iterator[Finding]:
    for operation in planned.operations:
        work, tool = operation.cut.work, operation.cutter.tool
        if not isinstance(work, CornersCut):
            continue
        if isinstance(tool, EndMill) and not tool.centre_cutting:
            yield Finding(
                Weight.STOP,
                f"{operation.feature.name}: {operation.cutter} goes straight down in the corners, "
                "and has no edge in its middle.",
                "Relieve them with a centre-cutting mill or a drill.",
                "cutters at hand",
            )
        thickness = planned.part.plate.thickness
        if sizes.mm(work.tip_depth) >= sizes.mm(thickness) - 1e-6:
            yield Finding(
                Weight.STOP,
                f"{operation.feature.name}: the point of {operation.cutter} goes "
                f"{_fine(work.tip_depth)} deep in the corners, through the plate of "
                f"{_fine(thickness)}.",
                "Relieve them with an end mill.",
                "cutters at hand",
            )


def _speeds(made: Part, planned: Plan) -> Iterator[Finding]:
    """Every speed against what is marked on the cutter, and what the spindle can do."""
    run = {(each.cutter.name, id(each.spindle_speed)): each for each in planned.operations}
    told_of = set()
    for (name, _), operation in run.items():
        speed = operation.spindle_speed
        if speed is None or (name, sizes.show_rate(speed)) in told_of:
            continue
        told_of.add((name, sizes.show_rate(speed)))
        told, marked = sizes.show_rate(speed), operation.cutter.maximum_spindle_speed
        if marked is not None and speed > marked * (1 + 1e-9):
            yield Finding(
                Weight.STOP,
                f"{name}: {told} is more than the {sizes.show_rate(marked)} marked on it: it can "
                "fly apart.",
                "Slow the spindle down.",
                "speeds of the drawer",
            )
        for limit, beyond, word in (
            (made.machine.fastest, 1, "at most"),
            (made.machine.slowest, -1, "at least"),
        ):
            if limit is not None and beyond * (speed / limit).m_as("") > beyond * (
                1 + beyond * 1e-9
            ):
                yield Finding(
                    Weight.STOP,
                    f"{name}: {told} is asked for, and the spindle turns {word} "
                    f"{sizes.show_rate(limit)}.",
                    "Give it a speed that the spindle has, and the feed that goes with it.",
                    "speeds of the drawer",
                )


_KEYS = {"spindle": "spindle_speed", "feed down": "plunge_feed"}


def _feeds(planned: Plan) -> Iterator[Finding]:
    """What an operation leaves blank on the sheet, once for each cutter."""
    from holecalc.plan import NOT_TOLD

    blank: dict[str, dict[str, str]] = defaultdict(dict)
    for operation in planned.operations:
        mill = isinstance(operation.cutter.tool, EndMill)
        for label, text in operation.settings:
            if text != NOT_TOLD:
                continue
            key = _KEYS.get(label, "feed or chip_load") if mill else _KEYS["spindle"]
            if not mill and label != "spindle":
                key = "feed"
            blank[operation.cutter.name][label] = key
    for name, labels in blank.items():
        one = len(labels) == 1
        yield Finding(
            Weight.NOTE,
            f"{name}: its {listed(labels)} {'is' if one else 'are'} not told, and "
            f"{'stands' if one else 'stand'} so on the sheet.",
            f"Give it {listed(dict.fromkeys(labels.values()))}.",
            "cutters at hand",
        )


def _unchecked(planned: Plan) -> Iterator[Finding]:
    """What was not looked at for want of a number, since silence means that it was."""
    used = {each.cutter.name: each.cutter for each in planned.operations}
    bores: dict[str, dict[str, list[Bore]]] = defaultdict(lambda: defaultdict(list))
    deepest: dict[str, dict[str, Quantity]] = defaultdict(dict)
    for operation in planned.operations:
        cutter, feature, work = operation.cutter, operation.feature.name, operation.cut.work
        deep = _deep(operation)
        if isinstance(work, Bore):
            bores[cutter.name][feature].append(work)
        elif deep is not None and cutter.reach is None and not isinstance(cutter.tool, EndMill):
            deepest[cutter.name][feature] = deep
    for name, theirs in bores.items():
        tool = used[name].tool
        sizes_of_it = ("cutting_length", "reach", "maximum_ramp_angle")
        keys = [key for key in sizes_of_it if getattr(tool, key, None) is None]
        for finding in untold(theirs):
            ramp = finding.topic != "reach"
            asked = [key for key in keys if ramp is (key == "maximum_ramp_angle")]
            cure = f"{finding.cure.rstrip('.')}: {listed(asked)}."
            yield Finding(finding.weight, f"{name}: {finding.what}", cure, finding.topic)
    for name, depths in deepest.items():
        drill = isinstance(used[name].tool, Drill)
        its = "The length of the drill's flutes" if drill else "The cutter's reach"
        of_each = listed(f"{feature} ({_fine(deep)})" for feature, deep in depths.items())
        yield Finding(
            Weight.NOTE,
            f"{name}: {its} is not given, so whether it is long enough for {of_each} was not "
            "checked.",
            "Measure it: length." if drill else "Measure from the tip to the holder: reach.",
            "cutters at hand",
        )
    unmarked = [
        each
        for each in used.values()
        if each.maximum_spindle_speed is None and not isinstance(each.tool, Drill)
    ]
    if unmarked:
        yield Finding(
            Weight.NOTE,
            f"The fastest that {listed(map(str, unmarked))} may turn is not told, so the speed "
            "was not checked.",
            "Read what is marked on it or its packet: maximum_spindle_speed; never run it faster.",
            "speeds of the drawer",
        )


# --- walls ---------------------------------------------------------------------------------------


def _least(made: Part) -> Quantity:
    return THIN * made.plate.thickness if made.least_wall is None else made.least_wall


def _stacks(made: Part) -> list[tuple[Feature, Stack, XY]]:
    """What each feature cuts away at the most, and where."""
    return [
        (feature, feature.made.most, feature.at.xy())
        for feature in made.features
        if feature.made is not None and feature.made.most is not None and feature.at is not None
    ]


def _floors(made: Part) -> Iterator[Finding]:
    """What each feature leaves of the plate below itself, where no other check says so."""
    least, told = _least(made), set()
    for feature, stack, _ in _stacks(made):
        assert feature.made is not None
        # A cone runs out into its hole; what is left under its head is the countersink's to say.
        plain = isinstance(feature.made.main, Pocket) and feature.made.corrected is None
        bare = not (stack.from_a or stack.from_b)
        if plain or bare or feature.kind == "countersink" or id(stack) in told:
            continue
        told.add(id(stack))
        web = stack.web
        if sizes.mm(web.thickness) < sizes.mm(least) - 1e-6:
            yield Finding(
                Weight.LOOK,
                f"{feature.name}: only {_fine(web.thickness)} of the plate is left between "
                f"{web.above} and {web.below}; it breaks out, or bends away from the cutter.",
                f"Leave {_told_least(made)}, or go right through.",
                "walls of a part",
            )


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
    apart = xy[pairs[:, 1]] - xy[pairs[:, 0]]
    on_axis = np.hypot(*apart.T) <= ON_AXIS
    found = _axes(made, placed, owners[on_axis])
    owners = owners[~on_axis]
    walls = _between(placed, owners, apart[~on_axis])
    thin: dict[tuple[int, int], tuple[float, int]] = {}
    for row in np.flatnonzero(walls < least - 1e-6).tolist():
        key = (int(owners[row, 0]), int(owners[row, 1]))
        before, times = thin.get(key, (math.inf, 0))
        thin[key] = (min(before, float(walls[row])), times + 1)
    ranked = sorted(thin.items(), key=lambda item: item[1][0])
    found += [
        _thin(made, placed[one][0], placed[other][0], wall, times)
        for (one, other), (wall, times) in ranked[:MOST_WALLS]
    ]
    if len(ranked) > MOST_WALLS:
        more = len(ranked) - MOST_WALLS
        wall = ranked[MOST_WALLS][1][0]
        near = wall > 1e-6
        left = (
            f"leave {_fine(_out(made, wall))}"
            if near
            else _by(made, -wall, "run {} into each other", "touch")
        )
        found.append(
            Finding(
                Weight.LOOK if near else Weight.STOP,
                f"{more} more pairs of features stand as near as that; the nearest of them {left}.",
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
    # Rows that take the same two stacks stand together, and are reckoned together.
    order = np.lexsort(stacks.T)
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


def _axes(made: Part, placed: list[tuple[Feature, Stack, XY]], owners: XY) -> list[Finding]:
    """What goes wrong between features on one axis; each pair of features is told once."""
    times: dict[tuple[int, int], int] = defaultdict(int)
    for one, other in owners.tolist():
        times[one, other] += 1
    found: list[Finding] = []
    known: dict[tuple[int, int, bool], Finding | None] = {}
    for (one, other), often in times.items():
        (first, stack, _), (second, their, _) = placed[one], placed[other]
        registers = made.turn.registers in (first.name, second.name)
        key = (id(stack), id(their), registers)
        if key not in known:
            known[key] = _on_one_axis(made, stack, their, registers)
        told = known[key]
        if told is None:
            continue
        who = f"{first.name} and {second.name}" if first is not second else f"Two of {first.name}"
        places = f", at {often} places," if often > 1 else ""
        what = told.what.format(who=f"{who}{places}", registers=made.turn.registers)
        found.append(replace(told, what=what))
    found.sort(key=lambda finding: -finding.weight)
    if len(found) > MOST_WALLS:
        more = found[MOST_WALLS:]
        found[MOST_WALLS:] = [
            Finding(
                more[0].weight,
                f"{len(more)} more pairs of features on one axis do not go together.",
                "Put the ones above right first.",
                "walls of a part",
            )
        ]
    return found


def _on_one_axis(made: Part, one: Stack, other: Stack, registers: bool) -> Finding | None:
    """Whether two stacks on one axis make one that can be, and what is wrong if not.

    `{who}` and `{registers}` stand in the sentence for the names, which many pairs may share it by.
    """
    topic = "walls of a part"
    holes = [stack.hole_diameter for stack in (one, other) if stack.hole_diameter is not None]
    bare = not any((*one.from_a, *one.from_b, *other.from_a, *other.from_b))
    refused = ""
    web = math.inf
    try:
        both = Stack(
            made.plate.thickness,
            hole_diameter=max(holes, default=None),
            from_a=(*one.from_a, *other.from_a),
            from_b=(*one.from_b, *other.from_b),
        )
        web = float(sizes.mm(both.web.thickness))
    except CounterboreError as error:
        refused = str(error).replace("{", "{{").replace("}", "}}")
    if registers and (refused or _meet(one, other)):
        return Finding(
            Weight.STOP,
            "{who} are cut on one axis; {registers} is what registers the part, and does not "
            "stay as it is.",
            "Move one of them.",
            topic,
        )
    if refused:
        return Finding(
            Weight.STOP,
            f"{{who}} are on one axis and do not go together: {refused}",
            "Change one of them, or leave it out.",
            topic,
        )
    if len(holes) == 2 and bare and abs(sizes.mm(holes[0] - holes[1])) < 1e-6:
        return Finding(
            Weight.STOP,
            f"{{who}} are the same hole of {_fine(holes[0])}, cut twice.",
            "Leave one of them out.",
            topic,
        )
    if len(holes) == 2:
        told = " and ".join(map(_fine, holes))
        return Finding(
            Weight.LOOK,
            f"{{who}} both go through on one axis, with holes of {told}: the wider is what is "
            "left, and one of them cuts air.",
            "Make the hole in one of them only.",
            topic,
        )
    alone = min(float(sizes.mm(stack.web.thickness)) for stack in (one, other))
    if web < min(alone, sizes.mm(_least(made))) - 1e-6:
        return Finding(
            Weight.LOOK,
            f"{{who}} leave {_fine(_out(made, web))} of plate between them; it breaks out, or "
            "bends away from the cutter.",
            f"Leave {_told_least(made)}, or cut one of them less deep.",
            topic,
        )
    return None


def _meet(one: Stack, other: Stack) -> bool:
    """Whether two stacks on one axis have any depth in common."""
    return any(
        low < their_high - 1e-6 and their_low < high - 1e-6
        for _, low, high in one.prisms()
        for _, their_low, their_high in other.prisms()
    )


def _through(stack: Stack) -> bool:
    return stack.hole_diameter is not None


def _by(made: Part, value: float, into: str, touching: str) -> str:
    """How far something runs into something else, unless that is nothing anyone can measure."""
    told = _fine(_out(made, value))
    return into.format(told) if any(digit in told for digit in "123456789") else touching


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
            f"{who} {_by(made, -wall, 'run {} into each other', 'touch')}{often}{lost}.",
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


def _all_round(made: Part) -> Iterator[Finding]:
    """Edges worked from both faces, and twice from one."""
    there: dict[str, list[Feature]] = {"A": [], "B": []}
    for feature in made.features:
        if feature.kind == "edge" and feature.made is not None:
            there[feature.face].append(feature)
    for face, features in there.items():
        if len(features) > 1:
            names = " and ".join(each.name for each in features)
            yield Finding(
                Weight.LOOK,
                f"{names} all run round the edge of face {face}: what is left of it is the most "
                "that any of them takes.",
                "Leave all but one out, unless the profile is made of several.",
                "both faces",
            )
    for one, other in itertools.product(there["A"], there["B"]):
        assert one.made is not None
        assert other.made is not None
        for finding in form_cutter(both_faces(one.made.main, other.made.main)):
            if finding.topic == "both faces" and "meet" in finding.what:
                what = f"{one.name} and {other.name}: {finding.what}"
                yield Finding(finding.weight, what, finding.cure, finding.topic)


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
                f"{feature.name} "
                + _by(
                    made,
                    -wall,
                    f"breaks out of the plate's {side} edge by {{}}.",
                    f"just reaches the plate's {side} edge: nothing is left there.",
                ),
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
                _lines_to_register(made),
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
        return [
            Finding(
                Weight.STOP,
                f"{feature.name}: {error}",
                "Put that right before anything is cut.",
                "registration",
            )
        ]
    return [] if pins is None else [*_held(made, feature, pins), *_registered(made, pins)]


def _lines_to_register(made: Part) -> str:
    """Two holes for pins as a part file has them; where they go is for whoever knows the plate."""
    name, number = "dowel holes", 2
    while any(name == each.name for each in made.features):
        name, number = f"dowel holes {number}", number + 1
    plate, unit = made.plate, made.unit
    within = f"{sizes.show(plate.length)} by {sizes.show(plate.width)}"
    keys = f"""registers = "{name}"
pin_diameter = "{FILL_IN}what the pins measure, in {unit}"
"""
    holes = f"""[[feature]]
name = "{name}"
kind = "bore"
face = "{made.setups[0].face}"
diameter = "{FILL_IN}of the holes, in {unit}: the pins' and what they go in with"
at = "{FILL_IN}X and Y of both in {unit}, within {within}, written [[X, Y], [X, Y]]"
"""
    if made.turn.told:
        return (
            f"# Below [turn], which the file has already:\n{keys}\n"
            f"# At the end of the file:\n{holes}"
        )
    return f'# At the end of the file:\n[turn]\nabout = "{made.turn.about}"\n{keys}\n{holes}'


def _held(made: Part, feature: Feature, pins: Registration) -> list[Finding]:
    """Whether the holes are deep enough to be held by the pins."""
    assert feature.made is not None
    stack = feature.made.stack
    if stack is None or _through(stack):
        return []
    deep = max(step.depth for step in stack.steps(feature.face))
    across = pins.pin_diameter
    if sizes.mm(deep) >= sizes.mm(across) - 1e-6:
        return []
    return [
        Finding(
            Weight.STOP if sizes.mm(deep) < sizes.mm(across) / 2 else Weight.LOOK,
            f"{feature.name}: the holes are {_fine(deep)} deep and the pins {_fine(across)} in "
            "diameter: the part rides up on them.",
            f"Make them at least {at_least(across)} deep, as deep as the pins are wide (common "
            "practice, no source), or let them go through.",
            "registration",
        )
    ]


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
    up = {setup.setup.face for setup in planned.setups}
    for thing in made.keep_clear:
        if thing.face not in up:
            yield Finding(
                Weight.NOTE,
                f"{thing.name} is there while face {thing.face} is up, and nothing is cut from "
                "that face: it was checked against nothing.",
                "Put its face right, or leave it out.",
                "keep clear",
            )
    for setup in planned.setups:
        things = [each for each in made.keep_clear if each.face == setup.setup.face]
        if setup.setup.number == 2:
            things += _pins(made)
        told: set[tuple[str, str]] = set()
        for thing, operation in itertools.product(things, setup.operations):
            if thing.pin and operation.feature.name == made.turn.registers:
                continue
            gap = _gap(made, thing, operation)
            if gap < -1e-6 and (thing.name, operation.feature.name) not in told:
                told.add((thing.name, operation.feature.name))
                yield Finding(
                    Weight.STOP,
                    f"{operation.feature.name}: {operation.cutter} "
                    f"{_by(made, -gap, 'runs {} into', 'touches')} {thing.name}, in "
                    f"{setup.setup}.",
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
            pin=True,
        )
        for number, (x, y) in enumerate(setup.xy(np.array([pins.first, pins.second])), start=1)
    ]


def _gap(made: Part, thing: KeepClear, operation: Operation) -> float:
    """From what a cutter or its shank sweeps to a thing in the way [mm]; negative inside it."""
    middle = np.array([sizes.mm(thing.at[0]), sizes.mm(thing.at[1])])
    half = np.array([sizes.mm(thing.size[0]), sizes.mm(thing.size[1])]) / 2
    work, wide = operation.cut.work, float(sizes.mm(operation.cutter.widest))
    if isinstance(operation.cutter.tool, FormCutter):
        return _gap_to_edge(made, middle, half, operation)
    if isinstance(work, FlatsCut):
        return _gap_to_flats(work, wide, thing.round, middle, half, operation)
    sweeps = (max(operation.circles, default=0.0) + wide) / 2
    return float(_from_thing(thing.round, middle, half, operation.xy).min()) - sweeps


def _from_thing(is_round: bool, middle: XY, half: XY, xy: XY) -> XY:
    """From each position to a thing's outline [mm]; 0 or less inside it."""
    away = np.abs(xy - middle)
    if is_round:
        return np.asarray(np.hypot(*away.T) - half[0])
    return np.asarray(np.hypot(*np.maximum(away - half, 0).T))


def _gap_to_flats(
    work: FlatsCut, wide: float, is_round: bool, middle: XY, half: XY, operation: Operation
) -> float:
    """Between a thing and what is swept along the flats: a hexagon or square, rounded."""
    path = float(sizes.mm(work.laps[-1]))
    turned = float(sizes.rad(operation.setup.angle(work.step.turned)))
    swept = Outline(len(work.paths()[-1]), path + wide, wide / 2, turned=turned)
    from_thing = _from_thing(is_round, middle, half, operation.xy)
    nearest = float(from_thing.min()) - swept.reach
    gaps = []
    # Only what may come nearer than the nearest disc does is looked at as it is shaped.
    for x, y in operation.xy[from_thing - swept.reach < max(nearest, 0) + 1e-6].tolist():
        along, across = middle[0] - x, middle[1] - y
        if is_round:
            gaps.append(swept.gap(Outline(0, 2 * half[0]), along, across))
        else:
            gaps.append(swept.gap_to_box((half[0], half[1]), along, across))
    return min(gaps)


def _gap_to_edge(made: Part, middle: XY, half: XY, operation: Operation) -> float:
    """Between a thing and the band along the plate's edges that a form cutter sweeps."""
    edge = operation.cut.work
    assert isinstance(edge, Edge)
    radius = float(sizes.mm(operation.cutter.widest)) / 2
    offset = float(sizes.mm(edge.offset))
    size = np.array([sizes.mm(made.plate.length), sizes.mm(made.plate.width)])
    inside = float(np.minimum(middle - half, size - middle - half).min()) - (radius - offset)
    low, high = -(radius + offset), size + radius + offset
    outside = float(np.maximum(low - (middle + half), (middle - half) - high).max())
    return max(inside, outside)
