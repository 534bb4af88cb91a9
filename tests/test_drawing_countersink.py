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
    return [
        (text.get_text(), text.get_window_extent(renderer).padded(-1))
        for text in figure.figure.findobj(Text)
        if text.get_visible() and text.get_text().strip() and text.axes is not None
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
    # Every point of the right flank lies on the line through the face's edge and the cone's end.
    slope = math.tan(sizes.rad(made.cut.included_angle) / 2)
    flank = points[1]
    assert flank[0] <= top / 2 + flank[1] * slope + 1e-9


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
    assert "flush; bears along the cone" in said
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
