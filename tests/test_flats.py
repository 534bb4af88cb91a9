"""Pockets with flats, against shapely: the same shapes, cut, turned and measured there."""

import math

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from holecalc import flats, nuts, sizes
from holecalc.flats import HEXAGON, SQUARE, FlatsError, Outline
from project import check_values

ISO_4032 = check_values("iso-4032")
SHAPES = {"hexagon": (6, HEXAGON), "square": (4, SQUARE)}


# --- the same in shapely: a pocket is where a round cutter has been -----------------------------


def polygon(sides, across, turned=0.0):
    angles = math.radians(turned) + 2 * math.pi / sides * np.arange(sides)
    out = across / 2 / math.cos(math.pi / sides)
    return shapely.Polygon(np.column_stack([np.cos(angles), np.sin(angles)]) * out)


def circle(out, radius, angle=0.0, segments=240):
    at = shapely.Point(out * math.cos(angle), out * math.sin(angle))
    return at.buffer(radius, quad_segs=segments)


def milled(sides, across, cutter, relief_cutter=0.0, relief_centre=0.0):
    """Shrink by the cutter's radius and grow again; then plunge the reliefs."""
    sharp = polygon(sides, across)
    shape = sharp.buffer(-cutter / 2, join_style="mitre").buffer(cutter / 2, quad_segs=240)
    plunges = [
        circle(relief_centre, relief_cutter / 2, 2 * math.pi / sides * i)
        for i in range(sides)
        if relief_cutter
    ]
    return shapely.union_all([shape, *plunges])


def rounded_nut(sides, across, corners):
    return polygon(sides, across).intersection(circle(0.0, corners / 2))


def turns(pocket, nut, limit, tiny=1e-5):
    """Largest angle [°] up to a limit to which a nut can be turned, in small steps."""
    room = pocket.buffer(tiny)
    shapely.prepare(room)
    if not room.contains(nut):
        return None
    low = 0.0
    for angle in np.linspace(0.0, limit, 91)[1:]:
        if not room.contains(rotate(nut, angle, origin=(0, 0))):
            high = angle
            break
        low = angle
    else:
        return math.inf
    while high - low > 1e-4:
        middle = (low + high) / 2
        if room.contains(rotate(nut, middle, origin=(0, 0))):
            low = middle
        else:
            high = middle
    return low


def degrees(quantity):
    return math.inf if quantity is None else quantity.m_as("deg")


# --- stand-off ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cutter", "across_flats"),
    [("6 mm", 13.804), ("3.175 mm", 13.425)],
    ids=["6 mm, hand arithmetic", "3.175 mm, hand arithmetic"],
)
def test_an_m8_nut_needs_flats_that_stand_off(cutter, across_flats):
    pocket = HEXAGON.solve(nut_across_flats="13 mm", clearance=0, cutter_diameter=cutter)
    assert sizes.mm(pocket.pocket_across_flats) == pytest.approx(across_flats, abs=0.0005)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("cutter", [0.8, 3.0, 6.0])
def test_the_nut_goes_into_the_pocket_and_not_into_a_smaller_one(shape, cutter):
    sides, relations = SHAPES[shape]
    nut = polygon(sides, 10.0)
    wanted = sizes.mm(
        relations.solve(
            nut_across_flats="10 mm", clearance=0, cutter_diameter=f"{cutter} mm"
        ).pocket_across_flats
    )
    assert milled(sides, wanted + 0.001, cutter).contains(nut)
    assert not milled(sides, wanted - 0.001, cutter).contains(nut)


def test_stand_off_is_that_of_each_flat():
    pocket = HEXAGON.solve(nut_across_flats="13 mm", clearance="0.2 mm", cutter_diameter="6 mm")
    assert sizes.mm(pocket.stand_off) == pytest.approx(3 * (1 - math.sin(math.radians(60))))
    # Each of the two flats stands off that and half the clearance.
    assert sizes.mm(pocket.pocket_across_flats) == pytest.approx(
        13 + 0.2 + 2 * sizes.mm(pocket.stand_off)
    )


def test_any_three_give_the_fourth():
    pocket = HEXAGON.solve(
        nut_across_flats="1/2 in", clearance="0.008 in", cutter_diameter="1/8 in"
    )
    assert pocket.pocket_across_flats.units == sizes.ureg.inch
    back = HEXAGON.solve(
        pocket_across_flats=pocket.pocket_across_flats,
        nut_across_flats="1/2 in",
        cutter_diameter="1/8 in",
    )
    assert sizes.mm(back.clearance) == pytest.approx(sizes.mm(sizes.length("0.008 in")))


def test_arrays_of_cutters():
    cutters = sizes.ureg.Quantity(np.array([0.0, 3.175, 6.0]), "mm")
    pockets = HEXAGON.solve(nut_across_flats="13 mm", clearance=0, cutter_diameter=cutters)
    assert sizes.mm(pockets.pocket_across_flats) == pytest.approx([13, 13.4254, 13.8038], abs=1e-4)


# --- turning ------------------------------------------------------------------------------------


def test_the_issue_of_the_m8_nut_turns_13_7_degrees():
    # 30° - acos(13.804 / 14.38), hand arithmetic.
    pocket = HEXAGON.solve(
        nut_across_flats="13 mm", clearance=0, cutter_diameter="6 mm", across_corners="14.38 mm"
    )
    assert degrees(pocket.turning_angle) == pytest.approx(13.73, abs=0.01)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("corners", [1.06, 1.12])
def test_the_turning_angle_is_where_a_turned_polygon_leaves_the_pocket(shape, corners):
    sides, relations = SHAPES[shape]
    across = 10.0
    # A polygon whose corners are e across, as sharp as they come, in sharp flats.
    nut = polygon(sides, across * corners * math.cos(math.pi / sides))
    angle = relations.solve(
        pocket_across_flats=f"{across} mm",
        nut_across_flats=f"{across} mm",
        clearance=0,
        across_corners=f"{across * corners} mm",
    ).turning_angle
    found = turns(polygon(sides, across), nut, 180 / sides)
    assert degrees(angle) == pytest.approx(found, abs=0.005)


@pytest.mark.parametrize("row", ISO_4032, ids=lambda row: row["size"])
def test_iso_4032_corners_are_1_13_times_the_least_flats(row):
    # ISO 4032 as reprinted on two technical pages that agree; the table rounds to 0.01.
    assert float(row["e_min"]) == pytest.approx(1.13 * float(row["s_min"]), abs=0.0051)


@pytest.mark.parametrize("size", ["M3", "M5", "M8", "M16"])
@pytest.mark.parametrize("cutter", [1.5, 3.175, 6.0])
@pytest.mark.parametrize("clearance", [0.05, 0.3])
def test_turning_without_relief_brackets_shapely(size, cutter, clearance):
    nut = nuts.hex_nut("ISO 4032", size)
    s, least_s, e = (
        sizes.mm(q) for q in (nut.across_flats, nut.least_across_flats, nut.across_corners)
    )
    across = s + clearance + cutter * (1 - math.cos(math.pi / 6))
    if cutter > across:
        pytest.skip("the cutter is wider than the pocket")
    told = flats.turning(nut, f"{across} mm", cutter_diameter=f"{cutter} mm")
    pocket = milled(6, across, cutter)
    # The largest, sharp; and the smallest as a bare polygon, which any rounded nut contains.
    assert degrees(told.least) == pytest.approx(turns(pocket, polygon(6, s), 30), abs=0.05)
    bare = polygon(6, e * math.cos(math.pi / 6))
    assert degrees(told.most) == pytest.approx(turns(pocket, bare, 30), abs=0.05)
    # A nut with flats and round corners turns less.
    assert turns(pocket, rounded_nut(6, least_s, e), 30) <= degrees(told.most) + 0.01


@pytest.mark.parametrize("relief_cutter", [1.5, 3.0, 6.0])
@pytest.mark.parametrize("cutter", [1.5, 6.0])
@pytest.mark.parametrize("reach", [None, 7.55])
def test_turning_with_relief_agrees_with_shapely(cutter, relief_cutter, reach):
    nut = nuts.hex_nut("ISO 4032", "M8")
    try:
        corners = flats.relief(
            "hexagon", "13.2 mm", f"{relief_cutter} mm", reach=reach and f"{reach} mm"
        )
        told = flats.turning(nut, "13.2 mm", cutter_diameter=f"{cutter} mm", relief=corners)
    except FlatsError:
        told = None
    out = (reach or 13.2 / math.sqrt(3)) - relief_cutter / 2
    pocket = milled(6, 13.2, cutter, relief_cutter, out)
    largest = turns(pocket, polygon(6, 13.0), 30)
    if told is None:
        assert largest is None
        return
    assert degrees(told.least) == pytest.approx(largest, abs=0.03)
    rounded = turns(pocket, rounded_nut(6, 12.73, 14.38), 30)
    assert rounded <= degrees(told.most) + 0.01
    # It is a bound, not a guess: what a rounded nut does is within a few degrees of it.
    assert degrees(told.most) - rounded < 2.5


def test_no_other_place_lets_a_nut_turn_farther():
    nut, pocket = polygon(6, 13.0), milled(6, 13.6, 3.0)
    middle = turns(pocket, nut, 30)
    generator = np.random.default_rng(3)
    for along, across in generator.uniform(-0.4, 0.4, (40, 2)):
        moved = translate(rotate(nut, middle + 0.05, origin=(0, 0)), along, across)
        assert not pocket.contains(moved)


def test_relief_through_the_corner_can_turn_more_than_the_flats_would_allow():
    # Large reliefs take the flats away: 30° - acos(13.2 / (2·13/√3)) would say 1.6°.
    nut = nuts.Nut("hexagon", "13 mm", "6.8 mm", thread="M8", across_corners="15.011 mm")
    corners = flats.relief("hexagon", "13.2 mm", "6 mm")
    told = flats.turning(nut, "13.2 mm", cutter_diameter="6 mm", relief=corners)
    assert degrees(told.most) == pytest.approx(5.17, abs=0.01)
    assert told.stopped_by == "ends of the flats"


def test_a_nut_spins_when_its_corners_pass_the_flats():
    nut = nuts.hex_nut("ISO 4032", "M8")
    told = flats.turning(nut, "14.4 mm", cutter_diameter="6 mm")
    assert told.spins
    assert told.stopped_by == "nothing"
    assert "smallest nuts spin" in str(told)
    assert "every nut spins" in str(flats.turning(nut, "15.1 mm"))
    assert not flats.turning(nut, "14.37 mm", cutter_diameter="6 mm").spins


@pytest.mark.parametrize("angle", [5, 8, 13.73])
def test_the_largest_cutter_holds_the_nut_and_no_larger_one_does(angle):
    nut = nuts.hex_nut("ISO 4032", "M8")
    cutter = sizes.mm(flats.largest_cutter(nut, angle))
    for factor, holds in ((0.999, True), (1.001, False)):
        across = 13 + factor * cutter * (1 - math.sin(math.radians(60)))
        bare = polygon(6, 14.38 * math.cos(math.pi / 6))
        turned = turns(polygon(6, across), bare, 30)
        assert bool(turned <= angle) is holds


def test_no_cutter_is_small_enough_for_a_tight_angle():
    nut = nuts.hex_nut("ISO 4032", "M8")
    with pytest.raises(FlatsError, match="even in quite sharp corners"):
        flats.largest_cutter(nut, 3)


# --- relief -------------------------------------------------------------------------------------


def test_relief_circles_stand_where_the_issue_says():
    # 13.2/√3 - 3, hand arithmetic.
    corners = flats.relief("hexagon", "13.2 mm", "6 mm")
    assert sizes.mm(corners.centre_radius) == pytest.approx(4.621, abs=0.0005)
    assert sizes.mm(corners.reach) == pytest.approx(13.2 / math.sqrt(3))
    assert sizes.mm(corners.bite) == pytest.approx(3 * (1 - math.sin(math.radians(60))))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("cutter", [1.0, 2.5])
@pytest.mark.parametrize("extra", [0.0, 0.3, -0.05])
def test_relief_against_shapely(shape, cutter, extra):
    sides, _ = SHAPES[shape]
    across = 10.0
    reach = across / 2 / math.cos(math.pi / sides) + extra
    corners = flats.relief(shape, f"{across} mm", f"{cutter} mm", reach=f"{reach} mm")
    pocket = milled(sides, across, cutter, cutter, reach - cutter / 2)
    assert pocket.contains(shapely.Point(reach - 0.0001, 0.0))
    assert not pocket.contains(shapely.Point(reach + 0.0001, 0.0))
    # Square to a flat, the reliefs reach past it by the bite, and nothing else does.
    points = shapely.get_coordinates(pocket)
    normal = math.pi / sides
    facing = np.abs(np.arctan2(*points.T[::-1]) - normal) < normal
    past = (points[facing] @ [math.cos(normal), math.sin(normal)]).max() - across / 2
    assert sizes.mm(corners.bite) == pytest.approx(max(past, 0.0), abs=2e-4)
    # What is left of one flat: the part of the pocket's edge that lies on its line.
    edge = pocket.boundary.intersection(
        rotate(shapely.box(across / 2 - 1e-7, -9, across / 2 + 1e-7, 9), 180 / sides, origin=(0, 0))
    )
    assert sizes.mm(corners.flat_left) == pytest.approx(edge.length, abs=0.03)


def test_centres_lie_on_the_diagonals():
    corners = flats.relief("square", "10 mm", "3 mm")
    centres = sizes.mm(corners.centres(turned=10))
    assert np.hypot(*centres.T) == pytest.approx(sizes.mm(corners.centre_radius))
    assert np.degrees(np.arctan2(centres[0, 1], centres[0, 0])) == pytest.approx(10)
    assert sizes.mm(corners.circle_diameter) == pytest.approx(2 * sizes.mm(corners.centre_radius))


@pytest.mark.parametrize(
    ("give", "words"),
    [
        (("hexagon", "13.2 mm", "14 mm"), "does not fit a pocket of 13.200 mm"),
        (("hexagon", "13.2 mm", "8 mm"), "run into each other: no flat is left"),
        (("octagon", "13.2 mm", "6 mm"), "hexagon or a square, not 'octagon'"),
        (("hexagon", "0 mm", "6 mm"), "must be more than 0"),
        (("hexagon", "13.2 mm", "-1 mm"), "must be more than 0"),
    ],
)
def test_relief_that_cannot_be(give, words):
    with pytest.raises(FlatsError, match=words):
        flats.relief(*give)


def test_a_relief_has_to_take_something():
    with pytest.raises(FlatsError, match="does not leave the middle"):
        flats.relief("hexagon", "13.2 mm", "6 mm", reach="3 mm")
    small = flats.relief("hexagon", "20 mm", "0.5 mm")
    with pytest.raises(FlatsError, match="leaves metal between"):
        flats.outline("hexagon", sizes.length("20 mm"), "12 mm", small)
    with pytest.raises(FlatsError, match=r"reaches 11\.083 mm already"):
        flats.outline(
            "hexagon",
            sizes.length("20 mm"),
            "6 mm",
            flats.relief("hexagon", "20 mm", "4 mm", reach="10.77 mm"),
        )
    with pytest.raises(FlatsError, match="Work it out for this one"):
        flats.outline("hexagon", sizes.length("19 mm"), "2 mm", small)
    with pytest.raises(FlatsError, match="no corners to relieve"):
        flats.outline("round", sizes.length("20 mm"), "2 mm", small)


def test_the_largest_nut_has_to_go_in():
    nut = nuts.hex_nut("ISO 4032", "M8")
    with pytest.raises(FlatsError, match=r"Make the pocket 13.804 mm across flats, or relieve"):
        flats.turning(nut, "13.7 mm", cutter_diameter="6 mm")
    with pytest.raises(FlatsError, match="Make the pocket wider"):
        flats.turning(nut, "12.9 mm")
    # A relief that reaches the nut's corners and still leaves slivers beside them.
    corners = flats.relief("hexagon", "13.2 mm", "0.8 mm", reach="7.55 mm")
    with pytest.raises(FlatsError, match="leave metal beside"):
        flats.turning(nut, "13.2 mm", cutter_diameter="6 mm", relief=corners)
    assert not milled(6, 13.2, 6.0, 0.8, 7.15).contains(polygon(6, 13.0))


def test_a_cutter_has_to_go_into_its_pocket():
    with pytest.raises(FlatsError, match="does not go into a hexagon pocket"):
        flats.outline("hexagon", sizes.length("5 mm"), "6 mm")
    # As wide as the pocket it leaves a round hole.
    assert flats.outline("hexagon", sizes.length("6 mm"), "6 mm").area == pytest.approx(math.pi * 9)


# --- outlines -----------------------------------------------------------------------------------

OUTLINES = {
    "round": (Outline(0, 9.0), lambda: circle(0.0, 4.5)),
    "sharp hexagon": (Outline(6, 10.0), lambda: polygon(6, 10.0)),
    "sharp square": (Outline(4, 10.0), lambda: polygon(4, 10.0)),
    "hexagon": (Outline(6, 10.0, 1.5), lambda: milled(6, 10.0, 3.0)),
    "square": (Outline(4, 10.0, 2.0), lambda: milled(4, 10.0, 4.0)),
    "relieved hexagon": (
        Outline(6, 13.2, 3.0, 3.0, 13.2 / math.sqrt(3) - 3.0),
        lambda: milled(6, 13.2, 6.0, 6.0, 13.2 / math.sqrt(3) - 3.0),
    ),
    "small reliefs in large corners": (
        Outline(6, 20.0, 8.0, 1.0, 9.9),
        lambda: milled(6, 20.0, 16.0, 2.0, 9.9),
    ),
    "large reliefs in small corners": (
        Outline(4, 20.0, 1.0, 3.0, 11.0),
        lambda: milled(4, 20.0, 2.0, 6.0, 11.0),
    ),
    "far reliefs": (Outline(4, 20.0, 2.0, 2.0, 14.0), lambda: milled(4, 20.0, 4.0, 4.0, 14.0)),
    "sharp with reliefs": (
        Outline(6, 10.0, 0.0, 1.0, 4.9),
        lambda: milled(6, 10.0, 0.0, 2.0, 4.9),
    ),
}


@pytest.mark.parametrize("name", OUTLINES)
def test_area_is_shapelys(name):
    ours, theirs = OUTLINES[name][0], OUTLINES[name][1]()
    assert ours.area == pytest.approx(theirs.area, rel=1e-5)


@pytest.mark.parametrize("name", OUTLINES)
def test_radial_is_where_a_ray_leaves(name):
    ours, theirs = OUTLINES[name][0], OUTLINES[name][1]()
    for angle in np.linspace(0.0, 2 * math.pi, 37):
        ray = shapely.LineString([(0, 0), (60 * math.cos(angle), 60 * math.sin(angle))])
        leaves = max(math.hypot(x, y) for x, y in shapely.get_coordinates(ray & theirs))
        assert ours.radial(angle) == pytest.approx(leaves, abs=2e-4)


@pytest.mark.parametrize("name", OUTLINES)
def test_extent_and_reach_are_shapelys(name):
    ours, theirs = OUTLINES[name][0], OUTLINES[name][1]()
    points = shapely.get_coordinates(theirs)
    assert ours.reach == pytest.approx(np.hypot(*points.T).max(), abs=1e-4)
    for angle in (0.0, 0.3, 1.0, 2.5):
        towards = np.array([math.cos(angle), math.sin(angle)])
        assert ours.extent(angle) == pytest.approx((points @ towards).max(), abs=1e-4)


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("other", OUTLINES)
def test_gap_and_containment_are_shapelys(name, other):
    (one, made_one), (two, made_two) = OUTLINES[name], OUTLINES[other]
    shape, far = made_one(), made_two()
    for along, across in ((26.0, 3.0), (18.0, 17.0), (-2.0, 25.0)):
        moved = translate(far, along, across)
        gap = one.gap(two, along, across)
        if shape.intersects(moved):
            assert gap <= 1e-4
        else:
            assert gap == pytest.approx(shape.distance(moved), abs=2e-4)
    if one.contains(two):
        assert shape.buffer(1e-5).contains(far)
    elif name == other or not shape.buffer(1e-5).contains(far):
        assert name != other
    else:
        pytest.fail(f"{name} contains {other}")


def test_turned_outlines():
    straight, turned = Outline(4, 10.0), Outline(4, 10.0, turned=math.pi / 4)
    assert straight.extent(0.0) == pytest.approx(5 * math.sqrt(2))
    assert turned.extent(0.0) == pytest.approx(5)
    assert turned.radial(math.pi / 4) == pytest.approx(5 * math.sqrt(2))
    assert not Outline(4, 10.0).contains(Outline(4, 9.0, turned=math.pi / 4))
    assert Outline(0, 12.8).contains(Outline(4, 9.0, turned=math.pi / 4))


# --- laps ----------------------------------------------------------------------------------------


def islands(shape, across, cutter, paths, step=0.02):
    """What stands of a pocket after its round opening and these laps [mm²], on a grid.

    Only within what a lap along the flats can reach: a cutter's radius is left in each corner.
    """
    sides = {"hexagon": 6, "square": 4}[shape]
    half = math.pi / sides
    normals = np.array([[math.cos(a), math.sin(a)] for a in half + 2 * half * np.arange(sides)])
    reach = across / 2 / math.cos(half)
    line = np.arange(-reach, reach, step)
    x, y = (each.ravel() for each in np.meshgrid(line, line))
    radius = np.hypot(x, y)
    cleared = radius <= across / 2
    reachable = cleared.copy()
    for path in paths:
        corners = (
            path
            / 2
            / math.cos(half)
            * np.array([[math.cos(a), math.sin(a)] for a in 2 * half * np.arange(sides)])
        )
        away = np.full(len(x), np.inf)
        for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            along = other - one
            share = ((x - one[0]) * along[0] + (y - one[1]) * along[1]) / (along @ along)
            share = np.clip(share, 0, 1)
            away = np.minimum(
                away, np.hypot(x - one[0] - share * along[0], y - one[1] - share * along[1])
            )
        cleared |= away <= cutter / 2
        inside = np.all(np.column_stack([x, y]) @ normals.T <= path / 2 + 1e-12, axis=1)
        reachable |= (away <= cutter / 2) | inside
    return float((reachable & ~cleared).sum() * step**2)


@pytest.mark.parametrize(
    ("shape", "across", "cutter", "count"),
    [
        # A square leaves islands when c < 0.1464 a, a hexagon when c < 0.0670 a; by hand, with the
        # overlap of c/20: (a/2 (1 - cos 45°) - 0.95 c) over (0.8536 c - c/20), rounded up, and one.
        ("square", 24.786, 2.0, 3),  # (3.630 - 1.9)/1.607 = 1.08
        ("square", 24.786, 4.0, 1),
        ("square", 10.0, 1.0, 2),  # (1.464 - 0.95)/0.804 = 0.64
        ("hexagon", 40.0, 1.0, 3),  # (2.679 - 0.95)/0.883 = 1.96
        ("hexagon", 13.8, 6.0, 1),
        ("hexagon", 30.0, 2.0, 2),  # (2.010 - 1.9)/1.766 = 0.06
    ],
)
def test_laps_leave_nothing_standing(shape, across, cutter, count):
    laps = [lap.magnitude for lap in flats.laps(shape, f"{across} mm", f"{cutter} mm")]
    assert len(laps) == count
    assert laps[-1] == pytest.approx(across - cutter)
    assert laps == sorted(laps)
    assert islands(shape, across, cutter, laps) == 0
    if count > 2:
        assert islands(shape, across, cutter, laps[1:]) > 0


def test_one_lap_of_a_wide_square_left_islands():
    # As was found: four of 5.75 mm² each, on the diagonals.
    assert islands("square", 24.786, 2.0, [22.786]) == pytest.approx(4 * 5.75, rel=0.05)


def test_a_cutter_that_fills_the_pocket_makes_no_lap():
    with pytest.raises(flats.FlatsError, match="does not go round"):
        flats.laps("hexagon", "6 mm", "6 mm")


@pytest.mark.parametrize(
    ("half", "along", "expected"),
    [((1.0, 1.0), 11.0, 0.0), ((1.0, 1.0), 13.0, 2.0), ((2.0, 5.0), 9.0, -1.0)],
)
def test_a_box_beside_a_square_by_hand(half, along, expected):
    # A square of 20 with a corner radius of 2, its flats along X and Y: its wall is at 10.
    square = flats.Outline(4, 20.0, 2.0, turned=math.pi / 4)
    gap = square.gap_to_box(half, along, 0.0)
    assert gap == pytest.approx(expected) if expected >= 0 else gap <= 0
