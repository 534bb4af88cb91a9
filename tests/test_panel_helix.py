"""The helix panel: what is typed, what is told, and that the last good result is never lost."""

import html

import pytest

from holecalc import checks, cutters, cutting, helix, sizes
from holecalc.export import listing
from holecalc.panels import HelixPanel


@pytest.fixture(name="panel")
def _panel():
    return HelixPanel(
        bore_diameter="9 mm", cutting_diameter="6 mm", flutes="1", cutting_length="22 mm",
        reach="30 mm", passes="8", spindle_speed="18000", wall_feed="2400",
    )  # fmt: skip


def rerun(line):
    """The run that a panel's line of Python makes, as in a cell of a notebook."""
    return eval(line, {"run": cutting.run, "bore": helix.bore, "EndMill": cutters.EndMill})


def agree(panel):
    """Picture, table, headline, findings, listing and Python line all say the same."""
    again, run, unit = rerun(panel.python), panel.run, panel.unit.value
    assert len(again.rings) == len(run.rings)
    for one, other in zip(again.rings, run.rings, strict=True):
        for name, value in other.ring.cut.base.items():
            assert one.ring.cut.base[name] == pytest.approx(value, abs=1e-9)
        assert one.axis_feed.m_as("mm/min") == pytest.approx(other.axis_feed.m_as("mm/min"))
    assert again.time.m_as("s") == pytest.approx(run.time.m_as("s"))
    with sizes.shown_in(unit):
        for ring in run.rings:
            cut = ring.ring.cut
            told = (sizes.show_rate(cut.passes), sizes.show_rate(ring.axis_feed))
            told += tuple(sizes.show(cut[name], fine=True) for name in ("path_diameter", "pitch"))
            for text in (*told, sizes.show(run.bore.depth, fine=True)):
                assert text in panel._headline.value
        assert sizes.show(run.bore.cut.ramp_angle) in panel._numbers.value
        assert sizes.show_rate(run.time) in panel._numbers.value
        assert panel._figure._told._cells[0][1].get_text() == sizes.show_rate(run.time)
        given = [
            name for name, field in panel.fields.items() if name == "typed_feed" and field.text
        ]
        typed = panel.fields["typed_feed"].read(unit) if given else None
        starting = None
        if panel.material.value in cutting.materials():
            starting = cutting.starting(panel.material.value, again.bore.cutter)
        found = checks.helix(again.bore, again, typed_feed=typed, starting=starting)
        assert str(found) == str(panel.findings)
    drawn = panel._figure._above._path_diameter._text.get_text()
    assert drawn == f"path ⌀{sizes.show(run.bore.cut.path_diameter, unit).split()[0]}"
    assert html.escape(listing.bore(again)) in panel._listing.value
    assert "data:image/svg+xml;base64," in panel._picture.value
    assert f"alt='{html.escape(panel._figure.said)}'" in panel._picture.value


def test_it_tells_what_is_typed_at_the_control(panel):
    # By hand: 9 - 6; 20.5 / 8; 2400 * 3 / 9.
    told = "path 3.000 mm, 8 turns of 2.563 mm down to 20.500 mm, feed 800 mm/min"
    assert told in panel._headline.value
    agree(panel)


def test_the_demo_bore_is_cut_in_rings():
    panel = HelixPanel()
    # By hand: 47 is more than 2 * 12, and 47 - 12 = 35 is the last path.
    assert len(panel.run.rings) > 1
    assert panel.run.bore.core_diameter is None
    assert "4 rings" in panel._headline.value
    assert "35.000 mm" in panel._headline.value
    assert not [each for each in panel.findings if each.weight is checks.Weight.STOP]
    agree(panel)


def test_a_core_is_told_as_loose():
    panel = HelixPanel()
    panel.middle.value = True
    assert "■ 1 stop" in panel._headline.value
    # By hand: 47 - 2 * 12.
    assert "A core of 23.000 mm comes loose" in panel._findings.value
    assert "23.000 mm" in panel._numbers.value
    agree(panel)


@pytest.mark.parametrize("find", ["limits", "pitch", "passes"])
def test_turns_and_pitch_follow_from_each_other_and_from_limits(panel, find):
    panel.fields["max_ramp_angle"].text = ""
    panel.fields["max_pitch"].text = "2.6 mm"
    panel.find.value = find
    panel.fields["passes"].text = "8"
    panel.fields["pitch"].text = "2.5625 mm"
    # By hand: 20.5 / 2.5625 = 8 and 20.5 / 2.6 = 7.9, which takes 8 whole turns.
    assert panel.run.bore.cut.base["passes"] == pytest.approx(8)
    assert sizes.mm(panel.run.bore.cut.pitch) == pytest.approx(2.5625)
    enabled = {name for name in ("max_pitch", "passes", "pitch") if panel.fields[name].enabled}
    assert enabled == {{"limits": "max_pitch", "pitch": "passes", "passes": "pitch"}[find]}
    agree(panel)


def test_a_pitch_that_does_not_divide_the_depth_makes_part_of_a_turn(panel):
    panel.find.value = "passes"
    panel.fields["pitch"].text = "2.5"
    assert "8.2 turns of 2.500 mm" in panel._headline.value
    agree(panel)


def test_the_limit_that_is_left_empty_limits_nothing(panel):
    panel.find.value = "limits"
    panel.fields["max_pitch"].text = "10 mm"
    panel.fields["max_ramp_angle"].text = "15"
    # By hand: 20.5 / (3 pi tan 15°) = 8.12.
    assert panel.run.bore.cut.base["passes"] == 9
    panel.fields["max_ramp_angle"].text = ""
    assert panel.run.bore.cut.base["passes"] == 3
    agree(panel)


@pytest.mark.parametrize(("unit", "pitch"), [("mm", "1.025 mm"), ("in", "0.0404 in")])
def test_the_slider_moves_the_turns(panel, unit, pitch):
    panel.find.value = "limits"
    panel.unit.value = unit
    panel.slider.value = 20
    assert panel.find.value == "pitch"
    assert panel.fields["passes"].text == "20"
    assert pitch in panel._headline.value
    assert panel.slider.value == 20
    agree(panel)


def test_typed_turns_move_the_slider_and_stay_as_typed(panel):
    for typed, slid in (("12", 12), ("77", 60), ("0.4", 1)):
        panel.fields["passes"].text = typed
        assert panel.slider.value == slid
        assert panel.fields["passes"].text == typed
        agree(panel)


@pytest.mark.parametrize(
    ("given", "typed", "axis"),
    [
        # By hand, one flute at 18000 rev/min on 3 of 9 mm: 0.25 * 18000 / 3, 2400 / 3, and itself.
        ("chip_load", "0.25 mm", "1500 mm/min"),
        ("wall_feed", "2400 mm/min", "800 mm/min"),
        ("axis_feed", "700", "700 mm/min"),
    ],
)
def test_each_feed_gives_the_others(panel, given, typed, axis):
    panel.given.value = given
    panel.fields[given].text = typed
    assert f"feed {axis}" in panel._headline.value
    enabled = [n for n in ("chip_load", "wall_feed", "axis_feed") if panel.fields[n].enabled]
    assert enabled == [given]
    agree(panel)


def test_the_wall_feed_typed_at_the_control_is_told(panel):
    panel.fields["typed_feed"].text = "2400"
    # By hand: three times 2400 at the wall, since 9 is three times 3.
    assert "makes 7200 mm/min at the wall: 3.00 times what was meant" in panel._findings.value
    assert "■ 1 stop" in panel._headline.value
    agree(panel)


@pytest.mark.parametrize("wrong", ["12.6 kg", "abc", "", "1/0", "9**9**9"])
@pytest.mark.parametrize("name", ["bore_diameter", "passes", "wall_feed", "spindle_speed"])
def test_a_wrong_entry_marks_its_field_and_keeps_the_last_good_result(panel, name, wrong):
    def told():
        return (
            panel.run, panel._picture.value, panel._numbers.value, panel._headline.value,
            panel._listing.value, panel.python,
        )  # fmt: skip

    before, field = told(), panel.fields[name]
    good, field.text = field.text, wrong
    assert "holecalc-wrong" in field.entry._dom_classes
    assert "✗" in field._why.value
    assert "last good" in panel._trouble.value
    assert told() == before
    assert field.text == wrong
    field.text = good
    assert "holecalc-wrong" not in field.entry._dom_classes
    assert panel._trouble.value == ""
    agree(panel)


def test_what_cannot_be_done_is_told_and_keeps_the_last_good_result(panel):
    before = panel.run
    for name, text, why in (
        ("cutting_diameter", "12 mm", "12.000 mm cannot go round in a bore of 9.000 mm"),
        ("flutes", "1.5", "flutes, not 1.5"),
        ("pilot_diameter", "9.5 mm", "nothing to cut"),
    ):
        field = panel.fields[name]
        good, field.text = field.text, text
        assert why in panel._trouble.value
        assert panel.run is before
        field.text = good
        assert panel._trouble.value == ""
        before = panel.run


def test_a_blind_bore(panel):
    panel.kind.value = "blind"
    assert "✗" in panel.fields["depth"]._why.value
    panel.fields["depth"].text = "12"
    assert "down to 12.000 mm" in panel._headline.value
    assert not panel.fields["breakthrough"].enabled
    panel.fields["plate_thickness"].text = ""
    assert "thickness is not given" in panel._findings.value
    agree(panel)
    panel.kind.value = "through"
    assert "how deep?" in panel._trouble.value


def test_without_a_finishing_turn_what_is_left_is_told(panel):
    panel.finish.value = False
    # By hand: a pitch of 2.5625, less the 0.5 below the plate.
    assert "up to 2.063 mm stays above the plate" in panel._findings.value
    agree(panel)


def test_changing_the_unit_changes_no_size(panel):
    panel.fields["plate_thickness"].text = "18"
    before = dict(panel.run.bore.cut.base)
    panel.unit.value = "in"
    assert panel.fields["plate_thickness"].text == "18 mm"
    assert panel.fields["wall_feed"].text == "2400 mm/min"
    assert panel.run.bore.cut.base == pytest.approx(before)
    # 800 / 25.4
    assert "feed 31.5 in/min" in panel._headline.value
    assert "ft/min" in panel._numbers.value
    agree(panel)
    panel.fields["wall_feed"].text = "100"
    assert panel.run.rings[0].wall_feed.m_as("in/min") == pytest.approx(100)
    agree(panel)


def test_a_material_fills_in_the_low_end_of_what_is_usual(panel):
    panel.given.value = "chip_load"
    panel.find.value = "limits"
    for material in cutting.materials():
        panel.material.value = material
        usual = cutting.starting(material, panel.run.bore.cutter)
        assert sizes.mm(panel.run.rings[0].chip_load) == pytest.approx(
            sizes.mm(usual.chip_load.low), abs=6e-4
        )
        assert usual.spindle_speed.contains(panel.run.spindle_speed)
        assert "common practice, no source" in panel._usual.value
        assert not [each for each in panel.findings if each.topic == "starting values"]
        agree(panel)


def test_no_starting_values_are_told_as_that_and_nothing_else_changes(panel):
    panel.material.value = "plywood"
    panel.fields["flutes"].text = "4"
    assert panel._trouble.value == ""
    assert "no starting values for 4 flutes" in panel._usual.value
    panel.material.value = "—"
    assert panel._usual.value == ""


def test_a_spindle_that_is_too_slow_limits_the_starting_values(panel):
    panel.fields["fastest"].text = "12000"
    assert "at most 12000 rev/min" in panel._usual.value
    assert "The spindle speed is 18000 rev/min; usual in plywood" in panel._findings.value


def test_a_cutter_nearly_as_wide_as_the_hole_is_a_plunge():
    panel = HelixPanel(
        unit="in", bore_diameter="0.2656 in", plate_thickness="1-1/4", depth="1",
        cutting_diameter="1/4 in", cutting_length="1 in", reach="1-1/4 in", passes="4",
    )  # fmt: skip
    # Common practice, no source: 1 in deep in 4 turns is a pitch of 0.25 in.
    assert "path 0.0156 in, 4 turns of 0.2500 in" in panel._headline.value
    assert "a ramp of 78.91°" in panel._findings.value
    agree(panel)


def test_the_listing_is_folded_and_carries_its_caution(panel):
    assert panel._folded.selected_index is None
    assert "prove it in air" in panel._folded.titles[0]
    assert "PROVE IT IN AIR FIRST" in panel._listing.value
    assert "G3 " in panel._listing.value


def test_typed_markup_is_escaped(panel):
    panel.fields["passes"].text = "<script>x</script>"
    assert "<script>" not in panel.fields["passes"]._why.value


def test_a_panel_is_shown_as_a_widget_with_a_readable_text(panel):
    bundle = panel._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert bundle["text/plain"] == "panel: helical bore (choose Run, then Run All Cells, to use it)"


def test_what_the_panel_opened_with_is_no_fact_about_another_cutter():
    panel = HelixPanel()
    panel.fields["reach"].text = "40 mm"
    opened = {name: field.text for name, field in panel.fields.items()}
    panel.fields["cutting_diameter"].text = "8 mm"
    assert panel.fields["cutting_length"].text == panel.fields["maximum_spindle_speed"].text == ""
    # What was typed is a person's own.
    assert panel.fields["reach"].text == "40 mm"
    # 0.02 to 0.045 of the diameter in plywood, of which the low end is filled in: 0.02 × 8.
    assert panel.fields["chip_load"].text == "0.160 mm"
    agree(panel)
    panel.fields["cutting_diameter"].text = "nonsense"
    panel.fields["cutting_diameter"].text = "12"
    for name in ("cutting_length", "maximum_spindle_speed", "chip_load", "spindle_speed"):
        assert panel.fields[name].text == opened[name]
    agree(panel)


def test_a_speed_that_was_typed_stays_with_another_cutter():
    panel = HelixPanel()
    panel.fields["spindle_speed"].text = "9000"
    panel.fields["cutting_diameter"].text = "8 mm"
    assert panel.fields["spindle_speed"].text == "9000"
    agree(panel)
