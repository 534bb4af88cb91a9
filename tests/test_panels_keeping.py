"""What a panel shows is kept in a part, and comes back from it the same."""

import html
import re
from pathlib import Path

import pytest

from holecalc import checks, demo, nuts, sizes
from holecalc.counterbore import Pocket
from holecalc.holding import starting_strengths
from holecalc.panels import CounterborePanel, CountersinkPanel, FormCutterPanel, HelixPanel
from holecalc.part import PartError, load, loads
from holecalc.plan import plan

PANELS = {
    "countersink": CountersinkPanel,
    "counterbore": CounterborePanel,
    "bore": HelixPanel,
    "edge": FormCutterPanel,
}
TRACE = """5.5; 12.73
6.0; 12.87
6.5; 13.04
7.0; 13.35
7.5; 13.74
8.0; 14.52
8.5; 14.83
9.0; 15.52
9.5; 16.44
10.0; 17.60
10.5; 19.11
11.0; 21.24
11.5; 25.38
12.5; 25.40"""
# Invented, as is all that is typed in these tests.
ROUNDING = {
    "stub_diameter": "4.80 mm", "begin_diameter": "12.72 mm", "largest_diameter": "25.36 mm",
    "arc_height": "6.30 mm", "shoulder_height": "2 mm", "marked_radius": "6.35 mm",
    "stub_height": "5.00 mm", "shank_diameter": "8 mm", "bearing_diameter": "12.7 mm",
    "spindle_speed": "18000",
}  # fmt: skip
CHAMFER = {
    "begin_diameter": "6 mm", "largest_diameter": "26 mm", "arc_height": "10 mm",
    "marked_angle": "45°", "shoulder_height": "2 mm",
}  # fmt: skip


HEAD = {"head_diameter": "11.8", "head_angle": "92°", "shank_diameter": "5.9 mm"}
NINE = {"bore_diameter": "9", "cutting_diameter": "6 mm", "flutes": "1"}


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def said(panel):
    return " ".join(html.unescape(re.sub("<[^>]+>", " ", panel.keeping._said.value)).split())


def keep(panel, name="it", at="[150, 100]", file="mine.toml", size="300 x 200"):
    """Fill in where it goes and press the button."""
    keeping = panel.keeping
    keeping.file.text, keeping.feature.text = file, name
    keeping.at.text, keeping.plate_size.text = at, size
    keeping.keep_button.click()
    return said(panel)


def typed_in(panel, choices=(), **texts):
    for name, value in choices:
        getattr(panel, name).value = value
    for name, text in texts.items():
        panel.fields[name].text = text
    return panel


def numbers(main):
    """What is typed at the machine for it [mm]."""
    if isinstance(main, Pocket):
        return main.stack
    if hasattr(main, "rings"):
        return [ring.cut.base for ring in main.rings], main.finishing_turn, main.breakthrough
    if hasattr(main, "seat"):
        return main.cut.base, main.seat.recess, main.cutter
    names = ("offset", "depth", "allowance", "leg_on_face", "leg_on_wall", "step_on_face")
    return [getattr(main, name) for name in names], str(main.cutter.evidence)


def main_of(panel):
    for name in ("sink", "pocket"):
        if hasattr(panel, name):
            return getattr(panel, name)
    if hasattr(panel, "run"):
        return panel.run.bore
    given = {"offset": panel.setting.offset, "depth": panel.setting.depth}
    return panel.edge.cutter.edge(
        panel.edge.plate_thickness, allowance=panel.edge.allowance, **given
    )


def shown(panel):
    """All that a panel tells."""
    htmls = ("_headline", "_numbers", "_findings", "_line", "_trouble", "_evidence", "_listing")
    return {name: getattr(panel, name).value for name in htmls if hasattr(panel, name)} | {
        "python": panel.python,
        "findings": str(panel.findings),
        "picture": panel._picture.value,
        "sliders": [
            each.value
            for each in panel._entries()
            if hasattr(each, "min") and each.layout.display != "none" and not each.disabled
        ],
    }


def comes_back(panel, **where):
    """Keep it, load the part, open another panel: everywhere the same."""
    told = keep(panel, **where)
    assert "✓ kept as “it" in told, told
    name = "it, face B" if panel.kind_of_feature == "edge" and panel.faces.value == "both" else "it"
    made = load("mine.toml")
    feature = made.feature(name)
    assert numbers(feature.made.main) == numbers(main_of(panel))
    planned = plan(made)
    assert any(each.feature.name == name for each in planned.operations)
    assert not [each for each in checks.part(made, planned) if each.topic == "part file"]
    again = type(panel).of("mine.toml", name)
    assert shown(again) == shown(panel)
    # And once more kept, nothing is another.
    text = Path("mine.toml").read_text(encoding="utf-8")
    again.keeping.keep_button.click()
    assert Path("mine.toml").read_text(encoding="utf-8") == text, said(again)
    return feature


SINKS = {
    "as it opens": lambda: CountersinkPanel(),
    "measured by land": lambda: typed_in(CountersinkPanel(), **HEAD, edge_land="0.5"),
    "measured by height": lambda: typed_in(
        CountersinkPanel(), [("edge", "head height")], **HEAD, edge_land="3.4 mm"
    ),
    "circle found": lambda: typed_in(
        CountersinkPanel(), [("find", "circle")], depth="4.5", lie="0.1"
    ),
    "lie found": lambda: typed_in(
        CountersinkPanel(), [("lie", "top diameter"), ("find", "lie")], depth="4.5"
    ),
    "by top diameter": lambda: typed_in(
        CountersinkPanel(), [("lie", "top diameter")], lie="12.7"
    ),
    "a round tip below the plate": lambda: typed_in(
        CountersinkPanel(plate_thickness="4 mm", circle_diameter="3"),
        [("tip", "round")],
        tip_size="0.3",
        tip_below="1",
    ),
    "a first part measured": lambda: typed_in(CountersinkPanel(), measured_top="12.75"),
    "a hole of another fit": lambda: typed_in(CountersinkPanel(), [("fit", "close")]),
    "a hole of its own": lambda: typed_in(CountersinkPanel(), hole_diameter="7.1"),
    "inches": lambda: CountersinkPanel(
        "ASME B18.6.3 82°", "1/4", unit="in", cutting_diameter="1/2 in", included_angle="82°",
        tip_diameter="0.020", plate_thickness="0.5", circle_diameter="0.100",
    ),
}  # fmt: skip
BORES = {
    "rings": lambda: HelixPanel(),
    "turns and the feed at the wall": lambda: HelixPanel(
        **NINE, passes="8", spindle_speed="18000", wall_feed="2400 mm/min", material=""
    ),
    "the pitch": lambda: typed_in(HelixPanel(**NINE), [("find", "passes")], pitch="1.5"),
    "a core": lambda: typed_in(HelixPanel(), [("middle", True), ("finish", False)]),
    "blind, after a hole": lambda: typed_in(
        HelixPanel(depth="12"), pilot_diameter="20", max_ramp_angle="3"
    ),
    "one feed at the axis": lambda: typed_in(
        HelixPanel(),
        [("given", "axis_feed"), ("end", False)],
        axis_feed="900",
        typed_feed="1200",
        fastest="15000",
        maximum_ramp_angle="4",
    ),
    "inches": lambda: HelixPanel(unit="in", bore_diameter="1-1/4", plate_thickness="1/2"),
}
POCKETS = {
    "T-nut": lambda: CounterborePanel(
        "T-nut", prong_length="6 mm", face="B", mating_part="14 mm", washers="1.6 mm"
    ),
    "T-nut, through, a screw at hand": lambda: typed_in(
        CounterborePanel("T-nut"),
        [("buy", "at hand"), ("through", "through")],
        mating_part="12",
        screw_length="40",
        behind="2",
        recess="0.5",
    ),
    "hexagon nut, no screw": lambda: CounterborePanel(
        "hexagon nut", mating_part="14 mm", load="2 kN"
    ),
    "relieved": lambda: typed_in(
        CounterborePanel("hexagon nut", relieved=True),
        [("material", next(iter(starting_strengths())))],
        cutting_length="20",
        reach="30",
        load="2 kN",
        relief_reach="7.6",
        most_turning="6",
    ),
    "clearance found": lambda: typed_in(
        CounterborePanel("hexagon nut"), [("find", "nut_clearance")], across_flats="14.2 mm"
    ),
    "square nut": lambda: CounterborePanel("square nut", nut_clearance="0.4 mm"),
    "a measured nut": lambda: CounterborePanel(
        "hexagon nut", nut_across_flats="12.9", height="6.4", across_corners="14.5", thread="M8"
    ),
    "insert, blind": lambda: CounterborePanel("insert", point_angle="118°", tip_room="2 mm"),
    "insert, through, with a flange": lambda: typed_in(
        CounterborePanel(
            "insert", insert_flange_diameter="14 mm", insert_flange_thickness="1 mm"
        ),
        [("through", "through")],
    ),
    "cap screw on a washer": lambda: typed_in(
        CounterborePanel("cap screw"), [("washer", next(iter(nuts.WASHERS)))]
    ),
    "washer": lambda: CounterborePanel("washer"),
    "a measured washer": lambda: typed_in(
        CounterborePanel("washer"), inside_diameter="8.5", outside_diameter="16.4",
        thickness="1.7", size="M8", washer_clearance="1",
    ),
    "inches": lambda: CounterborePanel(
        "hexagon nut", "ASME B18.2.2", "1/4", unit="in", plate_thickness="1/2 in",
        cutter_diameter="1/8 in", face="B", mating_part="1/4 in",
    ),
}  # fmt: skip
EDGES = {
    "calipers": lambda: FormCutterPanel(**ROUNDING),
    "errors on the sliders": lambda: typed_in(
        FormCutterPanel(**ROUNDING), [("depth_error", 10), ("offset_error", -3)], allowance="0.3"
    ),
    "both faces": lambda: FormCutterPanel(**ROUNDING, faces="both", uncertainty="0.02 mm"),
    "depth typed": lambda: typed_in(
        FormCutterPanel(**ROUNDING), [("find", ("offset",))], depth="11.2"
    ),
    "offset typed": lambda: typed_in(
        FormCutterPanel(**ROUNDING), [("find", ("depth",))], offset="6.4"
    ),
    "traced": lambda: FormCutterPanel(
        "concave", TRACE, stub_diameter="12.70 mm", bearing_diameter="12.7 mm", held_radius="6.35"
    ),
    "traced, with a heading": lambda: FormCutterPanel(
        "concave", "height [mm]; diameter [mm]\n" + TRACE, trace_uncertainty="0.02 mm"
    ),
    "chamfer": lambda: FormCutterPanel("straight", **CHAMFER, chamfer="3 mm"),
    "both typed": lambda: typed_in(
        FormCutterPanel("straight", **CHAMFER), [("find", ())], offset="5", depth="4"
    ),
    "cove": lambda: FormCutterPanel("convex", **{**ROUNDING, "stub_diameter": "12.72 mm"}),
}


@pytest.mark.parametrize(
    "make",
    [
        pytest.param(make, id=f"{kind}: {name}")
        for kind, makers in (("sink", SINKS), ("bore", BORES), ("pocket", POCKETS), ("edge", EDGES))
        for name, make in makers.items()
    ],
)
def test_every_mode_comes_back_whole(make):
    comes_back(make())


# --- with what is there --------------------------------------------------------------------------


def demo_file(name="bearing-plate"):
    path = Path("mine.toml")
    path.write_text(demo.text(name), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("file", "name"),
    [
        (file, feature.name)
        for file in demo.names()
        for feature in loads(demo.text(file)).features
        if feature.kind in PANELS
    ],
)
def test_features_written_by_hand_open_as_they_are(file, name):
    path = demo_file(file)
    feature = load(path).feature(name)
    panel = PANELS[feature.kind].of(path, name)
    assert panel.unit.value == load(path).unit
    main = feature.made.main
    if feature.given.get("finishing") is not None:
        assert "finishes it" in said(panel)
    elif feature.kind == "edge":
        for key in ("offset", "depth", "leg_on_face", "leg_on_wall"):
            here, there = (sizes.mm(getattr(each, key)) for each in (panel.edge, main))
            assert here == pytest.approx(there)
    else:
        assert numbers(main) == numbers(main_of(panel))
    panel.keeping.keep_button.click()
    assert "✓ kept" in said(panel)
    again = load(path).feature(name)
    assert [cut.what for cut in again.made.cuts] == [cut.what for cut in feature.made.cuts]
    assert again.note == feature.note
    # Remarks and all other lines are as they were.
    before, after = demo.text(file).splitlines(), path.read_text(encoding="utf-8").splitlines()
    assert [row for row in after if row in before] == before


def test_sizes_stand_in_the_file_as_they_were_typed():
    panel = typed_in(CountersinkPanel(unit="in"), hole_diameter="17/64", plate_thickness="3/4 in")
    keep(panel, at="1-1/2, 2", size="12 x 8")
    assert "✓ kept" in said(panel), said(panel)
    text = Path("mine.toml").read_text(encoding="utf-8")
    for row in (
        'unit = "in"', "size = [12, 8]", 'thickness = "3/4 in"', 'hole_diameter = "17/64"',
        'at = ["1-1/2", 2]', 'circle_diameter = "3.6 mm"', "recess = 0",
    ):  # fmt: skip
        assert row in text.splitlines()


def test_a_bare_number_keeps_the_unit_it_was_typed_in():
    path = demo_file()
    panel = typed_in(CountersinkPanel(unit="in"), circle="0.125", plate_thickness="19.8 mm")
    assert "✓ kept" in keep(panel, name="lid", at="[2, 3]"), said(panel)
    feature = load(path).feature("lid")
    assert sizes.mm(feature.made.main.cut.circle_diameter) == pytest.approx(3.175)
    assert feature.at.xy()[0] == pytest.approx([50.8, 76.2])


def test_changing_the_unit_moves_nothing():
    panel = CountersinkPanel()
    panel.keeping.at.text = '{pattern = "bolt circle", centre = [9, 8], diameter = 7, count = 5}'
    panel.keeping.plate_size.text = "300 x 200"
    panel.unit.value = "in"
    assert panel.keeping.at.text == (
        '{pattern = "bolt circle", centre = ["9 mm", "8 mm"], diameter = "7 mm", count = 5}'
    )
    assert panel.keeping.plate_size.text == "300 mm x 200 mm"
    panel.keeping.at.text = "150, 100; 2 in, 100"
    panel.unit.value = "mm"
    assert panel.keeping.at.text == "150 in, 100 in; 2 in, 100 in"


def test_places_typed_plainly_stand_in_the_file_as_pairs():
    panel = CountersinkPanel()
    assert "✓ kept" in keep(panel, at="150 100; 50 mm, 4 in"), said(panel)
    feature = load("mine.toml").feature("it")
    assert feature.at.xy().tolist() == [[150, 100], [50, pytest.approx(101.6)]]
    assert 'at = [[150, 100], ["50 mm", "4 in"]]' in Path("mine.toml").read_text(encoding="utf-8")
    again = CountersinkPanel.of("mine.toml", "it")
    assert again.keeping.at.text == "150, 100; 50 mm, 4 in"
    again.keeping.keep_button.click()
    assert load("mine.toml").feature("it").at == feature.at


def test_the_gravest_is_told_first_after_keeping():
    panel = CounterborePanel()
    path = demo_file()
    text = path.read_text(encoding="utf-8").replace('name = "M8 T-nut" ', 'name = "other"')
    text = text.replace('fastener = "M8 T-nut"', 'fastener = "other"')
    path.write_text(text, encoding="utf-8")
    told = keep(panel, at="40, 90")
    marks = re.findall(r"[■▲·] (stop|look|note) ", told.partition("nothing found")[0])
    weights = [["stop", "look", "note"].index(each) for each in marks]
    assert len(set(weights)) > 1, told
    assert weights == sorted(weights)


def test_plates_that_differ_are_told_and_the_parts_counts():
    path = demo_file()
    told = keep(CountersinkPanel(plate_thickness="18 mm"), name="lid", at="[40, 90]")
    assert "The plate is 18.000 mm thick here and 19.800 mm in the part." in told
    assert "The part's counts" in told
    assert sizes.mm(load(path).plate.thickness) == 19.8
    panel = CountersinkPanel.of(path, "lid")
    assert panel.fields["plate_thickness"].text == "19.8"


def test_a_hole_that_nothing_drills_gets_a_drill_and_another_hole_another():
    panel = CountersinkPanel()
    assert "6.6 mm drill is new in the drawer, which had nothing for the hole" in keep(panel)
    panel.size.value = "M8"
    panel.fields["cutting_diameter"].text = "20"
    assert "✓ kept" in keep(panel), said(panel)
    assert load("mine.toml").feature("it").given["hole_cutter"] == "9 mm drill"


def test_a_fit_told_by_hand_becomes_the_hole_it_stands_for():
    path = demo_file()
    text = path.read_text(encoding="utf-8").replace(
        'callout = "5X ⌀6.6 THRU ⌵ ⌀12.6 X 90°"', 'kind = "countersink"\nfit = "loose"'
    )
    path.write_text(text, encoding="utf-8")
    panel = CountersinkPanel.of(path, "cover screws")
    assert panel.fit.value == "loose"
    panel.keeping.keep_button.click()
    assert "✓ kept" in said(panel), said(panel)
    assert load(path).feature("cover screws").given["fit"] is None
    again = CountersinkPanel.of(path, "cover screws")
    assert again.python == panel.python


# By hand: 1500 at the axis; and at the wall of 10 mm, with 6 mm of cutter, 1500 (10 - 6)/10.
@pytest.mark.parametrize(
    ("panel", "flutes", "axis_feed"),
    [
        (CountersinkPanel, {}, "1500 mm/min"),
        (CounterborePanel, {"flutes": "2"}, "600 mm/min"),
    ],
)
def test_what_the_cutter_is_run_at_reaches_the_sheet_and_comes_back(panel, flutes, axis_feed):
    first = typed_in(panel(), spindle_speed="12000", feed="1500", **flutes)
    keep(first)
    settings = dict(plan(load("mine.toml")).operations[-1].settings)
    assert settings["spindle"] == "12000 rev/min"
    assert settings["axis feed"] == axis_feed
    again = panel.of("mine.toml", "it")
    assert again.fields["spindle_speed"].text == "12000"
    assert again.fields["feed"].text == "1500"
    assert again.fields.get("flutes") is None or again.fields["flutes"].text == "2"
    again.fields["feed"].text = ""
    keep(again)
    keep(again)
    assert "1500" not in Path("mine.toml").read_text()
    again.fields["feed"].text = "fast"
    assert "cannot be read" in again._trouble.value


@pytest.mark.parametrize("panel", [CountersinkPanel, CounterborePanel])
def test_a_speed_told_in_the_file_outlives_a_panel_that_says_none(panel):
    first = panel()
    keep(first)
    text = Path("mine.toml").read_text()
    kind = 'kind = "vee"' if panel is CountersinkPanel else 'kind = "end mill"'
    told = f"{kind}\nspindle_speed = 14000\nfeed = 1200"
    Path("mine.toml").write_text(text.replace(kind, told, 1))
    first.fields["plate_thickness"].text = "19 mm"
    for _ in range(2):
        # What was changed meanwhile is asked about first.
        keep(first)
    kept = Path("mine.toml").read_text()
    assert "spindle_speed = 14000" in kept
    assert "feed = 1200" in kept


def test_only_part_files_are_offered():
    demo_file()
    Path("other.toml").write_text("[tool]\nx = 1\n", encoding="utf-8")
    options = [value for _, value in CountersinkPanel().keeping.files.entry.options]
    assert options == ["", "mine.toml"]


def test_the_cutter_of_another_feature_is_left_alone():
    panel = CountersinkPanel()
    keep(panel, name="one")
    panel.fields["tip_size"].text = "0.3 mm"
    assert "90 degree vee 2 is new in the drawer" in keep(panel, name="two", at="[50, 50]")
    assert sizes.mm(CountersinkPanel.of("mine.toml", "one").sink.cutter.tip_diameter) == 0.2
    assert sizes.mm(CountersinkPanel.of("mine.toml", "two").sink.cutter.tip_diameter) == 0.3


def test_what_was_changed_in_the_file_is_what_the_panel_shows():
    keep(CountersinkPanel())
    path = Path("mine.toml")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('circle_diameter = "3.6 mm"', "circle_diameter = 3"), "utf-8")
    assert sizes.mm(CountersinkPanel.of(path, "it").sink.cut.circle_diameter) == 3


# --- refused -------------------------------------------------------------------------------------


def lost_nothing(panel, act):
    """Neither panel nor file is another after something refused."""
    path = Path("mine.toml")
    before, text = shown(panel), path.read_bytes() if path.exists() else None
    typed = {name: field.text for name, field in panel.fields.items()}
    act()
    assert "✗" in said(panel)
    assert shown(panel) == before
    assert {name: field.text for name, field in panel.fields.items()} == typed
    assert (path.read_bytes() if path.exists() else None) == text
    return said(panel)


@pytest.mark.parametrize(
    ("where", "reason"),
    [
        ({"file": ""}, "no part file is named. Type its name"),
        ({"name": " "}, "it has no name. Type one"),
        ({"at": ""}, "it stands nowhere yet. Type X and Y"),
        ({"at": "in the middle"}, "“in the middle” is no place. Type X and Y, such as “40, 35”"),
        ({"at": "[1, 2, 3]"}, "“1, 2, 3” has 3 sizes, and a place has two, X and Y"),
        ({"size": ""}, "mine.toml is not there yet, and a new part needs its plate"),
        ({"size": "300"}, "'300' is no plate's size. Type two sizes"),
        ({"size": "300 x wide"}, "wide"),
    ],
)
def test_what_is_missing_is_asked_for(where, reason):
    panel = CountersinkPanel()
    assert reason in lost_nothing(panel, lambda: keep(panel, **where))


def test_what_makes_no_result_is_not_kept():
    panel = typed_in(CountersinkPanel(), circle="wide")
    told = lost_nothing(panel, lambda: keep(panel))
    assert "not kept: what is typed makes no result yet" in told
    assert "wide" in told


def test_a_file_with_faults_is_told_line_by_line():
    path = demo_file()
    path.write_text(demo.text("bearing-plate").replace("diameter = 47", "diameter = 'wide'"))
    panel = CountersinkPanel()
    told = lost_nothing(panel, lambda: keep(panel))
    assert re.search(r"mine.toml:\d+: feature 'bearing bore', diameter: .*wide", told)
    with pytest.raises(PartError, match="bearing bore"):
        CountersinkPanel.of(path, "cover screws")


def test_a_feature_of_another_kind_is_neither_written_over_nor_taken_up():
    path = demo_file()
    panel = CountersinkPanel()
    told = lost_nothing(panel, lambda: keep(panel, name="bearing bore"))
    assert re.search(r"bearing bore in mine.toml \(line \d+\) is a bore, and this is a c", told)
    assert "Give it another name" in told
    with pytest.raises(ValueError, match="is a bore, and this panel is for a countersink"):
        CountersinkPanel.of(path, "bearing bore")


def test_a_name_that_is_not_there_names_those_that_are():
    path = demo_file()
    with pytest.raises(ValueError, match=r"has no feature 'lid screws'. There is cover screws"):
        CountersinkPanel.of(path, "lid screws")
    with pytest.raises(ValueError, match=r"there is no .*other.toml. Look at its name"):
        CountersinkPanel.of("other", "lid screws")


def test_another_of_that_name_is_written_over_only_when_asked_twice():
    path = demo_file()
    panel = CountersinkPanel(plate_thickness="19.8")
    told = lost_nothing(panel, lambda: keep(panel, name="cover screws", at=""))
    assert "mine.toml has a feature cover screws already" in told
    assert "press once more" in told
    # The drawing's callout says how wide it is, and a recess says otherwise.
    panel.keeping.keep_button.click()
    assert "✗ not kept" in said(panel)
    panel.lie.value = "top diameter"
    panel.keeping.keep_button.click()
    assert "✓ kept as “cover screws”" in said(panel), said(panel)
    assert sizes.mm(load(path).feature("cover screws").made.main.cut.circle_diameter) == 3.6


def test_what_someone_else_changed_is_not_written_over_unasked():
    path = demo_file()
    panel = CountersinkPanel.of(path, "cover screws")
    panel.fields["circle"].text = "3.5"
    text = path.read_text(encoding="utf-8").replace("= 3.4", "= 3.3")
    path.write_text(text, encoding="utf-8")
    told = lost_nothing(panel, panel.keeping.keep_button.click)
    assert "cover screws was changed in mine.toml since it was here. Take it up" in told
    # What was changed elsewhere in the file is no matter.
    panel = CountersinkPanel.of(path, "cover screws")
    panel.fields["circle"].text = "3.5"
    path.write_text(text.replace("diameter = 47", "diameter = 46"), encoding="utf-8")
    panel.keeping.keep_button.click()
    assert "✓ kept" in said(panel)
    assert "diameter = 46" in path.read_text(encoding="utf-8")


def test_a_file_that_cannot_be_written_is_told(monkeypatch):
    path = demo_file()
    path.chmod(0o444)
    panel = CountersinkPanel()
    told = lost_nothing(panel, lambda: keep(panel, name="lid", at="[40, 90]"))
    assert "is read-only. Make it writable, or save under another name." in told


def test_what_cannot_be_shown_is_refused_and_the_panel_stays():
    path = demo_file()
    text = path.read_text(encoding="utf-8")
    plain = text.replace('fastener = "M8 T-nut"', "hole_diameter = 9\ndiameter = 20\ndepth = 5")
    path.write_text(plain, encoding="utf-8")
    panel = CounterborePanel("hexagon nut")
    panel.keeping.file.text = "mine.toml"
    panel.keeping.features.value = "leg T-nuts"
    told = lost_nothing(panel, panel.keeping.take_button.click)
    assert "leg T-nuts holds no fastener" in told
    short = text.replace("begin_diameter = 6.4", "begin_diameter = 6.4\nend_angle = 70")
    path.write_text(short, encoding="utf-8")
    panel = FormCutterPanel(**ROUNDING)
    panel.keeping.file.text = "mine.toml"
    panel.keeping.features.value = "upper edge"
    told = lost_nothing(panel, panel.keeping.take_button.click)
    assert "dimensions that calipers alone do not tell" in told


def test_the_largest_cutter_is_none_of_a_drawer():
    panel = typed_in(CounterborePanel("hexagon nut"), [("find", "cutter_diameter")])
    told = lost_nothing(panel, lambda: keep(panel))
    assert "is the largest cutter that would do, and none of a drawer. Choose" in told


def test_typed_markup_is_escaped():
    panel = CountersinkPanel()
    keep(panel, at="<script>x</script>")
    assert "<script>" not in panel.keeping._said.value
