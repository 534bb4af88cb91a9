"""The counterbore panel: what is typed, what is told, and that the last good result stays."""

import ast
import html
import re

import pytest

from holecalc import checks, counterbore, cutters, flats, nuts, sizes
from holecalc.panels import CounterborePanel

KINDS = ("T-nut", "hexagon nut", "square nut", "insert", "cap screw", "washer")


@pytest.fixture(name="panel")
def _panel():
    return CounterborePanel(mating_part="14 mm", washers="1.6 mm", face="B")


@pytest.fixture(name="nut")
def _nut():
    return CounterborePanel("hexagon nut", "ISO 4032", "M8", plate_thickness="18 mm")


def rerun(lines):
    """What a panel's lines of Python make, and the value of the last, as in a notebook's cell."""
    names = {"checks": checks, "EndMill": cutters.EndMill, "largest_cutter": flats.largest_cutter}
    names |= {name: getattr(counterbore, name) for name in dir(counterbore) if "pocket_" in name}
    names |= {name: getattr(nuts, name) for name in nuts.__all__}
    *body, last = ast.parse(lines).body
    exec(compile(ast.Module(body, []), "cell", "exec"), names)
    return names, eval(compile(ast.Expression(last.value), "cell", "eval"), names)


def agree(panel):
    """Picture, table, headline, findings and Python lines all say the same."""
    unit, pocket = panel.unit.value, panel.pocket
    with sizes.shown_in(unit):
        names, findings = rerun(panel.python)
        assert str(names["pocket"]) == str(pocket)
        assert str(findings) == str(panel.findings)
        assert str(names.get("screw")) == str(panel.screw)
        assert str(names.get("held")) == str(panel.held)
        for step in pocket.stack.steps(pocket.face):
            deep = f"{sizes.show(step.across, fine=True)}(?: across flats)?, "
            assert re.search(
                f"{deep}{sizes.show(step.depth, fine=True)} deep", panel._headline.value
            )
            assert sizes.show(step.across, fine=True) in panel._numbers.value
            assert sizes.show(step.depth, fine=True) in panel._numbers.value
        if panel.screw is not None:
            assert f"{sizes.show(panel.screw.length)} long" in panel._headline.value
        seat = panel._figure._section._seat._text.get_text()
        shallow = pocket.stack.steps(pocket.face)[0]
        assert seat.endswith(f" {sizes.show(shallow.depth).split()[0]} deep")
    assert "data:image/svg+xml;base64," in panel._picture.value
    assert f"alt='{html.escape(panel._figure.said)}'" in panel._picture.value


def test_it_opens_on_the_t_nut_of_the_demo(panel):
    told = panel._headline.value
    # By hand: 22 + 1, 0.5 + 1.5; 9.8 + 0.2, 2 + 9 + 0.5.
    assert "flange ⌀23.000 mm, 2.000 mm deep" in told
    assert "barrel ⌀10.000 mm, 11.500 mm deep" in told
    assert "hole 9.000 mm" in told
    assert "35.00 mm long" in told
    assert "nothing found" in panel._findings.value
    agree(panel)


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_picture_and_a_line(kind, unit):
    panel = CounterborePanel(kind, unit=unit)
    assert panel._trouble.value == ""
    agree(panel)
    panel.fields["mating_part"].text = "14 mm"
    panel.fields["behind"].text = "20 mm"
    panel.fields["recess"].text = "1.5 mm"
    panel.fields["load"].text = "500 N"
    panel.material.value = "HDPE"
    panel.face.value = "B"
    assert panel._trouble.value == ""
    agree(panel)


def test_going_through_the_kinds_and_back():
    panel = CounterborePanel()
    before = str(panel.pocket)
    for kind in (*KINDS, "T-nut"):
        panel.kind.value = kind
        assert panel._trouble.value == ""
        agree(panel)
    assert str(panel.pocket) == before


@pytest.mark.parametrize("kind", KINDS)
def test_only_what_is_asked_is_there(kind):
    panel = CounterborePanel(kind)
    there = {name for name, field in panel.fields.items() if field.box.layout.display is None}
    assert {"plate_thickness", "recess", "cutter_diameter"} <= there
    assert ("barrel_diameter" in there) == (kind == "T-nut")
    assert ("across_corners" in there) == ("nut" in kind and kind != "T-nut")
    assert ("mating_part" in there) == (kind not in ("cap screw", "washer"))
    # What an insert's sides hold is for its maker to say, as is a screw's thread elsewhere.
    assert ("load" in there) == (kind != "insert")


@pytest.mark.parametrize("kind", ["hexagon nut", "square nut", "cap screw", "washer"])
def test_every_standard_and_size_is_filled_in(kind):
    panel = CounterborePanel(kind, plate_thickness="60 mm", cutter_diameter="0.5 mm")
    for standard in [option for option in panel.standard.entry.options if option != "measured"]:
        panel.standard.value = standard
        for size in panel.size.entry.options[::3]:
            panel.size.value = size
            if "no clearance hole" in panel._trouble.value:
                panel.fields["hole_diameter"].text = panel.fields["head_diameter"].text
                continue
            assert panel._trouble.value == "", (standard, size)
            made = {
                "hexagon nut": nuts.hex_nut, "square nut": nuts.square_nut,
                "cap screw": nuts.cap_screw, "washer": nuts.washer,
            }[kind](standard, size)  # fmt: skip
            assert panel.pocket.fastener == made
    agree(panel)


@pytest.mark.parametrize("wrong", ["12.6 kg", "abc", "1/0", "9**9**9", ""])
def test_a_wrong_entry_marks_its_field_and_keeps_the_last_good_result(panel, wrong):
    before = (panel.pocket, panel._picture.value, panel._numbers.value, panel.python)
    field = panel.fields["barrel_diameter"]
    field.text = wrong
    assert "holecalc-wrong" in field.entry._dom_classes
    assert "last good" in panel._trouble.value
    after = (panel.pocket, panel._picture.value, panel._numbers.value, panel.python)
    assert after == before
    assert field.text == wrong
    field.text = "9.6 mm"
    assert "holecalc-wrong" not in field.entry._dom_classes
    assert panel._trouble.value == ""
    agree(panel)


@pytest.mark.parametrize(
    ("name", "wrong", "cure"),
    [("thread", "8 mm", "Write for example M8"), ("load", "2 kg/m", "2 kN or 450 lbf")],
)
def test_threads_and_forces_have_their_own_cures(panel, name, wrong, cure):
    panel.fields[name].text = wrong
    assert cure in panel.fields[name]._why.value
    assert "last good" in panel._trouble.value


def test_every_wrong_field_is_marked_at_once(panel):
    panel.fields["barrel_diameter"].text = "wide"
    panel.fields["load"].text = "heavy"
    panel.fields["mating_part"].text = "thick"
    for name in ("barrel_diameter", "load", "mating_part"):
        assert "holecalc-wrong" in panel.fields[name].entry._dom_classes


def test_what_cannot_be_cut_is_told_and_keeps_the_last_good_result(panel):
    before = panel.pocket
    panel.fields["plate_thickness"].text = "11 mm"
    assert "Take a thicker plate" in panel._trouble.value
    assert panel.pocket is before
    panel.through.value = "through"
    assert panel._trouble.value == "" or "No screw" in panel._trouble.value
    assert panel.pocket.stack.hole_diameter == sizes.length("10 mm")
    agree(panel)


def test_empty_clearances_are_the_usual_ones_and_say_so(panel):
    assert panel.fields["flange_clearance"].text == ""
    assert panel.fields["flange_clearance"].entry.placeholder == "1.000 mm"
    assert panel.fields["flange_clearance"]._read_as.value == "usual"
    assert "stamped flanges are out of round" in panel._numbers.value
    panel.fields["flange_clearance"].text = "2"
    assert "flange ⌀24.000 mm" in panel._headline.value
    assert "as given" in panel._numbers.value
    agree(panel)


def test_no_screw_is_told_and_the_pocket_stays_up_to_date(panel):
    panel.fields["mating_part"].text = "12 mm"
    # By hand: 12 + 1.6 + 9, and 8 to 11 more; no 31 to 33 is made.
    assert panel.screw is None
    assert "No screw: no length on the list is from 30.600 mm to 33.600 mm" in panel._trouble.value
    # What the part's check would stop, the panel does not call in order.
    assert panel.findings.worst is checks.Weight.STOP
    assert "■ 1 stop" in panel._headline.value
    panel.fields["barrel_length"].text = "8 mm"
    assert "10.500 mm deep" in panel._headline.value
    agree(panel)
    panel.buy.value = "at hand"
    panel.fields["screw_length"].text = "40"
    assert sizes.mm(panel.screw.length) == 40
    assert "stands" in str(panel.findings)
    agree(panel)


def test_the_pocket_follows_from_the_cutter(nut):
    nut.fields["nut_clearance"].text = "0"
    # The value: 13 + 6 (1 - sin 60°).
    assert "hexagon pocket 13.804 mm across flats, 7.300 mm deep" in nut._headline.value
    assert not nut.fields["across_flats"].enabled
    assert nut.fields["across_flats"].text == "13.804 mm"
    assert "turns up to 13.73°" in nut._findings.value
    agree(nut)


def test_the_largest_cutter_follows_from_the_angle(nut):
    nut.find.value = "cutter_diameter"
    # flats.largest_cutter's own example: 2.33 mm at 10° with 0.2 mm.
    assert nut.fields["cutter_diameter"].text.startswith("2.33")
    assert not nut.fields["cutter_diameter"].enabled
    assert not nut.findings
    agree(nut)
    nut.fields["most_turning"].text = "15"
    assert sizes.mm(nut.pocket.seat.cutter_diameter) > 4
    assert not nut.findings
    agree(nut)
    nut.relief.value = "relieved"
    assert "choose &#x27;as cut&#x27;" in nut._trouble.value
    nut.find.value = "across_flats"
    # What was found was rounded so that it still holds the nut.
    nut.relief.value = "as cut"
    assert not nut.findings
    agree(nut)


def test_the_clearance_follows_from_the_drawing(nut):
    nut.find.value = "nut_clearance"
    nut.fields["across_flats"].text = "14"
    # 14 - 13.804.
    assert nut.fields["nut_clearance"].text == "0.196 mm"
    agree(nut)
    nut.fields["across_flats"].text = ""
    assert "holecalc-wrong" in nut.fields["across_flats"].entry._dom_classes


def test_relieved_corners(nut):
    nut.relief.value = "relieved"
    nut.fields["relief_cutter"].text = "6"
    # The value: 13.2 across flats, 6 mm: 4.621 from the middle.
    assert "9.242 mm" in nut._numbers.value
    assert nut.pocket.turning.stopped_by == "ends of the flats"
    assert nut.cutter_slider.entry.disabled
    agree(nut)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_sliders_run_through_what_works(nut, unit):
    nut.unit.value = unit
    turned = []
    for step in (0, 25, 50, 75, 100):
        nut.cutter_slider.entry.value = step
        assert nut._trouble.value == ""
        assert nut.cutter_slider.entry.value == step
        assert not nut.pocket.turning.spins
        turned.append(sizes.rad(nut.pocket.turning.most))
        agree(nut)
    assert turned == sorted(turned)
    # By hand: 18 - 6.8 - 18/4 with nothing cut deeper.
    nut.cutter_slider.entry.value = 10
    for step, recess in ((0, 0.0), (100, 6.7)):
        nut.recess_slider.entry.value = step
        assert sizes.mm(nut.pocket.recess) == pytest.approx(recess, abs=0.011)
        assert not any("is left between" in finding.what for finding in nut.findings)
        agree(nut)


def test_typing_moves_the_sliders_and_not_the_text(nut):
    nut.fields["recess"].text = "3.35 mm"
    assert nut.recess_slider.entry.value == 50
    assert nut.fields["recess"].text == "3.35 mm"
    nut.fields["cutter_diameter"].text = "12 mm"
    assert nut.cutter_slider.entry.value == 100
    assert nut.fields["cutter_diameter"].text == "12 mm"
    assert "spin" in nut._findings.value


def test_changing_the_unit_changes_no_size(panel):
    panel.fields["recess"].text = "1"
    before = sizes.mm(panel.pocket.depth)
    panel.unit.value = "in"
    assert panel.fields["recess"].text == "1 mm"
    assert sizes.mm(panel.pocket.depth) == before
    agree(panel)


def test_typing_a_measure_makes_it_measured(nut):
    nut.fields["nut_across_flats"].text = "12.9"
    assert nut.standard.value == "measured"
    assert "Nut('hexagon', '12.9 mm'" in nut.python
    agree(nut)
    nut.fields["thread"].text = "M8x1"
    assert "M8x1" in nut.python
    assert nut.fields["hole_diameter"].text == "9 mm"
    agree(nut)


def test_strengths_are_the_users_and_compared(panel):
    panel.fields["load"].text = "2 kN"
    assert "not a design" in panel._numbers.value
    assert "neither was" in panel._findings.value
    panel.material.value = "birch plywood"
    # By hand: 2000 / (pi/4 (22² - 10²)) = 6.63 MPa, and the table has 5 MPa.
    assert "6.631 MPa" in panel._numbers.value
    assert "<b>■ stop</b>" in panel._findings.value
    agree(panel)
    panel.fields["bearing_strength"].text = "10 MPa"
    assert panel.material.value == "your own"
    assert "■ stop" not in panel._findings.value
    agree(panel)


def test_a_washer_under_a_head():
    panel = CounterborePanel("cap screw", "ISO 4762", "M6")
    panel.washer.value = "ISO 7089"
    # By hand: 12 + (6.6 - 6) + (6.4 - 6) + 0.3, and 6 + 1.8 + 0.5.
    assert "head ⌀13.300 mm, 8.300 mm deep" in panel._headline.value
    agree(panel)


def test_typed_markup_is_escaped(panel):
    for name in ("thread", "recess", "load"):
        panel.fields[name].text = "<script>x</script>"
        assert "<script>" not in panel.fields[name]._why.value


def test_a_field_that_is_not_there_is_refused():
    with pytest.raises(TypeError, match="no field 'depht'"):
        CounterborePanel(depht="3 mm")


def test_a_panel_is_shown_as_a_widget_with_a_readable_text(panel):
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"].startswith("panel: captured nut")
