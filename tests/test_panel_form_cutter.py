"""The form cutter panel: what is typed, what is told, and that the last good result stays."""

import ast
import csv
import html
import re

import pytest

from holecalc import checks, sizes
from holecalc.form_cutter import BothFaces, Edge, FormCutter, both_faces
from holecalc.panels import FormCutterPanel

# Invented for the tests: a quarter-round of 6.35 mm over a 12.7 mm stub, row 7 misread.
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


@pytest.fixture(name="panel")
def _panel():
    return FormCutterPanel(
        stub_diameter="4.8 mm", begin_diameter="12.7 mm", largest_diameter="25.4 mm",
        arc_height="6.35 mm", shoulder_height="2 mm", marked_radius="6.35 mm",
        stub_height="5 mm", plate_thickness="19 mm",
    )  # fmt: skip


@pytest.fixture(name="traced")
def _traced():
    return FormCutterPanel(points=TRACE)


def agree(panel):
    """Picture, headline, table, findings, CSV and Python line all say the same."""
    unit = panel.unit.value
    with sizes.shown_in(unit):
        again = eval(panel.python, {"FormCutter": FormCutter, "both_faces": both_faces})
    assert isinstance(again, type(panel.cut))
    edge = again if isinstance(again, Edge) else again.top
    for name in ("offset", "depth", "plate_thickness", "allowance", "leg_on_face", "leg_on_wall"):
        here, there = (sizes.mm(getattr(each, name)) for each in (panel.edge, edge))
        assert here == pytest.approx(there, abs=1e-9), name
    offset, depth = (
        sizes.show(getattr(panel.setting, name), unit, fine=True) for name in ("offset", "depth")
    )
    assert f"offset {offset}, depth {depth}" in panel._headline.value
    across = sizes.show(2 * panel.setting.offset, unit, fine=True)
    assert f"⌀{across}" in panel._headline.value
    with sizes.shown_in(unit):
        speed = panel.fields["spindle_speed"].text or None
        assert str(checks.form_cutter(again, spindle_speed=speed)) == str(panel.findings)
        assert html.escape(edge.face_told) in panel._headline.value
        assert html.escape(edge.face_told) in panel._numbers.value
        assert edge.face_told in panel._figure._face._told.get_text().replace("\n", " ")
    drawn = panel._figure._edge._depth._text.get_text()
    assert drawn == f"depth {sizes.show(edge.depth, unit, fine=True).split()[0]}"
    assert sizes.show(edge.depth, unit, fine=True) in panel._numbers.value
    table = html.unescape(re.search(r"<pre[^>]*>(.*?)</pre>", panel._profile.value, re.S)[1])
    rows = list(csv.DictReader(table.splitlines()))
    unit_of_table = f"{edge.cutter.begin_diameter.units:~P}"
    widest = max(float(row[f"end_radius_{unit_of_table}"]) for row in rows)
    assert 2 * widest == pytest.approx(edge.cutter.largest_diameter.m_as(unit_of_table), abs=2e-5)
    assert "data:image/svg+xml;base64," in panel._picture.value
    assert f"alt='{html.escape(panel._figure.said)}'" in panel._picture.value


def test_it_opens_tangent_to_wall_and_face(panel):
    # By hand: 12.7 / 2 aside, 5 + 6.35 down.
    assert sizes.mm(panel.setting.offset) == pytest.approx(6.35)
    assert sizes.mm(panel.setting.depth) == pytest.approx(11.35)
    assert "tangent to the face, tangent to the wall" in panel._headline.value
    assert panel.fields["offset"].text == "6.350 mm"
    assert not panel.fields["offset"].enabled
    assert panel.python.endswith(".edge('19 mm')")
    agree(panel)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_sliders_show_what_an_error_leaves(panel, unit):
    panel.unit.value = unit
    setting = str(panel.setting)
    panel.depth_error.value = 10
    tenth = "0.100 mm" if unit == "mm" else "0.0039 in"
    assert f"a step of {tenth} down from the face" in panel._headline.value
    assert f">{tenth} deeper<" in panel._depth_off.value
    assert ">as set<" in panel._offset_off.value
    # What is typed at the machine is still the setting without the error.
    assert str(panel.setting) == setting
    assert sizes.mm(panel.edge.depth - panel.setting.depth) == pytest.approx(0.1)
    agree(panel)
    panel.depth_error.value = 0
    panel.offset_error.value = -10
    assert f"a step of {tenth} in from the wall" in panel._headline.value
    agree(panel)
    panel.offset_error.value = 10
    assert "short of tangent to the wall" in panel._headline.value
    assert "further" in panel._offset_off.value
    agree(panel)
    for step in (-50, 50):
        panel.offset_error.value = panel.depth_error.value = step
        agree(panel)


def test_readings_that_disagree_are_named(panel):
    panel.fields["largest_diameter"].text = "26.1 mm"
    evidence = panel.edge.cutter.evidence
    assert evidence.measure_again
    for name in evidence.measure_again:
        assert name.replace("_", " ") in panel._evidence.value
    assert "measure again" in panel._evidence.value
    assert "disagree" in panel._findings.value
    agree(panel)
    # Calipers that may be off by half a millimetre say nothing against it.
    panel.fields["uncertainty"].text = "0.5 mm"
    assert "agree within their uncertainties" in panel._evidence.value
    agree(panel)


def test_traced_points_name_the_stray_and_how_sure_the_radius_is(traced):
    assert "row 7 (height 8.000 mm, diameter 14.520 mm)" in traced._evidence.value
    assert "95 %" in traced._evidence.value
    assert "row 7: 0.138" in [note._text.get_text() for note in traced._figure._points._names]
    assert "▲" in traced._headline.value
    agree(traced)
    traced.fields["held_radius"].text = "6.35"
    assert sizes.mm(traced.edge.cutter.radius) == pytest.approx(6.35)
    assert "held" in traced._evidence.value
    agree(traced)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "holds no points"),
        ("1; 12.7\n2; abc", "row 2"),
        ("1; 12.7\n-2; 12.7", "row 2"),
        ("1; 12.7 mm\n2; 0.5 in", "row 2"),
        ("1; 12.7; 3; 4", "row 1"),
        ("<script>1</script>; 2", "row 1"),
    ],
)
def test_a_wrong_row_marks_the_table_and_keeps_the_last_good_result(traced, typed, said):
    before = traced.cut, traced.python, traced._picture.value
    traced.points.text = typed
    assert "holecalc-wrong" in traced.points.entry._dom_classes
    assert said in traced.points._said.value
    assert "<script" not in traced.points._said.value
    assert "last good" in traced._trouble.value
    assert (traced.cut, traced.python, traced._picture.value) == before
    assert traced.points.text == typed
    traced.points.text = TRACE
    assert "holecalc-wrong" not in traced.points.entry._dom_classes
    assert traced._trouble.value == ""
    agree(traced)


def test_wrong_fields_and_a_wrong_table_are_all_marked_at_once(traced):
    traced.points.text = "1; x"
    traced.fields["plate_thickness"].text = "thick"
    assert "holecalc-wrong" in traced.points.entry._dom_classes
    assert "holecalc-wrong" in traced.fields["plate_thickness"].entry._dom_classes


def test_the_wrong_shape_is_refused_and_told(traced):
    before = traced.cut
    traced.shape.value = "convex"
    assert "concave and not convex" in traced._trouble.value
    assert traced.cut is before


@pytest.mark.parametrize(
    "heading", ["", "height; diameter\n", "diameter; height\n", "height [mm]; diameter [mm]\n"]
)
def test_another_unit_changes_no_size_of_the_table(heading):
    rows = TRACE.splitlines()[1:]
    if heading.startswith("diameter"):
        rows = ["; ".join(reversed(row.split("; "))) for row in rows]
    panel = FormCutterPanel(points=heading + "\n".join(rows))
    radius = sizes.mm(panel.edge.cutter.radius)
    agree(panel)
    panel.unit.value = "in"
    assert panel._trouble.value == ""
    assert "diameter 0.5717 in" in panel._evidence.value
    assert sizes.mm(panel.edge.cutter.radius) == pytest.approx(radius)
    assert sizes.mm(panel.edge.plate_thickness) == pytest.approx(20)
    agree(panel)


def test_changing_the_unit_changes_no_size(panel):
    panel.fields["plate_thickness"].text = "18"
    panel.unit.value = "in"
    assert panel.fields["plate_thickness"].text == "18 mm"
    agree(panel)
    panel.fields["plate_thickness"].text = "0.75"
    assert sizes.mm(panel.edge.plate_thickness) == pytest.approx(19.05)
    agree(panel)


def test_typed_settings(panel):
    panel.find.value = ("offset",)
    assert panel.fields["depth"].enabled
    panel.fields["depth"].text = "11.3 mm"
    assert "short of tangent to the face" in panel._headline.value
    agree(panel)
    panel.find.value = ()
    panel.fields["offset"].text = "6.3"
    assert "a step of 0.050 mm in from the wall" in panel._headline.value
    agree(panel)
    panel.find.value = ("offset", "depth")
    assert panel.fields["depth"].text == "11.350 mm"
    agree(panel)


def test_what_does_not_touch_is_told_and_keeps_the_last_good_result(panel):
    panel.find.value = ()
    before = panel.cut
    panel.fields["depth"].text = "3 mm"
    assert "nothing is cut" in panel._trouble.value
    assert panel.cut is before


def test_both_faces(panel):
    panel.faces.value = "both"
    assert isinstance(panel.cut, BothFaces)
    # 19 - 2 * 6.35
    assert "a flat of 6.300 mm is left" in panel._headline.value
    agree(panel)
    panel.fields["plate_thickness"].text = "12 mm"
    assert "cusp" in panel._headline.value
    agree(panel)


def test_the_stub_and_the_stock(panel):
    panel.fields["allowance"].text = "0.38 mm"
    # 6.35 - 0.38 - 2.4
    assert "clears the 0.380 mm of stock on the wall by 3.570 mm" in panel._numbers.value
    agree(panel)
    panel.fields["stub_diameter"].text = "12.7 mm"
    assert "■ 1 stop" in panel._headline.value
    agree(panel)


def test_a_chamfer_of_a_size_and_a_cove():
    panel = FormCutterPanel(
        "straight", begin_diameter="6 mm", largest_diameter="26 mm", arc_height="10 mm",
        marked_angle="45°", chamfer="2 mm",
    )  # fmt: skip
    # By hand: 3 + (10 - 2)/2 aside, (10 + 2)/2 down.
    assert sizes.mm(panel.setting.offset) == pytest.approx(7)
    assert sizes.mm(panel.setting.depth) == pytest.approx(6)
    agree(panel)
    cove = FormCutterPanel("convex", begin_diameter="6 mm", largest_diameter="18.7 mm",
                           marked_radius="6.35 mm")  # fmt: skip
    assert "square to the face" in cove._headline.value
    agree(cove)


def test_only_what_is_asked_for_is_seen(panel):
    def seen():
        return {name for name, f in panel.fields.items() if f.box.layout.display != "none"}

    assert "marked_radius" in seen()
    assert not {"marked_angle", "chamfer", "trace_uncertainty"} & seen()
    assert panel.points.box.layout.display == "none"
    panel.shape.value = "straight"
    assert {"marked_angle", "chamfer"} <= seen()
    assert "marked_radius" not in seen()
    panel.way.value = "traced points"
    assert panel.points.box.layout.display is None
    assert {"trace_uncertainty", "stub_diameter", "chamfer"} <= seen()
    assert not {"begin_diameter", "held_radius"} & seen()


def test_the_spindle_and_the_bearing(panel):
    panel.fields["spindle_speed"].text = "42000"
    assert "largest diameter, 25.4" in panel._findings.value
    assert "■" in panel._headline.value
    # 50 m/s at 25.4 mm: 50 * 60 / (pi * 0.0254)
    assert "37596 rev/min" in panel._findings.value
    agree(panel)
    assert "Never feed it by hand" in panel._findings.value


def test_a_slider_makes_no_new_cutter(panel):
    cutter = panel.edge.cutter
    panel.depth_error.value = 7
    assert panel.edge.cutter is cutter
    panel.fields["begin_diameter"].text = "12.72 mm"
    assert panel.edge.cutter is not cutter


def test_a_picture_that_cannot_be_drawn_leaves_all_as_it_was(panel, monkeypatch):
    before = panel.cut, panel.python, panel._numbers.value

    def fail(*_, **__):
        raise RuntimeError("no ink")

    monkeypatch.setattr(panel._figure, "draw", fail)
    with pytest.raises(RuntimeError):
        panel.depth_error.value = 5
    assert (panel.cut, panel.python, panel._numbers.value) == before


def test_an_unknown_field_is_refused():
    with pytest.raises(TypeError, match="no such field: stub_diametre"):
        FormCutterPanel(stub_diametre="4 mm")


def test_it_is_shown_as_a_widget_with_a_readable_text(panel):
    bundle = panel._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert bundle["text/plain"].startswith("panel: form cutter")


def test_the_line_of_python_is_one_expression(panel, traced):
    for each in (panel, traced):
        assert isinstance(ast.parse(each.python, mode="eval"), ast.Expression)
