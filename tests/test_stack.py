"""Stacks against solids: voxels, discs of revolution, and shapely's outlines layer by layer."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from holecalc import flats, sizes, stack
from holecalc.stack import DEPTHS, DRILL_POINT, CounterboreError, Stack, Step, wall_between
from project import check_values


def round_step(across, depth, **more):
    return Step("round", f"{across} mm", depth=f"{depth} mm", **more)


def hexagon(across, depth, **more):
    return Step("hexagon", f"{across} mm", depth=f"{depth} mm", **more)


T_NUT = Stack("18 mm", hole_diameter="9 mm", from_a=[round_step(23, 2), round_step(10, 11.5)])


# --- what a drill's point needs ----------------------------------------------------------------


@pytest.mark.parametrize(
    "row", check_values("drill-point-factors"), ids=lambda row: row["point_angle_deg"]
)
def test_points_are_as_high_as_the_handbook_says(row):
    # The usual table of drill points, from memory, to three places.
    point = DRILL_POINT.solve(diameter="10 mm", point_angle=float(row["point_angle_deg"]))
    factor = sizes.mm(point.point_height) / 10
    assert factor == pytest.approx(float(row["height_per_diameter"]), abs=0.00051)


def test_a_point_solves_back():
    back = DRILL_POINT.solve(diameter="10 mm", point_height="3.0043 mm")
    assert back.point_angle.m_as("deg") == pytest.approx(118, abs=0.01)


# --- web ----------------------------------------------------------------------------------------


def test_the_web_of_the_t_nut():
    # 18 - 11.5, hand arithmetic.
    web = T_NUT.web
    assert sizes.mm(web.thickness) == pytest.approx(6.5)
    assert (web.above, web.below) == ("round 10.000 mm", "face B")
    assert sizes.mm(T_NUT.thickness_under("A", T_NUT.from_a[0])) == pytest.approx(16)


def layers(made):
    """Each removed prism as (shapely outline, top, bottom), worked out from the steps alone."""
    thick = sizes.mm(made.plate_thickness)
    found = []
    for face in "AB":
        for step in made.steps(face):
            depth = sizes.mm(step.depth)
            span = (0.0, depth) if face == "A" else (thick - depth, thick)
            found.append((outline_of(step), *span))
    if made.hole_diameter is not None:
        found.append((shapely.Point(0, 0).buffer(sizes.mm(made.hole_diameter) / 2, 240), 0, thick))
    return found


def outline_of(step):
    across = sizes.mm(step.across)
    if step.shape == "round":
        return shapely.Point(0, 0).buffer(across / 2, quad_segs=240)
    sides = {"hexagon": 6, "square": 4}[step.shape]
    angles = sizes.rad(step.turned) + 2 * math.pi / sides * np.arange(sides)
    out = across / 2 / math.cos(math.pi / sides)
    sharp = shapely.Polygon(np.column_stack([np.cos(angles), np.sin(angles)]) * out)
    radius = 0 if step.cutter_diameter is None else sizes.mm(step.cutter_diameter) / 2
    shape = sharp.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=240)
    if step.relief is not None:
        small, at = (
            sizes.mm(step.relief.cutter_diameter) / 2,
            sizes.mm(step.relief.centre_radius),
        )
        shape = shapely.union_all(
            [shape]
            + [shapely.Point(at * math.cos(a), at * math.sin(a)).buffer(small, 240) for a in angles]
        )
    return shape


CORNERS = flats.relief("hexagon", "13.2 mm", "3 mm")
STACKS = {
    "T-nut": T_NUT,
    "hexagon under a flange": Stack(
        "25 mm",
        hole_diameter="9 mm",
        from_a=[
            round_step(20, 3),
            hexagon(13.2, 9, cutter_diameter="6 mm", relief=CORNERS, turned=10),
        ],
    ),
    "both faces": Stack(
        "25 mm",
        hole_diameter="6.6 mm",
        from_a=[round_step(11.1, 6.5)],
        from_b=[hexagon(10.6, 5.7, cutter_diameter="3 mm", turned=7)],
    ),
    "narrow below wide": Stack(
        "25 mm",
        hole_diameter="5 mm",
        from_a=[round_step(23, 2), round_step(12, 14)],
        from_b=[Step("square", "7 mm", depth="6 mm", turned=20)],
    ),
    "blind": Stack("20 mm", from_a=[Step("square", "8 mm", depth="5 mm", cutter_diameter="2 mm")]),
    "only a hole": Stack("12 mm", hole_diameter="7 mm"),
}


@pytest.mark.parametrize("name", STACKS)
def test_web_is_the_thinnest_column_of_plate(name):
    made = STACKS[name]
    thick = sizes.mm(made.plate_thickness)
    cut = layers(made)
    thinnest = thick
    for x, y in np.random.default_rng(5).uniform(-13, 13, (4000, 2)):
        spans = [(top, low) for shape, top, low in cut if shape.contains(shapely.Point(x, y))]
        from_a = max((low for top, low in spans if top == 0), default=0.0)
        from_b = min((top for top, low in spans if low == thick), default=thick)
        if from_b > from_a and not any(span == (0, thick) for span in spans):
            thinnest = min(thinnest, from_b - from_a)
    assert sizes.mm(made.web.thickness) == pytest.approx(thinnest)


def test_a_narrow_pocket_is_not_under_a_flange_but_under_the_barrel():
    made = STACKS["narrow below wide"]
    flange, barrel = made.from_a
    # The square, 9.9 mm over its corners, lies wholly below the 12 mm barrel.
    assert sizes.mm(made.thickness_under("A", flange)) == pytest.approx(23)
    assert sizes.mm(made.thickness_under("A", barrel)) == pytest.approx(5)
    assert made.web.below == "square 7.000 mm across flats"


# --- volume and profile -------------------------------------------------------------------------


@pytest.mark.parametrize("name", STACKS)
def test_volume_against_layers_of_shapely(name):
    made = STACKS[name]
    cut = layers(made)
    heights = sorted({0.0, sizes.mm(made.plate_thickness)} | {z for _, *span in cut for z in span})
    total = 0.0
    for top, low in pairwise(heights):
        there = [shape for shape, above, below in cut if above <= top and below >= low]
        total += shapely.union_all(there).area * (low - top) if there else 0.0
    assert made.volume.m_as("mm**3") == pytest.approx(total, rel=1e-5)


def test_volume_against_voxels():
    made = STACKS["both faces"]
    grid = np.linspace(-6, 6, 241)[:-1] + 0.025
    x, y = np.meshgrid(grid, grid)
    masks = []
    for shape, top, low in layers(made):
        shapely.prepare(shape)
        masks.append((shapely.contains_xy(shape, x, y), top, low))
    total = 0.0
    for z in np.arange(0.125, 25, 0.25):
        gone = np.any([mask for mask, top, low in masks if top < z < low], axis=0)
        total += gone.sum() * 0.05**2 * 0.25
    assert made.volume.m_as("mm**3") == pytest.approx(total, rel=0.005)


def revolved(line):
    """Volume inside a profile turned about the axis, as frustums."""
    total = 0.0
    for (r1, z1), (r2, z2) in pairwise(line):
        total += math.pi / 3 * (z2 - z1) * (r1**2 + r1 * r2 + r2**2)
    return total


ROUND = {
    "T-nut": T_NUT,
    "drilled": Stack("20 mm", from_a=[round_step(10, 12, point_angle=118)]),
    "drilled over a hole": Stack(
        "20 mm", hole_diameter="6 mm", from_a=[round_step(12, 8, point_angle=90)]
    ),
    "drilled over a step": Stack(
        "30 mm",
        hole_diameter="5 mm",
        from_a=[round_step(20, 6, point_angle=118), round_step(8, 18, point_angle=140)],
        from_b=[round_step(16, 4)],
    ),
    "blind from both": Stack("20 mm", from_a=[round_step(9, 5)], from_b=[round_step(7, 6)]),
}


@pytest.mark.parametrize("name", ROUND)
def test_volume_is_that_of_the_profile_turned_about_the_axis(name):
    made = ROUND[name]
    total = sum(revolved(sizes.mm(line)) for line in made.profile(direction=33))
    assert made.volume.m_as("mm**3") == pytest.approx(total)


@pytest.mark.parametrize("name", STACKS)
def test_profile_runs_from_face_to_face_on_the_walls(name):
    made = STACKS[name]
    thick = sizes.mm(made.plate_thickness)
    cut = layers(made)
    for line in made.profile(direction=25):
        points = sizes.mm(line)
        assert np.all(np.diff(points[:, 1]) >= 0)
        # Half-way down each wall, just inside it is cut and just outside it is not.
        for (r1, z1), (r2, z2) in pairwise(points):
            if r1 != pytest.approx(r2) or z1 == pytest.approx(z2):
                continue
            z = (z1 + z2) / 2
            for radius, gone in ((r1 - 0.01, True), (r1 + 0.01, False)):
                at = shapely.Point(
                    radius * math.cos(math.radians(25)), radius * math.sin(math.radians(25))
                )
                assert any(s.contains(at) for s, top, low in cut if top < z < low) is gone
    if made.hole_diameter is not None:
        (line,) = made.profile()
        assert sizes.mm(line)[0, 1] == 0
        assert sizes.mm(line)[-1, 1] == pytest.approx(thick)


def test_profile_of_a_bare_hole_and_a_bare_plate():
    assert sizes.mm(Stack("12 mm", hole_diameter="7 mm").profile()[0]).tolist() == [
        [3.5, 0.0],
        [3.5, 12.0],
    ]
    assert Stack("12 mm").profile() == ()
    assert Stack("12 mm").volume.magnitude == 0
    assert str(Stack("12 mm").web) == "12.000 mm between face A and face B"


# --- drilled bottoms ----------------------------------------------------------------------------


def test_a_drilled_bottom_takes_its_point_from_the_web():
    made = Stack("18 mm", from_a=[round_step(10, 12)])
    # 0.300 d and 0.182 d below the full diameter.
    assert sizes.mm(made.drilled(point_angle=118).web.thickness) == pytest.approx(3.0, abs=0.005)
    assert sizes.mm(made.drilled(point_angle=140).web.thickness) == pytest.approx(4.18, abs=0.005)


def test_a_hole_through_the_middle_takes_most_of_the_point_away():
    made = Stack("18 mm", hole_diameter="9 mm", from_a=[round_step(10, 12)])
    below = 0.5 / math.tan(math.radians(59))
    assert sizes.mm(made.drilled().web.thickness) == pytest.approx(6 - below)


def test_a_point_that_breaks_through_is_refused():
    with pytest.raises(CounterboreError, match=r"goes 13\.004 mm deep in a plate of 13\.000 mm"):
        Stack("13 mm", from_a=[round_step(10, 10)]).drilled()
    both = Stack("18 mm", from_a=[round_step(10, 10)], from_b=[round_step(6, 5.5)])
    with pytest.raises(CounterboreError, match=r"they meet in a plate of 18\.000 mm"):
        both.drilled()
    assert sizes.mm(both.drilled(face="B").web.thickness) < 1
    with pytest.raises(CounterboreError, match="nothing is cut from face B"):
        Stack("13 mm", from_a=[round_step(10, 10)]).drilled("B")


# --- refused ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ([round_step(10, 2), round_step(12, 6)], r"A stack narrows with depth"),
        # 13.8 mm across flats, and 15.9 mm over the corners.
        ([round_step(15, 2), hexagon(13.8, 6)], r"reaches 7\.967 mm from the axis"),
        ([hexagon(14, 2), hexagon(13, 6, turned=30)], r"A stack narrows with depth"),
        ([round_step(15, 2), round_step(12, 2)], r"are both 2\.000 mm deep"),
        ([round_step(15, 18)], r"is 18\.000 mm deep in a plate of 18\.000 mm: no floor"),
        ([round_step(15, 18.5)], r"no floor is left"),
        ([round_step(7, 5)], r"the hole of 7\.000 mm does not lie inside"),
        ([round_step(15, 17, point_angle=118)], r"it breaks through"),
        ([round_step(20, 2, point_angle=118), hexagon(12, 9)], r"has no flat floor to start from"),
        ([round_step(20, 2, point_angle=118), round_step(9, 4)], r"ends 5\.305 mm down"),
    ],
)
def test_stacks_that_cannot_be_cut(steps, words):
    with pytest.raises(CounterboreError, match=words):
        Stack("18 mm", hole_diameter="7 mm", from_a=steps)


def test_a_hexagon_fits_a_flange_wider_than_its_corners():
    made = Stack("18 mm", from_a=[round_step(15.95, 2), hexagon(13.8, 6)])
    assert len(made.from_a) == 2
    # The cutter's radius takes the corners in, so a narrower flange will do then.
    rounded = hexagon(13.8, 6, cutter_diameter="6 mm")
    Stack("18 mm", from_a=[round_step(15.1, 2), rounded])
    with pytest.raises(CounterboreError, match="narrows with depth"):
        Stack("18 mm", from_a=[round_step(15.0, 2), rounded])


def test_steps_in_any_order_are_sorted():
    made = Stack("18 mm", from_a=[round_step(10, 11.5), round_step(23, 2)])
    assert [sizes.mm(step.depth) for step in made.from_a] == [2, 11.5]


def test_pockets_that_meet_are_refused():
    with pytest.raises(CounterboreError, match=r"they meet in a plate of 18\.000 mm"):
        Stack("18 mm", from_a=[round_step(10, 12)], from_b=[round_step(8, 6)])
    Stack("18 mm", from_a=[round_step(10, 12)], from_b=[round_step(8, 5.99)])


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Step("oval", "10 mm", depth="2 mm"), "not 'oval'"),
        (lambda: Step("round", "0 mm", depth="2 mm"), "width is 0.00 mm"),
        (lambda: Step("round", "10 mm", depth="-2 mm"), "depth is -2.00 mm"),
        (lambda: Step("round", "10 mm", depth="2"), "depth: '2' has no unit"),
        (lambda: hexagon(10, 2, point_angle=118), "is not drilled"),
        (lambda: round_step(10, 2, point_angle=180), "between 0° and 180°"),
        (lambda: hexagon(5, 2, cutter_diameter="6 mm"), "does not go into a hexagon"),
        (lambda: Stack("0 mm"), "plate thickness is 0.00 mm"),
        (lambda: T_NUT.steps("C"), "faces 'A' and 'B', not 'C'"),
    ],
)
def test_steps_and_plates_that_cannot_be(make, words):
    with pytest.raises(ValueError, match=words):
        make()


# --- walls --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", STACKS)
def test_walls_are_shapelys(name):
    made = STACKS[name]
    whole = shapely.union_all([shape for shape, _, _ in layers(made)])
    for angle in (0, 17, 30, 95):
        away = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
        edge = rotate(shapely.box(20, -99, 21, 99), angle, origin=(0, 0))
        assert sizes.mm(made.wall_to_edge("20 mm", angle)) == pytest.approx(
            whole.distance(edge), abs=2e-4
        )
        hole = shapely.Point(*(20 * away)).buffer(3, quad_segs=240)
        assert sizes.mm(made.wall_to_hole("6 mm", "20 mm", angle)) == pytest.approx(
            whole.distance(hole), abs=3e-4
        )
        # Without a direction it is the worst there is.
        for worst, turned in (
            (made.wall_to_edge("20 mm"), made.wall_to_edge("20 mm", angle)),
            (made.wall_to_hole("6 mm", "20 mm"), made.wall_to_hole("6 mm", "20 mm", angle)),
        ):
            assert sizes.mm(worst) <= sizes.mm(turned) + 1e-9


def test_a_pocket_that_breaks_out_leaves_less_than_nothing():
    assert sizes.mm(T_NUT.wall_to_edge("11 mm")) == pytest.approx(-0.5)
    assert sizes.mm(T_NUT.wall_to_hole("6 mm", "14 mm")) == pytest.approx(-0.5)


def cloud(made, along=0.0, across=0.0, step=0.2):
    """Points on the floors and walls of all that is cut, moved."""
    points = []
    for shape, top, low in layers(made):
        edge = shapely.segmentize(translate(shape, along, across).exterior, step)
        ring = shapely.get_coordinates(edge)
        points += [
            np.column_stack([ring, np.full(len(ring), z)]) for z in np.linspace(top, low, 40)
        ]
        low_x, low_y, high_x, high_y = edge.bounds
        grid = np.stack(
            np.meshgrid(np.arange(low_x, high_x, step), np.arange(low_y, high_y, step)), -1
        ).reshape(-1, 2)
        inside = grid[shapely.contains_xy(translate(shape, along, across), *grid.T)]
        points += [np.column_stack([inside, np.full(len(inside), z)]) for z in (top, low)]
    return np.concatenate(points)


BLIND = {
    "round above hexagon": (
        Stack("18 mm", from_a=[round_step(20, 5)]),
        Stack("18 mm", from_b=[hexagon(13, 7, cutter_diameter="4 mm")]),
    ),
    "square above square": (
        Stack("18 mm", from_a=[Step("square", "9 mm", depth="8 mm", turned=15)]),
        Stack("18 mm", from_b=[Step("square", "9 mm", depth="8 mm")]),
    ),
    "two steps above two": (
        Stack("25 mm", from_a=[round_step(23, 3), hexagon(10, 12)]),
        Stack("25 mm", from_b=[round_step(18, 4), round_step(8, 11)]),
    ),
}


@pytest.mark.parametrize("name", BLIND)
@pytest.mark.parametrize(("along", "across"), [(4.0, 1.0), (12.0, 5.0), (19.0, -8.0)])
def test_the_wall_between_staggered_pockets_is_the_least_distance_of_their_points(
    name, along, across
):
    from scipy.spatial import cKDTree

    one, other = BLIND[name]
    found = sizes.mm(wall_between(one, other, along=f"{along} mm", across=f"{across} mm"))
    distances, _ = cKDTree(cloud(one)).query(cloud(other, along, across))
    # Points 0.2 mm apart overestimate a little; nothing is nearer than what we say.
    assert found <= distances.min() + 1e-3
    assert found == pytest.approx(distances.min(), abs=0.12)


def test_walls_between_holes_and_pockets_that_run_into_each_other():
    through = Stack("18 mm", hole_diameter="6 mm")
    assert sizes.mm(wall_between(through, through, along="10 mm")) == pytest.approx(4)
    assert sizes.mm(wall_between(T_NUT, through, along="5 mm")) <= 0
    assert sizes.mm(wall_between(T_NUT, through, along=0, across="20 mm")) == pytest.approx(5.5)
    with pytest.raises(CounterboreError, match="Give both the same plate"):
        wall_between(T_NUT, Stack("12 mm"), along="30 mm")


# --- depths, paths, words -----------------------------------------------------------------------


def test_depths_solve_any_way_round():
    known = {"plate_thickness": "18 mm", "height": "1.5 mm", "below": "9.5 mm", "other_depth": 0}
    made = DEPTHS.solve(recess="0.5 mm", **known)
    assert sizes.mm(made.depth) == pytest.approx(2.0)
    assert sizes.mm(made.web) == pytest.approx(6.5)
    back = DEPTHS.solve(web="6.5 mm", **known)
    assert sizes.mm(back.recess) == pytest.approx(0.5)
    proud = DEPTHS.solve(depth="1 mm", **known)
    assert sizes.mm(proud.recess) == pytest.approx(-0.5)


def test_a_measured_recess_corrects_the_depth():
    from holecalc.gauging import correct

    made = DEPTHS.solve(
        plate_thickness="18 mm", height="1.5 mm", recess="0.5 mm", below="9.5 mm", other_depth=0
    )
    change = correct(made, recess="0.3 mm", plus_minus="0.02 mm")
    assert sizes.mm(change.new) == pytest.approx(2.2)


def test_the_path_follows_the_flats():
    step = hexagon(13.804, 7.3, cutter_diameter="6 mm", turned=30)
    corners = sizes.mm(step.path_corners)
    # The cutter, 6 mm wide on that path, touches the flats.
    assert 2 * np.hypot(*corners.T) * math.cos(math.pi / 6) == pytest.approx(13.804 - 6)
    assert np.degrees(np.arctan2(corners[0, 1], corners[0, 0])) == pytest.approx(30)
    for bare in (round_step(10, 2), hexagon(10, 2)):
        with pytest.raises(CounterboreError, match="a known cutter"):
            _ = bare.path_corners
    with pytest.raises(CounterboreError, match="plunge in the middle"):
        _ = hexagon(6, 2, cutter_diameter="6 mm").path_corners


def test_inches_stay_inches():
    made = Stack(
        "3/4 in",
        hole_diameter="17/64 in",
        from_a=[Step("round", "7/8 in", depth="1/16 in"), Step("round", "3/8 in", depth="1/2 in")],
    )
    assert made.web.thickness.units == sizes.ureg.inch
    assert made.web.thickness.magnitude == pytest.approx(0.25)
    assert f"{made.volume.units:~P}" == "in³"
    assert made.profile()[0].units == sizes.ureg.inch
    assert "web 0.2500 in" in str(made)


def test_a_stack_reads_well_in_a_notebook():
    html = T_NUT._repr_html_()
    assert "round 10.000 mm, 11.500 mm deep" in html
    named = Step("round", "9 mm", depth="1 mm", name="<b>")
    assert "&lt;b&gt;" in Stack("18 mm", from_a=[named])._repr_html_()
    relieved = hexagon(13.2, 7, cutter_diameter="6 mm", relief=CORNERS)
    assert str(relieved) == "hexagon 13.200 mm across flats, 7.000 mm deep, corners relieved"
    assert (
        str(round_step(9, 4, point_angle=118)) == "round 9.000 mm, 4.000 mm deep, 118° point below"
    )
    assert stack.positive("1 mm", "x") == sizes.length("1 mm")
