"""The picture of a form cutter agrees with its numbers, and nothing in it runs into anything."""

import itertools
import math

import numpy as np
import pytest
from matplotlib.text import Text

from holecalc import sizes
from holecalc.drawing import FormCutterFigure
from holecalc.form_cutter import FormCutter, FormCutterError, both_faces

# Invented for the test: a quarter-round of 6.35 mm over a 12.7 mm stub, row 7 misread.
TRACE = """height [mm]; diameter [mm]
1; 12.71
3; 12.69
5; 12.70
6; 12.86
7; 13.35
8; 14.52
9; 15.53
10; 17.58
11; 21.25
12; 25.40
13; 25.39"""


@pytest.fixture(scope="module")
def figure():
    return FormCutterFigure()


def texts(figure):
    """Bounding boxes of all lettering that is shown, in pixels, by what it says."""
    figure.canvas.draw()
    renderer = figure.canvas.get_renderer()
    return [
        (text.get_text(), text.get_window_extent(renderer).padded(-1))
        for text in figure.figure.findobj(Text)
        if text.axes is not None and text.axes.get_visible()
        and text.get_visible() and text.get_text().strip()
    ]  # fmt: skip


def said(figure):
    return {text for text, _ in texts(figure)}


def nothing_overlaps(figure):
    found = texts(figure)
    width, height = figure.canvas.get_width_height()
    for told, box in found:
        assert box.x0 >= 0, told
        assert box.y0 >= 0, told
        assert box.x1 <= width, told
        assert box.y1 <= height, told
    for (one, box), (other, another) in itertools.combinations(found, 2):
        assert not box.overlaps(another), f"{one!r} runs into {other!r}"


def sized(shape, radius, begin, stub, shoulder, sweep):
    """A cutter whose every size goes with its radius."""

    def part(share):
        return sizes.length(share * radius, "mm")

    sides: dict = {
        "stub_diameter": part(begin * stub), "stub_height": part(0.6 if stub < 1 else 0),
        "shoulder_height": None if shoulder is None else part(shoulder),
        "shank_diameter": None if shoulder is None else part(1.2),
    }  # fmt: skip
    if shape == "straight":
        return FormCutter(
            shape, begin_diameter=part(begin), flank_angle=sweep / 2, arc_height=part(1), **sides
        )
    ends = {"end_angle": sweep} if shape == "concave" else {"begin_angle": sweep}
    return FormCutter(shape, begin_diameter=part(begin), radius=part(1), **ends, **sides)


CUTTERS = list(
    itertools.product(
        ("concave", "convex", "straight"), (1, 6.35, 40), (0.5, 2, 8), (0.4, 1), (None, 0.2, 2),
        (60, 90),
    )
)  # fmt: skip
EDGES = list(
    itertools.product((0.8, 1.6, 6), (0, 0.15), (0, -0.08, 0.08), (False, True), ("mm", "in"))
)


@pytest.mark.parametrize(
    ("of", "at"),
    # Two grids walked side by side with steps that have nothing in common.
    [(CUTTERS[k * 7 % len(CUTTERS)], EDGES[k * 11 % len(EDGES)]) for k in range(160)],
    ids=lambda case: "-".join(map(str, case)),
)
def test_lettering_stays_on_the_paper_and_apart(figure, of, at):
    cutter = sized(*of)
    plate, stock, error, both, unit = at
    tangent, radius = cutter.tangent_setting(), sizes.length(of[1], "mm")
    try:
        edge = cutter.edge(
            plate * radius,
            offset=tangent.offset - error * radius,
            depth=tangent.depth + error * radius,
            allowance=stock * radius,
        )
    except FormCutterError:
        # The axis would run inside the plate: nearer than the tangent setting, or in its stock.
        assert sizes.mm(tangent.offset) < (max(error, 0) + stock) * of[1] + 1e-9
        return
    figure.draw(both_faces(edge) if both else edge, unit)
    nothing_overlaps(figure)


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("held", [None, "6.35 mm"])
def test_traced_points_and_many_strays_keep_apart(figure, unit, held):
    rows = TRACE.splitlines()
    traced = FormCutter.from_trace(TRACE, uncertainty="0.01 mm", radius=held)
    figure.draw(traced.edge("20 mm"), unit)
    nothing_overlaps(figure)
    heights = np.linspace(5.2, 11.2, 40)
    rows = [
        f"{h:.3f}; {25.4 - 2 * math.sqrt(6.35**2 - (h - 5) ** 2) + (0.4 if k % 4 == 0 else 0):.3f}"
        for k, h in enumerate(heights)
    ]
    worn = FormCutter.from_trace("\n".join(rows), uncertainty="0.005 mm", unit="mm", radius=held)
    assert len(worn.evidence.strays) >= 9
    figure.draw(worn.edge("20 mm"), unit)
    nothing_overlaps(figure)
    assert f"and {len(worn.evidence.strays) - 6} more" in said(figure)


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("shape", ["concave", "convex", "straight"])
def test_every_caliper_reading_has_its_row(figure, unit, shape):
    marked = {"marked_angle": 45} if shape == "straight" else {"marked_radius": "6.35 mm"}
    cutter = FormCutter.from_calipers(
        shape, stub_diameter="4.8 mm", begin_diameter="12.7 mm", largest_diameter="27 mm",
        arc_height="6.3 mm", shoulder_height="1.1 mm", stub_height="6 mm", **marked,
    )  # fmt: skip
    figure.draw(cutter.edge("19 mm", allowance="0.38 mm"), unit)
    nothing_overlaps(figure)
    found = said(figure)
    for row in cutter.evidence.rows:
        mark = "✗ " if row.name in cutter.evidence.measure_again else ""
        assert f"{mark}{row.label}" in found
    assert any("measure again" in text for text in found)


def test_the_written_sizes_are_those_of_the_cutter_and_the_edge(figure):
    cutter = FormCutter(
        "concave", begin_diameter="12.7 mm", radius="6.35 mm", stub_diameter="4.8 mm",
        stub_height="5 mm", shoulder_height="1 mm",
    )  # fmt: skip
    figure.draw(cutter.edge("19 mm", allowance="0.38 mm"), "mm")
    # By hand: 12.7 + 2 * 6.35 across, 5 + 6.35 deep, 6.35 - 0.38 - 2.4 beside the stub.
    assert {"largest ⌀25.400", "begins ⌀12.700", "stub ⌀4.800", "R6.350", "5.000", "1.000"} <= said(
        figure
    )
    assert {"offset 6.350", "depth 11.350", "plate 19.000"} <= said(figure)
    assert "the stub clears the 0.380 mm of stock on the wall by 3.570 mm" in " ".join(
        text.replace("\n", " ") for text in said(figure)
    )
    figure.draw(cutter.edge("19 mm"), "in")
    assert {"largest ⌀1.0000", "R0.2500", "depth 0.4469"} <= said(figure)


def test_a_step_of_a_tenth_is_drawn_as_deep_as_it_is_and_told(figure):
    cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    figure.draw(cutter.edge("19 mm", depth="6.45 mm"))
    outline = figure._face._plate._patch.get_xy()
    assert any(np.allclose(at, [6.35, -0.1]) for at in outline)
    assert any(np.allclose(at, [6.35, 0.0]) for at in outline)
    assert "a step of 0.100 mm down from\nthe face\ndashed: wanted" in said(figure)
    assert "tangent to the wall" in said(figure)
    # The step takes a twelfth of the frame's height at least, so that it is seen.
    low, high = figure._face.axes.get_ylim()
    assert 0.1 / (high - low) > 1 / 12
    figure.draw(cutter.edge("19 mm"))
    assert {"tangent to the face", "tangent to the wall"} <= said(figure)


def test_the_cutter_stands_at_its_offset_and_depth_and_never_in_the_plate(figure):
    for shape, offset, depth in itertools.product(
        ("concave", "convex", "straight"), (-0.2, 0.2), (-0.2, 0.2)
    ):
        cutter = sized(shape, 6.35, 2, 1, 0.5, 90)
        best = cutter.tangent_setting()
        edge = cutter.edge(
            "19 mm",
            offset=best.offset + sizes.from_mm(offset),
            depth=best.depth + sizes.from_mm(depth),
        )
        figure.draw(edge)
        body = figure._edge._cutter._patch.get_xy()
        assert body[:, 0].min() == pytest.approx(-sizes.mm(edge.offset))
        assert body[:, 1].min() == pytest.approx(-sizes.mm(edge.depth))
        plate = figure._edge._plate._patch.get_path()
        centre = np.array([-sizes.mm(edge.offset), 0.0])
        # A chord of an arc runs up to 0.002 mm beside it.
        inside = body + 0.01 * (centre - body) / np.hypot(*(centre - body).T)[:, None]
        assert not plate.contains_points(inside).any()


def test_points_are_drawn_off_the_profile_by_their_errors_enlarged(figure):
    cutter = FormCutter.from_trace(TRACE, uncertainty="0.01 mm")
    figure.draw(cutter.edge("20 mm"))
    told = next(text for text in said(figure) if text.startswith("errors drawn"))
    times = float(told.split()[2])
    good = figure._points._good.get_xydata()
    strays = figure._points._strays.get_xydata()
    rows, parts = cutter.evidence.trace.rows, cutter.evidence.parts
    assert len(good) == sum(parts[row] != "nothing" for row in rows)
    assert [f"row {row}" for row in rows if parts[row] == "nothing"] == ["row 7"]
    assert len(strays) == 1
    assert "row 7: 0.138" in said(figure)
    centre = np.array([sizes.mm(cutter.centre_diameter) / 2, sizes.mm(cutter.centre_height)])
    radius = sizes.mm(cutter.radius)
    fit = cutter.evidence.fit
    for row, error in zip(fit.trace.rows, fit.solved.errors, strict=True):
        index = [other for other in rows if parts[other] != "nothing"]
        if parts[row] == "arc":
            drawn = math.dist(good[index.index(row)], centre) - radius
            assert drawn == pytest.approx(times * error, abs=1e-3 * times)


def test_two_faces_show_the_flat_or_the_cusp(figure):
    quarter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    figure.draw(both_faces(quarter.edge("19 mm")))
    # 19 - 2 * 6.35
    assert "flat 6.300" in said(figure)
    assert "at the wall" in said(figure)
    figure.draw(both_faces(quarter.edge("12 mm")))
    # At the ridge, 0.35 below the arc's middle: acos(0.35/6.35) from level, either way.
    assert f"a cusp of {180 - 2 * math.degrees(math.asin(0.35 / 6.35)):.1f}°" in said(figure)
    assert "where the cuts meet" in said(figure)
    assert not any(text.startswith("flat") for text in said(figure))
    plate = figure._edge._plate._patch.get_xy()
    assert plate[:, 1].min() == pytest.approx(-12)
    nothing_overlaps(figure)


def test_stock_is_drawn_outside_the_finished_wall(figure):
    quarter = FormCutter(
        "concave", begin_diameter="12.7 mm", radius="6.35 mm", stub_diameter="5 mm",
        stub_height="4 mm",
    )  # fmt: skip
    figure.draw(quarter.edge("19 mm", allowance="0.5 mm"))
    stock = figure._edge._stock._patch
    assert stock.get_visible()
    assert stock.get_xy()[:, 0].min() == pytest.approx(-0.5)
    assert stock.get_xy()[:, 0].max() == pytest.approx(0.0, abs=1e-9)
    figure.draw(quarter.edge("19 mm"))
    assert not stock.get_visible()


def test_redrawing_makes_no_new_artists(figure):
    quarter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    traced = FormCutter.from_trace(TRACE, uncertainty="0.01 mm")
    before = None
    for _ in range(3):
        for cut in (quarter.edge("19 mm"), both_faces(quarter.edge("12 mm")), traced.edge("19 mm")):
            figure.draw(cut)
            figure.png()
        count = len(figure.figure.findobj())
        assert before in (None, count)
        before = count
