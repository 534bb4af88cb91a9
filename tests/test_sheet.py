"""The operator's sheet: it holds every number, prints, escapes what was typed, and says stop."""

import csv
import io
import re
from datetime import datetime
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecalc import checks, demo, part, sheet, sizes
from holecalc.checks import Weight
from holecalc.plan import plan

VOID = {"meta", "br", "input", "hr", "img", "link"}


class Page(HTMLParser):
    """Tags in balance, attributes and text."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.attributes, self.words = [], [], [], []
        self.feed(text)
        self.close()
        assert not self.open, f"left open: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return re.sub(r"\s+", " ", " ".join(self.words))


def loaded(name="bearing-plate", *changes):
    text = demo.text(name)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return part.loads(text, f"{name}.toml")


@pytest.mark.parametrize("name", demo.names())
def test_the_sheet_holds_every_number_to_be_typed(name):
    made = loaded(name)
    planned = plan(made)
    page = Page(sheet.html_text(made))
    for operation in planned.operations:
        assert operation.cutter.name in page.text
        for label, text in operation.settings:
            assert f"{label} {text}" in page.text
    for caution in sheet.CAUTIONS:
        assert caution in page.text
    for finding in checks.part(made):
        assert finding.what in page.text


@pytest.mark.parametrize("name", demo.names())
def test_the_sheet_stands_alone(name):
    text = sheet.html_text(loaded(name))
    page = Page(text)
    assert "script" not in page.tags
    assert not {"img", "link", "iframe", "object", "a"} & set(page.tags)
    assert not [key for key, _ in page.attributes if key in ("src", "href") or key.startswith("on")]
    assert "http://" not in text
    assert "https://" not in text
    assert "@import" not in text


@pytest.mark.parametrize("name", demo.names())
def test_pictures_are_well_formed_and_stay_within_their_frames(name):
    text = sheet.html_text(loaded(name))
    pictures = re.findall(r"<svg.*?</svg>", text, re.S)
    assert len(pictures) >= 5
    for picture in pictures:
        root = ElementTree.fromstring(picture)
        left, top, width, height = map(float, root.attrib["viewBox"].split())
        for circle in root.iter("circle"):
            x, y = float(circle.attrib["cx"]), float(circle.attrib["cy"])
            assert left <= x <= left + width
            assert top <= y <= top + height


def test_features_are_numbered_and_turned_with_the_setup():
    text = sheet.html_text(loaded())
    views = re.findall(r'<svg [^>]*aria-label="plan view[^"]*".*?</svg>', text, re.S)
    assert len(views) == 2
    # The bearing bore, 47 across in the middle of 240 by 180, in either setup.
    for view in views:
        assert '<circle cx="120" cy="90" r="23.5"' in view
    # The T-nut at X 40, Y 35: dashed there in setup 1, at 240 - 40 in setup 2; SVG's Y is down.
    assert re.search(r'<circle cx="40" cy="145" r="11.5" stroke-dasharray', views[0])
    assert re.search(r'<circle cx="200" cy="145" r="11.5"/>', views[1])
    numbers = re.findall(r"<text[^>]*>(\d+)</text>", views[0])
    assert sorted(numbers) == ["1"] * 2 + ["2"] + ["3"] * 5 + ["4"] * 3 + ["5"]


def test_a_section_is_the_profile():
    text = sheet.html_text(loaded())
    (figure,) = (each for each in text.split("<figure") if "cover screws</b>" in each)
    # The cone: 6.3 at the face, 3.3 at 3 down, then straight through 19.8.
    assert "M 6.3 0 L 3.3 3 L 3.3 19.8 L" in figure
    assert "M -6.3 0 L -3.3 3 L -3.3 19.8 L" in figure


def test_inches_are_written_to_four_places():
    page = Page(sheet.html_text(loaded("table-insert")))
    assert "X 0.3750 Y 2.0000" in page.text
    assert not re.search(r"\d mm", page.text)


ATTACK = "<script>alert(1)</script>\"'&"


def test_a_script_typed_anywhere_is_text():
    quoted = "'''" + ATTACK.replace("'", "") + "'''"
    changes = [
        ('"Bearing plate for a cider press"', quoted),
        ('"Invented for the demo. 20 mm birch plywood; measure your own sheet."', quoted),
        ('"plywood"', quoted),
        ('"12 mm end mill"', quoted),
        ('"bearing bore"', quoted),
        ('"M8 T-nut"', quoted),
        ('"hold-down screw, left"', quoted),
    ]
    text = sheet.html_text(
        part.loads(_changed(demo.text("bearing-plate"), changes), "<script>alert(2)</script>.toml")
    )
    assert "<script" not in text.lower()
    page = Page(text)
    assert "script" not in page.tags
    assert page.text.count("<script>alert(1)</script>") > 5
    assert "<script>alert(2)</script>.toml" in page.text


def _changed(text, changes):
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40))
@settings(max_examples=40, deadline=None)
def test_any_name_leaves_the_page_whole(name):
    quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
    text = demo.text("table-insert").replace('"Table insert for a drill press"', quoted)
    text = text.replace('name = "opening"', f"name = {quoted}")
    try:
        made = part.loads(text)
    except part.PartError:
        return
    plain = Page(sheet.html_text(loaded("table-insert"))).tags
    assert Page(sheet.html_text(made)).tags == plain


def test_a_stop_is_told_at_the_top():
    made = loaded("bearing-plate", ("[220, 90]", "[145, 90]"))
    text = sheet.html_text(made)
    assert text.index("Do not cut") < text.index("Plan views")
    assert "Do not cut" not in sheet.html_text(loaded())


def test_there_are_boxes_for_the_first_part():
    text = sheet.html_text(loaded())
    assert text.count('class="box"') >= 3 * 5


# --- the first part measured ---------------------------------------------------------------------


def measured(feature, what):
    return loaded(
        "bearing-plate", (f'name = "{feature}"\n', f'name = "{feature}"\nmeasured = {{{what}}}\n')
    )


def test_a_countersink_too_wide_goes_less_deep():
    made = measured("cover screws", "top_diameter = 12.8")
    # 90°: 0.2 on the diameter is 0.1 of depth; 4.5 becomes 4.4.
    typed = next(
        dict(each.settings) for each in plan(made).operations if "countersink" in each.cut.what
    )
    assert typed["depth of the tip"] == "4.400 mm"
    assert typed["circle"] == "3.400 mm"
    page = Page(sheet.html_text(made))
    assert "Second part: corrected" in page.text
    assert "depth: from 4.500 mm to 4.400 mm" in page.text
    # What the drawing wants stays what it was, beside what was measured.
    assert "3 cover screws top diameter 12.600 mm 12.800 mm" in page.text


def test_a_bore_too_small_is_cut_on_a_wider_path():
    made = measured("bearing bore", "bore_diameter = 46.92")
    operation = next(
        each for each in plan(made).operations if each.cut.what == "finish bore 47.00 mm"
    )
    assert dict(operation.settings)["path diameter"] == "35.080 mm"


def test_a_t_nut_that_stands_too_deep_is_bored_less_deep():
    made = measured("leg T-nuts", "recess = 0.7")
    typed = {
        each.cut.what.split(",")[0]: dict(each.settings)["depth"]
        for each in plan(made).operations
        if each.feature.name == "leg T-nuts"
    }
    # Wanted 0.5 of recess, found 0.7: both floors come up by 0.2.
    assert typed["flange"] == "1.800 mm"
    assert typed["barrel"] == "11.300 mm"


def test_an_edge_with_a_step_is_raised():
    made = measured("upper edge", "step_on_face = 0.1")
    assert made.feature("upper edge").made.corrections
    assert "6.250 mm" in sheet.html_text(made)


def test_what_came_out_as_planned_is_left():
    made = measured("cover screws", "top_diameter = 12.6")
    assert "leave depth at 4.500 mm" in sheet.html_text(made)


@pytest.mark.parametrize("name", demo.names())
def test_what_the_sheet_asks_for_is_what_the_file_takes(name):
    """Each line with a box has its key, and the file takes what was measured under it."""
    made = loaded(name)
    text = sheet.html_text(made)
    rows = re.findall(r"<tr><td>\d+ ([^<]*)</td><td>([^<]*)</td><td>([^<]*)</td>(.*?)</tr>", text)
    assert len(rows) >= 4
    for feature, _, wanted, rest in rows:
        key = re.search(r"<td>([^<]*)</td>$", rest)[1]
        assert bool(key) == ("box" in rest)
        if key:
            after = loaded(
                name,
                (
                    f'name = "{feature}"\n',
                    f'name = "{feature}"\nmeasured = {{{key} = "{wanted}"}}\n',
                ),
            )
            (correction,) = after.feature(feature).made.corrections
            assert sizes.mm(correction.new) == pytest.approx(sizes.mm(correction.old), abs=1e-3)


def test_a_hole_is_measured_to_compare_only():
    hole = '[[feature]]\nname = "h"\nkind = "hole"\ndiameter = 6\nat = [9, 9]\n'
    hole += 'cutter = "5 mm end mill"\n'
    text = sheet.html_text(part.loads(demo.text("bearing-plate") + hole))
    (row,) = re.findall(r"<tr><td>7 h</td>.*?</tr>", text)
    assert "box" not in row
    assert "to compare" in row


def test_what_was_noted_at_a_feature_is_on_sheet_and_list():
    made = loaded()
    page = Page(sheet.html_text(made))
    assert "dowel holes register the part when it is turned over" in page.text
    assert "lower edge chamfered" in page.text
    rows = list(csv.DictReader(io.StringIO(sheet.csv_text(made))))
    assert {row["note"] for row in rows if row["feature"] == "upper edge"} == {"rounded over"}


def test_signs_stand_in_plain_letters_too():
    page = Page(sheet.html_text(loaded()))
    assert "(3X 9 DIA THRU CBORE 23 DIA X 2 DP CBORE 10 DIA X 11.5 DP)" in page.text


def test_the_datum_is_told_in_a_sentence():
    page = Page(sheet.html_text(loaded()))
    assert "Zero in X and Y on the lower left corner, with face A up; X to the right" in page.text
    assert (
        "Zero in X and Y on the corner that was the lower right one on face A, now the lower left "
        "one: turned about Y, with face B up; X to the right" in page.text
    )


# --- fasteners -----------------------------------------------------------------------------------


def fetched(made):
    return [(each.count, each.name, each.what, each.features) for each in sheet.to_fetch(made)]


def test_fasteners_are_counted_over_all_places_of_all_features():
    assert fetched(loaded()) == [
        (5, "M6 flat head", "M6 flat head, ISO 7046-2, length not told", ("cover screws",)),
        (3, "M8 T-nut", "T-nut M8×1.25, barrel 9.00 mm long", ("leg T-nuts",)),
    ]
    more = (
        '[[feature]]\nname = "more"\nkind = "counterbore"\nface = "B"\nfastener = "M8 T-nut"\n'
        'cutter = "6 mm end mill"\nhole_cutter = "6 mm end mill"\n'
        "at = [[70, 150], [170, 150]]\n"
    )
    made = part.loads(demo.text("bearing-plate") + more)
    assert fetched(made)[1] == (
        *(5, "M8 T-nut", "T-nut M8×1.25, barrel 9.00 mm long"),
        ("leg T-nuts", "more"),
    )
    page = Page(sheet.html_text(made))
    assert "Fasteners to fetch fastener what it is for 5 M6 flat head" in page.text
    assert "5 M8 T-nut T-nut M8×1.25, barrel 9.00 mm long leg T-nuts, more" in page.text


def test_a_screw_is_fetched_in_the_length_that_was_found_and_no_other():
    asked = 'name = "leg T-nuts"\nmating_part = {}\n'
    # 12 of mating part and 8.8 of plate above the nut's barrel: 28.8 to 31.8 would do.
    made = loaded("bearing-plate", ('name = "leg T-nuts"\n', asked.format("12")))
    assert fetched(made)[2] == (3, "screw", "M8×1.25, 30.00 mm long", ("leg T-nuts",))
    # 26.8 to 29.8 would do, and none is made.
    made = loaded("bearing-plate", ('name = "leg T-nuts"\n', asked.format("10")))
    told = "no length on the list fits: see the checks"
    assert fetched(made)[2] == (3, "screw", told, ("leg T-nuts",))
    assert any("no length on the list" in each.what for each in checks.part(made))


def test_washers_and_cap_screws_are_fetched_too():
    drawer = (
        '[[fastener]]\nname = "cap"\nkind = "cap screw"\nstandard = "ISO 4762"\nsize = "M5"\n'
        '[[fastener]]\nname = "under it"\nkind = "washer"\nstandard = "ISO 7089"\nsize = "M5"\n'
        '[[feature]]\nname = "lid"\nkind = "counterbore"\nface = "A"\nfastener = "cap"\n'
        'washer = "under it"\ncutter = "5 mm end mill"\nat = [[60, 30], [180, 30]]\n'
    )
    made = part.loads(demo.text("bearing-plate") + drawer)
    assert fetched(made)[2:] == [
        (2, "cap", "M5×0.8 cap screw, ISO 4762, length not told", ("lid",)),
        (2, "under it", "M5 washer, ISO 7089", ("lid",)),
    ]


def test_a_part_without_fasteners_lists_none():
    text = demo.text("bearing-plate")
    text = text[: text.index("[turn]")] + (
        '[[cutter]]\nname = "d"\nkind = "drill"\ndiameter = 8\n'
        '[[feature]]\nname = "hole"\nkind = "hole"\ndiameter = 8\nat = [50, 50]\n'
    )
    assert "Fasteners to fetch" not in sheet.html_text(part.loads(text))


# --- files ---------------------------------------------------------------------------------------


def test_csv_has_a_row_for_each_position():
    made = loaded()
    rows = list(csv.DictReader(io.StringIO(sheet.csv_text(made))))
    planned = plan(made)
    assert len(rows) == sum(operation.count for operation in planned.operations)
    for row in rows:
        operation = planned.operations[int(row["operation"]) - 1]
        assert row["feature"] == operation.feature.name
        if row["X [mm]"]:
            near = abs(operation.xy - [float(row["X [mm]"]), float(row["Y [mm]"])]).max(axis=1)
            assert near.min() < 0.0006


def test_no_cell_is_a_formula():
    made = loaded("bearing-plate", ('"bearing bore"', '"=1+1"'))
    rows = list(csv.reader(io.StringIO(sheet.csv_text(made))))
    assert any(cell == "'=1+1" for row in rows for cell in row)
    assert not any(cell.startswith(("=", "@")) for row in rows for cell in row)


def test_only_a_sheet_is_written_over(tmp_path):
    path = tmp_path / "a.html"
    text = sheet.html_text(loaded())
    assert sheet.write(text, path) == (path, None)
    # The same again is nothing lost; something else is.
    assert sheet.write(text, path) == (path, None)
    written = sheet.write(text + " ", path)
    assert written == (path, tmp_path / "a.html.bak")
    assert str(written) == f"{path}; the one before is kept as {tmp_path / 'a.html.bak'}"
    assert written.before.read_text(encoding="utf-8") == text
    assert path.read_text(encoding="utf-8") == text + " "
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(sheet.SheetError, match="not made here"):
        sheet.write(text, path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(sheet.SheetError, match="not written"):
        sheet.write(text, tmp_path / "nowhere" / "a.html")
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["a.html", "a.html.bak"]


def test_what_somebody_else_keeps_under_the_name_of_the_one_before_is_left(tmp_path):
    path, theirs = tmp_path / "a.html", tmp_path / "a.html.bak"
    text = sheet.html_text(loaded())
    sheet.write(text, path)
    theirs.write_text("mine", encoding="utf-8")
    with pytest.raises(sheet.SheetError, match=r"a\.html\.bak is there and was not made here"):
        sheet.write(text + " ", path)
    assert theirs.read_text(encoding="utf-8") == "mine"
    assert path.read_text(encoding="utf-8") == text


def test_a_sheet_says_which_part_it_is_of_and_what_it_was_made_from():
    page = Page(sheet.html_text(loaded()))
    assert "sheet of the first part: nothing is measured yet" in page.text
    made, saved = datetime(2026, 3, 4, 9, 30), datetime(2026, 3, 4, 9, 28, 7)
    second = measured("cover screws", "top_diameter = 12.8")
    page = Page(sheet.html_text(second, origin=sheet.Origin("my plate.toml", saved, made)))
    assert "sheet of the second part; what was measured on the first: cover screws" in page.text
    assert "made 2026-03-04 09:30, from my plate.toml as saved 2026-03-04 09:28:07" in page.text
    assert "Not saved" not in page.text
    page = Page(sheet.html_text(second, origin=sheet.Origin("my plate.toml", None, made)))
    assert "made 2026-03-04 09:30, from text that is not saved in my plate.toml" in page.text
    assert "▲ Not saved. No file holds what this sheet was made from" in page.text


@pytest.mark.parametrize("what", sheet.FILES)
def test_a_drawing_that_somebody_else_made_is_never_written_over(tmp_path, what):
    path = tmp_path / f"a{sheet.FILES[what]}"
    text = sheet.file_text(what, loaded())
    sheet.write(text, path)
    sheet.write(sheet.file_text(what, loaded("table-insert")), path)
    path.write_text("  0\nSECTION\n", encoding="utf-8")
    with pytest.raises(sheet.SheetError, match="not made here"):
        sheet.write(text, path)
    assert path.read_text(encoding="utf-8") == "  0\nSECTION\n"


def test_what_is_measured_twice_over_is_refused():
    for feature, one, other in (
        ("cover screws", "top_diameter = 12.8", "cone_depth = 3.1"),
        ("upper edge", "step_on_face = 0.1", "leg_on_face = 6"),
    ):
        with pytest.raises(part.PartError, match="one setting answers both"):
            measured(feature, f"{one}, {other}")


def test_what_is_to_be_measured_is_told_even_where_nothing_can_be_made_of_it():
    made = measured("cover screws", "top_diameter = 60")
    assert made.feature("cover screws").made is None
    (told,) = part.to_measure(made.feature("cover screws"))
    assert (told.key, told.wanted) == ("top_diameter", None)
    assert "60.000 mm" in sheet.html_text(made)


def test_a_stop_is_the_only_thing_that_stops():
    assert checks.part(loaded()).worst is not Weight.STOP
