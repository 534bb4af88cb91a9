"""Panels: what is typed, what is told, and that the last good result is never lost."""

import html
import re

import pytest

from holecalc import checks, countersink, cutters, fasteners, sizes
from holecalc.countersink import CUT
from holecalc.cutting import FEED
from holecalc.gauging import BALL
from holecalc.panels import CountersinkPanel, SizePanel, SolverPanel
from holecalc.relations import Relations


@pytest.fixture(name="panel")
def _panel():
    return CountersinkPanel("ISO 7046-2", "M6")


def rerun(line):
    """The countersink that a panel's line of Python makes, as in a cell of a notebook."""
    names = {
        "sink": countersink.sink,
        "VeeCutter": cutters.VeeCutter,
        "FlatHead": fasteners.FlatHead,
        "flat_head": fasteners.flat_head,
    }
    return eval(line, names)


def agree(panel):
    """Picture, table, headline, findings and Python line all say the same."""
    again = rerun(panel.python)
    for name, value in panel.sink.cut.base.items():
        assert again.cut.base[name] == pytest.approx(value, abs=1e-9)
    assert sizes.mm(again.seat.recess) == pytest.approx(sizes.mm(panel.sink.seat.recess), abs=1e-9)
    unit = panel.unit.value
    depth = sizes.show(panel.sink.cut.depth, unit, fine=True)
    assert f"depth {depth}" in panel._headline.value
    stopped = panel.findings.worst is checks.Weight.STOP
    assert ("■ not as it stands" in panel._headline.value) == stopped
    assert depth in panel._numbers.value
    with sizes.shown_in(unit):
        assert str(checks.countersink(again)) == str(panel.findings)
    drawn = panel._figure._cut._depth._text.get_text()
    assert drawn == f"depth {sizes.show(panel.sink.cut.depth, unit).split()[0]}"
    assert "data:image/svg+xml;base64," in panel._picture.value
    assert f"alt='{html.escape(panel._figure.said)}'" in panel._picture.value


def test_it_opens_on_a_flush_head_with_nothing_found(panel):
    # By hand: (12.6 - 3.6 - 0.2) / 2 at 90°.
    assert sizes.mm(panel.sink.cut.depth) == pytest.approx(4.4)
    assert not panel.findings
    assert "nothing found" in panel._findings.value
    agree(panel)


def test_a_typed_circle_moves_the_depth(panel):
    panel.fields["circle"].text = "1/8 in"
    # (12.6 - 3.175 - 0.2) / 2
    assert sizes.mm(panel.sink.cut.depth) == pytest.approx(4.6125)
    assert panel.fields["circle"]._read_as.value == "= 3.175 mm"
    agree(panel)


@pytest.mark.parametrize("wrong", ["12.6 kg", "abc", "", "1/0", "9**9**9"])
def test_a_wrong_entry_marks_its_field_and_keeps_the_last_good_result(panel, wrong):
    before = (panel.sink, panel._picture.value, panel._numbers.value, panel.python)
    field = panel.fields["plate_thickness"]
    field.text = wrong
    assert "holecalc-wrong" in field.entry._dom_classes
    assert "✗" in field._why.value
    assert field._why.layout.display is None
    assert "last good" in panel._trouble.value
    assert (panel.sink, panel._picture.value, panel._numbers.value, panel.python) == before
    assert field.text == wrong
    field.text = "18 mm"
    assert "holecalc-wrong" not in field.entry._dom_classes
    assert field._why.layout.display == "none"
    assert panel._trouble.value == ""
    agree(panel)


def test_every_wrong_field_is_marked_at_once(panel):
    panel.fields["cutting_diameter"].text = "wide"
    panel.fields["hole_diameter"].text = "round"
    # With this the head is measured, and what was not read of it must not hide the others.
    panel.fields["head_angle"].text = "steep"
    for name in ("cutting_diameter", "hole_diameter", "head_angle"):
        assert "holecalc-wrong" in panel.fields[name].entry._dom_classes


def test_what_cannot_be_done_is_told_and_keeps_the_last_good_result(panel):
    before = panel.sink
    panel.fields["hole_diameter"].text = "12 mm"
    assert "falls through" in panel._trouble.value
    assert panel.sink is before


def test_typed_markup_is_escaped(panel):
    panel.fields["depth"].enabled = True
    panel.fields["plate_thickness"].text = "<script>x</script>"
    assert "<script>" not in panel.fields["plate_thickness"]._why.value


def test_changing_the_unit_changes_no_size(panel):
    panel.fields["plate_thickness"].text = "18"
    before = dict(panel.sink.cut.base)
    panel.unit.value = "in"
    assert panel.fields["plate_thickness"].text == "18 mm"
    assert panel.sink.cut.base == pytest.approx(before)
    assert sizes.mm(panel.sink.plate_thickness) == 18
    agree(panel)
    panel.fields["circle"].text = "0.125"
    assert sizes.mm(panel.sink.cut.circle_diameter) == pytest.approx(3.175)
    agree(panel)


@pytest.mark.parametrize("find", ["depth", "circle", "lie"])
def test_each_of_the_three_follows_from_the_other_two(panel, find):
    panel.fields["lie"].text = "0.2 mm"
    panel.fields["circle"].text = "3.3 mm"

    def told():
        return {
            name: sizes.mm(sizes.length(panel.fields[name].text, "mm"))
            for name in ("lie", "circle", "depth")
        }

    before = told()
    panel.find.value = find
    assert told() == pytest.approx(before)
    assert [name for name in before if not panel.fields[name].enabled] == [find]
    agree(panel)


def test_a_top_diameter_may_be_given_instead_of_a_recess(panel):
    panel.lie.value = "top diameter"
    assert panel.fields["lie"].text == "12.600 mm"
    panel.fields["lie"].text = "11.3 mm"
    assert sizes.mm(panel.sink.seat.recess) == pytest.approx(-0.65)
    assert "11.300 mm" in str(panel.findings)
    assert "12.600 mm" in str(panel.findings)
    agree(panel)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_slider_runs_through_the_circles_that_work(panel, unit):
    panel.unit.value = unit
    # By hand: 12.6 - 10 at the face, 6.6 - 10/4 at the hole's edge.
    for step, circle in ((0, 2.6), (100, 4.1), (50, 3.35)):
        panel.slider.entry.value = step
        assert sizes.mm(panel.sink.cut.circle_diameter) == pytest.approx(circle, abs=0.002)
        assert not panel.findings
        assert panel.slider.entry.value == step
        agree(panel)


def test_a_typed_circle_moves_the_slider(panel):
    panel.fields["circle"].text = "3.35 mm"
    assert panel.slider.entry.value == 50
    assert panel.fields["circle"].text == "3.35 mm"
    panel.fields["circle"].text = "6 mm"
    assert panel.slider.entry.value == 100
    assert panel.fields["circle"].text == "6 mm"


def test_another_standard_fills_in_head_and_hole(panel):
    panel.standard.value = "ASME B18.6.3 82°"
    panel.size.value = "1/4"
    assert panel.fields["head_angle"].text == "82°"
    # ASME B18.2.8, 1/4 in, normal fit: 9/32 in.
    assert panel.fields["hole_diameter"].text == "9/32 in"
    panel.fit.value = "close"
    assert panel.fields["hole_diameter"].text == "17/64 in"
    agree(panel)


def test_every_standard_and_size_makes_a_picture(panel):
    for standard in fasteners.FLAT_HEAD_STANDARDS:
        panel.standard.value = standard
        for size in fasteners.flat_head_sizes(standard):
            panel.size.value = size
            head = fasteners.flat_head(standard, size)
            if size == "#12":
                # ASME B18.2.8 as published in the data set has no #12.
                assert "no clearance hole for #12" in panel._trouble.value
                panel.fields["hole_diameter"].text = "0.2280 in"
                assert panel.fit.value == "measured"
                agree(panel)
                panel.fit.value = "normal"
                continue
            if panel._trouble.value:
                # Only where the panel's cut cannot be: the circle is wider than the sink.
                assert "depth would have to be" in panel._trouble.value
                continue
            assert panel.sink.head == head
            agree(panel)


def test_a_measured_head_keeps_nothing_of_the_tables(panel):
    before = panel.sink
    panel.fields["head_diameter"].text = "11.1 mm"
    assert panel.standard.value == "measured"
    assert panel.fields["edge_land"].text == ""
    assert "edge land is not the table's: type it" in html.unescape(panel._trouble.value)
    assert panel.sink is before
    panel.fields["edge_land"].text = "0.65 mm"
    assert sizes.mm(panel.sink.head.head_diameter) == pytest.approx(11.1)
    assert "FlatHead('11.1 mm'" in panel.python
    agree(panel)


def test_a_head_may_be_measured_by_its_height(panel):
    panel.edge.value = "head height"
    # From the table, ISO 7046-2: k = 3.3 mm.
    assert panel.fields["edge_land"].text == "3.300 mm"
    panel.fields["head_diameter"].text = "11.1 mm"
    panel.fields["edge_land"].text = "3.3 mm"
    # By hand: 3.3 - (11.1 - 6) / 2 = 0.75 of land, sharp at 12.6, depth (12.6 - 3.6 - 0.2) / 2.
    assert sizes.mm(panel.sink.head.edge_land) == pytest.approx(0.75)
    assert sizes.mm(panel.sink.cut.depth) == pytest.approx(4.4)
    assert panel.python.startswith("sink(FlatHead.from_height(")
    agree(panel)


def test_the_first_part_says_what_to_change(panel):
    panel.fields["measured_top"].text = "12.75"
    # By hand: 0.15 too wide is 0.075 too deep at 90°.
    assert "depth: from 4.400 mm to 4.325 mm" in panel._headline.value
    panel.fields["measured_top"].text = "12.6"
    assert "leave depth" in panel._headline.value
    panel.fields["measured_top"].text = ""
    assert "next part" not in panel._headline.value
    agree(panel)


def test_the_headline_tells_a_head_that_touches_only_at_an_edge(panel):
    assert "touches" not in panel._headline.value
    # The demo's 90° head in a cone of 82°.
    panel.fields["included_angle"].text = "82"
    assert "head flush, touches at its rim" in panel._headline.value


def test_the_headline_does_not_praise_what_cannot_be_cut(panel):
    panel.fields["circle"].text = "12 mm"
    assert "■ not as it stands" in panel._headline.value
    assert "flush" not in panel._headline.value


def test_another_standard_takes_the_nearest_size(panel):
    panel.standard.value = "ASME B18.6.3 82°"
    # 6 mm is 0.236 in: nearer to 1/4 (0.250) than to #12 (0.216).
    assert panel.size.value == "1/4"


def test_the_fit_follows_the_size_of_a_measured_head_too(panel):
    panel.fields["head_diameter"].text = "11.1 mm"
    panel.fields["edge_land"].text = "0.75 mm"
    panel.fit.value = "close"
    # ISO 273, M6: close 6.4 mm, loose 7 mm.
    assert panel.fields["hole_diameter"].text == "6.4 mm"
    panel.fit.value = "loose"
    assert panel.fields["hole_diameter"].text == "7 mm"
    assert panel.standard.value == "measured"
    agree(panel)


def test_where_no_circle_works_there_is_nothing_to_slide(panel):
    panel.fields["cutting_diameter"].text = "6 mm"
    assert not panel.sink.limits.workable
    assert panel.slider.entry.disabled
    panel.fields["cutting_diameter"].text = "10 mm"
    assert not panel.slider.entry.disabled


def test_a_picture_that_cannot_be_drawn_leaves_all_as_it_was(panel, monkeypatch):
    before = (panel.sink, panel.python, panel._numbers.value)

    def fail(*_):
        raise RuntimeError("no ink")

    monkeypatch.setattr(panel._figure, "draw", fail)
    with pytest.raises(RuntimeError):
        panel.fields["circle"].text = "3 mm"
    assert (panel.sink, panel.python, panel._numbers.value) == before


def test_a_stop_is_told_first(panel):
    panel.fields["cutting_diameter"].text = "8 mm"
    assert "■ 1 stop" in panel._headline.value
    assert "<b>■ stop</b>" in panel._findings.value
    assert "9.000 mm" in panel._findings.value


def test_a_round_tip(panel):
    panel.tip.value = "round"
    panel.fields["tip_size"].text = "0.5 mm"
    assert sizes.mm(panel.sink.cut.tip_diameter) == pytest.approx(0.41421, abs=1e-5)
    agree(panel)


def test_a_panel_is_shown_as_a_widget_with_a_readable_text(panel):
    bundle = panel._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert bundle["text/plain"] == repr(panel)
    assert "0x" not in bundle["text/plain"]


# --- solver ----------------------------------------------------------------------------------


@pytest.mark.parametrize("relations", [CUT, BALL], ids=lambda relations: relations.title)
def test_the_solver_finds_whatever_is_left_empty(relations: Relations):
    known = {
        CUT.title: {
            "top_diameter": "12.6", "circle_diameter": "4", "tip_diameter": "0.2",
            "included_angle": "90",
        },
        BALL.title: {"ball_diameter": "12", "top_diameter": "12.6", "included_angle": "90"},
    }[relations.title]  # fmt: skip
    wanted = "depth" if relations is CUT else "protrusion"
    panel = SolverPanel(relations, called="these", **known)
    again = eval(panel.python, {"these": relations})
    assert again.base == pytest.approx(panel.solution.base)
    first = panel.solution[wanted]
    shown = sizes.show(first, fine=True)
    assert shown in panel._numbers.value
    panel.fields[wanted].text = shown
    panel.fields["top_diameter"].text = ""
    assert sizes.mm(panel.solution["top_diameter"]) == pytest.approx(12.6, abs=2e-3)
    assert "worked out" in panel._worked.value


def test_the_solver_says_what_is_missing_and_keeps_the_last_answer():
    panel = SolverPanel(BALL, ball_diameter="12", top_diameter="12.6", included_angle="90")
    before, told = panel.solution, panel._numbers.value
    panel.fields["top_diameter"].text = ""
    assert "Give one of: top diameter" in panel._trouble.value
    assert "_" not in panel._trouble.value
    assert "last good result" in panel._trouble.value
    assert panel.solution is before
    assert panel._numbers.value == told
    panel.fields["top_diameter"].text = "8"
    assert "too large for the cone" in panel._trouble.value
    panel.fields["top_diameter"].text = "13"
    assert panel._trouble.value == ""
    assert panel.solution is not before


def test_the_solver_changes_unit_without_changing_a_size():
    panel = SolverPanel(BALL, ball_diameter="12", top_diameter="12.6", included_angle="90")
    before = panel.solution.base["protrusion"]
    panel.unit.value = "in"
    assert panel.solution.base["protrusion"] == pytest.approx(before)
    assert sizes.show(panel.solution.protrusion, "in") in panel._numbers.value
    assert re.search(r"ball_diameter|ball diameter", panel._numbers.value)


def test_the_solver_reads_counts_speeds_and_feeds():
    panel = SolverPanel(
        FEED, called="FEED", spindle_speed="18,000 rpm", flutes="1", chip_load="0.25",
        bore_diameter="9", cutter_diameter="6",
    )  # fmt: skip
    # By hand: 18000 * 0.25, and 4500 * 3 / 9.
    assert "4500 mm/min" in panel._numbers.value
    assert "1500 mm/min" in panel._numbers.value
    assert "59.06 in/min" in panel._numbers.value
    again = eval(panel.python, {"FEED": FEED})
    assert again.base["axis_feed"] == pytest.approx(panel.solution.base["axis_feed"])
    panel.fields["chip_load"].text = ""
    panel.fields["wall_feed"].text = "2400"
    panel.unit.value = "in"
    assert panel.fields["wall_feed"].text == "2400 mm/min"
    assert panel.solution.base["axis_feed"] == pytest.approx(800)
    panel.fields["wall_feed"].text = "2400 kg"
    assert "✗" in panel.fields["wall_feed"]._why.value


def test_the_size_panel():
    panel = SizePanel()
    panel.fields["size"].text = "#7"
    # ASME B94.11M: number 7 is 0.2010 in.
    assert "0.2010 in" in panel._told.value
    panel.fields["size"].text = "12.6 kg"
    assert "0.2010 in" in panel._told.value
    assert "kg" in panel.fields["size"]._why.value
