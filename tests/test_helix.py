"""Helical bores against plain trigonometry, numeric integration, and a cutter put through its path.

Where nothing else is named, the outside check is brute force: the cutter is sampled along the
helix as a person would draw it, without the formulas of the module.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from holecalc import gauging, helix, relations, sizes
from holecalc.cutters import CutterError, EndMill
from holecalc.helix import BORE, HelixError, bore, passes_for
from project import check_values

MM6 = EndMill("6 mm", flutes=1)
MM12 = EndMill("12 mm", flutes=2)
NAMES = tuple(BORE.variables)


def plain(cutter, path, depth, turns):
    """Every quantity of a bore from four, by triangles: millimetres and radians."""
    pitch = depth / turns
    return {
        "bore_diameter": path + cutter,
        "cutter_diameter": cutter,
        "path_diameter": path,
        "depth": depth,
        "passes": turns,
        "pitch": pitch,
        "ramp_angle": math.atan2(pitch, math.pi * path),
        "edge_ramp_angle": math.atan2(pitch, math.pi * (path + cutter)),
        "path_length": turns * math.hypot(pitch, math.pi * path),
    }


def quantity(name, value):
    kind = BORE.variables[name].kind
    return sizes.ureg.Quantity(value, kind.base)


# --- BORE ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    check_values("helical-bores"),
    ids="{bore_diameter} in {passes} turns".format_map,
)
def test_the_values_it_must_give(row):
    # Common practice, no source: references/helical-bores.csv.
    unit = row["unit"]
    cut = BORE.solve(
        bore_diameter=f"{row['bore_diameter']} {unit}",
        cutter_diameter=f"{row['cutter_diameter']} {unit}",
        depth=f"{row['depth']} {unit}",
        passes=row["passes"],
    )
    for name in ("pitch", "ramp_angle", "edge_ramp_angle", "path_length"):
        if row[name]:
            places = len(row[name].partition(".")[2])
            base = "deg" if name.endswith("angle") else unit
            # One in the last place; half would do but for how the row was rounded.
            assert cut[name].m_as(base) == pytest.approx(float(row[name]), abs=10.0**-places)
            assert f"{cut[name].units:~P}" == base


def determined():
    """The sets of four quantities that fix all the others, by the rank of a numeric Jacobian."""
    at = np.array([6.0, 3.0, 20.0, 8.0])
    step = 1e-6
    columns = []
    for i in range(4):
        move = np.zeros(4)
        move[i] = step
        up, down = plain(*(at + move)), plain(*(at - move))
        columns.append([(up[name] - down[name]) / (2 * step) for name in NAMES])
    jacobian = np.array(columns).T
    for chosen in itertools.combinations(range(len(NAMES)), 4):
        part = jacobian[list(chosen)]
        part = part / np.linalg.norm(part, axis=1, keepdims=True)
        yield tuple(NAMES[i] for i in chosen), abs(np.linalg.det(part)) > 1e-7


def test_any_sufficient_four_give_the_rest_and_no_other():
    wanted = plain(6.0, 3.0, 20.0, 8.0)
    sufficient = 0
    for names, enough in determined():
        known = {name: quantity(name, wanted[name]) for name in names}
        if enough:
            sufficient += 1
            found = BORE.solve(**known)
            for name in NAMES:
                assert found.base[name] == pytest.approx(wanted[name], rel=1e-6), names
        else:
            with pytest.raises(relations.TooFewGivens):
                BORE.solve(**known)
    assert sufficient == 83


@given(
    st.floats(1, 50),
    st.floats(0.02, 100),
    st.floats(0.1, 100),
    st.floats(0.5, 100),
)
def test_bore_is_plain_trigonometry(cutter, path, depth, turns):
    wanted = plain(cutter, path, depth, turns)
    cut = BORE.solve(
        cutter_diameter=quantity("cutter_diameter", cutter),
        path_diameter=quantity("path_diameter", path),
        depth=quantity("depth", depth),
        passes=turns,
    )
    for name in NAMES:
        assert cut.base[name] == pytest.approx(wanted[name], rel=1e-9)


@pytest.mark.parametrize("turns", [0.3, 1, 8, 12.4])
def test_path_length_is_the_integral_along_the_curve(turns):
    # Outside check: arc length of the parametric curve, scipy.integrate.quad.
    path, depth = 3.0, 20.0
    cut = BORE.solve(
        cutter_diameter="6 mm", path_diameter=f"{path} mm", depth=f"{depth} mm", passes=turns
    )

    def position(turn):
        angle = 2 * math.pi * turn
        return np.array(
            [path / 2 * math.cos(angle), path / 2 * math.sin(angle), -depth * turn / turns]
        )

    def speed(turn):
        step = 1e-5
        return np.linalg.norm(position(turn + step) - position(turn - step)) / (2 * step)

    length, _ = quad(speed, 0, turns, limit=400)
    assert sizes.mm(cut.path_length) == pytest.approx(length, rel=1e-7)


def test_pitch_from_passes_and_back_in_inches():
    cut = BORE.solve(bore_diameter="1/2 in", cutter_diameter="1/4 in", depth="1 in", passes=4)
    assert cut.pitch == sizes.length("0.25 in")
    back = BORE.solve(
        bore_diameter="1/2 in", cutter_diameter="1/4 in", depth="1 in", pitch=".25 in"
    )
    assert back.passes.magnitude == pytest.approx(4)


def test_arrays_of_passes():
    cut = BORE.solve(
        bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=np.array([8, 20])
    )
    assert cut.path_length.magnitude == pytest.approx([78.006, 189.554], abs=0.001)


@pytest.mark.parametrize(
    ("known", "error", "why"),
    [
        (
            {"bore_diameter": "6 mm", "passes": 8},
            relations.NoAnswer,
            "path diameter would have to be 0.000 mm",
        ),
        (
            {"bore_diameter": "5 mm", "passes": 8},
            relations.NoAnswer,
            "path diameter would have to be -1.000 mm",
        ),
        ({"bore_diameter": "9 mm", "passes": 0}, relations.OutOfRange, "passes is 0"),
        ({"bore_diameter": "9 mm", "passes": -1}, relations.OutOfRange, "passes is -1"),
        ({"bore_diameter": "9 mm", "ramp_angle": 90}, relations.OutOfRange, "ramp angle is 90°"),
        (
            {"bore_diameter": "9 mm", "path_length": "19 mm"},
            relations.NoAnswer,
            "path length 19.000 mm",
        ),
        (
            {"bore_diameter": "9 mm", "passes": 8, "pitch": "2 mm"},
            relations.Contradiction,
            "pitch 2.000 mm contradict",
        ),
    ],
)
def test_what_cannot_be_is_refused_and_told_why(known, error, why):
    with pytest.raises(error, match=why):
        BORE.solve(cutter_diameter="6 mm", depth="20 mm", **known)


def test_too_few_givens_tell_what_would_do():
    with pytest.raises(relations.TooFewGivens) as caught:
        BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm")
    assert caught.value.would_do == (
        *("passes", "pitch", "ramp_angle", "edge_ramp_angle", "path_length"),
    )


# --- the measured bore ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measured", "path"), [("9.08 mm", 2.92), ("8.95 mm", 3.05), ("9 mm", 3.0), ("0.3563 in", 2.95)]
)
def test_a_measured_bore_gives_the_path_to_use_next(measured, path):
    made = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=8)
    correction = gauging.correct(made, change="path_diameter", bore_diameter=measured)
    assert correction.change == "path_diameter"
    assert sizes.mm(correction.new) == pytest.approx(path, abs=1e-4)
    assert "bore diameter came out" in str(correction)


def test_a_measured_bore_within_the_doubt_changes_nothing():
    made = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", passes=8)
    correction = gauging.correct(
        made, change="path_diameter", bore_diameter="9.02 mm", plus_minus="0.03 mm"
    )
    assert correction.new == correction.old
    assert str(correction).startswith("leave path diameter at 3.000 mm")


def test_correcting_a_bore_planned_by_its_pitch():
    made = BORE.solve(path_diameter="3 mm", cutter_diameter="6 mm", depth="20 mm", pitch="2.5 mm")
    correction = gauging.correct(made, change="path_diameter", bore_diameter="9.1 mm")
    assert sizes.mm(correction.new) == pytest.approx(2.9)


# --- turns ---------------------------------------------------------------------------------------

LIMITS = st.fixed_dictionaries(
    {},
    optional={
        "max_pitch": st.floats(0.2, 30),
        "max_ramp_angle": st.floats(0.5, 80),
        "max_edge_ramp_angle": st.floats(0.5, 80),
    },
).filter(bool)


@given(st.floats(1, 20), st.floats(0.5, 40), st.floats(1, 60), LIMITS)
def test_turns_are_the_fewest_within_every_limit(cutter, path, depth, limits):
    # Outside check: count up until every limit is kept.
    turns = passes_for(
        bore_diameter=quantity("bore_diameter", cutter + path),
        cutter_diameter=quantity("cutter_diameter", cutter),
        depth=quantity("depth", depth),
        **{
            name: quantity("pitch", value) if name == "max_pitch" else value
            for name, value in limits.items()
        },
    )

    def kept(passes):
        got = plain(cutter, path, depth, passes)
        return (
            got["pitch"] <= limits.get("max_pitch", math.inf) * (1 + 1e-6)
            and math.degrees(got["ramp_angle"]) <= limits.get("max_ramp_angle", 90) + 1e-6
            and math.degrees(got["edge_ramp_angle"]) <= limits.get("max_edge_ramp_angle", 90) + 1e-6
        )

    assert kept(turns.passes)
    assert (
        turns.passes == 1
        or not kept(turns.passes * (1 - 2e-6) - 1 + 1e-6)
        or not kept(turns.passes - 1)
    )
    assert turns.cut.passes.magnitude == turns.passes
    assert [limit.least for limit in turns.limits] == sorted(
        (limit.least for limit in turns.limits), reverse=True
    )


@pytest.mark.parametrize(
    ("limits", "passes", "decided"),
    [
        ({"max_pitch": "2.5 mm"}, 8, "a pitch of at most 2.500 mm"),
        ({"max_pitch": "2.499 mm"}, 9, "a pitch of at most 2.499 mm"),
        ({"max_pitch": "50 mm"}, 1, "a pitch of at most 50.000 mm"),
        ({"max_pitch": "3 mm", "max_ramp_angle": 15}, 8, "a ramp of at most 15° at the axis"),
        ({"max_pitch": "3 mm", "max_ramp_angle": 30}, 7, "a pitch of at most 3.000 mm"),
        ({"max_edge_ramp_angle": 2, "max_ramp_angle": 30}, 21, "a ramp of at most 2° at the wall"),
        ({"max_pitch": "1 mm", "max_ramp_angle": 90}, 20, "a pitch of at most 1.000 mm"),
    ],
)
def test_the_limit_that_decides_is_told(limits, passes, decided):
    turns = passes_for(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", **limits)
    assert turns.passes == passes
    assert turns.limits[0].because == decided
    assert str(turns).startswith(f"{passes} turn{'s' * (passes > 1)}: {decided}")


@pytest.mark.parametrize("pitch", ["0.1 in", "0.3 mm", "0.7 mm", "1.1 mm", "1/64 in"])
def test_a_pitch_that_divides_the_depth_costs_no_extra_turn(pitch):
    depth = 7 * sizes.length(pitch)
    turns = passes_for(bore_diameter="9 mm", cutter_diameter="6 mm", depth=depth, max_pitch=pitch)
    assert turns.passes == 7


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        ({}, "nothing limits the turns"),
        ({"max_ramp_angle": 90}, "nothing limits the turns"),
        ({"max_pitch": "0 mm"}, "a pitch of 0.000 mm never gets anywhere"),
        ({"max_ramp_angle": -3}, "a ramp of -3° never gets anywhere"),
    ],
)
def test_limits_that_limit_nothing_are_refused(limits, why):
    with pytest.raises(HelixError, match=why):
        passes_for(bore_diameter="9 mm", cutter_diameter="6 mm", depth="20 mm", **limits)


# --- the cutter put through its path -------------------------------------------------------------

STEPS = 3600


def axis_turns(turns, flat_turns, per_turn=STEPS):
    """(turns gone, share of the depth reached) at every sampled place of the axis."""
    down = np.arange(0, round(turns * per_turn) + 1) / per_turn
    flat = turns + np.arange(1, round(flat_turns * per_turn) + 1) / per_turn
    gone = np.concatenate([down, flat])
    return gone, np.minimum(gone / turns, 1.0)


def wall_depths(cut, flat_turns=0, azimuths=720, skin=2e-5):
    """How deep the wall is cut to within `skin` of its full radius, all round [mm]."""
    cutter, path, depth = (cut.base[name] for name in ("cutter_diameter", "path_diameter", "depth"))
    gone, share = axis_turns(cut.base["passes"], flat_turns)
    x, y = (path / 2 * f(2 * np.pi * gone) for f in (np.cos, np.sin))
    radius = (path + cutter) / 2 - skin
    deepest = np.zeros(azimuths)
    for i, azimuth in enumerate(2 * np.pi * np.arange(azimuths) / azimuths):
        off = np.hypot(radius * np.cos(azimuth) - x, radius * np.sin(azimuth) - y)
        deepest[i] = np.max(np.where(off <= cutter / 2, share, 0.0)) * depth
    return deepest


@pytest.mark.parametrize("turns", [1, 4, 6.3])
def test_the_wall_is_whole_after_a_finishing_turn_and_never_beyond(turns):
    cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="5 mm", passes=turns)
    assert wall_depths(cut, flat_turns=1) == pytest.approx(5.0)
    # Nothing outside the bore is ever touched.
    assert np.all(wall_depths(cut, flat_turns=1, azimuths=60, skin=-1e-9) == 0)


@pytest.mark.parametrize("turns", [1, 4, 6.3, 0.4])
@pytest.mark.parametrize("breakthrough", [None, "0.3 mm", "2 mm", "9 mm"])
def test_what_the_last_turn_leaves_without_a_finishing_turn(turns, breakthrough):
    cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="5 mm", passes=turns)
    left = helix.left_without_finishing_turn(cut, breakthrough=breakthrough)
    below = 0.0 if breakthrough is None else sizes.mm(sizes.length(breakthrough))
    heights = 5.0 - below - wall_depths(cut)
    standing = np.mean(heights > 1e-9)
    pitch = sizes.mm(cut.pitch)
    assert max(heights.max(), 0) == pytest.approx(sizes.mm(left.height), abs=pitch / 300)
    # The two samples next to the end are within the skin.
    assert standing == pytest.approx(left.arc.m_as("turn"), abs=0.005)


def test_a_breakthrough_of_a_pitch_needs_no_finishing_turn():
    cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="22.5 mm", passes=9)
    left = helix.left_without_finishing_turn(cut, breakthrough="2.5 mm")
    assert left.height.magnitude == 0
    assert left.arc.magnitude == 0


def floor_after(cut, opened=0.0, turns=None, cell=0.04, per_turn=240):
    """A map of the floor under a cutter that has wound down some turns, and the removed volume.

    Returns the radius of each cell, the floor's depth, and the volume [mm³] gone since one turn
    before.
    """
    cutter, path, pitch = (cut.base[name] for name in ("cutter_diameter", "path_diameter", "pitch"))
    half = (path + cutter) / 2
    axis = np.arange(-half - cell, half + 2 * cell, cell)
    x, y = np.meshgrid(axis, axis)
    radius = np.hypot(x, y)
    floor = np.where(radius < opened / 2, np.inf, 0.0)
    steps = round(turns * per_turn)
    before = None
    for step in range(steps + 1):
        angle = 2 * np.pi * step / per_turn
        under = (x - path / 2 * np.cos(angle)) ** 2 + (y - path / 2 * np.sin(angle)) ** 2
        np.maximum(floor, pitch * step / per_turn, out=floor, where=under <= (cutter / 2) ** 2)
        if step == steps - per_turn:
            before = np.where(np.isfinite(floor), floor, 0).sum()
    after = np.where(np.isfinite(floor), floor, 0).sum()
    return x, y, floor, (after - before) * cell**2


@pytest.mark.parametrize(
    ("bore_diameter", "opened"), [(9.0, 0.0), (11.5, 0.0), (9.0, 7.0), (16.0, 12.0), (14.0, 0.0)]
)
def test_engagement_is_that_of_a_cutter_on_a_map_of_the_floor(bore_diameter, opened):
    cutter, pitch = 6.0, 2.0
    cut = BORE.solve(
        bore_diameter=f"{bore_diameter} mm", cutter_diameter="6 mm", depth="8 mm", pitch="2 mm"
    )
    told = helix.engagement(cut, opened=f"{opened} mm")
    x, y, floor, gone = floor_after(cut, opened, turns=3)

    # A straight cut of the effective width, a pitch high and a turn long, removes as much.
    straight = sizes.mm(told.effective_width) * pitch * math.pi * (bore_diameter - cutter)
    assert gone == pytest.approx(straight, rel=0.01)

    # After three turns the cutter stands at +X and goes towards +Y. Just ahead of its edge, what
    # is still higher than its tip is in the cut.
    angles = np.radians(np.arange(2.0, 179.0, 2.0))
    ahead = cutter / 2 + 0.08
    px = (bore_diameter - cutter) / 2 + ahead * np.cos(angles)
    py = ahead * np.sin(angles)
    core = bore_diameter / 2 - cutter
    inside = np.abs(np.hypot(px, py) - core - cutter / 2) < cutter / 2 - 0.08
    cells = [np.argmin((x - a) ** 2 + (y - b) ** 2) for a, b in zip(px, py, strict=True)]
    heights = 3 * pitch - floor.flat[cells]
    engaged = told.engaged_angle.m_as("deg")
    degrees = np.degrees(angles)
    clear = np.abs(degrees - engaged) > 5
    assert np.array_equal((heights > 0.02)[clear & inside], (degrees < engaged)[clear & inside])
    # Right at the wall the chip is a pitch high.
    assert heights[inside].max() == pytest.approx(sizes.mm(told.height), rel=0.15)
    assert heights[inside].max() <= sizes.mm(told.height) + 1e-9


def test_the_chip_falls_off_from_the_wall_as_derived():
    # references/derivations-helix.md, engagement: p (1 - beta / pi).
    cut = BORE.solve(bore_diameter="9 mm", cutter_diameter="6 mm", depth="8 mm", pitch="2 mm")
    x, y, floor, _ = floor_after(cut, turns=3, cell=0.02, per_turn=720)
    for degrees in (30, 60, 90, 120, 150):
        px = 1.5 + 3.05 * math.cos(math.radians(degrees))
        py = 3.05 * math.sin(math.radians(degrees))
        rho = math.hypot(px, py)
        beta = math.acos(max(-1.0, min(1.0, (rho**2 + 1.5**2 - 3**2) / (2 * rho * 1.5))))
        # Just ahead of the edge the cutter has a little more to turn before it comes there.
        ahead = math.atan2(py, px) - beta
        height = 6.0 - floor.flat[np.argmin((x - px) ** 2 + (y - py) ** 2)]
        derived = 2.0 * (1 - beta / math.pi) - 2.0 * ahead / (2 * math.pi)
        assert height == pytest.approx(derived, abs=0.03)


# --- whole bores ---------------------------------------------------------------------------------


def covered(made, samples=4000):
    """Whether the cutter comes to every radius between the pilot hole and the wall."""
    radii = np.linspace(
        sizes.mm(made.pilot_diameter) / 2, sizes.mm(made.bore_diameter) / 2, samples
    )
    reached = np.zeros(samples, dtype=bool)
    for ring in made.rings:
        path, cutter = ring.cut.base["path_diameter"], ring.cut.base["cutter_diameter"]
        reached |= np.abs(radii - path / 2) <= cutter / 2 + 1e-9
    return reached.all()


@given(
    st.floats(3, 20),
    st.floats(1.02, 9),
    st.floats(0, 0.95),
    st.floats(0.1, 0.9),
)
def test_rings_leave_no_core_and_keep_to_the_step(cutter, times, pilot_share, step_share):
    wide = cutter * times
    step = cutter * step_share
    pilot = wide * pilot_share
    made = bore(
        EndMill(f"{cutter:.6f} mm", flutes=2),
        bore_diameter=quantity("bore_diameter", wide),
        depth="10 mm",
        pilot_diameter=quantity("bore_diameter", pilot) if pilot else None,
        max_pitch="2 mm",
        max_step=quantity("bore_diameter", step),
    )
    assert covered(made)
    assert made.core_diameter is None
    across = [sizes.mm(ring.cut.bore_diameter) for ring in made.rings]
    assert across == sorted(across)
    assert across[-1] == pytest.approx(wide)
    assert np.all(np.diff(across) <= 2 * step + 1e-6)
    opened = [sizes.mm(ring.opened) for ring in made.rings]
    assert opened == pytest.approx([pilot, *across[:-1]])


@pytest.mark.parametrize(
    ("bore_diameter", "rings"), [("9 mm", 1), ("22.8 mm", 1), ("22.9 mm", 2), ("47 mm", 4)]
)
def test_one_helix_where_it_does_and_rings_beyond(bore_diameter, rings):
    made = bore(MM12, bore_diameter=bore_diameter, depth="5 mm") if rings > 1 else None
    if made is None:
        small = MM6 if bore_diameter == "9 mm" else MM12
        made = bore(small, bore_diameter=bore_diameter, depth="5 mm")
    assert len(made.rings) == rings


def test_a_core_left_on_purpose_is_told():
    made = bore(MM12, bore_diameter="47 mm", plate_thickness="20 mm", leave_core=True)
    assert len(made.rings) == 1
    assert made.core_diameter == sizes.length("23 mm")
    assert not covered(made)


@pytest.mark.parametrize(
    ("bore_diameter", "options"),
    [("47 mm", {}), ("1 in", {"pilot_diameter": "1/4 in"}), ("30 mm", {"pilot_diameter": "3 mm"})],
)
def test_the_least_cutter_is_where_the_core_vanishes(bore_diameter, options):
    least = helix.least_cutter(bore_diameter, **options)
    for share, core in ((1.0001, False), (0.9999, True)):
        made = bore(
            EndMill(least * share, flutes=2),
            bore_diameter=bore_diameter,
            depth="5 mm",
            leave_core=True,
            **options,
        )
        assert (made.core_diameter is not None) is core
        assert covered(made) is not core


def test_a_through_bore_goes_below_the_plate():
    made = bore(MM6, bore_diameter="9 mm", plate_thickness="20 mm", passes=8)
    assert made.depth == sizes.length("20.5 mm")
    assert made.breakthrough == sizes.length("0.5 mm")
    inch = bore(MM6, bore_diameter="3/8 in", plate_thickness="1/2 in", passes=8)
    assert inch.depth.m_as("in") == pytest.approx(0.52)
    even = bore(MM6, bore_diameter="9 mm", plate_thickness="20 mm", breakthrough=0, passes=8)
    assert even.depth == sizes.length("20 mm")


def test_the_usual_pitch_and_the_cutters_own_limits():
    free = bore(MM6, bore_diameter="9 mm", depth="20 mm")
    assert free.cut.passes.magnitude == 7
    assert "3.000 mm" in free.rings[0].limits[0].because
    ramping = EndMill("6 mm", flutes=1, maximum_ramp_angle=10, cutting_length="22 mm")
    held = bore(ramping, bore_diameter="9 mm", depth="20 mm", max_pitch="5 mm")
    assert held.cut.ramp_angle.m_as("deg") <= 10
    assert held.rings[0].limits[0].because == "a ramp of at most 10° at the axis"
    stub = EndMill("6 mm", flutes=1, cutting_length="2 mm")
    held = bore(stub, bore_diameter="9 mm", depth="20 mm", max_pitch="5 mm")
    assert held.cut.passes.magnitude == 10


def test_the_path_of_a_whole_bore():
    made = bore(
        MM12, bore_diameter="47 mm", plate_thickness="20 mm", max_pitch="4 mm", spring_turns=2
    )
    by_hand = 0.0
    for i, ring in enumerate(made.rings):
        path, turns = ring.cut.base["path_diameter"], ring.cut.base["passes"]
        flat = 3 if i == len(made.rings) - 1 else 1
        by_hand += math.hypot(20.5, turns * math.pi * path) + flat * math.pi * path
    assert sizes.mm(made.path_length) == pytest.approx(by_hand)
    assert "and 2 spring turns" in str(made)


@pytest.mark.parametrize(
    ("options", "volume"),
    [
        ({"depth": "10 mm"}, math.pi / 4 * 30**2 * 10),
        ({"plate_thickness": "10 mm"}, math.pi / 4 * 30**2 * 10),
        ({"depth": "10 mm", "pilot_diameter": "8 mm"}, math.pi / 4 * (30**2 - 8**2) * 10),
        ({"depth": "10 mm", "start_depth": "4 mm"}, math.pi / 4 * 30**2 * 6),
        ({"depth": "10 mm", "leave_core": True}, math.pi / 4 * (30**2 - 6**2) * 10),
        (
            {"depth": "10 mm", "leave_core": True, "pilot_diameter": "3 mm"},
            math.pi / 4 * (30**2 - 6**2) * 10,
        ),
    ],
)
def test_the_volume_removed(options, volume):
    made = bore(MM12, bore_diameter="30 mm", **options)
    assert made.volume.m_as("mm**3") == pytest.approx(volume)


def test_what_is_left_is_asked_of_the_whole_bore():
    assert bore(MM6, bore_diameter="9 mm", depth="20 mm").left is None
    bare = bore(MM6, bore_diameter="9 mm", depth="20 mm", passes=8, finishing_turn=False)
    assert bare.left is not None
    assert bare.left.height == sizes.length("2.5 mm")
    assert str(bare).endswith("no finishing turn; 78.01 mm of path")
    sprung = bore(MM6, bore_diameter="9 mm", depth="20 mm", finishing_turn=False, spring_turns=1)
    assert sprung.left is None


def test_a_stepped_bore_goes_on_from_the_floor_above():
    made = helix.stepped(
        MM6,
        [("18 mm", "6 mm"), ("10 mm", "12 mm")],
        through_diameter="7 mm",
        plate_thickness="20 mm",
        max_pitch="2 mm",
    )
    assert [sizes.mm(step.start_depth) for step in made] == [0, 6, 12]
    assert [sizes.mm(step.depth) for step in made] == pytest.approx([6, 12, 20.5])
    assert sum(step.volume.m_as("mm**3") for step in made) == pytest.approx(
        math.pi / 4 * (18**2 * 6 + 10**2 * 6 + 7**2 * 8)
    )


@pytest.mark.parametrize(
    ("options", "error", "why"),
    [
        ({}, HelixError, "how deep?"),
        ({"depth": "5 mm", "breakthrough": "1 mm"}, HelixError, "both given"),
        ({"plate_thickness": "5 mm", "breakthrough": "-1 mm"}, HelixError, "leaves a floor"),
        ({"depth": "5 mm", "start_depth": "5 mm"}, HelixError, "Start it above"),
        ({"depth": "5 mm", "pilot_diameter": "9 mm"}, HelixError, "nothing to cut"),
        ({"depth": "5 mm", "pilot_diameter": "-1 mm"}, HelixError, "nothing to cut"),
        ({"depth": "5 mm", "passes": 3, "max_pitch": "1 mm"}, HelixError, "Leave out passes"),
        ({"depth": "5 mm", "pitch": "2 mm", "max_pitch": "1 mm"}, HelixError, "Leave out pitch"),
        ({"depth": "5 mm", "passes": 3, "pitch": "1 mm"}, HelixError, "Give one"),
        ({"depth": "5 mm", "spring_turns": -1}, HelixError, "spring turns are 0, 1, 2"),
        ({"depth": "5 mm", "spring_turns": 1.5}, HelixError, "spring turns are 0, 1, 2"),
        ({"depth": "5 mm", "max_step": "0 mm"}, HelixError, "never gets anywhere"),
        ({"depth": "-5 mm"}, HelixError, "Start it above"),
        ({"depth": "5"}, sizes.SizeError, "no unit"),
        ({"depth": "5 mm", "passes": 0}, relations.OutOfRange, "passes is 0"),
    ],
)
def test_a_bore_that_makes_no_sense_is_refused_and_told_why(options, error, why):
    with pytest.raises(error, match=why):
        bore(MM6, bore_diameter="9 mm", **options)


@pytest.mark.parametrize("wide", ["9 mm", "20 mm"])
def test_a_pitch_fixes_the_turns_of_every_ring(wide):
    made = bore(MM6, bore_diameter=wide, plate_thickness="20 mm", pitch="2.5 mm")
    for ring in made.rings:
        # By hand: 20.5 mm at 2.5 mm a turn.
        assert ring.cut.base["passes"] == pytest.approx(8.2)
        assert sizes.mm(ring.cut.pitch) == pytest.approx(2.5)
        assert not ring.limits


@pytest.mark.parametrize("wide", ["9 mm", "12 mm"])
def test_a_cutter_that_does_not_go_round_in_the_bore_is_refused(wide):
    with pytest.raises(HelixError, match=rf"12\.000 mm cannot go round in a bore of {wide[:-3]}\."):
        bore(MM12, bore_diameter=wide, depth="5 mm")


@pytest.mark.parametrize(
    ("steps", "why"),
    [
        ([("10 mm", "6 mm"), ("18 mm", "12 mm")], "List the widest first"),
        ([("18 mm", "6 mm"), ("18 mm", "12 mm")], "List the widest first"),
        ([("18 mm", "12 mm"), ("10 mm", "6 mm")], "Measure every depth from the face"),
    ],
)
def test_steps_that_widen_or_rise_are_refused(steps, why):
    with pytest.raises(HelixError, match=why):
        helix.stepped(MM6, steps)


# --- the cutter ----------------------------------------------------------------------------------


def test_an_end_mill_is_written_as_it_would_be_typed():
    cutter = EndMill(
        "6 mm",
        flutes=2,
        cutting_length="22 mm",
        reach="30 mm",
        shank_diameter="8 mm",
        maximum_spindle_speed="24,000 rpm",
        maximum_ramp_angle=5,
        centre_cutting=False,
        dead_diameter="1.5 mm",
        name="T4",
    )
    again = eval(repr(cutter), {"EndMill": EndMill})
    assert again == cutter
    assert repr(again) == repr(cutter)
    assert repr(EndMill("1/4 in", flutes=1)) == "EndMill('0.25 in', flutes=1)"


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"cutting_diameter": "0 mm"}, "the cutting diameter is 0.00 mm"),
        ({"flutes": 0}, "not 0"),
        ({"flutes": 1.5}, "not 1.5"),
        ({"flutes": True}, "not True"),
        ({"cutting_length": "-1 mm"}, "the cutting length is -1.00 mm"),
        ({"reach": "10 mm", "cutting_length": "22 mm"}, "they would be clamped"),
        ({"shank_diameter": "0 mm"}, "the shank is 0.00 mm"),
        ({"maximum_spindle_speed": 0}, "maximum spindle speed is 0"),
        ({"maximum_ramp_angle": 0}, "maximum ramp angle is 0°"),
        ({"maximum_ramp_angle": 91}, "maximum ramp angle is 91°"),
        ({"dead_diameter": "1 mm"}, "only a cutter that is not centre-cutting"),
        ({"dead_diameter": "6 mm", "centre_cutting": False}, "smaller than its 6.00 mm"),
    ],
)
def test_what_is_no_end_mill_is_refused_and_told_why(options, why):
    with pytest.raises(CutterError, match=why):
        EndMill(**{"cutting_diameter": "6 mm", "flutes": 2, **options})


def test_a_bore_of_endless_rings_is_refused_and_says_what_would_do():
    with pytest.raises(HelixError, match=r"more than 200\. Take a wider cutter, or leave the core"):
        bore(EndMill("6 mm", flutes=1), bore_diameter="100000 mm", depth="5 mm", max_pitch="1 mm")
