"""The part panel: what is typed is never lost, and every number told is that of the part."""

import base64
import html
import re
import time

import pytest

from holecalc import checks, demo, part, plan, sheet, sizes
from holecalc.panels import PartPanel
from holecalc.part import bench
from holecalc.sheet import page


@pytest.fixture(autouse=True)
def _nothing_typed_before():
    bench._typed.clear()
    yield
    bench._typed.clear()


@pytest.fixture(name="panel")
def _panel(tmp_path):
    return PartPanel(folder=tmp_path)


def change(panel, old, new):
    assert old in panel.text.value
    panel.text.value = panel.text.value.replace(old, new)


def words(markup):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", markup)))


def agree(panel, capsys):
    """Headline, pictures, findings, tables and Python lines all tell of the text that stands."""
    made = part.loads(panel.text.value, panel.file.path.name)
    planned = plan.plan(made)
    findings = checks.part(made, planned)
    assert str(panel.findings) == str(findings)
    assert html.escape(sheet.summary(made, planned)) in panel._headline.value
    stopped = findings.worst is checks.Weight.STOP
    assert ("do not cut" in panel._headline.value) == stopped
    for finding in findings:
        assert html.escape(finding.what) in panel._findings.value
    for operation in planned.operations:
        for label, text in operation.settings:
            assert f"{label} {text}" in words(panel._setups.value)
    assert panel._views.value == sheet.plan_views(made)
    for each in sheet.corrections(made):
        assert html.escape(each) in panel._corrections.value
    capsys.readouterr()
    exec(panel.python, {})
    said = capsys.readouterr().out
    assert said == f"{planned}\n{findings}\n"


def test_it_opens_on_the_demo_and_says_that_it_is_not_saved(panel, tmp_path, capsys):
    assert panel.part.name == "Bearing plate for a cider press"
    assert panel.text.value == demo.text("bearing-plate")
    assert "not saved yet" in panel._state.value
    assert f"Save puts it in {tmp_path / 'bearing-plate.toml'}" in panel._state.value
    assert "11 holes, 2 setups, 6 cutter changes" in panel._headline.value
    assert 'role="img" aria-label="plan view, setup 1' in panel._views.value
    agree(panel, capsys)


def test_a_thinner_plate_is_checked_at_once(panel, tmp_path, capsys):
    change(panel, "thickness = 19.8", "thickness = 17.6")
    assert sizes.mm(panel.part.plate.thickness) == pytest.approx(17.6)
    # By hand: a 6.6 mm bore 20.3 deep is 3.08 times as deep as wide; 18.1 deep it is 2.74.
    assert "▲" not in panel._findings.value
    change(panel, "thickness = 17.6", "thickness = 11.2")
    # The T-nut's barrel needs 11.5.
    assert "do not cut" in panel._headline.value
    assert "11.500 mm" in panel._findings.value
    assert "# Save first" in panel.python
    panel.save()
    assert "# Save first" not in panel.python
    agree(panel, capsys)


def test_a_part_in_inches(tmp_path, capsys):
    panel = PartPanel("demo: table-insert", folder=tmp_path)
    assert panel.part.unit == "in"
    assert "0.0500 in" in panel._setups.value
    assert not re.search(r"\d mm", panel._setups.value)
    agree(panel, capsys)
    panel.feature.value = "corner screws"
    panel.fields["top_diameter"].text = "0.400"
    assert "measured = {top_diameter = 0.400}" in panel.text.value
    assert "top diameter came out" in panel._corrections.value
    assert "from 0.2025 in to 0.2037 in" in words(panel._corrections.value)
    panel.save()
    agree(panel, capsys)


# --- wrong text ----------------------------------------------------------------------------------


def test_a_wrong_text_keeps_the_last_good_part_and_lists_all_that_is_wrong(panel):
    before = (panel.planned, panel._headline.value, panel._setups.value, panel.python)
    change(panel, "thickness = 19.8", 'thickness = "19.8 mn"')
    change(panel, "diameter = 47", "diameter = -47")
    assert len(panel.file.faults) == 2
    assert "✗ line 11" in panel._faults.value
    assert "19.8 mn" in html.unescape(panel._faults.value)
    assert "diameter = -47" in panel._faults.value
    assert "for 2 things told under it; the last good part is shown" in panel._trouble.value
    assert (panel.planned, panel._headline.value, panel._setups.value, panel.python) == before
    change(panel, '"19.8 mn"', "19.8")
    change(panel, "-47", "47")
    assert panel._faults.value == ""
    assert panel._trouble.value == ""


@pytest.mark.parametrize("text", ["", "[[[", "part = 1", "\x00", "part = '''", "é" * 300])
def test_any_text_is_told_and_can_be_saved(panel, tmp_path, text):
    panel.text.value = text
    assert panel.file.faults
    assert "✗ line" in panel._faults.value
    panel.save()
    assert (tmp_path / "bearing-plate.toml").read_text(encoding="utf-8") == text
    again = PartPanel("bearing-plate", folder=tmp_path)
    assert again.text.value == text
    assert "nothing can be shown" in again._trouble.value
    assert again._headline.value == again._setups.value == again._views.value == ""
    again.text.value = demo.text("table-insert")
    assert "Table insert" in again._headline.value


def test_opening_a_text_that_cannot_be_used_shows_nothing_of_the_one_before(panel, tmp_path):
    (tmp_path / "half.toml").write_text('part = "half"\n', encoding="utf-8")
    panel.name.value = "half"
    panel.open()
    assert panel._headline.value == panel._setups.value == panel._corrections.value == ""
    assert panel.fields == {}
    panel.write("sheet")
    assert "Nothing was written" in panel._trouble.value


# --- saved and found again -----------------------------------------------------------------------


def test_what_was_saved_last_is_found_again(panel, tmp_path):
    change(panel, "thickness = 19.8", "thickness = 18.3")
    panel.name.value = "my-part"
    panel.save()
    assert "✓ saved" in panel._state.value
    assert str(tmp_path / "my-part.toml") in panel._state.value
    assert (tmp_path / "my-part.toml").read_text(encoding="utf-8") == panel.text.value
    again = PartPanel(folder=tmp_path)
    assert again.file.path == tmp_path / "my-part.toml"
    assert again.part.plate.thickness.magnitude == 18.3
    assert "✓ saved" in again._state.value
    named = PartPanel("my-part.toml", folder=tmp_path)
    assert named.text.value == again.text.value
    assert named.chooser.options == ("my-part.toml", "demo: bearing-plate", "demo: table-insert")


def test_a_file_that_is_not_there_begins_from_a_demo_under_that_name(tmp_path):
    panel = PartPanel("stool", folder=tmp_path)
    assert "stool.toml is not there" in panel._trouble.value
    assert panel.part.name.startswith("Bearing plate")
    panel.save()
    assert (tmp_path / "stool.toml").exists()


def test_a_second_save_keeps_the_first_version(panel, tmp_path):
    panel.save()
    change(panel, "thickness = 19.8", "thickness = 18.3")
    assert "not saved yet" in panel._state.value
    panel.save()
    assert "19.8" in (tmp_path / "bearing-plate.toml.bak").read_text(encoding="utf-8")


def test_a_demo_never_takes_the_place_of_a_file(panel, tmp_path):
    panel.save()
    panel.chooser.value = "demo: bearing-plate"
    panel.open()
    assert panel.name.value == "bearing-plate-2.toml"
    panel.name.value = "bearing-plate"
    before = (tmp_path / "bearing-plate.toml").read_bytes()
    panel.save()
    assert "is there already" in panel._trouble.value
    assert panel.name.value == "bearing-plate-2.toml"
    assert (tmp_path / "bearing-plate.toml").read_bytes() == before
    panel.save()
    assert panel._trouble.value == ""
    assert (tmp_path / "bearing-plate-2.toml").exists()


@pytest.mark.parametrize("how", ["changed", "deleted", "read-only"])
def test_what_someone_else_did_to_the_file_is_told_and_there_is_a_cure(panel, tmp_path, how):
    panel.save()
    path = tmp_path / "bearing-plate.toml"
    if how == "changed":
        path.write_text("theirs", encoding="utf-8")
    elif how == "deleted":
        path.unlink()
    else:
        path.chmod(0o444)
    theirs = path.read_bytes() if path.exists() else None
    change(panel, "thickness = 19.8", "thickness = 18.3")
    panel.save()
    assert "Not saved" in panel._trouble.value
    assert (path.read_bytes() if path.exists() else None) == theirs
    assert "18.3" in panel.text.value
    panel.save()
    assert panel.file.path == tmp_path / "bearing-plate-2.toml"
    assert "18.3" in panel.file.path.read_text(encoding="utf-8")
    assert panel._trouble.value == ""


def test_a_folder_that_cannot_be_written_is_no_obstacle(tmp_path, monkeypatch, capsys):
    home, folder = tmp_path / "home", tmp_path / "shared"
    home.mkdir()
    folder.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("USERPROFILE", str(home))
    folder.chmod(0o555)
    try:
        panel = PartPanel(folder=folder)
        change(panel, "thickness = 19.8", "thickness = 18.3")
        assert "nothing can be saved in" in panel._state.value
        assert f"Save puts it in {home / 'bearing-plate.toml'}" in panel._state.value
        panel.name.value = "here"
        panel.write("sheet")
        assert "✗" in panel._files.value
        assert without_origin(downloaded(panel, "here.html")) == sheet.html_text(panel.part)
        panel.save()
        assert "Not saved" in panel._trouble.value
        panel.save()
        assert (home / "here.toml").exists()
        assert list(folder.iterdir()) == []
        again = PartPanel(folder=folder)
        assert again.file.path == home / "here.toml"
        assert again.part.plate.thickness.magnitude == 18.3
        agree(again, capsys)
    finally:
        folder.chmod(0o755)


def test_a_full_disk_is_told_and_nothing_is_lost(panel, monkeypatch):
    panel.save()
    change(panel, "thickness = 19.8", "thickness = 18.3")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(part.store.os, "fsync", full)
    panel.save()
    assert "No space left" in panel._trouble.value
    assert "Make room" in panel._trouble.value
    assert "not saved yet" in panel._state.value
    monkeypatch.undo()
    panel.name.value = "bearing-plate"
    panel.save()
    assert "✓ saved" in panel._state.value


@pytest.mark.parametrize("name", ["", "  ", "nowhere/at/all", "\x00", "x" * 400, "..", "/"])
def test_a_name_that_cannot_be_is_told(panel, name, tmp_path):
    panel.name.value = name
    panel.save()
    assert "Not saved" in panel._trouble.value
    panel.name.value = name
    panel.open()
    assert "Not opened" in panel._trouble.value
    assert panel.part.name.startswith("Bearing plate")
    assert not [each for each in tmp_path.iterdir() if each.suffix != ".toml"]


def test_the_state_says_what_open_and_save_would_do(panel, tmp_path):
    panel.chooser.value = "demo: table-insert"
    assert "Open opens demo: table-insert" in panel._state.value
    panel.save()
    assert "Not saved" in panel._trouble.value
    assert list(tmp_path.iterdir()) == []
    panel.name.value = "mine"
    assert f"Save puts it in {tmp_path / 'mine.toml'}" in panel._state.value
    panel.save()
    assert "puts it in" not in panel._state.value
    (tmp_path / "other.toml").write_text(panel.text.value, encoding="utf-8")
    panel.name.value = "other"
    assert f"Open opens {tmp_path / 'other.toml'}" in panel._state.value


def test_what_was_typed_and_not_saved_is_kept_when_another_is_opened(panel, tmp_path):
    change(panel, "thickness = 19.8", "thickness = 18.3")
    panel.chooser.value = "demo: table-insert"
    panel.open()
    assert panel.part.unit == "in"
    assert "What was typed is kept" in panel._remark.value
    kept = f"not saved: {tmp_path / 'bearing-plate.toml'}"
    assert kept in panel._remark.value or "not saved: bearing-plate.toml" in panel._remark.value
    panel.chooser.value = panel.chooser.options[0]
    panel.open()
    assert "thickness = 18.3" in panel.text.value
    panel.save()
    assert not bench._typed


def test_running_the_cell_again_costs_nobody_their_typing(panel, tmp_path):
    change(panel, "thickness = 19.8", "thickness = 18.3")
    again = PartPanel(folder=tmp_path)
    assert "thickness = 19.8" in again.text.value
    assert "Typed before, and kept" in again._remark.value
    again.chooser.value = again.chooser.options[0]
    again.open()
    assert "thickness = 18.3" in again.text.value


# --- the first part ------------------------------------------------------------------------------

MEASURED = [
    # By hand: 90°: 0.2 of diameter is 0.1 of depth; the bore's path grows by what it lacks; both
    # floors of the pocket come up by what it lies too deep; the form cutter is lowered by its step.
    ("cover screws", "top_diameter", "12.8", "depth: from 4.500 mm to 4.400 mm"),
    ("bearing bore", "bore_diameter", "46.92", "path diameter: from 35.000 mm to 35.080 mm"),
    ("leg T-nuts", "recess", "0.7", "from 2.000 mm to 1.800 mm"),
    ("upper edge", "step_on_face", "0.1", "depth: from 6.350 mm to 6.250 mm"),
]


@pytest.mark.parametrize(("feature", "key", "typed", "told"), MEASURED)
def test_a_measurement_is_written_down_and_corrects(panel, capsys, feature, key, typed, told):
    assert "Nothing was measured yet" in panel._corrections.value
    panel.feature.value = feature
    panel.fields[key].text = typed
    assert f"measured = {{{key} = {typed}}}" in panel.text.value
    assert panel.fields[key].text == typed
    assert f"{feature}: " in panel._corrections.value
    assert told in panel._corrections.value
    panel.save()
    agree(panel, capsys)
    again = PartPanel(folder=panel._bench.folder)
    again.feature.value = feature
    assert sizes.length(again.fields[key].text) == sizes.length(typed, "mm")
    again.fields[key].text = ""
    assert again.text.value == demo.text("bearing-plate")
    assert "Nothing was measured yet" in again._corrections.value


def test_only_what_makes_sense_can_be_measured(panel):
    asked = {}
    for _, name in panel.feature.entry.options:
        panel.feature.value = name
        asked[name] = tuple(panel.fields)
    legs = ("step_on_face", "leg_on_face", "step_on_wall", "leg_on_wall")
    assert asked == {
        "dowel holes": ("bore_diameter",),
        "bearing bore": ("bore_diameter",),
        "cover screws": ("top_diameter", "cone_depth"),
        "leg T-nuts": ("recess",),
        "upper edge": legs,
        "lower edge": legs,
    }


def test_a_wrong_measurement_marks_its_field_and_changes_nothing(panel):
    panel.feature.value = "cover screws"
    field, before = panel.fields["top_diameter"], panel.text.value
    field.text = "12.8 kg"
    assert "holecalc-wrong" in field.entry._dom_classes
    assert panel.text.value == before
    change(panel, "thickness = 19.8", "thickness = 19.7")
    assert field.text == "12.8 kg"
    field.text = "12.8"
    assert "holecalc-wrong" not in field.entry._dom_classes
    panel.fields["cone_depth"].text = "3.1"
    assert "one setting answers both" in panel.fields["cone_depth"]._why.value
    assert "cone_depth" not in panel.text.value


def test_a_measurement_that_nothing_puts_right_stops_and_can_be_taken_back(panel):
    panel.feature.value = "cover screws"
    panel.fields["top_diameter"].text = "60"
    assert "do not cut" in panel._headline.value
    assert panel.feature.value == "cover screws"
    panel.fields["top_diameter"].text = ""
    assert "do not cut" not in panel._headline.value
    assert panel.text.value == demo.text("bearing-plate")


def test_a_measurement_waits_for_a_text_that_can_be_used(panel):
    change(panel, "thickness = 19.8", "thickness = ")
    before = panel.text.value
    panel.feature.value = "cover screws"
    panel.fields["top_diameter"].text = "12.8"
    assert "put that right first" in panel.fields["top_diameter"]._why.value
    assert panel.text.value == before


def test_a_measurement_typed_into_the_text_shows_in_its_field(panel):
    panel.feature.value = "bearing bore"
    change(panel, "diameter = 47\n", "diameter = 47\nmeasured = {bore_diameter = 46.9}\n")
    assert panel.fields["bore_diameter"].text == "46.900 mm"


def test_a_part_without_anything_to_measure(panel):
    text = panel.text.value
    head = text[: text.index("[turn]")]
    panel.text.value = (
        head + '[[cutter]]\nname = "d"\nkind = "drill"\ndiameter = 8\n'
        '[[feature]]\nname = "hole"\nkind = "hole"\ndiameter = 8\nat = [50, 50]\n'
    )
    assert panel.file.faults == ()
    assert panel.fields == {}


# --- to take along -------------------------------------------------------------------------------


def downloaded(panel, name):
    found = re.search(rf"download='{name}' href='data:[a-z/]*;base64,([^']*)'", panel._files.value)
    return base64.b64decode(found[1]).decode()


def without_origin(text):
    """What a sheet says, but for when it was made and from what."""
    return re.sub(page.ORIGIN, "", text)


@pytest.mark.parametrize("what", sheet.FILES)
def test_sheet_list_and_drawing_are_those_of_the_command(panel, tmp_path, what):
    panel.name.value = "plate"
    panel.save()
    panel.write_buttons[what].click()
    path = tmp_path / f"plate{sheet.FILES[what]}"
    assert str(path) in panel._files.value
    written = path.read_text(encoding="utf-8")
    assert downloaded(panel, path.name) == written
    if what != "drawing":
        assert without_origin(written) == sheet.file_text(what, part.load(tmp_path / "plate.toml"))
    assert f"href='{path.name}'" in panel._links.outputs[0]["data"]["text/html"]
    change(panel, "thickness = 19.8", "thickness = 18.3")
    assert "of an older text" in panel._files.value
    assert panel._links.outputs == ()
    panel.write(what)
    assert "▲ The part is not saved" in panel._files.value


def test_the_sheet_of_the_second_part_leaves_that_of_the_first_alone(panel, tmp_path):
    panel.name.value = "my plate"
    panel.save()
    panel.write("sheet")
    first = (tmp_path / "my plate.html").read_bytes()
    panel.feature.value = "cover screws"
    panel.fields["top_diameter"].text = "12.8"
    panel.save()
    panel.write("sheet")
    assert (tmp_path / "my plate.html").read_bytes() == first
    second = (tmp_path / "my plate, part 2.html").read_text(encoding="utf-8")
    assert "depth: from 4.500 mm to 4.400 mm" in second
    assert "my plate, part 2.html" in panel._files.value
    assert repr(str(tmp_path / "my plate, part 2.html")) in panel.python
    # Of another measurement it is another sheet, and the one before stays.
    panel.fields["top_diameter"].text = "12.7"
    panel.save()
    panel.write("sheet")
    kept = tmp_path / "my plate, part 2.html.bak"
    assert kept.read_text(encoding="utf-8") == second
    assert f"the one before is kept as {kept}" in panel._files.value


def test_a_sheet_of_what_is_not_saved_says_so_and_how_to_mend_it(panel, tmp_path):
    panel.write("sheet")
    path = tmp_path / "bearing-plate.html"
    assert "▲ Not saved." in words(path.read_text(encoding="utf-8"))
    assert "from text that is not saved in bearing-plate.toml" in path.read_text(encoding="utf-8")
    told = words(panel._files.value)
    assert "▲ The part is not saved , and the sheet says so: no file holds" in told
    panel.save()
    assert "is from before the part was saved: write again" in panel._files.value
    panel.write("sheet")
    text = path.read_text(encoding="utf-8")
    assert "Not saved" not in text
    assert f"from bearing-plate.toml as saved {time.strftime('%Y-%m-%d %H:')}" in text
    assert "not saved" not in panel._files.value
    # But for that the two say the same, and nothing is lost.
    assert not (tmp_path / "bearing-plate.html.bak").exists()


def test_what_is_open_is_shown_among_the_part_files(panel, tmp_path):
    assert panel.chooser.value == "demo: bearing-plate"
    change(panel, "thickness = 19.8", "thickness = 18.3")
    assert panel.chooser.value == "not saved: bearing-plate.toml"
    panel.save()
    assert panel.chooser.value == "bearing-plate.toml"
    change(panel, "thickness = 18.3", "thickness = 18.2")
    assert panel.chooser.value == "bearing-plate.toml"
    panel.save()
    # What is chosen stays chosen until it is opened, and then is what is open.
    panel.chooser.value = "demo: table-insert"
    change(panel, "thickness = 18.2", "thickness = 18.1")
    assert panel.chooser.value == "demo: table-insert"
    assert panel.name.value == "demo: table-insert"
    panel.open()
    assert panel.chooser.value == "demo: table-insert"
    assert panel.name.value == "table-insert.toml"
    panel.name.value = "bearing-plate"
    panel.open()
    assert panel.chooser.value == "bearing-plate.toml"


def test_a_part_file_of_another_folder_is_shown_by_its_path(panel, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "lid.toml").write_text(demo.text("table-insert"), encoding="utf-8")
    panel.name.value = str(elsewhere / "lid.toml")
    panel.open()
    assert panel.chooser.value == str(elsewhere / "lid.toml")


def test_a_drawing_of_somebody_else_is_left_alone(panel, tmp_path):
    theirs = tmp_path / "bearing-plate.dxf"
    theirs.write_text("0\nSECTION\n", encoding="utf-8")
    panel.write("drawing")
    assert "not made here" in panel._files.value
    assert theirs.read_text(encoding="utf-8") == "0\nSECTION\n"
    assert "CIRCLE" in downloaded(panel, "bearing-plate.dxf")


def test_typed_markup_is_text_everywhere(tmp_path):
    attack = "<script>alert(1)</script>"
    folder = tmp_path / "<b>"
    folder.mkdir()
    panel = PartPanel(folder=folder)
    for old in ("bearing bore", "Bearing plate for a cider press", "M8 T-nut", "12 mm end mill"):
        panel.text.value = panel.text.value.replace(f'"{old}"', f"'{attack}{old}'")
    panel.feature.value = f"{attack}bearing bore"
    panel.fields["bore_diameter"].text = "46.9"
    panel.name.value = "<i>'\""
    panel.save()
    panel.write("sheet")
    panel.text.value += f"\n{attack}"
    told = [each.value for each in vars(panel).values() if hasattr(each, "_view_name")
            and each._view_name == "HTMLView"]  # fmt: skip
    assert len(told) > 8
    assert any("&lt;script&gt;" in each for each in told)
    for each in told:
        assert "<script" not in each.lower()
        assert "<b>/bear" not in each
        assert "<i>'" not in each


def test_a_panel_has_a_text_that_stays_the_same(panel):
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"] == "panel: part (choose Run, then Run All Cells, to use it)"


def test_nothing_is_worked_out_twice(panel, monkeypatch):
    calls = []
    real = plan.plan
    monkeypatch.setattr("holecalc.panels.part.plan", lambda made: calls.append(1) or real(made))
    monkeypatch.setattr("holecalc.plan.plan", lambda made: calls.append("again") or real(made))
    change(panel, "thickness = 19.8", "thickness = 18.3")
    assert calls == [1]


def test_time_is_told(panel):
    panel.save()
    assert f"saved {time.strftime('%H:')}" in panel._state.value


def test_every_field_has_a_name_and_a_sentence(panel):
    def within(widget):
        yield widget
        for child in getattr(widget, "children", ()):
            yield from within(child)

    for _, name in panel.feature.entry.options:
        panel.feature.value = name
        told = words(" ".join(getattr(each, "value", "") for each in within(panel.box)
                              if getattr(each, "_view_name", "") == "HTMLView"))  # fmt: skip
        entries = [each for each in within(panel.box) if getattr(each, "tooltip", None)]
        assert len(entries) > 8
        for entry in entries:
            assert entry.description
            if entry._view_name != "ButtonView":
                assert entry.tooltip in told
