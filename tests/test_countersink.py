"""Countersinks: the cut against the cutter itself, the seat against lowering the head by force."""

import itertools
import math
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from holecalc import checks, fasteners, sizes
from holecalc.countersink import (
    CUT,
    CircleLimits,
    CountersinkError,
    Seat,
    circle_limits,
    seat,
    sink,
    told_recess,
    top_diameter_for,
)
from holecalc.cutters import VeeCutter
from holecalc.fasteners import FlatHead
from holecalc.relations import Contradiction, RelationsError
from holecalc.sizes import SizeError, length
from holecalc.tolerance import ToleranceError
from project import check_values

M6 = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")
"""The largest M6 head of ISO 7046-2: dk 11.3 mm, and (d + 2k - dk) / 2 = 0.65 mm of land."""

QUARTER = FlatHead("0.507 in", 82, shank_diameter="1/4 in")


# --- the cut: published and worked values ----------------------------------------------------


@pytest.mark.parametrize("row", check_values("countersink-cuts"), ids=lambda row: row["depth"])
@pytest.mark.parametrize(
    "unknown", ["top_diameter", "circle_diameter", "tip_diameter", "depth", "included_angle"]
)
def test_the_worked_cuts_come_out_and_back_for_each_quantity(row, unknown):
    unit = row["unit"]
    places = {"in": 0.0001, "mm": 0.001}[unit]
    known: dict[str, Any] = {
        name: f"{row[name]} {unit}"
        for name in ("top_diameter", "circle_diameter", "tip_diameter", "depth")
    }
    known["included_angle"] = f"{row['included_angle_deg']}°"
    wanted = known.pop(unknown)
    if unknown == "depth":
        assert CUT.solve(**known).depth.m_as(unit) == pytest.approx(
            float(row["depth"]), abs=places / 2
        )
        return
    if unknown == "tip_diameter" and row["tip_diameter"] == "0" and row["depth"] == "0.2157":
        # The printed depth is rounded up, so the tip would have to be less than nothing across.
        known["depth"] = "0.215690 in"
    found = CUT.solve(**known)[unknown]
    if unknown == "included_angle":
        assert found.m_as("deg") == pytest.approx(float(row["included_angle_deg"]), abs=0.05)
    else:
        # The depth is printed to so many places; the others follow it by up to twice its slope.
        slope = math.tan(math.radians(float(row["included_angle_deg"])) / 2)
        wanted = float(row[unknown])
        assert found.m_as(unit) == pytest.approx(wanted, abs=places * slope + 1e-9)


@pytest.mark.parametrize(
    "row", check_values("countersink-depth-factors"), ids=lambda row: row["included_angle_deg"]
)
def test_a_plunge_with_a_sharp_tip_goes_as_deep_as_the_handbook_table_says(row):
    cut = CUT.solve(
        top_diameter="1 in",
        circle_diameter=0,
        tip_diameter=0,
        included_angle=f"{row['included_angle_deg']}°",
    )
    assert cut.depth.m_as("in") == pytest.approx(float(row["depth_per_diameter"]), abs=0.00005)


# --- the cut: sampling the cutter round its circle -------------------------------------------


def swept_depth(radius: np.ndarray, *, circle: float, profile: Any) -> np.ndarray:
    """How deep a cutter cuts at distances from the hole's axis, run round its circle.

    The plate's point stays where it is, at (radius, 0); the cutter's axis visits many places on
    its circle, and cuts there as deep as its profile reaches at the distance between the two.
    """
    turn = np.linspace(0, 2 * np.pi, 721)
    away = np.hypot(radius[:, None] - circle / 2 * np.cos(turn), circle / 2 * np.sin(turn)[None, :])
    return profile(away).max(axis=1)


def vee(depth: float, tip: float, degrees: float) -> Any:
    slope = math.tan(math.radians(degrees) / 2)
    return lambda away: depth - np.maximum(away - tip / 2, 0) / slope


def rounded_vee(depth: float, tip_radius: float, degrees: float) -> Any:
    """A ball of the tip's radius, and the cone that touches it."""
    half = math.radians(degrees) / 2

    def profile(away: np.ndarray) -> np.ndarray:
        ball = tip_radius - np.sqrt(np.maximum(tip_radius**2 - away**2, 0))
        cone = tip_radius - tip_radius / math.sin(half) + away / math.tan(half)
        return depth - np.where(away < tip_radius * math.cos(half), ball, cone)

    return profile


CUTS = {
    "top": st.floats(3, 60),
    "circle": st.floats(0, 0.95),
    "tip": st.floats(0, 0.9),
    "degrees": st.floats(30, 150),
    "hole": st.floats(0.05, 0.95),
}


@given(**CUTS)
@settings(deadline=None)
def test_the_cone_is_what_the_cutter_leaves_on_its_circle(top, circle, tip, degrees, hole):
    """Circle and tip as fractions of what is left of the top diameter; hole between C + T and D."""
    circle *= top
    tip *= top - circle
    hole = circle + tip + hole * (top - circle - tip)
    assume(top - hole > 1e-3)
    cut = CUT.solve(
        top_diameter=length(top, "mm"),
        circle_diameter=length(circle, "mm"),
        tip_diameter=length(tip, "mm"),
        included_angle=degrees,
        hole_diameter=length(hole, "mm"),
    )
    profile = vee(sizes.mm(cut.depth), tip, degrees)
    slope = math.tan(math.radians(degrees) / 2)

    def swept(diameter: Any) -> np.ndarray:
        return swept_depth(np.atleast_1d(diameter) / 2, circle=circle, profile=profile)

    # It cuts to the face exactly at the top diameter, and to the cone depth at the hole's edge.
    assert swept(top) == pytest.approx(0, abs=1e-9)
    assert swept(hole) == pytest.approx(sizes.mm(cut.cone_depth), abs=1e-9)
    # In between it leaves a straight cone of its own angle.
    between = np.linspace(hole, top, 20)
    np.testing.assert_allclose(swept(between), (top - between) / 2 / slope, atol=1e-9)
    # Nothing is cut deeper than the tip goes.
    assert swept(np.linspace(0, top, 50)).max() <= sizes.mm(cut.depth) + 1e-12
    # What cuts the face and the hole's edge is the cutter where it is that wide.
    assert sizes.mm(cut.face_cutting_diameter) / 2 == pytest.approx(top / 2 - circle / 2)
    assert sizes.mm(cut.hole_cutting_diameter) / 2 == pytest.approx(hole / 2 - circle / 2)


@given(
    top=st.floats(3, 60),
    circle=st.floats(0, 0.6),
    radius=st.floats(0.01, 0.3),
    degrees=st.floats(30, 150),
)
@settings(deadline=None)
def test_a_rounded_tip_leaves_the_cone_of_its_flat_above_the_round(top, circle, radius, degrees):
    circle *= top
    radius *= (top - circle) / 2
    cutter = VeeCutter(length(top, "mm"), degrees, tip_radius=length(radius, "mm"))
    cut = CUT.solve(
        top_diameter=length(top, "mm"),
        circle_diameter=length(circle, "mm"),
        tip_diameter=cutter.tip_diameter,
        included_angle=degrees,
    )
    profile = rounded_vee(sizes.mm(cut.depth), radius, degrees)
    slope = math.tan(math.radians(degrees) / 2)
    start = circle + sizes.mm(cutter.flank_start_diameter)
    assert start < top
    above = np.linspace(start, top, 20)
    np.testing.assert_allclose(
        swept_depth(above / 2, circle=circle, profile=profile),
        (top - above) / 2 / slope,
        atol=1e-9,
    )
    # Nearer the axis the round leaves more standing than the flat would.
    below = np.linspace(circle, start * 0.999, 10)
    flat = vee(sizes.mm(cut.depth), sizes.mm(cutter.tip_diameter), degrees)
    assert np.all(
        swept_depth(below / 2, circle=circle, profile=profile)
        <= swept_depth(below / 2, circle=circle, profile=flat) + 1e-9
    )


# --- the seat: lowering one outline onto the other -------------------------------------------


@dataclass(frozen=True)
class Outlines:
    """A head and a hole as radii over depth, and the head lowered until they meet.

    Knows nothing of corners or of which of them decides: it only asks whether the head is
    anywhere wider than the hole. Depths are below the plate's face, in millimetres; `outer` and
    `inner` are the radii of the sink in the face and of the hole.
    """

    rim: float
    land: float
    head_slope: float
    shank: float
    outer: float
    inner: float
    sink_slope: float

    @classmethod
    def of(cls, head: FlatHead, top: float, degrees: float, hole: float) -> "Outlines":
        return cls(
            rim=sizes.mm(head.head_diameter) / 2,
            land=sizes.mm(head.edge_land),
            head_slope=math.tan(sizes.rad(head.head_angle) / 2),
            shank=sizes.mm(head.shank_diameter) / 2,
            outer=top / 2,
            inner=hole / 2,
            sink_slope=math.tan(math.radians(degrees) / 2),
        )

    def head(self, depth: np.ndarray, recess: float) -> np.ndarray:
        """Radius of the head at a depth, its face being `recess` deep; nothing above the face."""
        below_face = depth - recess
        cone = self.rim - np.maximum(below_face - self.land, 0) * self.head_slope
        return np.where(below_face < 0, 0, np.maximum(cone, self.shank))

    def hole(self, depth: np.ndarray) -> np.ndarray:
        """Radius of the hole at a depth from the face down."""
        return np.maximum(self.outer - depth * self.sink_slope, self.inner)

    def depths(self, recess: float) -> np.ndarray:
        """Many depths from the face down, the ends of every straight piece among them."""
        cone_end = (self.outer - self.inner) / self.sink_slope
        head_end = self.land + (self.rim - self.shank) / self.head_slope
        ends = np.array(
            [0, cone_end, recess, recess + self.land, recess + head_end, recess + self.land + 1e-12]
        )
        deepest = max(cone_end, recess + head_end, 0.0) + 1
        return np.concatenate([ends[ends >= 0], np.linspace(0, deepest, 800)])

    def clear(self, recess: float) -> bool:
        depth = self.depths(recess)
        return bool(np.all(self.head(depth, recess) <= self.hole(depth) + 1e-13))

    def recess(self) -> float:
        """As deep as the head goes before it is somewhere wider than the hole."""
        high = (self.outer - self.inner) / self.sink_slope + 1.0
        low = -(self.land + (self.rim - self.shank) / self.head_slope) - 1.0
        assert self.clear(low)
        assert not self.clear(high)
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if self.clear(middle) else (low, middle)
        return low

    def touching(self, recess: float) -> np.ndarray:
        """The radii at which there is no gap."""
        depth = self.depths(recess)
        head, hole = self.head(depth, recess), self.hole(depth)
        return hole[(hole - head < 1e-7) & (hole > self.shank + 1e-6)]


HEADS = {
    "head": st.floats(3, 60),
    "land": st.one_of(st.just(0.0), st.floats(0, 0.2)),
    "head_degrees": st.sampled_from([60.0, 82.0, 90.0, 100.0, 120.0]) | st.floats(50, 130),
    "shank": st.floats(0.2, 0.9),
    "hole": st.floats(0.001, 0.98),
}
SINKS = {
    "degrees": st.sampled_from([60.0, 82.0, 90.0, 100.0, 120.0]) | st.floats(50, 130),
    "top": st.floats(-0.95, 1.0),
}


def flat_head_of(
    head: float, land: float, head_degrees: float, shank: float, hole: float
) -> tuple[FlatHead, float]:
    """A head, and a hole between its shank and its rim, from fractions."""
    shank *= head
    made = FlatHead(
        length(head, "mm"),
        head_degrees,
        edge_land=length(land * head, "mm"),
        shank_diameter=length(shank, "mm"),
    )
    return made, shank + hole * (head - shank)


def top_of(head: FlatHead, hole: float, top: float) -> float:
    """A top diameter from a fraction: -1 is the hole's, 0 the head's, 1 half as wide again."""
    rim = sizes.mm(head.head_diameter)
    return rim + top * (rim - hole if top < 0 else rim / 2)


@given(**HEADS, **SINKS)
@settings(deadline=None, max_examples=300)
@example(head=11.3, land=0.65 / 11.3, head_degrees=90, shank=0.5, hole=0.1, degrees=90, top=0.0)
@example(head=11.3, land=0.0, head_degrees=82, shank=0.5, hole=0.1, degrees=90, top=-0.5)
@example(head=11.3, land=0.0, head_degrees=100, shank=0.5, hole=0.001, degrees=90, top=-0.5)
def test_a_seat_is_where_the_head_stops_when_it_is_lowered(
    head, land, head_degrees, shank, hole, degrees, top
):
    made, hole_diameter = flat_head_of(head, land, head_degrees, shank, hole)
    top_diameter = top_of(made, hole_diameter, top)
    told = seat(
        made,
        top_diameter=length(top_diameter, "mm"),
        included_angle=degrees,
        hole_diameter=length(hole_diameter, "mm"),
    )
    outlines = Outlines.of(made, top_diameter, degrees, hole_diameter)
    recess = outlines.recess()
    assert sizes.mm(told.recess) == pytest.approx(recess, abs=1e-7)

    # Where it touches: at the rim, the face or the hole's edge alone, or all along.
    touched = outlines.touching(recess)
    assert 2 * touched.max() == pytest.approx(sizes.mm(told.contact_diameter), abs=1e-5)
    widest = min(outlines.rim, outlines.outer)
    if np.ptp(touched) > 1e-3:
        assert told.contact == "cone"
    elif touched.max() < widest - 1e-3:
        assert told.contact == "hole edge"
        assert touched.max() == pytest.approx(outlines.inner, abs=1e-5)
    elif outlines.outer > outlines.rim + 1e-6 and widest - outlines.inner > 1e-3:
        assert told.contact in {"rim", "cone"}
    elif outlines.outer < outlines.rim - 1e-6 and widest - outlines.inner > 1e-3:
        assert told.contact in {"face", "cone"}

    # The gaps it leaves, square to the axis.
    rim_depth = np.array([max(recess + outlines.land, 0.0)])
    rim_gap = outlines.hole(rim_depth) - outlines.head(rim_depth, recess)
    assert sizes.mm(told.rim_gap) == pytest.approx(rim_gap[0], abs=1e-6)
    hole_depth = np.array([(outlines.outer - outlines.inner) / outlines.sink_slope])
    hole_gap = outlines.inner - outlines.head(hole_depth, recess)
    assert sizes.mm(told.hole_gap) == pytest.approx(hole_gap[0], abs=1e-6)


@given(**HEADS, degrees=SINKS["degrees"], recess=st.floats(-0.8, 0.8))
@settings(deadline=None, max_examples=200)
def test_the_top_diameter_for_a_recess_seats_the_head_there(
    head, land, head_degrees, shank, hole, degrees, recess
):
    """Both ways, and against lowering the head: face contact and proud heads among them."""
    made, hole_diameter = flat_head_of(head, land, head_degrees, shank, hole)
    outlines = Outlines.of(made, head, degrees, hole_diameter)
    # From almost bare on the hole to well below the face.
    bare = -((outlines.rim - outlines.inner) / outlines.head_slope + outlines.land)
    wanted = recess * (outlines.rim if recess > 0 else -bare)
    top = top_diameter_for(
        made,
        length(wanted, "mm"),
        included_angle=degrees,
        hole_diameter=length(hole_diameter, "mm"),
    )
    assert sizes.mm(top) > hole_diameter
    lowered = Outlines.of(made, sizes.mm(top), degrees, hole_diameter).recess()
    assert lowered == pytest.approx(wanted, abs=1e-7)
    told = seat(
        made,
        top_diameter=top,
        included_angle=degrees,
        hole_diameter=length(hole_diameter, "mm"),
    )
    assert sizes.mm(told.recess) == pytest.approx(wanted, abs=1e-9)


@given(**HEADS, **SINKS)
@settings(deadline=None, max_examples=200)
def test_the_recess_of_a_top_diameter_asks_for_that_top_diameter(
    head, land, head_degrees, shank, hole, degrees, top
):
    made, hole_diameter = flat_head_of(head, land, head_degrees, shank, hole)
    top_diameter = top_of(made, hole_diameter, top)
    sink_in = {"included_angle": degrees, "hole_diameter": length(hole_diameter, "mm")}
    recess = seat(made, top_diameter=length(top_diameter, "mm"), **sink_in).recess
    back = top_diameter_for(made, recess, **sink_in)
    assert sizes.mm(back) == pytest.approx(top_diameter, rel=1e-9)


@pytest.mark.parametrize(
    ("head", "top", "degrees", "hole", "recess", "contact", "across", "tolerance"),
    [
        # Plane trigonometry, each worked by hand; the M6 head is that of ISO 7046-2.
        (M6, "11.3 mm", 90, "6.6 mm", "-0.65 mm", "cone", "11.3 mm", 0.0005),
        (M6, "12.6 mm", 90, "6.6 mm", "0 mm", "cone", "11.3 mm", 0.0005),
        (M6, "12.6 mm", 82, "6.6 mm", "0.098 mm", "rim", "11.3 mm", 0.0005),
        (QUARTER, "0.500 in", 90, "17/64 in", "-0.0216 in", "hole edge", "0.2656 in", 0.0013),
        (
            FlatHead("0.472 in", 82, shank_diameter="1/4 in"),
            "0.500 in",
            90,
            "17/64 in",
            "-0.0015 in",
            "hole edge",
            "0.2656 in",
            0.0013,
        ),
        (QUARTER, "0.5433 in", 90, "17/64 in", "0 in", "hole edge", "0.2656 in", 0.0013),
        # A 100° head in a 90° sink: (12.6 - 11.3) / 2 - 0.65 = 0 at the rim.
        (
            FlatHead("11.3 mm", 100, edge_land="0.65 mm", shank_diameter="6 mm"),
            "12.6 mm",
            90,
            "6.6 mm",
            "0 mm",
            "rim",
            "11.3 mm",
            0.0005,
        ),
        # A 100° head in a 90° sink narrower than its rim hangs on the sink's edge:
        # (11.3 - 10) / 2 / tan 50° = 0.5454 mm, and the land.
        (
            FlatHead("11.3 mm", 100, edge_land="0.65 mm", shank_diameter="6 mm"),
            "10 mm",
            90,
            "6.6 mm",
            "-1.1954 mm",
            "face",
            "10 mm",
            0.0005,
        ),
    ],
)
def test_worked_seats(head, top, degrees, hole, recess, contact, across, tolerance):
    told = seat(head, top_diameter=top, included_angle=degrees, hole_diameter=hole)
    assert sizes.mm(told.recess) == pytest.approx(sizes.mm(length(recess)), abs=tolerance)
    assert told.contact == contact
    assert sizes.mm(told.contact_diameter) == pytest.approx(sizes.mm(length(across)), abs=0.0013)
    assert told.recess.units == length(top).units


def test_worked_top_diameters():
    flush = top_diameter_for(QUARTER, 0, included_angle=90, hole_diameter="17/64 in")
    assert flush.m_as("in") == pytest.approx(0.5433, abs=0.00005)
    assert flush.units == length("1 in").units
    assert sizes.mm(
        top_diameter_for(M6, 0, included_angle=90, hole_diameter="6.6 mm")
    ) == pytest.approx(12.6)
    assert sizes.mm(
        top_diameter_for(M6, "-0.65 mm", included_angle=90, hole_diameter="6.6 mm")
    ) == pytest.approx(11.3)


def test_seats_of_arrays_are_those_of_each_element():
    tops, holes, degrees = np.array([10.0, 11.3, 12.6]), np.array([6.6, 7.0, 6.6]), [82, 90, 100]
    told = seat(
        M6,
        top_diameter=length(tops, "mm"),
        included_angle=sizes.angle(degrees),
        hole_diameter=length(holes, "mm"),
    )
    for k in range(3):
        alone = seat(
            M6,
            top_diameter=length(tops[k], "mm"),
            included_angle=degrees[k],
            hole_diameter=length(holes[k], "mm"),
        )
        assert told.contact[k] == alone.contact
        for name in ("recess", "contact_diameter", "rim_gap", "hole_gap"):
            assert getattr(told, name)[k].m == pytest.approx(getattr(alone, name).m, abs=1e-12)
    assert str(told) == "3 seats"
    back = top_diameter_for(
        M6, told.recess, included_angle=sizes.angle(degrees), hole_diameter=length(holes, "mm")
    )
    np.testing.assert_allclose(sizes.mm(back), tops, atol=1e-9)


@pytest.mark.parametrize(
    ("recess", "text"),
    [
        ("0 mm", "flush"),
        ("0.0004 mm", "flush"),
        ("-0.0004 mm", "flush"),
        ("0.65 mm", "0.650 mm below the face"),
        ("-0.65 mm", "0.650 mm proud"),
        ("-0.0216 in", "0.0216 in proud"),
    ],
)
def test_a_recess_in_words(recess, text):
    assert told_recess(length(recess)) == text


@pytest.mark.parametrize("recess", ["0.00004 in", "-0.00004 in", "0.4 µm"])
def test_what_would_be_written_as_nothing_is_flush(recess):
    assert told_recess(length(recess)) == "flush"


@pytest.mark.parametrize(
    ("contact", "words"),
    [
        ("cone", "bears all along the cone"),
        ("rim", "touches at its rim"),
        ("hole edge", "touches at the hole's edge"),
        ("face", "touches at the sink's edge in the face"),
    ],
)
def test_a_seat_in_words(contact, words):
    zero = length("0 mm")
    told = str(Seat(length("-0.1 mm"), contact, length("11.3 mm"), zero, zero))
    assert told == f"0.100 mm proud, {words} (11.300 mm across)"


@pytest.mark.parametrize(
    ("head", "top", "degrees", "hole", "reason"),
    [
        (M6, "6.6 mm", 90, "6.6 mm", "not wider than the hole"),
        (M6, "5 mm", 90, "6.6 mm", "not wider than the hole"),
        (M6, "20 mm", 90, "11.3 mm", "falls through"),
        (M6, "20 mm", 90, "12 mm", "falls through"),
        (M6, "12.6 mm", 90, "5.9 mm", "does not enter"),
        (M6, "12.6 mm", 90, "0 mm", "must be more than 0"),
        (M6, "12.6 mm", 90, "-6.6 mm", "must be more than 0"),
        (M6, "12.6 mm", 0, "6.6 mm", "between 0° and 180°"),
        (M6, "12.6 mm", 180, "6.6 mm", "between 0° and 180°"),
        (M6, length([12.6, 6.0], "mm"), 90, "6.6 mm", "not wider than the hole"),
        (M6, "12.6 mm", 90, length([6.6, 11.5], "mm"), "falls through a hole of 11.50 mm"),
    ],
    ids=str,
)
def test_a_seat_that_cannot_be_is_refused_with_the_reason(head, top, degrees, hole, reason):
    with pytest.raises(CountersinkError, match=reason):
        seat(head, top_diameter=top, included_angle=degrees, hole_diameter=hole)


@pytest.mark.parametrize(
    ("recess", "hole", "reason"),
    [
        # The first that cannot be, of several: on 7 mm the cone is 2.15 mm deep.
        ("-2.9 mm", length([6.6, 7.0, 7.5], "mm"), r"hole of 7\.00 mm .* only 2\.800 mm proud"),
        (length([0.0, -5.0], "mm"), "6.6 mm", r"3\.000 mm proud, so it cannot be 5\.000 mm proud"),
        # On the bare hole the cone is (11.3 - 6.6) / 2 = 2.35 mm deep, and the land 0.65 mm.
        ("-3.001 mm", "6.6 mm", r"stands only 3\.000 mm proud"),
        ("-5 mm", "6.6 mm", r"stands only 3\.000 mm proud"),
        (0, "12 mm", "falls through"),
        (0, "5 mm", "does not enter"),
    ],
)
def test_a_recess_that_cannot_be_is_refused_with_the_reason(recess, hole, reason):
    with pytest.raises(CountersinkError, match=reason):
        top_diameter_for(M6, recess, included_angle=90, hole_diameter=hole)
    if isinstance(recess, str) and isinstance(hole, str):
        with pytest.raises(SizeError):
            top_diameter_for(M6, recess.removesuffix(" mm"), included_angle=90, hole_diameter=hole)


# --- circles that work -----------------------------------------------------------------------


def kinds(limits: CircleLimits) -> list[list[str]]:
    return [[limit.kind for limit in end] for end in (limits.lower, limits.upper)]


def numbers(limits: tuple[Any, ...]) -> list[float]:
    return [round(sizes.mm(limit.circle_diameter), 9) for limit in limits]


def test_the_cutter_too_narrow_at_the_face_decides():
    limits = circle_limits(VeeCutter("8 mm", 90), "12.6 mm", "6.6 mm", plate_thickness="18 mm")
    # 12.6 - 8 = 4.6; 0 is a plunge; 12.6 - 2 * 18 is negative.
    assert numbers(limits.lower) == [4.6, 0.0, -23.4]
    assert "8.00 mm wide" in limits.lower[0].because
    assert kinds(limits) == [["face", "plunge", "plate"], ["slow tip", "ledge"]]
    for kind in ("face", "plunge", "plate", "slow tip", "ledge"):
        assert limits.of(kind).kind == kind
    with pytest.raises(KeyError, match="plate"):
        circle_limits(VeeCutter("8 mm", 90), "12.6 mm", "6.6 mm").of("plate")
    assert "12.60 mm" in limits.lower[0].because


def test_a_plunge_decides_where_the_cutter_is_wide_enough():
    limits = circle_limits(VeeCutter("20 mm", 90), "12.6 mm", "6.6 mm")
    assert sizes.mm(limits.smallest) == 0
    assert "plunge" in limits.lower[0].because


def test_the_plate_under_the_tip_decides():
    cutter = VeeCutter("20 mm", 90, tip_diameter="0.2 mm")
    limits = circle_limits(cutter, "12.6 mm", "10 mm", plate_thickness="4 mm")
    # The tip is at most 4 mm deep: 12.6 - 0.2 - 2 * 4 = 4.4.
    assert sizes.mm(limits.smallest) == pytest.approx(4.4)
    assert "4.00 mm thick" in limits.lower[0].because
    let_in = circle_limits(cutter, "12.6 mm", "10 mm", plate_thickness="4 mm", tip_below="1.5 mm")
    assert sizes.mm(let_in.smallest) == pytest.approx(1.4)
    assert "1.50 mm below it" in let_in.lower[0].because


def test_the_slow_tip_decides():
    limits = circle_limits(VeeCutter("10 mm", 90), "12.6 mm", "6.6 mm")
    # A quarter of 10 mm is to cut at the hole's edge: 6.6 - 2.5 = 4.1.
    assert sizes.mm(limits.largest) == pytest.approx(4.1)
    assert "2.50 mm of the cutter" in limits.upper[0].because
    asked = circle_limits(
        VeeCutter("10 mm", 90), "12.6 mm", "6.6 mm", least_hole_cutting_diameter="1 mm"
    )
    assert sizes.mm(asked.largest) == pytest.approx(5.6)


def test_the_tip_outside_the_hole_decides():
    flat = VeeCutter("10 mm", 90, tip_diameter="3 mm")
    limits = circle_limits(flat, "12.6 mm", "6.6 mm", least_hole_cutting_diameter="1 mm")
    assert sizes.mm(limits.largest) == pytest.approx(3.6)
    assert "3.00 mm across" in limits.upper[0].because
    # A rounded tip counts to where its flanks start: 2 * 2 * cos 45° = 2.828.
    round_ = VeeCutter("10 mm", 90, tip_radius="2 mm")
    limits = circle_limits(round_, "12.6 mm", "6.6 mm", least_hole_cutting_diameter="1 mm")
    assert sizes.mm(limits.largest) == pytest.approx(6.6 - 4 * math.cos(math.pi / 4))


def test_no_circle_may_work_and_both_ends_say_why():
    limits = circle_limits(VeeCutter("6 mm", 90), "12.6 mm", "6.6 mm")
    assert not limits.workable
    # 12.6 - 6 = 6.6 at least, 6.6 - 1.5 = 5.1 at most.
    assert "no circle works" in str(limits)
    assert "at least 6.600 mm" in str(limits)
    assert "at most 5.100 mm" in str(limits)
    assert circle_limits(VeeCutter("10 mm", 90), "12.6 mm", "6.6 mm").workable


@given(
    cutting=st.floats(2, 30),
    tip=st.floats(0, 0.9),
    rounded=st.booleans(),
    degrees=st.floats(40, 140),
    top=st.floats(3, 30),
    hole=st.floats(0.2, 0.95),
    plate=st.floats(1, 40),
    below=st.floats(0, 5),
    least=st.floats(0, 5),
)
@settings(deadline=None)
def test_a_circle_works_just_when_nothing_is_wrong_with_it(
    cutting, tip, rounded, degrees, top, hole, plate, below, least
):
    """Tried circle by circle, with the cut it makes."""
    # The flanks start at the flat's edge, or where a round runs into them; a flat that cuts what
    # the round does is narrower than that.
    start, half = tip * cutting, math.radians(degrees) / 2
    radius = start / 2 / math.cos(half)
    flat = 2 * radius * (1 - math.sin(half)) / math.cos(half) if rounded else start
    kind = {"tip_radius": radius} if rounded else {"tip_diameter": start}
    cutter = VeeCutter(
        length(cutting, "mm"), degrees, **{name: length(size, "mm") for name, size in kind.items()}
    )
    hole *= top
    limits = circle_limits(
        cutter,
        length(top, "mm"),
        length(hole, "mm"),
        plate_thickness=length(plate, "mm"),
        tip_below=length(below, "mm"),
        least_hole_cutting_diameter=length(least, "mm"),
    )
    low, high = sizes.mm(limits.smallest), sizes.mm(limits.largest)
    slope = math.tan(math.radians(degrees) / 2)
    for circle in np.linspace(0, top, 101):
        depth = (top - circle - flat) / 2 / slope
        fine = (
            top - circle <= cutting
            and circle + start <= hole
            and hole - circle >= least
            and depth <= plate + below
        )
        if min(abs(circle - low), abs(circle - high)) > 1e-9:
            assert fine == (low <= circle <= high)


def test_limits_come_in_the_unit_of_the_top_diameter():
    limits = circle_limits(VeeCutter("10 mm", 90), "0.5 in", "6.6 mm", plate_thickness="18 mm")
    assert {limit.circle_diameter.units for limit in (*limits.lower, *limits.upper)} == {
        length("1 in").units
    }
    assert "0.3937 in wide" in limits.lower[0].because


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"plate_thickness": "0 mm"}, "plate is 0.00 mm thick; that must be more than 0"),
        ({"plate_thickness": "-5 mm"}, "plate is -5.00 mm thick; that must be more than 0"),
        ({"plate_thickness": "5 mm", "tip_below": "-19 mm"}, "-19.00 mm below the plate"),
        ({"hole_diameter": length([6.6, 7], "mm")}, "the hole is 2 values, and a countersink"),
        ({"top_diameter": length([12.6, 13], "mm")}, "the top diameter is 2 values"),
        ({"plate_thickness": length([5.0, 6.0, 7.0], "mm")}, "the plate's thickness is 3 values"),
        ({"tip_below": length([1.0, 2.0], "mm")}, "below the plate is 2 values"),
        (
            {"least_hole_cutting_diameter": length([1.0, 2.0], "mm")},
            "least cutting diameter at the hole's edge is 2 values",
        ),
    ],
    ids=str,
)
def test_limits_and_sinks_of_what_cannot_be_are_refused_alike(given, reason):
    sizes_of = {"top_diameter": "12.6 mm", "hole_diameter": "6.6 mm", **given}
    cutter = VeeCutter("10 mm", 90)
    with pytest.raises(CountersinkError, match=reason):
        circle_limits(cutter, **sizes_of)
    with pytest.raises(CountersinkError, match=reason):
        sink(M6, cutter, circle_diameter="4 mm", **sizes_of)


@pytest.mark.parametrize("name", ["recess", "circle_diameter", "depth"])
def test_a_sink_is_one(name):
    with pytest.raises(CountersinkError, match="is 2 values, and a countersink has one"):
        sink(M6, VeeCutter("10 mm", 90), hole_diameter="6.6 mm", **{name: length([3.0, 4.0], "mm")})


def test_a_tip_may_go_nothing_below_the_plate():
    """A literal 0 is natural there."""
    limits = circle_limits(
        VeeCutter("10 mm", 90), "12.6 mm", "6.6 mm", plate_thickness="4 mm", tip_below=0
    )
    assert sizes.mm(limits.of("plate").circle_diameter) == pytest.approx(12.6 - 8)


def test_limits_of_no_cone_are_refused():
    with pytest.raises(CountersinkError, match="not wider than the hole"):
        circle_limits(VeeCutter("10 mm", 90), "6 mm", "6.6 mm")


# --- the whole job ---------------------------------------------------------------------------

INCH_HEAD = fasteners.flat_head("ASME B18.6.3 82°", "1/4")
JOBS = {
    "ISO 7046-2 M6, 82°": (fasteners.flat_head("ISO 7046-2", "M6"), 82, "6.6 mm"),
    "ISO 7046-2 M6, 90°": (fasteners.flat_head("ISO 7046-2", "M6"), 90, "6.6 mm"),
    'ASME B18.6.3 1/4", 82°': (INCH_HEAD, 82, "17/64 in"),
    'ASME B18.6.3 1/4", 90°': (INCH_HEAD, 90, "17/64 in"),
}


def flush_top(head: FlatHead, degrees: float, hole: float) -> float:
    """The top diameter that a head is flush in, by widening the sink until it is."""
    low, high = hole * 1.0001, 3 * sizes.mm(head.head_diameter)
    for _ in range(60):
        middle = (low + high) / 2
        below = Outlines.of(head, middle, degrees, hole).recess() > 0
        low, high = (low, middle) if below else (middle, high)
    return low


@pytest.mark.parametrize("job", JOBS)
def test_the_main_job_from_head_and_cutter_to_circle_depth_and_seat(job):
    head, degrees, hole = JOBS[job]
    cutter = VeeCutter("1/2 in", degrees, tip_diameter="0.2 mm")
    made = sink(head, cutter, hole_diameter=hole, circle_diameter="3.4 mm", plate_thickness="18 mm")
    top = flush_top(head, degrees, sizes.mm(length(hole)))
    assert sizes.mm(made.cut.top_diameter) == pytest.approx(top, abs=1e-6)
    assert sizes.mm(made.seat.recess) == pytest.approx(0, abs=1e-9)
    # The cutter, run round 3.4 mm at that depth, cuts the face just there.
    profile = vee(sizes.mm(made.cut.depth), 0.2, degrees)
    assert swept_depth(np.array([top / 2]), circle=3.4, profile=profile) == pytest.approx(
        0, abs=1e-6
    )
    assert made.limits.smallest <= made.cut.circle_diameter <= made.limits.largest


QUARTER_SHARP = 0.25 + 2 * 0.153 * math.tan(math.radians(40))


@pytest.mark.parametrize(
    ("job", "top_mm", "contact"),
    [
        ("ISO 7046-2 M6, 90°", 12.6, "cone"),
        # At the rim, 0.65 mm down: 11.3 + 2 * 0.65 * tan 41°.
        ("ISO 7046-2 M6, 82°", 11.3 + 1.3 * math.tan(math.radians(41)), "rim"),
        # The sharp diameter d + 2 H tan 40°, in inches: 0.5068.
        ('ASME B18.6.3 1/4", 82°', 25.4 * QUARTER_SHARP, "cone"),
        # Over the hole's edge: d + (sharp - d) / tan 41°.
        (
            'ASME B18.6.3 1/4", 90°',
            25.4 * (17 / 64 + (QUARTER_SHARP - 17 / 64) / math.tan(math.radians(41))),
            "hole edge",
        ),
    ],
)
def test_the_main_job_by_hand(job, top_mm, contact):
    head, degrees, hole = JOBS[job]
    made = sink(head, VeeCutter("1/2 in", degrees), hole_diameter=hole, circle_diameter="3.4 mm")
    assert sizes.mm(made.cut.top_diameter) == pytest.approx(top_mm, abs=1e-6)
    assert made.seat.contact == contact
    depth = (top_mm - 3.4) / 2 / math.tan(math.radians(degrees) / 2)
    assert sizes.mm(made.cut.depth) == pytest.approx(depth, abs=1e-6)
    assert "head flush" in str(made)


HEAD, CUTTER = M6, VeeCutter("10 mm", 82, tip_diameter="0.2 mm")
SLOPE = math.tan(math.radians(41))


def givens_of_a_sink() -> dict[str, str]:
    """One sink, worked by hand, told by each of its quantities."""
    top = 12.8
    # The 90° head rests on its rim: (12.8 - 11.3) / 2 / tan 41° - 0.65.
    recess = 0.75 / SLOPE - 0.65
    depth = (top - 3.4 - 0.2) / 2 / SLOPE
    values = {
        "top_diameter": top,
        "recess": recess,
        "circle_diameter": 3.4,
        "depth": depth,
    }
    return {name: f"{value:.9f} mm" for name, value in values.items()}


@pytest.mark.parametrize(
    "names",
    [
        pair
        for pair in itertools.combinations(
            ("recess", "top_diameter", "circle_diameter", "depth"), 2
        )
        if pair != ("recess", "top_diameter")
    ],
    ids=" + ".join,
)
def test_any_two_that_fix_a_sink_give_all_of_it(names):
    known = givens_of_a_sink()
    made = sink(HEAD, CUTTER, hole_diameter="6.6 mm", **{name: known[name] for name in names})
    told = {
        "recess": made.seat.recess,
        **{name: made.cut[name] for name in ("top_diameter", "circle_diameter", "depth")},
    }
    for name, value in told.items():
        assert sizes.mm(value) == pytest.approx(sizes.mm(length(known[name])), abs=1e-6), name
    assert made.seat.contact == "rim"
    assert sizes.mm(made.cut.tip_diameter) == pytest.approx(0.2)


@pytest.mark.parametrize("name", ["circle_diameter", "depth", None])
def test_a_head_is_made_flush_where_nothing_says_how_it_lies(name):
    known = givens_of_a_sink()
    given = {} if name is None else {name: known[name]}
    made = sink(HEAD, CUTTER, hole_diameter="6.6 mm", **given)
    assert sizes.mm(made.seat.recess) == pytest.approx(0, abs=1e-9)
    assert sizes.mm(made.cut.top_diameter) == pytest.approx(11.3 + 1.3 * SLOPE)
    if name:
        assert sizes.mm(made.cut[name]) == pytest.approx(sizes.mm(length(known[name])), abs=1e-6)


@pytest.mark.parametrize("name", ["recess", "top_diameter", None])
def test_a_circle_is_taken_from_the_middle_of_those_that_work(name):
    known = givens_of_a_sink()
    given = {} if name is None else {name: known[name]}
    made = sink(HEAD, CUTTER, hole_diameter="6.6 mm", plate_thickness="18 mm", **given)
    middle = (sizes.mm(made.limits.smallest) + sizes.mm(made.limits.largest)) / 2
    circle = sizes.mm(made.cut.circle_diameter)
    assert made.limits.smallest <= made.cut.circle_diameter <= made.limits.largest
    assert circle == pytest.approx(middle, abs=0.05 + 1e-9)
    assert circle == pytest.approx(round(circle, 1), abs=1e-9)


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"recess": "0.1 mm", "top_diameter": "12.6 mm"}, "a recess and a top diameter"),
        (
            {"recess": 0, "circle_diameter": "4 mm", "depth": "4 mm"},
            "two of them fix the third",
        ),
        (
            {"top_diameter": "12.6 mm", "circle_diameter": "4 mm", "depth": "4 mm"},
            "two of them fix the third",
        ),
        ({"recess": "-9 mm", "circle_diameter": "4 mm"}, "stands only"),
    ],
)
def test_a_sink_that_cannot_be_is_refused_with_the_reason(given, reason):
    with pytest.raises(CountersinkError, match=reason):
        sink(HEAD, CUTTER, hole_diameter="6.6 mm", **given)


def test_a_cutter_no_circle_suits_is_refused_unless_the_circle_is_given():
    narrow = VeeCutter("6 mm", 90)
    with pytest.raises(CountersinkError, match="no circle works"):
        sink(HEAD, narrow, hole_diameter="6.6 mm")
    made = sink(HEAD, narrow, hole_diameter="6.6 mm", circle_diameter="5 mm")
    assert not made.limits.workable


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"circle_diameter": "13 mm"}, "depth would have to be -"),
        ({"circle_diameter": "1 mm", "depth": "1 mm"}, "cone depth would have to be -"),
    ],
    ids=["circle wider than the sink", "cut too shallow"],
)
def test_a_cut_without_an_answer_is_told(given, reason):
    with pytest.raises(RelationsError, match=reason):
        sink(HEAD, CUTTER, hole_diameter="6.6 mm", **given)


def test_a_sink_narrower_than_the_hole_is_told():
    with pytest.raises(CountersinkError, match=r"6\.00 mm, is not wider than the hole, 6\.60 mm"):
        sink(HEAD, CUTTER, hole_diameter="6.6 mm", top_diameter="6 mm", circle_diameter="1 mm")


def test_the_limits_typed_in_as_told_leave_nothing_to_find():
    # 12.6 - 8.9873 is 3.6127: told to the nearest it would be a circle too small by 0.3 µm; and
    # 6.6 - 8.9873 / 4 is 4.353175.
    cutter = VeeCutter("8.9873 mm", 90)
    limits = circle_limits(cutter, "12.6 mm", "6.6 mm", plate_thickness="18 mm")
    told = [re.search(rf"{word} ([0-9.]+ mm)", str(limits))[1] for word in ("from", "to")]
    assert told == ["3.613 mm", "4.353 mm"]
    for circle in told:
        made = sink(
            M6,
            cutter,
            hole_diameter="6.6 mm",
            top_diameter="12.6 mm",
            circle_diameter=circle,
            plate_thickness="18 mm",
        )
        assert checks.countersink(made) == ()


@pytest.mark.parametrize("circle", [None, "6 mm"])
def test_a_sink_keeps_to_the_plate_and_to_what_was_asked_for(circle):
    """All that bounds the circle counts where a circle is chosen and where one is given."""
    made = sink(
        M6,
        VeeCutter("20 mm", 90),
        hole_diameter="9 mm",
        circle_diameter=circle,
        plate_thickness="5 mm",
        tip_below="0.5 mm",
        least_hole_cutting_diameter="1 mm",
    )
    # The rim in 90° is flush at 12.6 mm; 12.6 - 2 * 5.5 and 9 - 1.
    assert sizes.mm(made.limits.smallest) == pytest.approx(1.6)
    assert sizes.mm(made.limits.largest) == pytest.approx(8.0)
    assert made.least_hole_cutting_diameter == length("1 mm")
    # The middle of those is 4.8.
    assert sizes.mm(made.cut.circle_diameter) == pytest.approx(6.0 if circle else 4.8)


@pytest.mark.parametrize(
    ("cutting", "circle"),
    [
        # 0.600 - 0.475 is 0.125, and 0.300 - 0.475 / 4 is 0.18125: the middle is 0.153125.
        ("0.475 in", "0.155 in"),
        # From 0.158 to 0.1895 the middle is 0.17375.
        ("0.442 in", "0.175 in"),
        # From 0.1995 to 0.199875 there is nothing round, so it is their middle.
        ("0.4005 in", "0.1996875 in"),
    ],
)
@pytest.mark.parametrize("unit", ["in", "thou"])
def test_in_inches_a_circle_is_round_to_five_thousandths_where_that_works(cutting, circle, unit):
    made = sink(
        QUARTER,
        VeeCutter(cutting, 90),
        hole_diameter=length("0.300 in").to(unit),
        top_diameter=length("0.600 in").to(unit),
    )
    assert made.cut.circle_diameter.m_as("in") == pytest.approx(length(circle).m_as("in"), abs=1e-9)


# --- a ledge round the hole ------------------------------------------------------------------


@given(
    **{name: HEADS[name] for name in ("land", "head_degrees", "shank")},
    hole=st.floats(0.02, 0.9),
    degrees=SINKS["degrees"],
    rounded=st.booleans(),
    tip=st.floats(0, 1),
    circle=st.floats(0, 1),
    deep=st.floats(0.1, 1.5),
)
@settings(deadline=None, max_examples=200)
@example(
    land=0.65 / 11.3, head_degrees=90, shank=0.5, hole=0.1, degrees=90,
    rounded=False, tip=0.3, circle=0.5, deep=0.4,
)  # fmt: skip
def test_a_head_on_whatever_is_cut_stops_when_it_is_lowered(
    land, head_degrees, shank, hole, degrees, rounded, tip, circle, deep
):
    """Against the cutter sampled round its circle, with a ledge or a ring left, or none."""
    head, hole_diameter = flat_head_of(10.0, land, head_degrees, shank, hole)
    tip, circle, depth = 8 * tip, 12 * circle, 5 * deep
    kind = "tip_radius" if rounded else "tip_diameter"
    cutter = VeeCutter("200 mm", degrees, **{kind: length(tip, "mm")})
    slope = math.tan(math.radians(degrees) / 2)
    flat = sizes.mm(cutter.tip_diameter)
    profile = rounded_vee(depth, tip, degrees) if rounded and tip else vee(depth, flat, degrees)
    # The face is to be cut by the flanks, not by the round.
    top = circle + flat + 2 * depth * slope
    assume(top > circle + sizes.mm(cutter.flank_start_diameter) + 1e-3)
    assume(top > hole_diameter + 0.01)
    told = seat(
        head,
        top_diameter=length(top, "mm"),
        included_angle=degrees,
        hole_diameter=length(hole_diameter, "mm"),
        cutter=cutter,
        circle_diameter=length(circle, "mm"),
    )
    # Above each radius from the hole's edge to its rim, the head may come down just so far.
    corners = [hole_diameter / 2, 5.0, top / 2, (circle + flat) / 2, abs(circle - flat) / 2]
    radii = np.unique(np.concatenate([np.linspace(hole_diameter / 2, 5.0, 400), corners]))
    radii = radii[(radii >= hole_diameter / 2) & (radii <= 5.0)]
    surface = np.maximum(swept_depth(radii, circle=circle, profile=profile), 0)
    below_head = sizes.mm(head.edge_land) + (5.0 - radii) / math.tan(math.radians(head_degrees) / 2)
    room = surface - below_head
    assert sizes.mm(told.recess) == pytest.approx(room.min(), abs=1e-7)
    # It touches where it has the least room; on the cone that is from there on inward.
    touched = sizes.mm(told.contact_diameter) / 2
    assert np.interp(touched, radii, room) == pytest.approx(room.min(), abs=1e-4)
    assert sizes.mm(told.rim_gap) >= 0


BLUNT = VeeCutter("16 mm", 90, tip_diameter="3 mm")


def test_a_ledge_holds_the_head_up():
    # A tip of 3 mm round 5 mm sweeps 8 mm over a hole of 6.6; it is (12.6 - 8) / 2 = 2.3 mm deep,
    # and there the 90° head, 0.65 + (11.3 - 6.6) / 2 = 3 mm above the hole's edge, stands 0.7 out.
    made = sink(M6, BLUNT, hole_diameter="6.6 mm", circle_diameter="5 mm", plate_thickness="18 mm")
    assert not made.reaches_hole
    assert sizes.mm(made.swept_diameter) == pytest.approx(8)
    assert sizes.mm(made.edge_depth) == pytest.approx(2.3)
    assert sizes.mm(made.seat.recess) == pytest.approx(-0.7)
    assert made.seat.contact == "hole edge"
    assert sizes.mm(made.seat.contact_diameter) == pytest.approx(6.6)
    # Its land ends 0.05 mm above the face, where its cone is then 5.6 mm and the sink 6.3 mm.
    assert sizes.mm(made.seat.rim_gap) == pytest.approx(0.7)
    assert sizes.mm(made.seat.hole_gap) == pytest.approx(0, abs=1e-9)
    assert "head 0.700 mm proud, touches at the hole's edge (6.600 mm across)" in str(made)
    np.testing.assert_allclose(made.outline(), [(6.3, 0), (4, 2.3), (3.3, 2.3)], atol=1e-9)


@pytest.mark.parametrize("circle", ["3.6 mm", "3 mm", 0])
def test_without_a_ledge_the_cone_goes_down_to_the_hole(circle):
    made = sink(M6, BLUNT, hole_diameter="6.6 mm", circle_diameter=circle, plate_thickness="18 mm")
    assert made.reaches_hole
    assert made.seat.flush
    assert made.seat.contact == "cone"
    assert sizes.mm(made.edge_depth) == pytest.approx(3)
    np.testing.assert_allclose(made.outline(), [(6.3, 0), (3.3, 3)], atol=1e-9)


def test_a_rounded_tip_leaves_a_ledge_from_where_its_flanks_start():
    # Radius 2 at 90°: flanks from 2.828 mm on, so from circle 3.7716 on there is a ledge.
    cutter = VeeCutter("16 mm", 90, tip_radius="2 mm")
    for circle, reaches in (("3.771 mm", True), ("3.772 mm", False), ("4.5 mm", False)):
        made = sink(M6, cutter, hole_diameter="6.6 mm", circle_diameter=circle)
        assert made.reaches_hole is reaches
    # The flat it acts as is 4 (1 - sin 45°) / cos 45° = 1.657 mm, so on 4.5 mm the tip is
    # (12.6 - 4.5 - 1.657) / 2 deep, and 3.3 - 2.25 from its axis 2 - sqrt(4 - 1.05²) less.
    depth = (8.1 - 4 * (math.sqrt(2) - 1)) / 2 - (2 - math.sqrt(4 - 1.05**2))
    assert sizes.mm(made.edge_depth) == pytest.approx(depth)
    assert sizes.mm(made.seat.recess) == pytest.approx(depth - 3)
    # The outline is the round itself, down to the hole's edge.
    radii, depths = np.array(made.outline()).T
    assert radii[[0, -1]] == pytest.approx([6.3, 3.3])
    profile = rounded_vee(sizes.mm(made.cut.depth), 2, 90)
    np.testing.assert_allclose(depths, swept_depth(radii, circle=4.5, profile=profile), atol=1e-9)
    np.testing.assert_allclose(sizes.mm(made.depth_at(length(2 * radii, "mm"))), depths, atol=1e-9)


def test_a_circle_far_outside_the_hole_leaves_a_ring():
    # A sharp tip on 9 mm over a hole of 6.6: 1.8 mm deep at 4.5 mm from the axis, and at the
    # hole's edge 1.2 mm less.
    made = sink(M6, VeeCutter("10 mm", 90), hole_diameter="6.6 mm", circle_diameter="9 mm")
    np.testing.assert_allclose(made.outline(), [(6.3, 0), (4.5, 1.8), (3.3, 0.6)], atol=1e-9)
    assert sizes.mm(made.edge_depth) == pytest.approx(0.6)
    # On 11 mm the tip is 0.8 mm deep at 5.5 mm, and comes up to the face at 4.7 mm.
    made = sink(M6, VeeCutter("10 mm", 90), hole_diameter="6.6 mm", circle_diameter="11 mm")
    np.testing.assert_allclose(
        made.outline(), [(6.3, 0), (5.5, 0.8), (4.7, 0), (3.3, 0)], atol=1e-9
    )
    # The head lies on the bare hole.
    assert sizes.mm(made.seat.recess) == pytest.approx(-3)


def test_a_head_that_fits_into_a_wide_ledge_hangs_on_the_holes_edge():
    # A 130° head of 11.3 mm over a tip that sweeps 12 mm, 2 mm deep.
    head = FlatHead("11.3 mm", 130, edge_land="0.65 mm", shank_diameter="6 mm")
    told = seat(
        head,
        top_diameter="16 mm",
        included_angle=90,
        hole_diameter="6.6 mm",
        cutter=VeeCutter("20 mm", 90, tip_diameter="8 mm"),
        circle_diameter="4 mm",
    )
    # Its cone is only (5.65 - 3.3) / tan 65° = 1.096 mm high: that and the land stand on the edge.
    assert sizes.mm(told.recess) == pytest.approx(2 - 0.65 - 2.35 / math.tan(math.radians(65)))
    assert told.contact == "hole edge"


@pytest.mark.parametrize(
    ("degrees", "circle", "reason"),
    [
        (82, "5 mm", "the cutter is of 90° and the sink is not"),
        (90, "9.6 mm", "sweeps 12.600 mm and the sink is no wider"),
        (90, "11 mm", "sweeps 14.000 mm and the sink is no wider"),
    ],
)
def test_a_cutter_that_does_not_cut_the_sink_is_refused(degrees, circle, reason):
    with pytest.raises(CountersinkError, match=reason):
        seat(
            M6,
            top_diameter="12.6 mm",
            included_angle=degrees,
            hole_diameter="6.6 mm",
            cutter=BLUNT,
            circle_diameter=circle,
        )


def test_the_same_cone_on_other_circles():
    made = sink(M6, BLUNT, hole_diameter="6.6 mm", circle_diameter="3 mm")
    others = made.on_circle(length([0.0, 3.0, 5.0], "mm"))
    # (12.6 - 3 - C) / 2, and 6.6 - C.
    np.testing.assert_allclose(sizes.mm(others.depth), [4.8, 3.3, 2.3])
    np.testing.assert_allclose(sizes.mm(others.hole_cutting_diameter), [6.6, 3.6, 1.6])
    with pytest.raises(RelationsError):
        made.on_circle("9.7 mm")


def test_a_shank_that_fills_the_hole_still_seats_on_its_cone():
    # The cone is (12.6 - 6) / 2 / tan 50° deep, the head (11.3 - 6) / 2 + 0.65 high.
    head = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")
    told = seat(head, top_diameter="12.6 mm", included_angle=100, hole_diameter="6 mm")
    assert sizes.mm(told.recess) == pytest.approx(
        3.3 / math.tan(math.radians(50)) - 2.65 - 0.65, abs=1e-9
    )
    assert told.contact == "hole edge"


def test_a_cut_that_contradicts_itself_is_told():
    with pytest.raises(Contradiction):
        CUT.solve(
            top_diameter="12.6 mm",
            circle_diameter="4 mm",
            tip_diameter=0,
            included_angle=90,
            depth="4 mm",
        )


# --- what tolerances do to the recess --------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "hole"), [(90, 6.6), (82, 6.6), (100, 7.0)], ids=["same", "rim", "hole edge"]
)
def test_the_spread_of_the_recess_holds_every_head_and_cut_between_the_ends(degrees, hole):
    cutter = VeeCutter("10 mm", degrees, tip_diameter="0.2 mm")
    made = sink(M6, cutter, hole_diameter=length(hole, "mm"), circle_diameter="3.4 mm")
    told = made.recess_spread(
        depth="0.05 mm",
        tip_diameter="0.04 mm",
        head_diameter=("-0.4 mm", "0 mm"),
        head_angle="1 deg",
        hole_diameter=("0 mm", "0.2 mm"),
    )
    depth, slope = sizes.mm(made.cut.depth), math.tan(math.radians(degrees) / 2)
    every = []
    for dz, dt, dh, da, dd in itertools.product(
        np.linspace(-0.05, 0.05, 3),
        np.linspace(-0.04, 0.04, 3),
        np.linspace(-0.4, 0, 3),
        np.linspace(-1, 1, 3),
        np.linspace(0, 0.2, 3),
    ):
        top = 3.4 + 0.2 + dt + 2 * (depth + dz) * slope
        head = FlatHead(
            length(11.3 + dh, "mm"), 90 + da, edge_land="0.65 mm", shank_diameter="6 mm"
        )
        every.append(Outlines.of(head, top, degrees, hole + dd).recess())
    assert sizes.mm(told.least) == pytest.approx(min(every), abs=1e-6)
    assert sizes.mm(told.most) == pytest.approx(max(every), abs=1e-6)


def test_what_does_not_move_the_recess_has_no_tolerance_there():
    made = sink(M6, CUTTER, hole_diameter="6.6 mm")
    with pytest.raises(TypeError, match="'shank_diameter' does not move the recess"):
        made.recess_spread(shank_diameter="0.1 mm")


@pytest.mark.parametrize(
    "tip",
    [
        # A flat keeps its width when the angle varies; a round acts as another flat.
        {"tip_diameter": "1 mm"},
        {"tip_radius": "1 mm"},
        # And where a ledge is left.
        {"tip_diameter": "4 mm"},
        {"tip_radius": "3 mm"},
    ],
    ids=str,
)
def test_the_spread_over_the_cutters_angle_is_that_of_the_cutters_made_to_it(tip):
    made = sink(M6, VeeCutter("16 mm", 90, **tip), hole_diameter="6.6 mm", circle_diameter="3.4 mm")
    told = made.recess_spread(included_angle="1°")
    every = []
    for degrees in np.linspace(89, 91, 21):
        cutter = VeeCutter("16 mm", degrees, **tip)
        again = sink(
            M6,
            cutter,
            hole_diameter="6.6 mm",
            circle_diameter="3.4 mm",
            depth=made.cut.depth,
        )
        every.append(sizes.mm(again.seat.recess))
    assert sizes.mm(told.least) == pytest.approx(min(every), abs=1e-9)
    assert sizes.mm(told.most) == pytest.approx(max(every), abs=1e-9)
    assert sizes.mm(told.nominal) == pytest.approx(sizes.mm(made.seat.recess), abs=1e-9)


def test_the_spread_knows_of_the_ledge():
    # 2.3 mm deep on a ledge: as the depth, so the head.
    made = sink(M6, BLUNT, hole_diameter="6.6 mm", circle_diameter="5 mm")
    told = made.recess_spread(depth="0.1 mm", hole_diameter=("0 mm", "0.2 mm"))
    assert sizes.mm(told.least) == pytest.approx(-0.8)
    # A hole wider by 0.2 lets it down by 0.1.
    assert sizes.mm(told.most) == pytest.approx(-0.5)


def test_a_rounded_tip_has_a_radius_to_be_off_and_no_flat():
    made = sink(M6, VeeCutter("10 mm", 90, tip_radius="0.5 mm"), hole_diameter="6.6 mm")
    told = made.recess_spread(tip_radius="0.1 mm")
    # T = 2 rho (sqrt 2 - 1), and half of what T is off goes into the recess.
    assert sizes.mm(told.most) == pytest.approx(0.1 * (math.sqrt(2) - 1))
    with pytest.raises(TypeError, match=r"'tip_diameter' does not move the recess.*tip_radius"):
        made.recess_spread(tip_diameter="0.1 mm")


@pytest.mark.parametrize(
    ("name", "allowed", "most"),
    [
        ("tip_diameter", "0.05 mm", 0.025),
        ("circle_diameter", "0.05 mm", 0.025),
        ("edge_land", "0.05 mm", 0.0),
    ],
)
def test_what_is_nothing_can_be_off_one_way_only_and_is_told_how(name, allowed, most):
    head = FlatHead("12.6 mm", 90, shank_diameter="6 mm")
    made = sink(head, VeeCutter("20 mm", 90), hole_diameter="6.6 mm", circle_diameter=0)
    with pytest.raises(ToleranceError) as caught:
        made.recess_spread(**{name: allowed})
    assert f"{name.replace('_', ' ')} -0.050 mm" in str(caught.value)
    assert '("0 mm", "+0.1 mm")' in str(caught.value)
    told = made.recess_spread(**{name: ("0 mm", allowed)})
    assert sizes.mm(told.most) == pytest.approx(most, abs=1e-9)
