"""Putting a feature into a part file: what is asked for changes, and nothing else."""

import difflib

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holecalc import demo, sizes
from holecalc.part import PartError, PartFile, begin_file, load, loads, open_file, writing

SMALL = """\
part = "small"   # a remark
unit = "mm"

[plate]
size = [100, 60]
thickness = 10

[[cutter]]
name = "vee"     # from the blue box
kind = "vee"
diameter = 12
included_angle = 90

[[cutter]]
name = "6.6 drill"
kind = "drill"
diameter = 6.6

# --- fasteners ---

[[fastener]]
name = "M6"
kind = "flat head"
standard = "ISO 7046-2"
size = "M6"

# --- features ---

[[feature]]
name = "screws"
kind = "countersink"
fastener = "M6"
cutter = "vee"   # newly ground
hole_cutter = "6.6 drill"
recess = 0.2     # as the lid wants it
circle_diameter = 3.6
at = [[20, 30], [80, 30]]   # the long way
mine = "kept"

# --- clamps ---

[[keep_clear]]
name = "clamp"
at = [5, 5]
diameter = 8
"""
VEE = {"name": "90 degree vee", "kind": "vee", "diameter": 12, "included_angle": "90°"}
SCREWS = {
    "name": "screws",
    "kind": "countersink",
    "fastener": "M6",
    "recess": "0.3 mm",
    "circle_diameter": 3.6,
}


def opened(tmp_path, text=SMALL):
    path = tmp_path / "small.toml"
    path.write_bytes(text.encode())
    return open_file(path)


def changes(before, after):
    """Lines taken away and put in."""
    rows = difflib.ndiff(before.splitlines(), after.splitlines())
    return [row for row in rows if row[0] in "+-"]


# --- the text ------------------------------------------------------------------------------------


def test_a_changed_size_keeps_its_line_its_remark_and_its_neighbours(tmp_path):
    file = opened(tmp_path)
    assert file.put(SCREWS) == ()
    assert changes(SMALL, file.text) == [
        "- recess = 0.2     # as the lid wants it",
        '+ recess = "0.3 mm"     # as the lid wants it',
    ]
    assert sizes.mm(file.part.feature("screws").made.main.seat.recess) == pytest.approx(0.3)


def test_what_is_said_as_it_stands_changes_nothing(tmp_path):
    file = opened(tmp_path)
    assert file.put(SCREWS | {"recess": 0.2}, {"cutter": VEE}) == ()
    assert file.text == SMALL


def test_new_keys_and_tables_stand_above_the_remarks_that_follow(tmp_path):
    file = opened(tmp_path)
    file.put({"name": "screws", "note": "x", "measured": {"top_diameter": 12.8}, "panel": {}})
    rows = file.text.splitlines()
    last = rows.index("# --- clamps ---")
    assert rows[last - 6 : last] == [
        'mine = "kept"',
        'note = "x"',
        "",
        "[feature.measured]",
        "top_diameter = 12.8",
        "",
    ]
    file.put({"name": "screws", "note": None, "measured": {"top_diameter": None}})
    assert [row for row in changes(SMALL, file.text) if row.strip("+- ")] == []


def test_a_new_cutter_stands_with_the_others(tmp_path):
    file = opened(tmp_path)
    told = file.put(
        {"name": "bore", "kind": "bore", "diameter": 20, "at": [50, 30]},
        {"cutter": {"name": "8 mm", "kind": "end mill", "diameter": 8, "flutes": 2}},
    )
    assert told == ("8 mm is new in the drawer",)
    rows = file.text.splitlines()
    drill, new, heading = (
        rows.index(row) for row in ("diameter = 6.6", 'name = "8 mm"', "# --- fasteners ---")
    )
    assert drill < new < heading
    assert rows[rows.index("# --- clamps ---") - 2] == "at = [50, 30]"
    # Nothing was taken away.
    assert not [row for row in changes(SMALL, file.text) if row.startswith("-")]


def test_lists_that_are_scattered_stay_scattered(tmp_path):
    late = '\n[[cutter]]\nname = "late"\nkind = "drill"\ndiameter = 3   # far down\n'
    file = opened(tmp_path, SMALL + late)
    file.put(
        {"name": "more", "kind": "hole", "diameter": 4, "at": [50, 30]},
        {"cutter": {"name": "4 mm drill", "kind": "drill", "diameter": 4}},
    )
    assert not [row for row in changes(SMALL + late, file.text) if row.startswith("-")]
    assert file.text.rindex("late") < file.text.index('4 mm drill"\nkind')


def test_lines_end_as_they_ended(tmp_path):
    file = opened(tmp_path, SMALL.replace("\n", "\r\n"))
    file.put({"name": "screws", "note": "x", "panel": {"load": "2 kN"}})
    file.save()
    assert b"\n" not in file.path.read_bytes().replace(b"\r\n", b"")


def test_a_layout_that_leaves_no_place_is_refused_with_the_cure(tmp_path):
    head, _, rest = SMALL.partition("[[feature]]")
    row, _, _ = rest.partition("# --- clamps")
    pairs = ", ".join(line.partition("  #")[0] for line in row.split("\n") if "=" in line)
    flat = f"feature = [{{{pairs}}}]\n{head}"
    file = opened(tmp_path, flat)
    with pytest.raises(PartError, match=r"under \[\[feature\]\]"):
        file.put({"name": "hole", "kind": "hole", "diameter": 6.6, "at": [1, 2]})
    assert file.text == flat


VALUES = st.one_of(
    st.none(),
    st.integers(-5, 500),
    st.floats(0.01, 50).map(lambda value: round(value, 3)),
    st.sampled_from(["1/4 in", "#7", 'a "quoted" \\ thing', "two\nlines\n[[feature]]\n# no", "é"]),
    st.lists(st.integers(0, 9), max_size=3),
)
TABLES = st.dictionaries(
    st.sampled_from(["note", "x", "recess", "two words", "measured", "panel", "depth"]),
    st.one_of(VALUES, st.dictionaries(st.sampled_from(["a", "b c"]), VALUES, max_size=2)),
    max_size=4,
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    array=st.sampled_from(["cutter", "fastener", "feature"]),
    number=st.integers(0, 20),
    steps=st.lists(TABLES, min_size=1, max_size=3),
)
def test_whatever_is_put_the_text_says_that_and_all_it_said_before(array, number, steps):
    text = SMALL
    remarks = [row for row in text.splitlines() if row.startswith("#")]
    wanted = tomlkit.parse(text).unwrap()
    number %= len(wanted[array])
    for values in steps:
        there = wanted[array][number]
        # A table is not made of a value that was there before, nor the other way about.
        values = {
            key: value
            for key, value in values.items()
            if key not in there or isinstance(there[key], dict) == isinstance(value, dict)
        }
        wanted[array][number] = writing.merged(there, values)
        text = writing.put(text, (array, number), values)
        assert tomlkit.parse(text).unwrap() == wanted
    kept = [row for row in text.splitlines() if row in remarks]
    assert [row for row in kept if row in remarks] == remarks


# --- the drawers ---------------------------------------------------------------------------------


@pytest.mark.parametrize("diameter", [12, "12 mm", "0.47244094488188976 in"])
def test_a_cutter_that_is_there_already_is_taken_whatever_it_is_called(tmp_path, diameter):
    file = opened(tmp_path)
    assert file.put(SCREWS, {"cutter": {**VEE, "diameter": diameter}}) == ()
    assert list(file.part.cutters) == ["vee", "6.6 drill"]


def test_what_no_other_feature_takes_is_changed_and_told(tmp_path):
    file = opened(tmp_path)
    told = file.put(SCREWS, {"cutter": {**VEE, "tip_diameter": "0.3 mm"}})
    assert told == ("vee in the drawer is changed: tip diameter 0.3 mm",)
    assert 'name = "vee"     # from the blue box' in file.text
    assert sizes.mm(file.part.cutters["vee"].tool.tip_diameter) == pytest.approx(0.3)


def test_what_another_feature_takes_is_left_and_the_new_one_has_its_own_name(tmp_path):
    file = opened(tmp_path)
    file.put({**SCREWS, "name": "others", "cutter": "vee", "at": [50, 15]})
    told = file.put(SCREWS, {"cutter": {**VEE, "name": "vee", "tip_diameter": "0.3 mm"}})
    assert told == ("vee 2 is new in the drawer, where vee has other dimensions",)
    assert file.part.feature("screws").given["cutter"] == "vee 2"
    assert file.part.feature("others").given["cutter"] == "vee"
    assert sizes.mm(file.part.cutters["vee"].tool.tip_diameter) == 0


def test_what_nobody_takes_is_the_shops_and_is_left(tmp_path):
    file = opened(tmp_path)
    told = file.put(
        {"name": "hole", "kind": "hole", "diameter": 8, "at": [50, 30]},
        {"cutter": {"name": "6.6 drill", "kind": "drill", "diameter": 8}},
    )
    assert told == ("6.6 drill 2 is new in the drawer, where 6.6 drill has other dimensions",)


def test_a_fastener_of_another_size_has_its_own_name(tmp_path):
    file = opened(tmp_path)
    head = {"name": "M5 flat head", "kind": "flat head", "standard": "ISO 7046-2", "size": "M5"}
    file.put(
        {**SCREWS, "name": "lid", "hole_diameter": 5.5, "hole_cutter": None, "at": [50, 15]},
        {
            "cutter": VEE,
            "fastener": head,
            "hole_cutter": {"name": "5.5 drill", "kind": "drill", "diameter": 5.5},
        },
    )
    assert list(file.part.fasteners) == ["M6", "M5 flat head"]
    assert file.part.feature("lid").given["fastener"] == "M5 flat head"


def test_rates_the_drawer_lacks_are_added_and_others_count_as_they_stand(tmp_path):
    file = opened(tmp_path)
    file.put({**SCREWS, "name": "others", "cutter": "vee", "at": [50, 15]})
    told = file.put(SCREWS, {"cutter": {**VEE, "spindle_speed": 12000}})
    assert told == ("vee in the drawer is changed: spindle speed 12000",)
    told = file.put(SCREWS, {"cutter": {**VEE, "spindle_speed": "9000 rpm"}})
    assert told == (
        "vee is in the drawer with spindle speed 12000, and here it has spindle speed 9000 rpm: "
        "other features take it too, and the drawer's count",
    )
    assert file.part.cutters["vee"].spindle_speed.magnitude == 12000


def test_another_feature_that_is_now_cut_otherwise_is_told(tmp_path):
    text = SMALL.replace('hole_cutter = "6.6 drill"\n', "").replace(
        'kind = "drill"\ndiameter = 6.6', 'kind = "end mill"\ndiameter = 4\nflutes = 1'
    )
    file = opened(tmp_path, text)
    told = file.put(
        {"name": "bore", "kind": "bore", "diameter": 20, "at": [50, 30]},
        {"cutter": {"name": "5 mm", "kind": "end mill", "diameter": 5, "flutes": 2}},
    )
    assert told[0] == "5 mm is new in the drawer"
    assert "screws, which names no cutter for all of it, is now cut with 5 mm, vee" in told[1]


# --- refused -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feature", "reason"),
    [
        ({"recess": "deep"}, "line 36|deep"),
        ({"depth": 4}, "cannot be made"),
        ({"at": [1, 2, 3]}, "is not a pair"),
        ({"callout": "3X ⌀6.6 THRU ⌵ ⌀12.6 X 90°"}, "it says 3 and there are 2"),
        ({"callout": "2X ⌀6 THRU ⌵ ⌀12.6 X 90°", "hole_diameter": 6.6}, "the callout says 6.00"),
    ],
)
def test_what_the_part_cannot_be_with_is_refused_and_nothing_changes(tmp_path, feature, reason):
    file = opened(tmp_path)
    part = file.part
    with pytest.raises(PartError, match=reason):
        file.put({**SCREWS, **feature}, {"cutter": {**VEE, "tip_diameter": 0.2}})
    assert file.text == SMALL
    assert file.part is part


# --- a new part ----------------------------------------------------------------------------------


def test_a_new_part_is_not_on_the_disk_before_it_is_saved(tmp_path):
    path = tmp_path / "new.toml"
    file, told = begin_file(
        path,
        unit="in",
        plate={"material": "HDPE", "size": [6, "4 in"], "thickness": "1/2"},
        feature={"name": "a", "kind": "bore", "diameter": 1, "at": [3, 2]},
        drawer={"cutter": {"name": "1/4", "kind": "end mill", "diameter": "1/4", "flutes": 2}},
    )
    assert told == ("1/4 is new in the drawer",)
    assert not path.exists()
    file.save()
    assert [each.name for each in load(path).features] == ["a"]
    assert sizes.mm(load(path).plate.thickness) == pytest.approx(12.7)
    with pytest.raises(PartError, match="cannot be made"):
        begin_file(
            path,
            unit="mm",
            plate={"size": [60, 40], "thickness": 12},
            feature={"name": "a", "kind": "bore", "diameter": 5, "at": [3, 2]},
            drawer={"cutter": {"name": "6", "kind": "end mill", "diameter": 6, "flutes": 2}},
        )


@pytest.mark.parametrize("name", demo.names())
def test_every_feature_of_the_demo_put_as_it_stands_changes_nothing(tmp_path, name):
    text = demo.text(name)
    path = tmp_path / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    file = open_file(path)
    for feature in loads(text).features:
        entry = file.entry("feature", feature.name)
        drawn = {
            key: file.entry("fastener" if key == "fastener" else "cutter", entry[key])
            for key in ("fastener", "cutter", "hole_cutter")
            if key in entry
        }
        assert isinstance(file, PartFile)
        assert file.put(entry, drawn) == ()
    assert file.text == text
