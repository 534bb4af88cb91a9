"""The cutter, the edge it leaves, and what to do about it: against a swept plate and by hand."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from test_outline import along

from holecalc import sizes
from holecalc.form_cutter import (
    Arc,
    ArcFitError,
    FormCutter,
    FormCutterError,
    both_faces,
)

R = 6.35


def mm(quantity):
    return sizes.mm(quantity)


def deg(quantity):
    return quantity.m_as("deg")


def quarter(**more):
    return FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm", **more)


def full(shape="concave", **more):
    """A cutter with everything on it."""
    made = {
        "begin_diameter": "12.7 mm",
        "stub_diameter": "4.8 mm",
        "stub_height": "5 mm",
        "shoulder_height": "2 mm",
        "shank_diameter": "8 mm",
    }
    if shape == "straight":
        made |= {"flank_angle": 40, "arc_height": "6 mm"}
    else:
        made |= {"radius": "6.35 mm"}
    return FormCutter(shape, **(made | more))


# --- values the job must give: a quarter-round of R 6.35 over a 12.7 mm stub ---


def test_quarter_round_over_a_stub():
    cutter = quarter(stub_height="4 mm")
    assert mm(cutter.largest_diameter) == pytest.approx(25.4)
    setting = cutter.tangent_setting()
    assert mm(setting.offset) == pytest.approx(6.35)
    # The tip is as far below the face as the radius, plus the stub.
    assert mm(setting.depth) == pytest.approx(6.35 + 4)
    edge = cutter.edge("19 mm")
    assert mm(edge.step_on_face) == mm(edge.step_on_wall) == 0
    assert deg(edge.face_angle) == pytest.approx(0, abs=1e-6)
    assert deg(edge.wall_angle) == pytest.approx(0, abs=1e-6)
    assert "tangent to the face, tangent to the wall" in str(edge)
    assert mm(edge.leg_on_face) == pytest.approx(R)
    assert mm(edge.leg_on_wall) == pytest.approx(R)


@pytest.mark.parametrize("by", [0.1, 0.25, 1.0])
def test_deeper_leaves_a_step_on_the_face_as_high(by):
    edge = quarter().edge("19 mm", depth=f"{6.35 + by} mm")
    assert mm(edge.step_on_face) == pytest.approx(by)
    assert mm(edge.step_on_wall) == 0
    assert edge.face_told == f"a step of {by:.3f} mm down from the face"


@pytest.mark.parametrize("by", [0.1, 0.25, 1.0])
def test_closer_leaves_a_step_on_the_wall_as_deep(by):
    edge = quarter().edge("19 mm", offset=f"{6.35 - by} mm")
    assert mm(edge.step_on_wall) == pytest.approx(by)
    assert mm(edge.step_on_face) == 0
    assert edge.wall_told == f"a step of {by:.3f} mm in from the wall"


@pytest.mark.parametrize("by", [0.02, 0.1, 1.0])
def test_shallower_or_further_stops_short_of_tangent(by):
    """By hand: the circle's top stands `by` above the face, so cos of the angle is 1 - by/R."""
    angle = math.degrees(math.acos(1 - by / R))
    leg = R - math.sqrt(R**2 - (R - by) ** 2)
    shallow = quarter().edge("19 mm", depth=f"{6.35 - by} mm")
    assert deg(shallow.face_angle) == pytest.approx(angle)
    assert mm(shallow.leg_on_face) == pytest.approx(leg)
    far = quarter().edge("19 mm", offset=f"{6.35 + by} mm")
    assert deg(far.wall_angle) == pytest.approx(angle)
    assert mm(far.leg_on_wall) == pytest.approx(leg)
    assert "short of tangent to the wall" in far.wall_told


def test_errors_of_the_setting_are_told_both_ways():
    told = [str(effect) for effect in quarter().edge("19 mm").errors("0.1 mm")]
    assert [line.split(":")[0] for line in told] == [
        "0.100 mm deeper",
        "0.100 mm shallower",
        "0.100 mm closer",
        "0.100 mm further",
    ]
    assert "a step of 0.100 mm down from the face" in told[0]
    assert "stops 10.2° short of tangent to the face" in told[1]
    inches = FormCutter("concave", begin_diameter="1/2 in", radius="1/4 in").edge("3/4 in")
    assert str(inches.errors()[0]).startswith("0.0050 in deeper: a step of 0.0050 in")


def test_an_error_so_large_that_nothing_is_cut_is_told_so():
    effects = full().edge("19 mm").errors("6.5 mm")
    assert effects[1].edge is None
    assert "nothing is cut" in effects[1].told


@pytest.mark.parametrize(
    ("stub", "clearance", "told"),
    [
        ("12.7 mm", -0.38, "the stub runs 0.380 mm into the 0.380 mm of stock on the wall"),
        ("11.94 mm", 0.0, "the stub just touches the 0.380 mm of stock on the wall"),
        ("4.8 mm", 3.57, "the stub clears the 0.380 mm of stock on the wall by 3.570 mm"),
    ],
)
def test_roughed_oversize_the_stubs_clearance_is_stated(stub, clearance, told):
    edge = full(stub_diameter=stub).edge("19 mm", allowance="0.38 mm")
    assert mm(edge.stub_clearance) == pytest.approx(clearance, abs=1e-9)
    assert edge.stub_told == told
    assert told in str(edge)


def test_without_a_stub_beside_the_plate_nothing_is_said_of_it():
    assert quarter().edge("19 mm").stub_clearance is None
    # The plate ends above where the stub does.
    assert full().edge("6 mm").stub_clearance is None
    assert full().edge("6 mm").stub_told is None


def test_both_faces_of_a_19_mm_plate_leave_a_flat():
    both = both_faces(quarter().edge("19 mm"))
    assert mm(both.flat) == pytest.approx(6.3)
    assert both.cusp_angle is None
    assert str(both) == "a flat of 6.300 mm is left between the two"


@pytest.mark.parametrize("thickness", [12, 9, 7])
def test_both_faces_of_a_thin_plate_meet_in_a_cusp(thickness):
    """By hand: at half the plate, h below the circles' centres, each is R - √(R² - h²) in."""
    both = both_faces(quarter().edge(f"{thickness} mm"))
    down = R - thickness / 2
    assert mm(both.flat) == 0
    assert mm(both.cusp_setback) == pytest.approx(R - math.sqrt(R**2 - down**2), abs=1e-9)
    assert mm(both.ridge_depth) == pytest.approx(thickness / 2)
    assert deg(both.cusp_angle) == pytest.approx(180 - 2 * math.degrees(math.asin(down / R)))


def test_exactly_twice_the_radius_leaves_neither_flat_nor_cusp():
    both = both_faces(quarter().edge("12.7 mm"))
    assert mm(both.flat) == pytest.approx(0, abs=1e-9)
    assert both.cusp_angle is None


# --- the edge, against a plate with the cutter's half section swept past it ---


def radius_at(cutter, height):
    """Of the cutter at a height, straight from its dimensions [mm]; arrays."""
    begin, start = mm(cutter.begin_diameter) / 2, mm(cutter.stub_height)
    top = start + mm(cutter.arc_height)
    shoulder = top + mm(cutter.shoulder_height)
    up = np.clip(height - start, 0, mm(cutter.arc_height))
    if cutter.shape == "concave":
        edge = begin + R - np.sqrt(R**2 - up**2)
    elif cutter.shape == "convex":
        edge = begin + np.sqrt(R**2 - (R - up) ** 2)
    else:
        edge = begin + up * math.tan(math.radians(40))
    return np.select(
        [height < 0, height < start, height < top, height < shoulder],
        [0, mm(cutter.stub_diameter) / 2, edge, mm(cutter.largest_diameter) / 2],
        mm(cutter.shank_diameter) / 2,
    )


def swept(cutter, offset, depth):
    """What the cutter takes away, as a polygon in the plate's coordinates."""
    bend = np.linspace(0, math.pi / 2, 1500)
    heights = np.concatenate(
        [
            mm(cutter.stub_height) + mm(cutter.arc_height) * np.sin(bend),
            mm(cutter.stub_height) + mm(cutter.arc_height) * (1 - np.cos(bend)),
        ]
    )
    corners = [0, mm(cutter.stub_height), mm(cutter.stub_height + cutter.arc_height)]
    corners.append(corners[-1] + mm(cutter.shoulder_height))
    near = [corner + d for corner in corners for d in (-1e-9, 1e-9)]
    heights = np.unique(np.concatenate([heights, near, [depth + 50]]))
    heights = heights[heights >= 0]
    radii, heights = radius_at(cutter, heights), heights - depth
    right = np.column_stack([radii - offset, heights])
    left = np.column_stack([-radii - offset, heights])
    return Polygon([*right, *left[::-1]])


def plate_left(path, wall, thickness, end=60.0):
    """The plate beside an outline, as a polygon."""
    points = np.vstack([along(piece, 600) for piece in path])
    return Polygon([*points, (end, 0), (end, -thickness)])


@settings(max_examples=60, deadline=None)
# A shank that cuts into the plate above a buried shoulder.
@example(shape="concave", aside=-4, down=4, stock=0.0, stub="4.8 mm", thickness=19.0)
@given(
    shape=st.sampled_from(["concave", "convex", "straight"]),
    aside=st.floats(-6, 5),
    down=st.floats(-5, 6),
    stock=st.sampled_from([0.0, 0.38, 1.5]),
    stub=st.sampled_from(["4.8 mm", "12.7 mm"]),
    thickness=st.sampled_from([8.0, 19.0]),
)
def test_edge_is_what_a_swept_cutter_leaves(shape, aside, down, stock, stub, thickness):
    cutter = full(shape, stub_diameter=stub)
    usual = cutter.tangent_setting()
    offset, depth = mm(usual.offset) + aside, mm(usual.depth) + down
    try:
        edge = cutter.edge(
            f"{thickness} mm", offset=f"{offset} mm", depth=f"{depth} mm", allowance=f"{stock} mm"
        )
    except FormCutterError:
        # Then the corner of the finished plate is not touched by the arc.
        taken = swept(cutter, offset, depth).intersection(box(0, -thickness, 60, 0)).area
        by_the_arc = (
            mm(cutter.stub_height) + 1e-6 < depth
            and stock <= offset < mm(cutter.arc_end_diameter) / 2
        )
        assert taken < 1e-6 or not by_the_arc
        return
    for finished, wall in ((True, 0.0), (False, -stock)):
        path = edge.outline(finished=finished)
        assert path[-1].end[1] == pytest.approx(0, abs=1e-6)
        for before, after in itertools.pairwise(path):
            assert before.end == pytest.approx(after.start, abs=1e-6)
        left = box(wall, -thickness, 60, 0).difference(swept(cutter, offset, depth))
        # A lip above a buried shoulder hangs on; what is cut off altogether is not the plate.
        left = max(getattr(left, "geoms", [left]), key=lambda piece: piece.area)
        ours = plate_left(path, wall, thickness)
        assert ours.symmetric_difference(left).area < 2e-3
    # The numbers are those of the outline.
    if mm(edge.step_on_face) > 0 and mm(edge.buried) < 0:
        assert edge.outline()[-1].length == pytest.approx(mm(edge.step_on_face), abs=1e-6)
    points = np.vstack([along(piece) for piece in edge.outline() if piece.part in ("arc", "flank")])
    assert points[-1][0] == pytest.approx(mm(edge.leg_on_face), abs=1e-6)
    if mm(edge.leg_on_wall) < thickness:
        assert points[0][1] == pytest.approx(-mm(edge.leg_on_wall), abs=1e-6)


def test_wall_left_is_the_part_of_the_wall_that_is_not_cut():
    assert mm(full().edge("19 mm").wall_left) == pytest.approx(19 - R)
    # A stub that cuts into the wall takes it up from the tip.
    rubbing = full(stub_diameter="12.7 mm").edge("19 mm", offset="6 mm")
    assert mm(rubbing.wall_left) == pytest.approx(19 - 6.35 - 5)
    assert mm(full().edge("5 mm").wall_left) == 0


def test_a_buried_shoulder_and_a_low_tip_are_told():
    edge = full().edge("12 mm", depth="14 mm")
    assert mm(edge.buried) == pytest.approx(14 - 5 - R - 2)
    assert mm(edge.tip_below_plate) == pytest.approx(2)
    assert quarter().edge("19 mm").buried is None


def test_a_partial_arc_meets_the_face_at_its_own_angle():
    cutter = quarter(end_angle=60)
    edge = cutter.edge("19 mm")
    assert mm(edge.step_on_face) == 0
    assert deg(edge.face_angle) == pytest.approx(30)
    assert mm(cutter.largest_diameter) == pytest.approx(12.7 + 2 * R * 0.5)
    assert mm(cutter.arc_height) == pytest.approx(R * math.sin(math.radians(60)))


def test_a_control_that_offsets_the_path_wants_twice_the_offset():
    assert mm(full().tangent_setting().compensation_diameter) == pytest.approx(12.7)


def test_a_cove_meets_both_square_and_its_centre_is_the_corner():
    cutter = FormCutter("convex", begin_diameter="6 mm", radius="6.35 mm")
    edge = cutter.edge("19 mm")
    assert deg(edge.face_angle) == pytest.approx(90)
    assert deg(edge.wall_angle) == pytest.approx(90)
    assert "cove of radius 6.350 mm, square to the face, square to the wall" in str(edge)
    (arc,) = (piece for piece in edge.outline() if isinstance(piece, Arc))
    assert arc.centre == pytest.approx((0, 0))
    deep = cutter.edge("19 mm", depth="6.45 mm")
    assert deep.face_told == "a straight part of 0.100 mm above the cove"
    assert "stops short, at" in cutter.edge("19 mm", depth="6 mm").face_told


@pytest.mark.parametrize("leg", [1.0, 2.0, 10.0])
def test_a_chamfer_of_a_size_is_cut_by_the_middle_of_the_flank(leg):
    cutter = FormCutter("straight", begin_diameter="6 mm", flank_angle=30, largest_diameter="26 mm")
    setting = cutter.chamfer_setting(f"{leg} mm")
    edge = cutter.edge("40 mm", offset=setting.offset, depth=setting.depth)
    assert mm(edge.leg_on_face) == pytest.approx(leg)
    assert mm(edge.leg_on_wall) == pytest.approx(leg / math.tan(math.radians(30)))
    assert deg(edge.wall_angle) == pytest.approx(30)
    assert edge.face_told == "at 60.0° to the face"
    # As much of the flank is left below as above.
    assert mm(setting.offset) - 3 == pytest.approx(13 - (mm(setting.offset) + leg))


# --- both faces ---


def test_rounded_above_and_chamfered_below_against_the_swept_plate():
    top_cutter, bottom_cutter = full(), full("straight")
    thickness = 11.0
    top, bottom = (cutter.edge(f"{thickness} mm") for cutter in (top_cutter, bottom_cutter))
    both = both_faces(top, bottom)
    plate = box(0, -thickness, 60, 0)
    for cutter, over in ((top_cutter, False), (bottom_cutter, True)):
        usual = cutter.tangent_setting()
        cut = swept(cutter, mm(usual.offset), mm(usual.depth))
        if over:
            cut = affinity.scale(cut, 1, -1, origin=(0, -thickness / 2))
        plate = plate.difference(cut)
    assert both.cusp_angle is not None
    assert plate.bounds[0] == pytest.approx(mm(both.cusp_setback), abs=1e-3)
    ours = plate_left(both.outline(), 0.0, thickness)
    assert ours.symmetric_difference(plate).area < 2e-3


@pytest.mark.parametrize("thickness", [8, 12.7, 19])
def test_the_outline_of_both_faces_is_one_path_from_face_to_face(thickness):
    path = both_faces(full().edge(f"{thickness} mm")).outline()
    assert path[0].start[1] == pytest.approx(-thickness)
    assert path[-1].end[1] == pytest.approx(0)
    for before, after in itertools.pairwise(path):
        assert before.end == pytest.approx(after.start, abs=1e-6)


def test_two_plates_are_not_one():
    with pytest.raises(FormCutterError, match="Give both the same plate"):
        both_faces(quarter().edge("19 mm"), quarter().edge("18 mm"))


# --- passes ---


@pytest.mark.parametrize("cutter", [full(), full("convex"), full("straight")], ids=str)
@pytest.mark.parametrize("stock", [0, 0.38])
def test_roughing_passes_take_the_same_and_all_of_it_is_taken(cutter, stock):
    edge = cutter.edge("19 mm", allowance=f"{stock} mm")
    passes = edge.passes(roughing=4, finishing="0.3 mm")
    assert [one.kind for one in passes] == ["roughing"] * 4 + ["finishing"]
    assert passes[-1].setting == cutter.tangent_setting()
    plate = box(-stock, -19, 60, 0)
    for one in passes:
        cut = swept(cutter, mm(one.setting.offset), mm(one.setting.depth))
        taken = plate.intersection(cut).area
        plate = plate.difference(cut)
        assert one.area.m_as("mm**2") == pytest.approx(taken, abs=2e-3)
    rough = [one.area.m_as("mm**2") for one in passes[:-1]]
    assert max(rough) - min(rough) < 1e-6


def test_chips_of_a_quarter_by_hand():
    """In the middle the corner is R(√2 - 1) from the arc, and what is backed off is left on."""
    passes = quarter().edge("19 mm").passes(roughing=2, finishing="0.3 mm")
    backs = [(mm(one.setting.offset) - R) * math.sqrt(2) for one in passes]
    assert backs[1:] == pytest.approx([0.3, 0])
    assert mm(passes[0].thickest) == pytest.approx(R * (math.sqrt(2) - 1) - backs[0], abs=1e-6)
    assert mm(passes[1].thickest) == pytest.approx(backs[0] - 0.3, abs=1e-6)
    assert mm(passes[2].thickest) == pytest.approx(0.3, abs=1e-6)
    for one in passes:
        moved = mm(one.setting.offset) - R
        assert R - mm(one.setting.depth) == pytest.approx(moved)


def test_thickest_chip_against_distances_between_outlines():
    passes = full().edge("19 mm").passes(roughing=3, finishing="0.25 mm")
    before = LineString([(0, -19), (0, 0), (60, 0)])
    for one in passes:
        now = full().edge("19 mm", offset=one.setting.offset, depth=one.setting.depth)
        path = now.outline()
        arcs = np.vstack([along(piece, 400) for piece in path if piece.part == "arc"])
        ends = [point for piece in path for point in along(piece, 200)]
        # A normal is never shorter than the nearest way; on even chips hardly longer.
        nearest = max(
            before.distance(point)
            for point in LineString(arcs).interpolate(np.linspace(0, 1, 300), normalized=True)
        )
        assert nearest - 1e-3 < mm(one.thickest) < 1.5 * nearest
        before = LineString([*ends, (60, 0)])


def test_one_pass_and_the_default_skin():
    (only,) = quarter().edge("19 mm").passes(roughing=0)
    assert only.kind == "finishing"
    assert only.area.m_as("mm**2") == pytest.approx(R**2 * (1 - math.pi / 4))
    inches = FormCutter("concave", begin_diameter="1/2 in", radius="1/4 in").edge("3/4 in")
    assert f"{inches.passes()[0].area.units:~P}" == "in²"
    assert "in²" in str(inches.passes()[0])


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"finishing": "5 mm"}, "is all there is to cut"),
        ({"finishing": "0 mm"}, "must be more than 0"),
        ({"roughing": -1}, "0 or a whole number"),
        ({"roughing": 1.5}, "0 or a whole number"),
    ],
)
def test_passes_that_cannot_be_are_refused(more, message):
    with pytest.raises(FormCutterError, match=message):
        quarter().edge("19 mm").passes(**more)


# --- correction ---


@pytest.mark.parametrize("cutter", [full(), full("convex"), full("straight")], ids=str)
@pytest.mark.parametrize("deeper", [-0.15, 0.0, 0.12])
@pytest.mark.parametrize("closer", [-0.1, 0.0, 0.2])
def test_a_standing_error_is_put_right_by_what_the_first_part_shows(cutter, deeper, closer):
    """The machine is off by a fixed amount, both ways; measure, correct, cut again."""
    planned = cutter.edge("19 mm")

    def cut(setting_offset, setting_depth):
        return cutter.edge(
            "19 mm",
            offset=f"{mm(setting_offset) - closer} mm",
            depth=f"{mm(setting_depth) + deeper} mm",
        )

    offset, depth = planned.offset, planned.depth
    # A leg is seen in a face that may be off itself, so a second look is part of the method.
    for _ in range(3):
        first = cut(offset, depth)
        measured = {}
        for side in ("face", "wall"):
            step = getattr(first, f"step_on_{side}")
            if mm(step) > 0:
                measured[f"step_on_{side}"] = step
        if "step_on_face" not in measured and "step_on_wall" not in measured:
            measured["leg_on_face"] = first.leg_on_face
            if mm(first.step_on_face) == 0 == mm(first.step_on_wall):
                measured["leg_on_wall"] = first.leg_on_wall
        for change in planned.correct(**measured):
            if change.change == "depth":
                depth = depth + (change.new - change.old)
            else:
                offset = offset + (change.new - change.old)
    last = cut(offset, depth)
    assert mm(last.offset) == pytest.approx(mm(planned.offset), abs=0.02)
    assert mm(last.depth) == pytest.approx(mm(planned.depth), abs=0.02)


def test_a_width_near_tangency_tells_more_than_a_step():
    """By hand: R - √(2 R e - e²) wide, so 5.227 mm for e = 0.1."""
    (change,) = (
        quarter().edge("19 mm").correct(leg_on_face=f"{R - math.sqrt(2 * R * 0.1 - 0.01)} mm")
    )
    assert change.change == "depth"
    assert mm(change.new) == pytest.approx(6.45)
    assert "0.100 mm too shallow" in change.why


def test_corrections_say_which_way():
    edge = quarter().edge("19 mm")
    face, wall = edge.correct(step_on_face="0.1 mm", step_on_wall="0.2 mm")
    assert (face.change, wall.change) == ("depth", "offset")
    assert mm(face.new) == pytest.approx(6.25)
    assert mm(wall.new) == pytest.approx(6.55)
    assert "0.100 mm too deep" in face.why
    assert "0.200 mm too close" in wall.why
    (far,) = edge.correct(leg_on_wall="5.5 mm")
    assert "too far" in far.why
    assert mm(far.new) < 6.35
    stepped = quarter().edge("19 mm", depth="6.55 mm")
    (less,) = stepped.correct(step_on_face="0.05 mm")
    assert mm(less.new) == pytest.approx(6.70)
    assert "too shallow" in less.why


def test_within_the_measuring_nothing_is_changed():
    edge = quarter().edge("19 mm")
    for measured in ({"step_on_face": "0.03 mm"}, {"leg_on_wall": "6.32 mm"}):
        (change,) = edge.correct(**measured, plus_minus="±0.05 mm")
        assert change.old == change.new
        assert "came out as planned within 0.050 mm" in str(change)


@pytest.mark.parametrize(
    ("measured", "error", "message"),
    [
        ({}, TypeError, "nothing was measured"),
        ({"step_on_face": "0.1 mm", "leg_on_face": "6 mm"}, FormCutterError, "on the face were"),
        ({"step_on_wall": "0.1 mm", "leg_on_wall": "6 mm"}, FormCutterError, "on the wall were"),
        ({"leg_on_face": "7 mm"}, FormCutterError, r"as set cuts 6\.350 mm at most"),
        ({"step_on_face": "-0.1 mm"}, FormCutterError, "cannot be negative"),
    ],
)
def test_measurements_that_cannot_be_are_refused(measured, error, message):
    with pytest.raises(error, match=message):
        quarter().edge("19 mm").correct(**measured)


# --- the cutter and its profile ---


@pytest.mark.parametrize("shape", ["concave", "convex", "straight"])
@pytest.mark.parametrize("bare", [True, False])
def test_profile_is_closed_in_order_and_has_the_section_area(shape, bare):
    cutter = full(shape)
    if bare:
        cutter = full(
            shape, stub_diameter=None, stub_height=0, shoulder_height=None, shank_diameter=None
        )
    profile = cutter.profile()
    for before, after in zip(profile, [*profile.segments[1:], profile.segments[0]], strict=True):
        assert before.end == pytest.approx(after.start, abs=1e-9)
    assert profile.segments[0].start == (0, 0)
    assert profile.segments[-1].part == "axis"
    parts = [segment.part for segment in profile]
    edge = "flank" if shape == "straight" else "arc"
    if bare:
        assert parts == ["tip", edge, "back", "axis"]
        return
    assert parts == ["tip", "stub", "ledge", edge, "shoulder", "back", "shank", "axis"]
    heights = np.linspace(0, profile.segments[-1].start[1], 200001)[:-1]
    middle = heights + heights[1] / 2
    assert profile.area == pytest.approx(
        np.mean(radius_at(cutter, middle)) * (profile.segments[-1].start[1]), rel=1e-5
    )


def test_a_wider_shoulder_leaves_a_land():
    cutter = quarter(largest_diameter="27 mm", shoulder_height="1 mm")
    parts = {segment.part: segment for segment in cutter.profile()}
    assert parts["land"].start == pytest.approx((12.7, 6.35))
    assert parts["land"].end == pytest.approx((13.5, 6.35))
    edge = cutter.edge("19 mm", depth="6.45 mm")
    assert edge.outline()[-1].start == pytest.approx((13.5 - 6.35, -0.1))


def test_centre_and_ends():
    cutter = full()
    assert mm(cutter.centre_diameter) == pytest.approx(25.4)
    assert mm(cutter.centre_height) == pytest.approx(5)
    assert mm(cutter.arc_end_diameter) == pytest.approx(25.4)
    assert mm(cutter.arc_end_height) == pytest.approx(11.35)
    assert full("convex").centre_height.m_as("mm") == pytest.approx(11.35)
    assert full("straight").centre_height is None
    assert full("straight").centre_diameter is None


@pytest.mark.parametrize(
    "cutter",
    [
        full(),
        full("convex", bearing_diameter="12.7 mm", name="cove"),
        full("straight"),
        quarter(end_angle=60, largest_diameter="25 mm"),
        FormCutter("concave", begin_diameter="1/2 in", radius="1/4 in"),
    ],
    ids=str,
)
def test_repr_makes_the_same_cutter(cutter):
    made = eval(repr(cutter), {"FormCutter": FormCutter})
    for name in ("begin_diameter", "largest_diameter", "arc_height", "stub_height"):
        assert mm(getattr(made, name)) == pytest.approx(mm(getattr(cutter, name)), abs=1e-3)
    assert made.shape == cutter.shape
    assert made.name == cutter.name
    assert (made.bearing_diameter is None) == (cutter.bearing_diameter is None)


def test_str_names_the_cutter():
    assert str(quarter(name="No. 12")) == (
        "No. 12: concave arc of radius 6.350 mm from 12.700 mm to 25.400 mm across"
    )
    assert "straight flank at 40° to the axis" in str(full("straight"))


def test_bearing_off_is_known_from_the_stub():
    assert full().bearing_off
    assert quarter(bearing_diameter="12.7 mm").bearing_off
    assert not quarter().bearing_off


@pytest.mark.parametrize(
    ("diameter", "speed", "limit"),
    [
        # By hand: 50 m/s = 3 000 000 mm/min over π D.
        ("25.4 mm", "50 m/s", 37595.7),
        ("63.5 mm", "50 m/s", 15038.3),
        ("2.5 in", "3000 m/min", 15038.3),
    ],
)
def test_largest_diameter_limits_the_spindle(diameter, speed, limit):
    cutter = quarter(largest_diameter=diameter)
    assert cutter.spindle_limit(speed).m_as("rpm") == pytest.approx(limit, abs=0.1)


@pytest.mark.parametrize(
    ("made", "error", "message"),
    [
        ({"shape": "ogee"}, FormCutterError, "'ogee' is no shape of a cutter"),
        ({"radius": None}, FormCutterError, "a concave cutter has a radius"),
        ({"radius": "0 mm"}, FormCutterError, "must be more than 0"),
        ({"begin_diameter": "-1 mm"}, FormCutterError, "cannot be negative"),
        ({"begin_diameter": "12"}, sizes.SizeError, "has no unit"),
        ({"stub_diameter": "13 mm"}, FormCutterError, "a stub is not wider"),
        ({"stub_height": "-1 mm"}, FormCutterError, "stub height .* cannot be negative"),
        ({"largest_diameter": "24 mm"}, FormCutterError, r"the arc ends 25\.400 mm across"),
        ({"begin_angle": 60, "end_angle": 30}, FormCutterError, "a concave arc goes from 0° to"),
        ({"end_angle": 120}, FormCutterError, "or part of the way"),
        ({"flank_angle": 45}, FormCutterError, "for a straight one"),
        ({"arc_height": "6 mm"}, FormCutterError, r"use from_calipers\(\)"),
        ({"shape": "straight"}, FormCutterError, "a straight flank has an angle"),
        (
            {"shape": "straight", "radius": None, "flank_angle": 95, "arc_height": "6 mm"},
            FormCutterError,
            "between 0° and 90°",
        ),
        (
            {"shape": "straight", "radius": None, "flank_angle": 45},
            FormCutterError,
            "arc_height or its largest_diameter",
        ),
        (
            {"shape": "straight", "radius": None, "flank_angle": 45, "largest_diameter": "9 mm"},
            FormCutterError,
            "it must be more",
        ),
    ],
)
def test_dimensions_that_make_no_cutter_are_refused(made, error, message):
    usual = {"shape": "concave", "begin_diameter": "12.7 mm", "radius": "6.35 mm"}
    with pytest.raises(error, match=message):
        FormCutter(**(usual | made))


@pytest.mark.parametrize(
    ("setting", "error", "message"),
    [
        ({"depth": "4 mm"}, FormCutterError, r"the arc begins 1\.000 mm above the face"),
        ({"offset": "13 mm"}, FormCutterError, "does not reach the wall"),
        ({"offset": "12 mm", "depth": "6 mm"}, FormCutterError, "without touching it"),
        ({"offset": "-1 mm"}, FormCutterError, "cannot be negative"),
        ({"depth": "0 mm"}, FormCutterError, "must be more than 0"),
        ({"allowance": "-1 mm"}, FormCutterError, "stock on the wall"),
        ({"offset": "2 mm", "allowance": "3 mm"}, FormCutterError, "which makes a slot of it"),
        ({"plate_thickness": "0 mm"}, FormCutterError, "the plate is"),
        ({"plate_thickness": "19"}, sizes.SizeError, "has no unit"),
    ],
)
def test_settings_that_cut_nothing_are_refused(setting, error, message):
    with pytest.raises(error, match=message):
        full().edge(**({"plate_thickness": "19 mm"} | setting))


def test_chamfers_that_cannot_be_are_refused():
    with pytest.raises(FormCutterError, match="a concave cutter cuts no chamfer"):
        full().chamfer_setting("1 mm")
    with pytest.raises(FormCutterError, match="cannot be cut by a flank"):
        full("straight").chamfer_setting("20 mm")


# --- from a trace ---


def trace(shape="concave", *, begin=6.35, start=5.0, stub=None, noise=0.01, seed=0, count=14,
          stubs=4, shoulders=4, ledge=0, angles=(3, 87)):  # fmt: skip
    """Rows (height, diameter) walked up a cutter [mm]."""
    stub = begin if stub is None else stub
    rows = [(h, stub) for h in np.linspace(0.3, start - 0.2, stubs)]
    rows += [(start, stub + (begin - stub) * (k + 0.5) / ledge) for k in range(ledge)]
    turns = np.radians(np.linspace(*angles, count))
    if shape == "concave":
        rows += [(start + R * math.sin(t), begin + R * (1 - math.cos(t))) for t in turns]
    elif shape == "convex":
        rows += [(start + R * (1 - math.cos(t)), begin + R * math.sin(t)) for t in turns]
    else:
        rows += [(start + R * t, begin + R * t * math.tan(math.radians(35))) for t in turns]
    top = max(h for h, _ in rows)
    widest = begin + R if shape != "straight" else max(r for _, r in rows)
    rows += [(top + 0.3 + 0.4 * k, widest) for k in range(shoulders)]
    rows = np.array(rows) + np.random.default_rng(seed).normal(0, noise, (len(rows), 2))
    return [(abs(float(h)), abs(2 * float(r))) for h, r in rows]


def traced(rows, **more):
    return FormCutter.from_trace(rows, unit="mm", uncertainty="0.01 mm", **more)


@pytest.mark.parametrize("shape", ["concave", "convex"])
@pytest.mark.parametrize("seed", range(5))
def test_a_traced_cutter_is_what_was_traced(shape, seed):
    cutter = traced(trace(shape, seed=seed))
    assert cutter.shape == shape
    error = mm(cutter.evidence.fit.radius_error)
    assert abs(mm(cutter.radius) - R) < 4 * error
    assert mm(cutter.stub_diameter) == pytest.approx(12.7, abs=0.05)
    assert mm(cutter.largest_diameter) == pytest.approx(25.4, abs=0.1)
    assert mm(cutter.stub_height) == pytest.approx(5, abs=0.2)
    parts = list(cutter.evidence.parts.values())
    assert parts.count("arc") >= 13
    assert parts.count("stub") + parts.count("shoulder") + parts.count("arc") >= 21
    assert cutter.evidence.strays == () or len(cutter.evidence.strays) == 1
    cutter.profile()


def test_an_exact_trace_gives_the_exact_cutter():
    cutter = traced(trace(noise=0, stub=2.4, ledge=2))
    assert mm(cutter.radius) == pytest.approx(R, abs=1e-6)
    assert mm(cutter.begin_diameter) == pytest.approx(12.7, abs=1e-6)
    assert mm(cutter.stub_diameter) == pytest.approx(4.8, abs=1e-6)
    assert mm(cutter.stub_height) == pytest.approx(5, abs=1e-6)
    assert mm(cutter.largest_diameter) == pytest.approx(25.4, abs=1e-6)
    assert deg(cutter.begin_angle) == pytest.approx(0, abs=1e-3)
    assert deg(cutter.end_angle) == pytest.approx(90, abs=0.1)
    parts = list(cutter.evidence.parts.values())
    assert parts == ["stub"] * 4 + ["ledge"] * 2 + ["arc"] * 14 + ["shoulder"] * 4
    assert cutter.evidence.strays == ()


def test_tangent_setting_from_a_trace_has_honest_standard_errors():
    inside_offset, inside_depth, count = 0, 0, 150
    for seed in range(count):
        cutter = traced(trace(seed=seed, stubs=0, shoulders=0))
        report, setting = cutter.evidence, cutter.tangent_setting()
        inside_offset += abs(mm(setting.offset) - R) < 1.96 * mm(report.offset_error)
        inside_depth += abs(mm(setting.depth) - 5 - R) < 1.96 * mm(report.depth_error)
    assert 0.89 <= inside_offset / count <= 0.99
    assert 0.89 <= inside_depth / count <= 0.99


def test_strays_are_named_and_nothing_is_dropped_in_silence():
    rows = trace(seed=3)
    rows[8] = (rows[8][0], rows[8][1] + 0.4)
    rows.append((9.0, 31.0))
    report = traced(rows).evidence
    assert len(report.strays) == 2
    assert report.strays[0].startswith("row 9 (height")
    assert report.strays[1].startswith("row 23 (height 9.000 mm, diameter 31.000 mm) lies 3.6")
    assert "on nothing: row 9" in str(report)
    # Every row is accounted for.
    assert sorted(report.parts) == list(range(1, 24))
    assert report.parts[9] == report.parts[23] == "nothing"


def test_without_stub_and_shoulder_the_ends_are_from_the_shape_and_said_so():
    cutter = traced(trace(seed=1, stubs=0, shoulders=0))
    notes = "\n".join(cutter.evidence.notes)
    assert "nothing was traced below" in notes
    assert "nothing was traced above" in notes
    assert deg(cutter.end_angle) == pytest.approx(90)
    short = traced(trace(seed=1, stubs=0, shoulders=0, angles=(20, 65)))
    assert deg(short.begin_angle) == pytest.approx(20, abs=4)
    assert deg(short.end_angle) == pytest.approx(65, abs=4)


def test_calipers_may_say_the_stub_and_the_largest_diameter():
    cutter = traced(
        trace(seed=1, stubs=0, shoulders=0, noise=0.002),
        stub_diameter="12.7 mm",
        largest_diameter="25.4 mm",
        shoulder_height="3 mm",
        shank_diameter="8 mm",
        bearing_diameter="12.7 mm",
        name="drawer 4",
    )
    assert mm(cutter.stub_diameter) == pytest.approx(12.7, abs=0.02)
    assert mm(cutter.largest_diameter) == pytest.approx(25.4, abs=0.02)
    assert mm(cutter.shoulder_height) == 3
    assert mm(cutter.shank_diameter) == 8
    assert cutter.name == "drawer 4"
    assert cutter.bearing_off


def test_the_fit_may_be_held_and_tangent():
    rows = trace(seed=2, angles=(3, 50), shoulders=0)
    free = traced(rows)
    held = traced(rows, radius="6.35 mm")
    tangent = traced(rows, tangent_diameter="12.7 mm", tangent_height="11.35 mm")
    assert mm(held.radius) == 6.35
    assert mm(tangent.evidence.depth_error) < mm(free.evidence.depth_error)
    assert mm(tangent.radius) == pytest.approx(R, abs=0.05)


def test_an_arc_that_begins_above_the_stubs_end_leaves_a_ledge():
    # The bottom 25° of the arc are not there: the stub runs up past them.
    rows = trace(noise=0.002, stub=3.0, angles=(25, 87), stubs=0)
    top = 5 + R * math.sin(math.radians(24))
    rows += [(h, 6.0) for h in np.linspace(0.5, top, 6)]
    cutter = traced(rows)
    assert mm(cutter.stub_diameter) == pytest.approx(6, abs=0.01)
    assert mm(cutter.stub_height) == pytest.approx(top, abs=0.02)
    assert deg(cutter.begin_angle) == pytest.approx(24, abs=1)
    assert "above a ledge" in str(cutter.evidence)


def test_a_straight_flank_is_traced_too():
    cutter = traced(trace("straight", seed=4), shape="straight")
    assert deg(cutter.end_angle) == pytest.approx(35, abs=0.3)
    assert mm(cutter.begin_diameter) == pytest.approx(12.7, abs=0.1)
    assert cutter.evidence.offset_error is None
    assert "straight flank" in str(cutter.evidence)
    cutter.edge("19 mm")
    stray = trace("straight", seed=4)
    stray[8] = (stray[8][0], stray[8][1] + 1)
    assert traced(stray, shape="straight").evidence.parts[9] == "nothing"


def test_ball_shaped_and_pointed_cutters():
    # A cove cutter whose arc begins on the axis, and one with a flat tip and no stub.
    ball = traced(trace("convex", begin=0.0, start=0.0, stubs=0, shoulders=4, seed=1))
    assert mm(ball.begin_diameter) == pytest.approx(0, abs=0.1)
    ball.profile()
    flat = traced(trace(begin=3.0, start=0.0, stubs=0, seed=1))
    assert mm(flat.stub_height) == pytest.approx(0, abs=0.05)
    flat.edge("19 mm")


def test_inches_stay_inches():
    rows = [(h / 25.4, d / 25.4) for h, d in trace(seed=1)]
    cutter = FormCutter.from_trace(rows, unit="in", uncertainty="0.0004 in")
    assert f"{cutter.radius.units:~P}" == "in"
    assert "in (standard error" in str(cutter.evidence)


def test_heights_may_be_less_certain():
    cutter = traced(trace(seed=1), height_uncertainty="0.05 mm")
    assert mm(cutter.radius) == pytest.approx(R, abs=0.2)
    assert mm(cutter.evidence.depth_error) > mm(cutter.evidence.offset_error)


def test_a_concave_cutter_measured_as_convex_is_refused_with_its_row():
    message = r"row \d+ \(height .* narrower than a straight line .* concave and not convex"
    with pytest.raises(FormCutterError, match=message):
        traced(trace(), shape="convex")
    with pytest.raises(FormCutterError, match=r"wider than a straight .* convex and not concave"):
        traced(trace("convex"), shape="concave")


def upside_down(rows):
    return [(15 - height, diameter) for height, diameter in rows]


@pytest.mark.parametrize(
    ("rows", "error", "message"),
    [
        (upside_down(trace()), FormCutterError, "the diameters fall with height, from row"),
        ([(1, 12.7), (2, 12.7), (3, 12.7)], FormCutterError, "rows 1 to 3 all have one diameter"),
        ([(1, 12.7), (2, 13.7)], FormCutterError, "only 2 of the 2 rows lie between"),
        ([(1, 12.7), (2, 13.7), (3, 14.7), (4, 15.7)], ArcFitError, "lie on a line"),
        ([(1, 12.7), (-2, 13.7), (3, 14.7)], ArcFitError, "row 2: the height"),
        ([("1 mm", "12 mm"), ("2 mm", "0.5 in")], ArcFitError, "row 2 has 0.5000 in"),
    ],
)
def test_traces_that_make_no_cutter_are_refused(rows, error, message):
    with pytest.raises(error, match=message):
        traced(rows)


def test_a_trace_of_something_else_is_refused():
    rows = trace(seed=1, count=8, stubs=0, shoulders=0)
    rows += [(h, d) for h, d in ((7.0, 30), (6.5, 28), (8, 5), (9, 6), (10, 40), (6, 25))]
    with pytest.raises(ArcFitError, match="the points show no arc"):
        traced(rows)


def test_a_straight_flank_has_nothing_to_hold():
    with pytest.raises(FormCutterError, match="a straight flank has no tangent height to hold"):
        traced(trace("straight"), shape="straight", tangent_height="5 mm")


def test_a_trace_of_thousands_of_points_is_taken():
    cutter = traced(trace(count=3000, stubs=900, shoulders=900, noise=0.01))
    assert mm(cutter.radius) == pytest.approx(R, abs=0.01)
    with pytest.raises(FormCutterError, match="fall with height"):
        traced(upside_down(trace(count=3000)))


def test_a_shape_that_is_none_is_refused():
    with pytest.raises(FormCutterError, match="no shape of a cutter"):
        traced(trace(), shape="round")


@settings(max_examples=40, deadline=None)
@given(
    begin=st.decimals(0.5, 40, places=3),
    radius=st.decimals(0.5, 30, places=3),
    start=st.decimals(0, 30, places=3),
    thickness=st.decimals(1, 60, places=3),
    shape=st.sampled_from(["concave", "convex"]),
)
def test_the_tangent_setting_never_leaves_a_step(begin, radius, start, thickness, shape):
    cutter = FormCutter(
        shape,
        begin_diameter=f"{begin} mm",
        radius=f"{radius} mm",
        stub_height=f"{start} mm",
    )
    edge = cutter.edge(f"{thickness} mm")
    assert mm(edge.step_on_face) == mm(edge.step_on_wall) == 0
    assert mm(edge.leg_on_face) == pytest.approx(float(radius))
    square = 90 if shape == "convex" else 0
    assert deg(edge.face_angle) == pytest.approx(square, abs=1e-5)
    cutter.profile()
