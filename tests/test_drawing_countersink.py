"""The picture agrees with the numbers, and nothing in it runs into anything else."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.text import Text

from holecalc import sizes
from holecalc.countersink import sink
from holecalc.cutters import VeeCutter
from holecalc.drawing import CountersinkFigure
from holecalc.fasteners import FlatHead, flat_head


def scaled(head_mm, angle, *, circle, recess, thickness=None, tip_radius=False):
    """A countersink whose every size goes with the head's diameter."""

    def part(share):
        return sizes.length(share * head_mm, "mm")

    head = FlatHead(part(1), angle, edge_land=part(0.04), shank_diameter=part(0.5))
    tip = {"tip_radius" if tip_radius else "tip_diameter": part(0.03)}
    return sink(
        head,
        VeeCutter(part(0.9), angle, **tip),
        hole_diameter=part(0.56),
        recess=part(recess),
        circle_diameter=part(circle),
        plate_thickness=None if thickness is None else part(thickness),
    )


@pytest.fixture(scope="module")
def figure():
    return CountersinkFigure()


def texts(figure):
    """Bounding boxes of all lettering, in pixels, by what it says."""
    figure.canvas.draw()
    renderer = figure.canvas.get_renderer()
    ticks = [
        tick.label1 if tick.label1.get_visible() else tick.label2
        for axes in figure.figure.axes
        if axes.axison
        for axis in (axes.xaxis, axes.yaxis)
        if axis.get_visible()
        for tick in axis._update_ticks()
    ]
    placed = [text for text in figure.figure.findobj(Text) if text.axes is not None]
    return [
        (text.get_text(), text.get_window_extent(renderer).padded(-1))
        for text in (*placed, *ticks)
        if text.get_visible() and text.get_text().strip()
    ]


CASES = [
    (head, angle, circle, recess, thickness, unit)
    for head in (3, 11.3, 60)
    for angle in (60, 82, 90, 120)
    for circle in (0, 0.08, 0.4)
    for recess in (-0.05, 0, 0.1)
    for thickness in (None, 0.6, 2)
    for unit in ("mm", "in")
]


@pytest.mark.parametrize("case", CASES[::7], ids=lambda case: "-".join(map(str, case)))
def test_lettering_stays_on_the_paper_and_apart(figure, case):
    head, angle, circle, recess, thickness, unit = case
    figure.draw(scaled(head, angle, circle=circle, recess=recess, thickness=thickness), unit)
    found = texts(figure)
    width, height = figure.canvas.get_width_height()
    for said, box in found:
        assert box.x0 >= 0, said
        assert box.y0 >= 0, said
        assert box.x1 <= width, said
        assert box.y1 <= height, said
    for (one, box), (other, another) in itertools.combinations(found, 2):
        assert not box.overlaps(another), f"{one!r} runs into {other!r}"


def test_the_cutter_stands_on_its_circle_and_touches_the_cone(figure):
    made = scaled(11.3, 90, circle=0.3, recess=0)
    figure.draw(made)
    points = figure._cut._cutter._patch.get_xy()
    depth, top = made.cut.base["depth"], made.cut.base["top_diameter"]
    circle = made.cut.base["circle_diameter"]
    tip = points[np.isclose(points[:, 1], -depth)][:, 0]
    assert (tip.min() + tip.max()) / 2 == pytest.approx(circle / 2)
    # The right flank runs from the tip's edge along the line through the face's edge.
    slope = math.tan(sizes.rad(made.cut.included_angle) / 2)
    flank = points[points[:, 0] > circle / 2][:2]
    assert flank[0] == pytest.approx([circle / 2 + made.cut.base["tip_diameter"] / 2, -depth])
    assert flank[1][1] > 0
    for x, y in flank:
        assert x == pytest.approx(top / 2 + y * slope)


@pytest.mark.parametrize("recess", [-0.05, 0.0, 0.1])
def test_the_head_lies_where_the_seat_says(figure, recess):
    made = scaled(11.3, 90, circle=0.3, recess=recess)
    figure.draw(made)
    points = figure._seat._head._patch.get_xy()
    assert points[:, 1].max() == pytest.approx(-sizes.mm(made.seat.recess), abs=1e-9)
    assert points[:, 0].max() == pytest.approx(sizes.mm(made.head.head_diameter) / 2)


def test_the_head_never_enters_the_plate(figure):
    for angle, head_angle in itertools.product((82, 90, 100), repeat=2):
        head = FlatHead("11.3 mm", head_angle, edge_land="0.4 mm", shank_diameter="6 mm")
        made = sink(
            head,
            VeeCutter("14 mm", angle),
            hole_diameter="6.6 mm",
            top_diameter="12.4 mm",
            circle_diameter="2 mm",
            plate_thickness="20 mm",
        )
        figure.draw(made)
        plate = figure._seat._halves[0]._patch.get_path()
        outline = figure._seat._head._patch.get_xy()
        # Points just inside the head's outline, pulled a hair towards the axis.
        inside = [(x - 1e-6, y) for x, y in outline if x > 0 and y < -1e-9]
        assert not plate.contains_points(inside, radius=0).any()


def test_the_written_sizes_are_those_of_the_cut(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("10 mm", 90, tip_diameter="0.2 mm"),
        hole_diameter="6.6 mm",
        circle_diameter="3.6 mm",
        plate_thickness="20 mm",
    )
    figure.draw(made, "mm")
    said = {text for text, _ in texts(figure)}
    assert {"⌀12.60", "⌀6.60", "circle 3.60", "depth 4.40", "cone 3.00", "90°"} <= said
    assert "head ⌀11.30" in said
    assert "flush;\nbears all along the cone" in said
    figure.draw(made, "in")
    said = {text for text, _ in texts(figure)}
    assert {"⌀0.4961", "depth 0.1732"} <= said


def test_the_circle_plot_marks_what_works(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("10 mm", 90),
        hole_diameter="6.6 mm",
        circle_diameter="3.6 mm",
        plate_thickness="20 mm",
    )
    figure.draw(made)
    band = figure._circle._band
    # By hand: 12.6 - 10 at the face, 6.6 - 10/4 at the hole's edge.
    assert band.get_x() == pytest.approx(2.6)
    assert band.get_x() + band.get_width() == pytest.approx(4.1)
    said = {text for text, _ in texts(figure)}
    assert any("cutter too narrow at the face" in text for text in said)
    assert any("tip does the cutting" in text for text in said)
    assert "no circle works" not in said


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("tip", ["tip_diameter", "tip_radius"])
def test_the_circle_plot_draws_what_each_circle_does(figure, tip, unit):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("10 mm", 60, **{tip: "0.5 mm"}),
        hole_diameter="6.6 mm",
        circle_diameter="3.6 mm",
        plate_thickness="20 mm",
    )
    figure.draw(made, unit)
    plot, one = figure._circle, {"mm": 1.0, "in": 1 / 25.4}[unit]
    top, flat = made.cut.base["top_diameter"], sizes.mm(made.cutter.tip_diameter)
    circles, depths = plot._depth.get_data()
    assert circles[0] == 0
    assert circles[-1] == pytest.approx(6.6 * one)
    # z = (D - C - T) / (2 tan 30°) and h = d - C, for every circle drawn and for the one there is.
    slope = 2 * math.tan(math.radians(30))
    np.testing.assert_allclose(depths, (top - circles / one - flat) / slope * one, rtol=1e-9)
    across, at_hole = plot._hole.get_data()
    np.testing.assert_allclose(at_hole, 6.6 * one - across, atol=1e-9)
    here, there = (marker.get_xydata()[0] for marker in (plot._here, plot._there))
    assert here == pytest.approx([3.6 * one, (top - 3.6 - flat) / slope * one])
    assert there == pytest.approx([3.6 * one, 3.0 * one])
    ends = [line.get_xdata()[0] for line in plot._ends]
    assert ends == pytest.approx(
        [sizes.mm(end) * one for end in (made.limits.smallest, made.limits.largest)]
    )


def test_the_depth_is_drawn_as_far_as_there_is_a_cut(figure):
    # A flat of 8 mm reaches the face on a circle of 4.6 mm, inside the hole.
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("16 mm", 90, tip_diameter="8 mm"),
        hole_diameter="6.6 mm",
        circle_diameter="1 mm",
    )
    figure.draw(made)
    circles, depths = figure._circle._depth.get_data()
    assert circles[-1] == pytest.approx(4.6, abs=0.01)
    assert (depths > 0).all()
    assert depths[-1] < 0.01
    assert figure._circle._axes.get_xlim()[1] == pytest.approx(6.6)


LEDGES = {
    # By hand: the tip sweeps C + T, (12.6 - C - T) / 2 down.
    "flat": ({"tip_diameter": "3 mm"}, "5 mm", [(6.3, 0), (4, -2.3), (3.3, -2.3)]),
    "a little": ({"tip_diameter": "3 mm"}, "3.7 mm", [(6.3, 0), (3.35, -2.95), (3.3, -2.95)]),
    "ring": ({}, "9 mm", [(6.3, 0), (4.5, -1.8), (3.3, -0.6)]),
}


@pytest.mark.parametrize("name", LEDGES)
def test_a_ledge_is_drawn_with_its_depth_and_the_head_stands_on_it(figure, name):
    tip, circle, corners = LEDGES[name]
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("16 mm", 90, **tip),
        hole_diameter="6.6 mm",
        circle_diameter=circle,
        plate_thickness="20 mm",
    )
    figure.draw(made, "mm")
    for view in (figure._cut, figure._seat):
        wall = view._halves[0]._patch.get_xy()
        for corner in corners:
            assert any(np.allclose(point, corner, atol=1e-9) for point in wall), corner
    edge = corners[-1][1]
    said = {text for text, _ in texts(figure)}
    assert f"ledge {-edge:.2f}" in said
    assert not any(text.startswith("cone ") for text in said)
    # The mark of the touch stands at the hole's edge, where that is cut.
    mark = figure._seat._contact._line.get_xydata()[:2]
    assert mark.mean(axis=0) == pytest.approx([3.3, edge])
    # The head's cone is 3 mm down from its face where it is as wide as the hole.
    assert figure._seat._head._patch.get_xy()[:, 1].max() == pytest.approx(edge + 3)
    assert any(f"{3 + edge:.3f} mm proud;\ntouches at the hole's edge" in text for text in said)


def test_the_ledge_of_a_rounded_tip_is_drawn_round(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("16 mm", 90, tip_radius="2 mm"),
        hole_diameter="6.6 mm",
        circle_diameter="4.5 mm",
        plate_thickness="20 mm",
    )
    # The flat that the round acts as sweeps only 6.157 mm, less than the hole.
    assert sizes.mm(made.cut.circle_diameter + made.cutter.tip_diameter) < 6.6
    figure.draw(made, "mm")
    wall = figure._cut._halves[0]._patch.get_xy()
    depth = made.cut.base["depth"]
    # Between the hole's edge and the flanks the wall is 2 mm from the centre of the tip.
    on_round = wall[
        (wall[:, 0] > 3.3 - 1e-9) & (wall[:, 0] < 2.25 + math.sqrt(2)) & (wall[:, 1] < 0)
    ]
    on_round = on_round[on_round[:, 1] > -depth]
    assert len(on_round) > 3
    away = np.hypot(on_round[:, 0] - 2.25, on_round[:, 1] + depth - 2)
    np.testing.assert_allclose(away, 2, atol=1e-9)


def test_a_rounded_tip_is_drawn_round(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("10 mm", 90, tip_radius="0.5 mm"),
        hole_diameter="6.6 mm",
        circle_diameter="3.6 mm",
    )
    figure.draw(made)
    points = figure._cut._cutter._patch.get_xy() - [1.8, -made.cut.base["depth"]]
    assert points[:, 1].min() == pytest.approx(0, abs=1e-9)
    # Up to where it runs into the flanks, 0.5 (1 - sin 45°) high, it is 0.5 mm from its centre.
    tip = points[points[:, 1] < 0.5 * (1 - math.sqrt(0.5)) + 1e-9]
    assert len(tip) > 10
    np.testing.assert_allclose(np.hypot(tip[:, 0], tip[:, 1] - 0.5), 0.5, atol=1e-9)
    # The flanks beyond are those of the flat it acts as.
    flank = points[(points[:, 1] > 0.2) & (points[:, 0] > 0)][0]
    assert flank[0] - flank[1] == pytest.approx(0.5 * (math.sqrt(2) - 1))


@pytest.mark.parametrize(
    ("given", "unit"),
    [
        ({"recess": "2 thou", "hole_diameter": "6.6 mm"}, "inches"),
        ({"top_diameter": "1.3 cm", "hole_diameter": "0.66 cm"}, "millimetres"),
        ({"hole_diameter": "0.66 cm"}, "millimetres"),
        ({"hole_diameter": "260 thou"}, "inches"),
    ],
    ids=str,
)
def test_sizes_in_other_units_are_drawn_in_millimetres_or_inches(figure, given, unit):
    figure.draw(
        sink(flat_head("ISO 7046-2", "M6"), VeeCutter("10 mm", 90), circle_diameter="3 mm", **given)
    )
    assert any(unit in text for text, _ in texts(figure))


def test_no_circle_that_works_is_said(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("7 mm", 90),
        hole_diameter="6.6 mm",
        circle_diameter="5 mm",
        plate_thickness="20 mm",
    )
    assert not made.limits.workable
    figure.draw(made)
    assert "no circle works" in {text for text, _ in texts(figure)}


def test_redrawing_makes_no_new_artists(figure):
    figure.draw(scaled(11.3, 90, circle=0.3, recess=0))
    before = len(figure.figure.findobj())
    for circle in (0, 0.1, 0.2, 0.3):
        figure.draw(scaled(11.3, 90, circle=circle, recess=0.1, tip_radius=True))
        figure.png()
    figure.draw(scaled(11.3, 90, circle=0.3, recess=0))
    figure.png()
    assert len(figure.figure.findobj()) <= before + 60  # ticks are made by matplotlib as needed
    again = len(figure.figure.findobj())
    for circle in (0, 0.1, 0.2, 0.3):
        figure.draw(scaled(11.3, 90, circle=circle, recess=0.1))
        figure.png()
    figure.draw(scaled(11.3, 90, circle=0.3, recess=0))
    figure.png()
    assert len(figure.figure.findobj()) == again


def test_a_cone_through_a_thin_plate_keeps_its_angle_and_opens_the_far_face(figure):
    made = sink(
        flat_head("ISO 7046-2", "M6"),
        VeeCutter("14 mm", 90),
        hole_diameter="6.6 mm",
        circle_diameter="2 mm",
        plate_thickness="2 mm",
    )
    figure.draw(made, "mm")
    outline = figure._cut._halves[0]._patch.get_xy()
    # 12.6 wide in the face, and at 90° by 2 * 2 mm narrower at the far face: 8.6.
    assert any(np.allclose(point, [6.3, 0.0]) for point in outline)
    assert any(np.allclose(point, [4.3, -2.0]) for point in outline)
    assert "⌀8.60" in {text for text, _ in texts(figure)}
    head = figure._seat._head._patch.get_xy()
    right = head[head[:, 0] > 0]
    assert (np.diff(right[:4, 1]) <= 0).all()
