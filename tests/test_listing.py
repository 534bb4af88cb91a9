"""The listings read back by a small interpreter of RS-274, and the path compared with the bore.

The interpreter knows the words and rules of RS-274 that the listings use, from memory of the
RS274/NGC report (NISTIR 6556), and refuses everything else. It shares no code with the listing.
"""

import math
import re
from dataclasses import dataclass, field

import numpy as np
import pytest

from holecalc import checks, countersink, cutting, helix, sizes
from holecalc.cutters import EndMill
from holecalc.export import listing
from holecalc.export.listing import ListingError

WORD = re.compile(r"([A-Z])(-?[0-9]+(?:\.[0-9]+)?)")
ALLOWED_G = {0, 1, 2, 3, 17, 20, 21, 40, 90, 94}
MODES = {17, 40, 90, 94}


class NotUnderstood(ValueError):
    """A line is not RS-274 as the listings may use it."""


@dataclass
class Move:
    """One move in millimetres and minutes, in program coordinates."""

    kind: int
    start: np.ndarray
    end: np.ndarray
    feed: float
    centre: np.ndarray | None = None
    sweep: float = 0.0

    @property
    def radius(self):
        return float(np.hypot(*(self.start[:2] - self.centre)))

    @property
    def length(self):
        if self.centre is None:
            return float(np.linalg.norm(self.end - self.start))
        return math.hypot(self.radius * self.sweep, self.end[2] - self.start[2])

    def places(self, count=200):
        """Points along the move."""
        share = np.linspace(0, 1, count)[:, None]
        line = self.start + share * (self.end - self.start)
        if self.centre is None:
            return line
        angle = math.atan2(*(self.start[:2] - self.centre)[::-1]) + share[:, 0] * self.sweep
        line[:, 0] = self.centre[0] + self.radius * np.cos(angle)
        line[:, 1] = self.centre[1] + self.radius * np.sin(angle)
        return line


@dataclass
class Control:
    """A machine control that takes one listing."""

    modes: set = field(default_factory=set)
    scale: float | None = None
    motion: int | None = None
    feed: float | None = None
    at: np.ndarray = field(default_factory=lambda: np.array([-500.0, -500.0, 80.0]))
    moves: list = field(default_factory=list)
    comments: list = field(default_factory=list)

    def take(self, text):
        for line in text.splitlines():
            if len(line) > 80:
                raise NotUnderstood(f"too long: {line}")
            if not line.isascii() or line != line.upper():
                raise NotUnderstood(f"not plain capitals: {line}")
            self.block(line)
        return self

    def block(self, line):
        code, comments = self.without_comments(line)
        self.comments += comments
        words = WORD.findall(code)
        if re.sub(r"\s", "", WORD.sub("", code)):
            raise NotUnderstood(line)
        values = {letter: float(number) for letter, number in words if letter != "G"}
        codes = [float(number) for letter, number in words if letter == "G"]
        if len(values) + len(codes) != len(words) or values.keys() - set("XYZIJF"):
            raise NotUnderstood(line)
        if set(codes) - ALLOWED_G or sum(code <= 3 for code in codes) > 1:
            raise NotUnderstood(line)
        for code in codes:
            if code in (20, 21):
                self.scale = 25.4 if code == 20 else 1.0
            elif code <= 3:
                self.motion = int(code)
            else:
                self.modes.add(int(code))
        if values and self.scale is None:
            raise NotUnderstood(f"no unit: {line}")
        if "F" in values:
            self.feed = values["F"] * self.scale
        if values.keys() & set("XYZ"):
            self.move(values, line)

    def without_comments(self, line):
        comments = re.findall(r"\(([^()]*)\)", line)
        code = re.sub(r"\([^()]*\)", "", line)
        if "(" in code or ")" in code:
            raise NotUnderstood(f"a bracket in a comment: {line}")
        return code, comments

    def move(self, values, line):
        if not self.modes >= MODES:
            raise NotUnderstood(f"moves before its modes are set: {line}")
        if self.motion != 0 and not self.feed:
            raise NotUnderstood(f"no feed: {line}")
        end = self.at.copy()
        for axis, letter in enumerate("XYZ"):
            if letter in values:
                end[axis] = values[letter] * self.scale
        made = Move(self.motion, self.at, end, self.feed or 0.0)
        if self.motion in (2, 3):
            offset = np.array([values.get("I", 0.0), values.get("J", 0.0)]) * self.scale
            made.centre = self.at[:2] + offset
            if abs(made.radius - np.hypot(*(end[:2] - made.centre))) > 0.002:
                raise NotUnderstood(f"not an arc, its radii differ: {line}")
            made.sweep = self.swept(made)
        elif values.keys() & set("IJ"):
            raise NotUnderstood(line)
        self.moves.append(made)
        self.at = end

    def swept(self, made):
        first, last = (
            math.atan2(*(place[:2] - made.centre)[::-1]) for place in (made.start, made.end)
        )
        if made.kind == 3:
            return (last - first) % (2 * math.pi) or 2 * math.pi
        return -((first - last) % (2 * math.pi) or 2 * math.pi)

    @property
    def arcs(self):
        return [move for move in self.moves if move.centre is not None]


MM6 = EndMill("6 mm", flutes=1, maximum_spindle_speed=24000)
MM12 = EndMill("12 mm", flutes=2)
QUARTER = EndMill("1/4 in", flutes=2)


def planned(cutter, **options):
    made = helix.bore(cutter, **options)
    return cutting.run(made, spindle_speed=18000, chip_load=cutter.cutting_diameter / 50)


BORES = {
    "one helix": planned(MM6, bore_diameter="9 mm", plate_thickness="20 mm", passes=8),
    "conventional": planned(MM6, bore_diameter="9 mm", depth="20 mm", passes=20),
    "rings": planned(MM12, bore_diameter="47 mm", plate_thickness="20 mm", spring_turns=2),
    "inches": planned(QUARTER, bore_diameter="3/8 in", plate_thickness="1/2 in", passes=7),
    "plunge": planned(QUARTER, bore_diameter="0.2656 in", depth="1 in", passes=4),
    "partial turn": planned(MM6, bore_diameter="9 mm", depth="7 mm", passes=3.3),
    "no finishing turn": planned(
        MM6, bore_diameter="9 mm", depth="7 mm", passes=2.71, finishing_turn=False
    ),
    "core": planned(MM12, bore_diameter="40 mm", plate_thickness="9 mm", leave_core=True),
    "from a floor": planned(
        MM6, bore_diameter="9 mm", depth="14 mm", start_depth="5 mm", pilot_diameter="4 mm"
    ),
}
AT = ("120.5 mm", "-33.25 mm")


def taken(run, name="", **options):
    text = listing.bore(run, at=AT, climb=name != "conventional", **options)
    return Control().take(text), text


@pytest.fixture(params=BORES, name="case")
def _case(request):
    run = BORES[request.param]
    control, text = taken(run, request.param)
    return request.param, run, control, text


def last_place(run):
    """A unit of the last decimal place that the listing has [mm]."""
    return 0.00254 if f"{run.bore.bore_diameter.units:~P}" == "in" else 0.001


def test_every_arc_is_about_the_bores_axis(case):
    _, run, control, _ = case
    assert control.arcs
    for arc in control.arcs:
        assert arc.centre == pytest.approx([120.5, -33.25], abs=last_place(run))


def test_the_radii_are_those_of_the_rings(case):
    _, run, control, _ = case
    radii = [ring.cut.base["path_diameter"] / 2 for ring in run.bore.rings]
    for arc in control.arcs:
        assert min(abs(arc.radius - radius) for radius in radii) <= 1.5 * last_place(run)
    widest = max(arc.radius for arc in control.arcs)
    wall = 2 * widest + run.bore.cutter.cutting_diameter.m_as("mm")
    assert wall == pytest.approx(run.bore.bore_diameter.m_as("mm"), abs=2 * last_place(run))


def test_the_length_of_all_arcs_is_the_path_length(case):
    _, run, control, _ = case
    length = sum(arc.length for arc in control.arcs)
    places = last_place(run) * 2 * math.pi * len(control.arcs)
    assert length == pytest.approx(run.bore.path_length.m_as("mm"), abs=places)
    assert length == pytest.approx(run.bore.path_length.m_as("mm"), rel=0.005)


def test_the_time_of_all_arcs_is_that_of_the_run(case):
    _, run, control, _ = case
    minutes = sum(arc.length / arc.feed for arc in control.arcs)
    assert minutes == pytest.approx(run.time.m_as("min"), rel=0.01)


def test_each_turn_goes_down_the_pitch_and_the_last_to_the_depth(case):
    _, run, control, _ = case
    for ring in run.bore.rings:
        radius = ring.cut.base["path_diameter"] / 2
        arcs = [arc for arc in control.arcs if abs(arc.radius - radius) <= 1.5 * last_place(run)]
        turns = np.cumsum([abs(arc.sweep) for arc in arcs]) / (2 * math.pi)
        start = run.bore.start_depth.m_as("mm")
        assert arcs[0].start[2] == pytest.approx(-start)
        depths = [-arc.end[2] for arc in arcs]
        wanted = np.minimum(start + ring.cut.base["pitch"] * turns, run.bore.depth.m_as("mm"))
        assert depths == pytest.approx(wanted, abs=max(2 * last_place(run), 0.004))
        assert turns[-1] == pytest.approx(
            ring.cut.base["passes"] + run.bore.flat_turns(ring), abs=0.01
        )


def test_climb_goes_counter_clockwise_and_conventional_clockwise(case):
    name, _, control, text = case
    assert {arc.kind for arc in control.arcs} == {2 if name == "conventional" else 3}
    assert ("CONVENTIONAL MILLING: G2" if name == "conventional" else "CLIMB MILLING: G3") in text


def test_no_rapid_goes_down_below_the_safe_height_or_sideways_beneath_it(case):
    _, run, control, _ = case
    safe = 10.16 if last_place(run) > 0.002 else 10.0
    for move in control.moves[1:]:
        if move.kind == 0:
            sideways = np.hypot(*(move.end - move.start)[:2]) > 0
            assert move.end[2] >= move.start[2]
            assert not sideways or move.start[2] == pytest.approx(safe)
    assert control.moves[0].end[2] == pytest.approx(safe)
    assert control.moves[-1].end[2] == pytest.approx(safe)


def test_nothing_is_cut_on_the_way_in_or_out(case):
    # The axis moves straight only above where the ring starts, or off the wall of a clean floor.
    name, run, control, _ = case
    start = -run.bore.start_depth.m_as("mm")
    for move in control.moves:
        if move.kind == 1:
            down = move.end[2] < move.start[2]
            assert not down or move.end[2] >= start - 1e-9
            if not down:
                assert run.bore.finishing_turn
                assert run.bore.core_diameter is None
                assert move.end[:2] == pytest.approx([120.5, -33.25], abs=last_place(run))
    if name in ("core", "no finishing turn"):
        assert not [move for move in control.moves if move.kind == 1 and move.end[2] < 0]


def test_the_wall_that_the_listing_cuts_is_whole(case):
    # The cutter put through the path that was read back, at eight places of the wall.
    _, run, control, _ = case
    if not run.bore.finishing_turn:
        return
    places = np.concatenate([arc.places() for arc in control.arcs])
    radius = run.bore.bore_diameter.m_as("mm") / 2
    cutter = run.bore.cutter.cutting_diameter.m_as("mm") / 2
    for angle in np.arange(8) * math.pi / 4 + 0.1:
        wall = np.array([120.5, -33.25]) + radius * np.array([math.cos(angle), math.sin(angle)])
        off = np.hypot(*(places[:, :2] - wall).T)
        assert off.min() == pytest.approx(cutter, abs=0.003)
        touching = off < cutter + 0.003
        assert places[touching, 2].min() == pytest.approx(
            -run.bore.depth.m_as("mm"), abs=last_place(run)
        )


def test_a_listing_holds_no_surprise(case):
    _, _, control, text = case
    code = re.sub(r"\([^()]*\)", "", text)
    assert set(re.findall(r"[A-Z]", code)) <= set("GXYZIJF")
    told = " ".join(control.comments)
    for words in ("PROVE IT IN AIR", "STARTS NO SPINDLE, CHANGES NO TOOL", "SAFE HEIGHT", "I J:"):
        assert words in told
    assert control.modes == MODES
    for line in text.splitlines():
        assert "(" in line


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("one helix", "PLATE 20.000 AND 0.500 BELOW IT"),
        ("one helix", "AXIS ON A CIRCLE OF 3.000, RADIUS 1.500; 8 TURNS, EACH 2.562 DOWN"),
        ("one helix", "SPINDLE 18000 REV/MIN, 1 FLUTE,"),
        ("one helix", "F: 2160.0 AT THE WALL IS 720.0 AT THE AXIS"),
        ("one helix", "BOARD THAT MUST LIE THERE"),
        ("rings", "RING 4: AXIS ON A CIRCLE OF 35.000"),
        ("inches", "LENGTHS IN INCHES, FEEDS IN IN/MIN"),
        ("plunge", "STOP: THE AXIS RUNS ON A CIRCLE OF ONLY 0.0156 IN"),
        ("core", "STOP: A CORE OF 16.000 MM COMES LOOSE BESIDE THE TURNING CUTTER"),
        ("from a floor", "FROM 5.000 DOWN TO DEPTH 14.000"),
        ("from a floor", "THE HOLE OF 4.000 MUST BE THERE ALREADY"),
    ],
)
def test_the_comments_tell_every_number(name, told):
    control, _ = taken(BORES[name], name)
    assert told in re.sub(r"\s+", " ", " ".join(control.comments))


def test_a_caution_cannot_end_its_comment_or_leave_ascii(monkeypatch):
    run = BORES["one helix"]
    grave = checks.Finding(checks.Weight.STOP, "Too steep (20°) × 2.", "Go (slowly) – or stop.", "")
    monkeypatch.setattr(checks, "helix", lambda *_: checks.Findings([grave]))
    _, text = taken(run)
    assert "(STOP: TOO STEEP [20 DEG] X 2. GO [SLOWLY] ? OR STOP.)" in text


def test_feeds_are_in_the_unit_of_the_listing():
    made = BORES["inches"].bore
    run = cutting.run(made, spindle_speed=18000, axis_feed="508 mm/min")
    control, text = taken(run)
    assert "F20.0" in text
    assert control.arcs[0].feed == pytest.approx(508)


def test_a_safe_height_may_be_given_and_must_be_above_the_face():
    control, text = taken(BORES["one helix"], safe_height="1 in")
    assert control.moves[0].end[2] == pytest.approx(25.4)
    assert "SAFE HEIGHT 25.400" in text
    with pytest.raises(ListingError, match="is not above the plate's face"):
        listing.bore(BORES["one helix"], safe_height="0 mm")


# --- counterbores --------------------------------------------------------------------------------


def counterbore(cutter=MM6, **options):
    return planned(cutter, **{"bore_diameter": "11 mm", "pilot_diameter": "6.6 mm", **options})


@pytest.mark.parametrize(
    "options",
    [{"depth": "6.8 mm"}, {"depth": "6.8 mm", "bore_diameter": "22 mm", "max_pitch": "1 mm"}],
)
def test_the_floor_of_a_counterbore_is_flat_from_the_hole_to_the_wall(options):
    run = counterbore(**options)
    text = listing.counterbore(run, at=AT)
    assert text.startswith("(COUNTERBORE: ")
    control = Control().take(text)
    places = np.concatenate([arc.places(400) for arc in control.arcs])
    at_depth = places[np.abs(places[:, 2] + 6.8) < 1e-9]
    wide = run.bore.bore_diameter.m_as("mm")
    for radius in np.arange(3.31, wide / 2, 0.25):
        for angle in np.arange(12) * math.pi / 6 + 0.05:
            spot = np.array([120.5, -33.25]) + radius * np.array([math.cos(angle), math.sin(angle)])
            assert np.hypot(*(at_depth[:, :2] - spot).T).min() <= 3.0 + 1e-3
    assert places[:, 2].min() == pytest.approx(-6.8)


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"plate_thickness": "10 mm"}, "a counterbore is blind and round a hole"),
        ({"depth": "6.8 mm", "pilot_diameter": None}, "a counterbore is blind and round a hole"),
        ({"depth": "6.8 mm", "finishing_turn": False}, "the floor is a ramp"),
        (
            {"depth": "6.8 mm", "bore_diameter": "30 mm", "leave_core": True},
            "a ring of the floor up to 18.000 mm across would be left standing",
        ),
    ],
)
def test_what_is_no_counterbore_is_refused_and_told_why(options, why):
    with pytest.raises(ListingError, match=why):
        listing.counterbore(counterbore(**options))


# --- countersinks --------------------------------------------------------------------------------

SINK = countersink.CUT.solve(
    top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle=90
)


@pytest.mark.parametrize("climb", [True, False])
@pytest.mark.parametrize("passes", [1, 3])
def test_the_cone_that_the_listing_cuts_is_the_countersink(passes, climb):
    # The cutter's cone put along the path that was read back, cut by the plane of the face.
    text = listing.countersink(SINK, axis_feed="500 mm/min", passes=passes, at=AT, climb=climb)
    control = Control().take(text)
    places = np.concatenate([arc.places() for arc in control.arcs])
    off_axis = np.hypot(*(places[:, :2] - [120.5, -33.25]).T)
    top = off_axis + 0.1 - places[:, 2] * math.tan(math.radians(45))
    assert 2 * top.max() == pytest.approx(12.6, abs=0.001)
    assert {arc.kind for arc in control.arcs} == {3 if climb else 2}
    turns = sum(abs(arc.sweep) for arc in control.arcs) / (2 * math.pi)
    assert turns == pytest.approx(passes + 1)
    flat = [arc for arc in control.arcs if arc.start[2] == arc.end[2]]
    assert sum(abs(arc.sweep) for arc in flat) == pytest.approx(2 * math.pi)
    assert flat[0].end[2] == pytest.approx(-4.2)
    assert "F: 500.0 AT THE AXIS IS 1575.0 ALONG THE TOP EDGE" in text


def test_a_circle_of_nothing_is_listed_as_a_plunge():
    cut = countersink.CUT.solve(
        top_diameter="1/2 in",
        circle_diameter=0,
        tip_diameter=0,
        included_angle=82,
        hole_diameter="17/64 in",
    )
    text = listing.countersink(cut, axis_feed="10 in/min", at=AT)
    control = Control().take(text)
    assert not control.arcs
    down = [move for move in control.moves if move.kind == 1]
    assert len(down) == 1
    assert down[0].end[2] == pytest.approx(-cut.depth.m_as("mm"), abs=0.0013)
    assert down[0].feed == pytest.approx(254)
    assert "THE HOLE OF 0.2656 MUST BE THERE ALREADY" in text
    assert "THE WHOLE FLANK CUTS AT ONCE" in text


@pytest.mark.parametrize(
    ("options", "why"),
    [
        ({"passes": 0}, "turns down to a countersink"),
        ({"passes": 1.5}, "turns down to a countersink"),
        ({"axis_feed": "0 mm/min"}, "never gets there"),
        ({"safe_height": "-1 mm"}, "is not above the plate's face"),
    ],
)
def test_a_countersink_that_makes_no_sense_is_refused_and_told_why(options, why):
    with pytest.raises(ListingError, match=why):
        listing.countersink(SINK, **{"axis_feed": "500 mm/min", **options})


# --- the interpreter itself ----------------------------------------------------------------------

GOOD = "G17 G21 G40 G90 G94\nG1 X0 Y0 Z0 F100\nG3 X-3 Y0 I-1.5 J0\n"


def test_the_interpreter_takes_what_is_right():
    control = Control().take(GOOD)
    assert control.arcs[0].length == pytest.approx(1.5 * math.pi)
    assert control.arcs[0].places(3)[1] == pytest.approx([-1.5, 1.5, 0])


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("I-1.5", "I-1.4"),
        ("G21 ", ""),
        ("G90 ", ""),
        ("G94", "G94 M3"),
        ("G90", "G91"),
        ("F100", ""),
        ("F100", "F100 (A (NESTED) COMMENT)"),
        ("F100", "F100 (LEFT OPEN"),
        ("F100", "F100 (°)"),
        ("F100", "F100 T1"),
        ("X-3", "X-3 X-4"),
        ("X-3", "X--3"),
    ],
)
def test_the_interpreter_refuses_what_is_wrong(right, wrong):
    with pytest.raises(NotUnderstood):
        Control().take(GOOD.replace(right, wrong, 1))


def test_a_changed_number_in_a_listing_is_noticed():
    _, text = taken(BORES["one helix"])
    assert sizes.mm(BORES["one helix"].bore.path_length) == pytest.approx(87.56, abs=0.01)
    for right, wrong in (("I-1.500", "I1.500"), ("X122.000 Y-33.250 Z", "X122.100 Y-33.250 Z")):
        assert right in text
        with pytest.raises(NotUnderstood):
            Control().take(text.replace(right, wrong, 1))
