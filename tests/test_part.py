"""A part file: read right or refused with its lines, turned over, kept whole on the disk."""

import cmath
import math
import os
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from holecalc import checks, demo, part, sheet, sizes
from holecalc.export import dxf
from holecalc.part import BoltCircle, Grid, Line, PartError, Registration, SaveError, Setup, store
from holecalc.part.reading import lines_of
from holecalc.plan import plan

SMALL = """\
part = "small"   # a remark
unit = "mm"

[plate]
size = [100, 60]
thickness = 10

[[cutter]]
name = "6 mm"
kind = "end mill"
diameter = 6
flutes = 2

[[cutter]]
name = "vee"
kind = "vee"
diameter = 12
included_angle = 90

[[fastener]]
name = "M6"
kind = "flat head"
standard = "ISO 7046-2"
size = "M6"

[[feature]]
name = "screws"
callout = "2X ⌀6.6 THRU ⌵ ⌀12.6 X 90°"
fastener = "M6"
cutter = "vee"
hole_cutter = "5 mm"
at = [[20, 30], [80, 30]]

[[feature]]
name = "bore"
kind = "bore"
diameter = 20
at = [50, 30]
"""


def mm(value):
    return sizes.from_mm(float(value))


def faults(text):
    with pytest.raises(PartError) as caught:
        part.loads(text, "small.toml")
    return {(fault.line, fault.where): fault.reason for fault in caught.value.faults}


# --- positions -----------------------------------------------------------------------------------


@given(
    st.tuples(*[st.floats(-500, 500)] * 2),
    st.floats(0.1, 500),
    st.integers(1, 60),
    st.floats(-400, 400),
)
def test_a_bolt_circle_by_turning_a_complex_number(centre, diameter, count, start):
    """Each position is the one before, turned by a share of the full turn."""
    made = BoltCircle((mm(centre[0]), mm(centre[1])), mm(diameter), count, sizes.angle(start)).xy()
    middle, arm = complex(*centre), diameter / 2 * cmath.exp(1j * math.radians(start))
    for x, y in made:
        assert complex(x, y) == pytest.approx(middle + arm, abs=1e-9)
        arm *= cmath.exp(2j * math.pi / count)


def test_a_bolt_circle_by_hand():
    # Five on 84 about (120, 90), first at 90°: the first straight up, and x = 120 ± 42 sin 72°.
    made = BoltCircle((mm(120), mm(90)), mm(84), 5, sizes.angle(90)).xy()
    assert made[0] == pytest.approx([120, 132])
    assert made[1] == pytest.approx([80.0556, 102.9787], abs=1e-4)
    assert made[4] == pytest.approx([159.9444, 102.9787], abs=1e-4)


def test_a_grid_row_by_row_and_turned():
    flat = Grid((mm(1), mm(2)), (mm(10), mm(20)), (3, 2), sizes.angle(0))
    assert flat.xy().tolist() == [[1, 2], [11, 2], [21, 2], [1, 22], [11, 22], [21, 22]]
    turned = Grid((mm(1), mm(2)), (mm(10), mm(20)), (3, 2), sizes.angle(90))
    assert turned.xy() == pytest.approx(
        np.array([[1, 2], [1, 12], [1, 22], [-19, 2], [-19, 12], [-19, 22]])
    )


def test_a_line():
    assert Line((mm(1), mm(2)), (mm(3), mm(-1)), 3).xy().tolist() == [[1, 2], [4, 1], [7, 0]]


# --- the demo parts ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", demo.names())
def test_a_demo_part_reads_and_says_that_it_is_invented(name):
    text = demo.text(name)
    made = part.loads(text, name)
    assert "invented" in text.splitlines()[0]
    assert "Invented" in made.note
    assert not made.unknown
    assert all(feature.made for feature in made.features)
    assert {setup.face for setup in made.setups} == {"A", "B"}


def test_the_bearing_plate_is_the_one_of_the_scenario():
    made = part.loads(demo.text("bearing-plate"))
    kinds = [(feature.kind, feature.face, feature.count) for feature in made.features]
    assert kinds == [
        ("bore", "A", 2),
        ("bore", "A", 1),
        ("countersink", "A", 5),
        ("counterbore", "B", 3),
        ("edge", "A", 1),
        ("edge", "B", 1),
    ]
    bore = made.feature("bearing bore").made
    assert sizes.show(bore.main.bore_diameter) == "47.00 mm"
    # D = C + T + 2 z tan 45° with D 12.6, C 3.4 and T 0.2 leaves z = 4.5, by hand.
    assert made.feature("cover screws").made.main.cut.depth.m_as("mm") == pytest.approx(4.5)


def test_the_table_insert_is_in_inches():
    made = part.loads(demo.text("table-insert"))
    assert made.unit == "in"
    assert made.setups[0].face == "B"
    assert made.plate.thickness == sizes.length("0.507 in")
    sink = made.feature("corner screws").made.main
    assert sizes.mm(sink.seat.recess) == pytest.approx(0.254)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("cover screws", "5X ⌀6.6 THRU ⌵ ⌀12.6 X 90°"),
        ("bearing bore", "⌀47 THRU"),
        ("dowel holes", "2X ⌀8.02 THRU"),
        # Two steps, of which the callout has one each.
        ("leg T-nuts", "3X ⌀9 THRU ⌴ ⌀23 ↧ 2 ⌴ ⌀10 ↧ 11.5"),
        ("upper edge", None),
    ],
)
def test_a_feature_is_written_as_a_callout(name, expected):
    callout = part.loads(demo.text("bearing-plate")).feature(name).as_callout("mm")
    assert (None if callout is None else str(callout)) == expected


# --- what is refused -----------------------------------------------------------------------------


def test_everything_wrong_is_told_at_once_with_its_line():
    text = SMALL.replace("diameter = 20", 'diameter = "20 mn"')
    text = text.replace("thickness = 10", "thickness = -1").replace('size = "M6"', 'size = "M66"')
    text = text.replace("flutes = 2", "flutes = 0")
    found = faults(text)
    assert {line for line, _ in found} == {6, 12, 24, 37}
    text = SMALL.replace("diameter = 20", 'diameter = "20 mn"').replace("[50, 30]", "[50]")
    found = faults(text.replace('"M6"\ncutter', '"M7"\ncutter'))
    assert set(found) == {
        (29, "feature 'screws', fastener"),
        (37, "feature 'bore', diameter"),
        (38, "feature 'bore', at"),
    }
    assert "'mn' is no unit" in found[37, "feature 'bore', diameter"]


def test_the_message_names_file_line_and_reason():
    with pytest.raises(PartError, match=r"^small\.toml:6: the file, plate, thickness: .*more than"):
        part.loads(SMALL.replace("thickness = 10", "thickness = 0"), "small.toml")


@pytest.mark.parametrize(
    ("old", "new", "line", "reason"),
    [
        ("[plate]", "[plate", 4, "Invalid|bracket|Unexpected|empty"),
        ('unit = "mm"', 'unit = "yd"', 2, "none of mm, in"),
        ('kind = "bore"', 'kind = "bor"', 36, "Perhaps 'bore'"),
        ('name = "bore"', 'name = "screws"', 35, "already"),
        ("2X ⌀6.6", "3X ⌀6.6", 28, "3 and there are 2"),
        ("THRU ⌵", "THRUX ⌵", 28, "column 9"),
        ("diameter = 20", "diameter = true", 37, "not a size"),
        ("diameter = 20", "diameter = nan", 37, "nan"),
        ("diameter = 20", "diameter = 1e300", 37, "larger than any plate"),
        ("at = [50, 30]", 'at = {pattern = "line", start = [1, 1], step = [1, 1]}', 38, "count"),
        (
            "at = [50, 30]",
            'at = {pattern = "grid", start = [1, 1], step = [1, 1], columns = 999, rows = 999}',
            38,
            "more than 10000",
        ),
        ('part = "small"', "", 1, "part is missing"),
        ('cutter = "vee"', 'cutter = "vee"\nhole_diameter = 7', 31, "callout says 6.60 mm"),
    ],
)
def test_a_bad_file_is_refused(old, new, line, reason):
    assert old in SMALL
    with pytest.raises(PartError, match=reason) as caught:
        part.loads(SMALL.replace(old, new), "small.toml")
    assert line in {fault.line for fault in caught.value.faults}


def test_a_cutter_that_is_not_in_the_drawer_is_no_fault_of_the_file():
    made = part.loads(SMALL)
    assert made.feature("screws").made is None
    assert "'5 mm' is not in the drawer" in made.feature("screws").missing


def test_a_bore_of_a_thousand_rings_is_a_slip_and_is_told_at_once():
    made = part.loads(SMALL.replace("diameter = 20", "diameter = 99999"))
    assert "takes some 16666 rings" in made.feature("bore").problem


def test_lines_are_those_of_the_keys():
    text = 'a = """\nb = 1\n"""\nc = [\n  {d = 1},\n]\n[[t]]\ne = 1\n[[t]]\n"f" = 2\n[t.g]\nh = 3\n'
    lines = lines_of(text)
    assert lines["a",] == 1
    assert ("b",) not in lines
    assert lines["c",] == 4
    assert lines["t", 1] == 9
    assert lines["t", 1, "f"] == 10
    assert lines["t", 1, "g", "h"] == 12


# --- what is kept --------------------------------------------------------------------------------


def test_unknown_keys_and_remarks_survive_and_are_told(tmp_path):
    path = tmp_path / "small.toml"
    text = SMALL.replace("[plate]", 'colour = "red"  # of the paint\n[plate]\nthicknes = 3')
    path.write_text(text, encoding="utf-8")
    file = part.open_file(path)
    assert {(fault.line, fault.where) for fault in file.part.unknown} == {
        (4, "the file, 'colour'"),
        (6, "the file, plate, 'thicknes'"),
    }
    assert any("Perhaps thickness" in fault.reason for fault in file.part.unknown)
    file.set("feature", 1, "diameter", to="21 mm")
    file.save()
    after = path.read_text(encoding="utf-8")
    assert after == text.replace("diameter = 20", 'diameter = "21 mm"')


@pytest.mark.parametrize("name", demo.names())
def test_a_save_without_a_change_changes_nothing(tmp_path, name):
    path = tmp_path / "a.toml"
    path.write_text(demo.text(name), encoding="utf-8")
    part.open_file(path).save()
    assert path.read_text(encoding="utf-8") == demo.text(name)


def test_a_change_that_cannot_be_is_refused_and_nothing_changes(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = part.open_file(path)
    with pytest.raises(PartError, match="more than 0"):
        file.set("plate", "thickness", to=0)
    assert file.text == SMALL
    assert file.part.plate.thickness.magnitude == 10


def test_the_version_before_is_kept(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = part.open_file(path)
    for thickness in (11, 12):
        before = path.read_bytes()
        file.set("plate", "thickness", to=thickness)
        file.save()
        assert store.backup_of(path).read_bytes() == before
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["small.toml", "small.toml.bak"]


def test_two_editors_never_lose_what_the_other_saved(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    one, other = part.open_file(path), part.open_file(path)
    one.set("plate", "thickness", to=11)
    one.save()
    other.set("plate", "thickness", to=12)
    with pytest.raises(SaveError, match="changed by someone else"):
        other.save()
    assert part.load(path).plate.thickness.magnitude == 11
    other.save(tmp_path / "other.toml")
    assert part.load(tmp_path / "other.toml").plate.thickness.magnitude == 12
    with pytest.raises(SaveError, match="there already"):
        one.save(tmp_path / "other.toml")


def test_a_file_that_was_deleted_is_not_brought_back_unasked(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = part.open_file(path)
    path.unlink()
    with pytest.raises(SaveError, match="moved or deleted"):
        file.save()


def test_a_read_only_file_is_left_alone(tmp_path):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = part.open_file(path)
    file.set("plate", "thickness", to=11)
    path.chmod(0o444)
    with pytest.raises(SaveError, match="read-only"):
        file.save()
    assert path.read_text(encoding="utf-8") == SMALL


def test_the_mode_and_the_link_stay(tmp_path):
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_text(SMALL, encoding="utf-8")
    real.chmod(0o640)
    link.symlink_to(real)
    file = part.open_file(link)
    file.set("plate", "thickness", to=11)
    file.save()
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
    assert part.load(real).plate.thickness.magnitude == 11


@pytest.mark.parametrize("call", ["fsync", "replace", "fdopen"])
@pytest.mark.parametrize("at", [1, 2])
def test_a_full_disk_leaves_the_file_whole_and_nothing_behind(tmp_path, monkeypatch, call, at):
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = part.open_file(path)
    file.set("plate", "thickness", to=11)
    real, calls = getattr(os, call), []

    def full(*arguments, **more):
        calls.append(call)
        if len(calls) == at:
            raise OSError(28, "No space left on device")
        return real(*arguments, **more)

    monkeypatch.setattr(store.os, call, full)
    with pytest.raises(SaveError, match="No space left"):
        file.save()
    monkeypatch.undo()
    assert path.read_text(encoding="utf-8") == SMALL
    assert {entry.name for entry in tmp_path.iterdir()} <= {"small.toml", "small.toml.bak"}
    file.save()
    assert part.load(path).plate.thickness.magnitude == 11


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked processes")
def test_killed_a_hundred_times_the_file_is_always_whole(tmp_path):
    """Each child saves versions as fast as it can, until it is killed at some moment."""
    script = textwrap.dedent(
        """
        import os, random, signal, sys, time
        from pathlib import Path
        from holecalc.part import store

        path = Path(sys.argv[1])
        texts = [f"{number}\\n" * 20000 for number in range(10)]
        whole = {text.encode() for text in texts}
        path.write_bytes(texts[0].encode())
        chance, seen = random.Random(7), set()
        for turn in range(100):
            child = os.fork()
            if not child:
                known, number = path.read_bytes(), turn
                while True:
                    number += 1
                    known = store.save(path, texts[number % 10], known=known)
            time.sleep(chance.uniform(0.001, 0.03))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            content = path.read_bytes()
            assert content in whole, f"half a file after {turn}"
            backup = store.backup_of(path)
            assert not backup.exists() or backup.read_bytes() in whole
            seen.add(content)
        assert len(seen) > 3, "nothing was ever saved"
        """
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "killed.toml")],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr


def test_a_file_that_is_not_text_or_too_large_is_refused(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(b'part = "\n\xff"')
    with pytest.raises(PartError, match=r"a\.toml:2: .*UTF-8"):
        part.load(path)
    path.write_bytes(b"#" * (store.LARGEST + 1))
    with pytest.raises(OSError, match="larger"):
        part.load(path)


# --- the text as it is typed ---------------------------------------------------------------------


def opened(tmp_path, text=SMALL):
    path = tmp_path / "small.toml"
    path.write_bytes(text.encode())
    return part.open_file(path, as_typed=True)


def test_a_text_that_cannot_be_used_keeps_the_last_part_and_can_be_saved(tmp_path):
    file = opened(tmp_path)
    half = SMALL.replace("thickness = 10", "thickness = ")
    file.edit(half)
    assert [fault.line for fault in file.faults] == [6]
    assert file.part.plate.thickness.magnitude == 10
    assert file.changed
    file.save()
    assert file.saved
    assert file.path.read_text(encoding="utf-8") == half
    with pytest.raises(PartError):
        part.open_file(file.path)
    again = part.open_file(file.path, as_typed=True)
    assert again.text == half
    assert not again.usable
    with pytest.raises(PartError, match=r"small\.toml:6"):
        _ = again.part
    again.edit(SMALL)
    assert again.part.plate.thickness.magnitude == 10


def test_a_text_without_a_file_is_saved_under_a_free_name_only(tmp_path):
    taken = tmp_path / "taken.toml"
    taken.write_text("mine", encoding="utf-8")
    file = part.PartFile(taken, SMALL)
    assert not file.saved
    assert not file.changed
    with pytest.raises(SaveError, match="there already"):
        file.save()
    file.save(tmp_path / "free.toml")
    assert file.saved
    assert file.part.file == "free.toml"
    assert taken.read_text(encoding="utf-8") == "mine"


def test_line_ends_stay_what_they_were(tmp_path):
    text = SMALL.replace("\n", "\r\n")
    file = opened(tmp_path, "\ufeff" + text)
    assert file.text == SMALL
    file.edit(file.text.replace("thickness = 10", "thickness = 11"))
    file.save()
    kept = text.replace("thickness = 10", "thickness = 11").encode("utf-8-sig")
    assert file.path.read_bytes() == kept


def test_half_a_character_is_told_and_nothing_is_saved(tmp_path):
    file = opened(tmp_path)
    file.edit(SMALL.replace("a remark", "a rem\ud800ark"))
    with pytest.raises(SaveError, match="line 1 holds half a character"):
        file.save()
    assert file.path.read_text(encoding="utf-8") == SMALL


@pytest.mark.parametrize("feature", ["screws", "bore"])
@pytest.mark.parametrize(
    "tail", ["", "\n# --- more ---\n\n[[keep_clear]]\nname = 'x'\nat = [5, 5]\ndiameter = 2\n"]
)
def test_a_measurement_is_written_at_the_end_of_its_feature(tmp_path, feature, tail):
    text = SMALL.replace('hole_cutter = "5 mm"', 'hole_cutter = "6 mm"  # no drill of 6.6')
    quantity = {"screws": "top_diameter", "bore": "bore_diameter"}[feature]
    file = opened(tmp_path, text + tail)
    last = {"screws": "at = [[20, 30], [80, 30]]\n", "bore": "at = [50, 30]\n"}[feature]
    file.measure(feature, quantity, "12.80")
    assert file.text == (text + tail).replace(last, f"{last}measured = {{{quantity} = 12.80}}\n")
    file.measure(feature, quantity, " 1/2 in ")
    assert f'measured = {{{quantity} = "1/2 in"}}' in file.text
    assert file.part.feature(feature).measured[quantity] == sizes.length("1/2 in")
    file.measure(feature, quantity, "")
    assert file.text == text + tail
    file.measure(feature, quantity, "")
    assert file.text == text + tail


def test_a_measurement_goes_where_the_others_are(tmp_path):
    text = demo.text("bearing-plate")
    file = opened(tmp_path, text)
    file.measure("upper edge", "step_on_face", "0.1")
    file.measure("upper edge", "leg_on_wall", "6.1")
    assert "measured = {step_on_face = 0.1, leg_on_wall = 6.1}\n" in file.text
    file.measure("upper edge", "step_on_face", "")
    assert "measured = {leg_on_wall = 6.1}\n" in file.text
    file.measure("upper edge", "leg_on_wall", "")
    assert file.text == text


def test_a_measurement_of_what_is_not_there_is_refused_and_nothing_changes(tmp_path):
    file = opened(tmp_path)
    with pytest.raises(PartError, match="nm"):
        file.measure("bore", "bore_diameter", "20 nm")
    with pytest.raises(KeyError):
        file.measure("bores", "bore_diameter", "20")
    assert file.text == SMALL
    file.edit(SMALL + "]")
    with pytest.raises(PartError):
        file.measure("bore", "bore_diameter", "20")
    assert file.text == SMALL + "]"


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_measuring_changes_nothing_else(data):
    text = demo.text("bearing-plate")
    names = {"dowel holes": "bore_diameter", "cover screws": "top_diameter", "leg T-nuts": "recess"}
    layout = data.draw(st.sampled_from(["", "\n[feature.x]\ny = 1\n", 'z = """\n#\n# a"""\n']))
    last = "at = [[40, 35], [200, 35], [120, 155]]\n"
    file = part.PartFile(Path("x.toml"), text.replace(last, last + layout))
    before = file.text
    for name in data.draw(st.lists(st.sampled_from(sorted(names)), max_size=4)):
        file.measure(name, names[name], data.draw(st.sampled_from(["", "7.9", "8.1 mm"])))
    for name, quantity in names.items():
        file.measure(name, quantity, "")
    assert file.text == before


def test_part_files_are_found_the_one_saved_last_first(tmp_path):
    for index, name in enumerate(("old.toml", "new.toml", "other.toml", ".hidden.toml", "a.txt")):
        path = tmp_path / name
        path.write_text("[tool]\npart_of = 1\n" if name == "other.toml" else SMALL[:40], "utf-8")
        os.utime(path, (index, index))
    (tmp_path / "broken.toml").write_bytes(b'part = "\xff')
    (tmp_path / "folder.toml").mkdir()
    names = [path.name for path in part.files_in(tmp_path)]
    assert names == ["broken.toml", "new.toml", "old.toml"]
    assert part.files_in(tmp_path / "nowhere") == ()


def test_a_folder_that_is_read_only_is_told_and_left_alone(tmp_path):
    file = opened(tmp_path)
    file.edit(SMALL.replace("thickness = 10", "thickness = 11"))
    tmp_path.chmod(0o555)
    try:
        assert not store.writable(tmp_path)
        with pytest.raises(SaveError, match="Save in another folder"):
            file.save()
        assert [each.name for each in tmp_path.iterdir()] == ["small.toml"]
    finally:
        tmp_path.chmod(0o755)
    assert store.writable(tmp_path)
    assert not store.writable(tmp_path / "nowhere")


# --- turning over --------------------------------------------------------------------------------


@pytest.mark.parametrize(("about", "expected"), [("Y", [80.0, 20.0]), ("X", [20.0, 40.0])])
def test_turned_over_by_hand(about, expected):
    over = Setup(2, "B", about, mm(100), mm(60))
    assert over.xy(np.array([[20.0, 20.0]])).tolist() == [expected]


@given(
    st.sampled_from("XY"),
    st.floats(1, 500),
    st.floats(1, 500),
    st.lists(st.tuples(*[st.floats(-500, 500)] * 2), min_size=1, max_size=5),
    st.floats(-360, 360),
)
def test_turned_over_by_a_rotation_in_space(about, length, width, points, angle):
    """Half a turn about the plate's middle line, as a matrix; and twice over is as before."""
    over = Setup(2, "B", about, mm(length), mm(width))
    turn = np.diag([1, -1, -1]) if about == "X" else np.diag([-1, 1, -1])
    middle = np.array([length / 2, width / 2, 0])
    flat = np.column_stack([np.array(points), np.zeros(len(points))])
    expected = (flat - middle) @ turn.T + middle
    assert over.xy(np.array(points)) == pytest.approx(expected[:, :2], abs=1e-9)
    assert over.xy(over.xy(np.array(points))) == pytest.approx(np.array(points), abs=1e-9)
    direction = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle)), 0]) @ turn.T
    got = sizes.rad(over.angle(sizes.angle(angle)))
    assert [math.cos(got), math.sin(got)] == pytest.approx(direction[:2], abs=1e-9)


def test_rotation_over_the_pin_distance_by_hand():
    # 0.02 mm of room on the radius at either pin, 200 mm apart: asin(0.04/200) = 0.01146°.
    pins = Registration((0, 0), (200, 0), (mm(0.04), mm(0.04)), mm(8.02), mm(7.98))
    assert pins.rotation.m_as("deg") == pytest.approx(0.011459, abs=1e-6)
    # Midway the part can only be shifted; a pin's distance beyond, rotation adds 0.04.
    assert pins.offsets(np.array([[100, 0], [400, 0]])) == pytest.approx([0.02, 0.06])


@given(
    st.floats(0, 0.3),
    st.floats(0, 0.3),
    st.tuples(*[st.floats(-300, 300)] * 2),
    st.floats(0, 6.3),
    st.floats(20, 300),
    st.integers(0, 2**32 - 1),
)
@settings(max_examples=60)
def test_no_rigid_motion_within_the_rooms_goes_farther(one, two, point, direction, span, seed):
    """Thousands of motions by chance, each tried against both pins as rotation and shift."""
    start = np.array([10.0, -20.0])
    end = start + span * np.array([math.cos(direction), math.sin(direction)])
    pins = Registration(tuple(start), tuple(end), (mm(2 * one), mm(2 * two)), mm(8), mm(7))
    told = pins.offsets(np.array([point]))[0]
    chance = np.random.default_rng(seed)
    turn = chance.uniform(-1, 1, 20000) * (one + two) / span
    shift = chance.uniform(-1, 1, (20000, 2)) * (one + two + 1e-12)

    def moved(at):
        arm = np.array(at) - start
        cos, sin = np.cos(turn) - 1, np.sin(turn)
        return shift + np.column_stack([arm[0] * cos - arm[1] * sin, arm[0] * sin + arm[1] * cos])

    held = (np.hypot(*moved(start).T) <= one) & (np.hypot(*moved(end).T) <= two)
    if held.any():
        # Rotation is taken as small: the part it leaves out is (0.6/20)² of 300 mm at the most.
        assert np.hypot(*moved(point).T)[held].max() <= told * 1.001 + 0.5 * turn.max() ** 2 * 700
    assert told >= min(one, two) - 1e-9


def test_the_farthest_is_reached():
    """The bound is met by a motion: both pins hard against opposite sides."""
    pins = Registration((0, 0), (100, 0), (mm(0.2), mm(0.1)), mm(8), mm(7.8))
    turn = -0.15 / 100
    at = np.array([300.0, 0.0])
    moved = 0.1 + turn * at[0]
    assert pins.offsets(np.array([at]))[0] == pytest.approx(abs(moved), rel=1e-6)


def test_pins_that_do_not_enter_are_refused():
    with pytest.raises(part.TurningError, match="does not enter"):
        Registration((0, 0), (1, 0), (mm(-0.1), mm(0.1)), mm(8), mm(8.1))


# --- anything at all -----------------------------------------------------------------------------

VALUES = st.one_of(
    st.sampled_from(
        ['"6 mm"', '"1/4 in"', '"#7"', "0", "-1", "6", "1e9", "inf", "nan", "true", "[]", "[1, 2]",
         "[[1, 2], [3, 4]]", "{}", '""', '"x"', "1979-05-27", '"A"', '"B"', '"bore"', '"vee"',
         '"edge"', '"hole"', '"counterbore"', '"in"', "99999999999999999999", '"90°"',
         "{pattern = \"line\", start = [1, 1], step = [9, 0], count = 3}"]
    ),
    st.floats().map(repr),
    st.integers().map(str),
)  # fmt: skip
ASSIGNMENTS = [
    index for index, line in enumerate(SMALL.splitlines()) if "=" in line and "[[" not in line
]


@given(st.lists(st.tuples(st.sampled_from(ASSIGNMENTS), VALUES), min_size=1, max_size=4))
@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@example([(36, "1e-300")])
def test_any_value_anywhere_is_read_right_or_told(changes):
    lines = SMALL.splitlines()
    for index, value in changes:
        key = lines[index].split("=")[0]
        lines[index] = f"{key}= {value}"
    check_any("\n".join(lines))


@given(st.text(alphabet=st.sampled_from(SMALL + "[]{}=\"'.,#\n"), max_size=200))
@settings(max_examples=150, deadline=None)
@example("[[[[")
@example("a" + ".a" * 300 + " = 1")
@example("a = " + "[" * 500)
def test_any_text_is_read_right_or_told(text):
    check_any(text)


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_a_damaged_file_is_read_right_or_told(data):
    text = demo.text("table-insert")
    start = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 40))
    check_any(text[:start] + data.draw(st.text(max_size=3)) + text[start + length :])


def check_any(text):
    try:
        made = part.loads(text, "any.toml")
    except PartError as refused:
        faults = refused.faults
        assert faults
        assert all(1 <= fault.line <= text.count("\n") + 1 for fault in faults), faults
        return
    assert sizes.mm(made.plate.thickness) > 0
    for feature in made.features:
        assert bool(feature.made) != bool(feature.problem or feature.missing)
        if feature.at is not None:
            assert np.isfinite(feature.at.xy()).all()
        if feature.kind == "bore" and feature.made is not None:
            # The right answer, worked out again: path = bore - cutter, on every ring's last.
            cut = feature.made.main.cut
            path = sizes.mm(cut.bore_diameter) - sizes.mm(cut.cutter_diameter)
            assert sizes.mm(cut.path_diameter) == pytest.approx(path)
    # And whatever is read can be checked, planned and put on a sheet.
    planned = plan(made)
    findings = checks.part(made, planned)
    assert sheet.html_text(made, planned=planned, findings=findings)
    assert dxf.drawing(made, planned=planned)


# --- what was given, and what was measured -------------------------------------------------------

SHOP = """\
part = "p"
unit = "mm"
[plate]
size = [200, 100]
thickness = 18
material = "plywood"
[[cutter]]
name = "6"
kind = "end mill"
diameter = 6
flutes = 2
spindle_speed = 12000
feed = 1200
[[cutter]]
name = "2"
kind = "end mill"
diameter = 2
flutes = 2
spindle_speed = 12000
feed = 1200
[[cutter]]
name = "vee"
kind = "vee"
diameter = 12.7
included_angle = 90
[[cutter]]
name = "drill 6.6"
kind = "drill"
diameter = 6.6
[[cutter]]
name = "drill 3"
kind = "drill"
diameter = 3
spindle_speed = 3000
feed = 150
[[fastener]]
name = "M6"
kind = "flat head"
standard = "ISO 7046-2"
size = "M6"
[[fastener]]
name = "T"
kind = "T-nut"
flange_diameter = 22
flange_thickness = 1.5
barrel_diameter = 9.8
barrel_length = 9
thread = "M8"
[[fastener]]
name = "N8"
kind = "hexagon nut"
standard = "ISO 4032"
size = "M8"
[[fastener]]
name = "insert"
kind = "insert"
hole_diameter = 6.4
length = 9.5
thread = "M5"
"""


def feature(*lines, name="f"):
    return "\n".join(["[[feature]]", f'name = "{name}"', "at = [50, 50]", *lines]) + "\n"


def shop(*features):
    return part.loads(SHOP + "".join(features), "p.toml")


def refused(*lines):
    with pytest.raises(PartError) as caught:
        shop(feature(*lines))
    return {fault.where.split(", ", 1)[-1]: fault.reason for fault in caught.value.faults}


SINK = (
    'kind = "countersink"', 'fastener = "M6"', 'cutter = "vee"', "hole_diameter = 6.6",
    "circle_diameter = 3",
)  # fmt: skip
T_NUT = ('kind = "counterbore"', 'fastener = "T"', 'cutter = "6"', 'hole_cutter = "6"')
NUT = ('kind = "counterbore"', 'fastener = "N8"', 'cutter = "6"', 'hole_cutter = "6"')
INSERT = ('kind = "counterbore"', 'fastener = "insert"', 'cutter = "2"')
BORE = ('kind = "bore"', 'cutter = "6"')


def test_a_measurement_is_of_its_own_feature_alone():
    made = shop(
        feature(*SINK, "top_diameter = 12.6", "measured = {top_diameter = 12.8}", name="first"),
        feature(*SINK, "top_diameter = 12.8", name="second"),
        feature(*T_NUT, "recess = 0.5", "measured = {recess = 0.8}", name="third"),
        feature(*T_NUT, "recess = 0.8", name="fourth"),
    )

    def depth(name, index):
        work = made.feature(name).made.cuts[index].work
        return sizes.mm(work.cut.depth if name in ("first", "second") else work.depth)

    # z = (D - C)/2 at 90°: 12.6 wants 4.8 and was 0.2 too wide; 12.8 wants 4.9.
    assert depth("first", 1) == pytest.approx(4.7)
    assert depth("second", 1) == pytest.approx(4.9)
    # The flange is 1.5: 2.0 for a recess of 0.5, less the 0.3 it was too deep; 2.3 for 0.8.
    assert depth("third", 1) == pytest.approx(1.7)
    assert depth("fourth", 1) == pytest.approx(2.3)


@pytest.mark.parametrize(
    ("lines", "measured"),
    [
        ((*BORE, "diameter = 47"), "bore_diameter = -47"),
        ((*BORE, "diameter = 47"), "bore_diameter = 0"),
        ((*SINK, "top_diameter = 12.6"), "top_diameter = 0"),
        ((*SINK, "top_diameter = 12.6"), "top_diameter = -12.8"),
    ],
)
def test_what_was_measured_has_a_size(lines, measured):
    (reason,) = refused(*lines, f"measured = {{{measured}}}").values()
    assert "must be more than 0" in reason


def test_a_head_that_stands_proud_is_measured_so():
    made = shop(feature(*T_NUT, "measured = {recess = -0.2}")).feature("f").made
    # Wanted 0.5 below and found 0.2 above: 0.7 deeper than 2.0.
    assert sizes.mm(made.cuts[1].work.depth) == pytest.approx(2.7)
    assert sizes.mm(made.corrected.from_a[0].depth) == pytest.approx(2.7)
    assert sizes.mm(made.stack.from_a[0].depth) == pytest.approx(2.0)


def test_a_measurement_under_a_wrong_name_is_a_fault():
    assert (
        "bore_diameter"
        in refused(*BORE, "diameter = 20", "measured = {diameter = 20.1}")["measured, diameter"]
    )
    both = refused(
        *SINK, "top_diameter = 12.6", "measured = {cone_depth = 3.2, top_diameter = 12.8}"
    )
    assert "top_diameter was measured too" in both["measured, cone_depth"]


# --- a drawing's numbers are never dropped -------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "where", "reason"),
    [
        (('kind = "hole"', 'callout = "⌀20 THRU"', "depth = 5"), "depth", "says THRU"),
        (
            ('callout = "⌀9 THRU ⌴ ⌀30 ↧ 6"', *T_NUT[1:]),
            "callout",
            "counterbore 30.000 mm, 6.000 mm deep, and the fastener's pocket is flange",
        ),
        (('callout = "⌀9 THRU ⌴ ⌀23 ↧ 3"', *T_NUT[1:]), "callout", "3.000 mm deep"),
        (
            ('callout = "⌀7 THRU"', *INSERT),
            "callout",
            "its hole is 7.000 mm, and the pocket's 6.400 mm",
        ),
        (
            ('callout = "⌀6.4 THRU"', *INSERT),
            "callout",
            "its hole goes through, and the pocket's is 11.300 mm deep",
        ),
        (
            ('callout = "⌀6.4 ↧ 10"', *INSERT),
            "callout",
            "its hole is 10.000 mm deep, and the pocket's is 11.300 mm deep",
        ),
        (
            ('callout = "⌀8.5 THRU ⌴ ⌀22 ↧ 2 FAR SIDE"', 'cutter = "6"', 'face = "A"'),
            "face",
            "is face B, and the feature's face is A",
        ),
        (
            ('callout = "⌀8.5 THRU ⌴ ⌀22 ↧ 2 BOTH SIDES"', 'cutter = "6"'),
            "callout",
            "a feature for each face",
        ),
        (('callout = "⌀8.5 ↧ 9 ⌴ ⌀22 ↧ 2"', 'cutter = "6"'), "callout", "its hole is blind"),
        ((*T_NUT, "diameter = 30"), "diameter", "makes no use of diameter"),
        ((*T_NUT, "depth = 6"), "depth", "makes no use of depth"),
        ((*T_NUT, 'relief_cutter = "nope"'), "relief_cutter", "makes no use"),
        ((*T_NUT, "across_flats = 13"), "across_flats", "makes no use"),
        ((*T_NUT, "through = true", "gap = 1"), "gap", "makes no use"),
        ((*NUT, "head_clearance = 1"), "head_clearance", "makes no use"),
        (
            ('kind = "counterbore"', 'cutter = "6"', "diameter = 40", "depth = 5", "recess = 9"),
            "recess",
            "a counterbore without a fastener makes no use of recess",
        ),
        (
            ('kind = "counterbore"', 'cutter = "6"', "diameter = 40", "depth = 5", 'fit = "zzz"'),
            "fit",
            "makes no use of fit",
        ),
        ((*NUT, "hole_diameter = 9", 'fit = "close"'), "fit", "each fixes the other"),
    ],
)  # fmt: skip
def test_what_nothing_makes_use_of_is_a_fault(lines, where, reason):
    found = refused(*lines)
    assert reason in found[where], found


def test_a_callout_that_agrees_with_the_fastener_is_taken():
    made = shop(feature('callout = "⌀9 THRU ⌴ ⌀23 ↧ 2"', *T_NUT[1:])).feature("f")
    assert sizes.mm(made.made.stack.hole_diameter) == 9


def test_the_far_side_is_face_b():
    text = feature('callout = "⌀8.5 THRU ⌴ ⌀22 ↧ 2 FAR SIDE"', 'cutter = "6"', 'hole_cutter = "6"')
    made = shop(text).feature("f")
    assert made.face == "B"
    assert sizes.mm(made.made.stack.from_b[0].depth) == 2


@pytest.mark.parametrize(("cutter", "diameter"), [("6", 20), ("drill 6.6", 6.6)])
def test_a_hole_goes_as_far_below_the_plate_as_is_asked(cutter, diameter):
    lines = ('kind = "hole"', f"diameter = {diameter}", f'cutter = "{cutter}"', "breakthrough = 3")
    (cut,) = shop(feature(*lines)).feature("f").made.cuts
    assert sizes.mm(cut.work.depth) == 21


def test_a_breakthrough_of_a_blind_hole_is_refused():
    lines = ('kind = "hole"', "diameter = 6.6", "depth = 5", "breakthrough = 3")
    assert "both given" in shop(feature(*lines)).feature("f").problem


def test_limits_hold_for_the_finishing_bore_too():
    lines = ("diameter = 20", "finishing = 0.2", "max_pitch = 1", "max_ramp_angle = 2")
    made = shop(feature(*BORE, *lines)).feature("f").made
    for cut in made.cuts:
        for ring in cut.work.rings:
            assert sizes.mm(ring.cut.pitch) <= 1
            assert ring.cut.ramp_angle.m_as("deg") <= 2 + 1e-9


def test_a_finishing_cutter_wants_to_know_what_is_left_for_it():
    made = shop(feature(*BORE, "diameter = 47", 'finish_cutter = "2"')).feature("f")
    assert "Give finishing" in made.problem
    lines = ("diameter = 47", 'finish_cutter = "2"', "finishing = 0.2")
    rough, finish = shop(feature(*BORE, *lines)).feature("f").made.cuts
    assert (rough.cutter.name, finish.cutter.name) == ("6", "2")


def test_a_bore_takes_a_mill_where_a_drill_of_its_size_lies_beside_it():
    made = shop(feature('kind = "bore"', "diameter = 6.6", "depth = 5")).feature("f")
    assert [cut.cutter.name for cut in made.made.cuts] == ["2"]


# --- what crashed --------------------------------------------------------------------------------


@pytest.mark.parametrize("hole", [(), ("hole_diameter = 8.5", 'hole_cutter = "6"')])
def test_a_spotface_needs_no_hole(hole):
    made = shop(
        feature('kind = "counterbore"', 'cutter = "6"', "diameter = 20", "depth = 5", *hole)
    )
    assert len(made.feature("f").made.cuts) == 1 + bool(hole)


def test_corners_are_relieved_by_a_drill():
    made = shop(feature(*NUT, 'relief_cutter = "drill 3"'))
    relieved = made.feature("f").made.cuts[-1].work
    # 3/2 / tan 59° below the full diameter.
    assert sizes.mm(relieved.tip_depth - relieved.step.depth) == pytest.approx(0.9013, abs=1e-4)
    operation = plan(made).operations[-1]
    typed = dict(operation.settings)
    assert (typed["feed down"], operation.count) == ("150 mm/min", 6)
    assert operation.time.m_as("s") == pytest.approx(sizes.mm(relieved.tip_depth) / 150 * 60)


def test_corners_are_not_relieved_by_a_cone():
    assert "straight down" in shop(feature(*NUT, 'relief_cutter = "vee"')).feature("f").problem


def test_a_byte_order_mark_is_read_over_and_kept(tmp_path):
    path = tmp_path / "small.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    file = part.open_file(path)
    assert file.part.name == "small"
    file.set("plate", "thickness", to=11)
    file.save()
    after = SMALL.replace("thickness = 10", "thickness = 11")
    assert path.read_bytes() == b"\xef\xbb\xbf" + after.encode()
    assert part.loads("\ufeff" + SMALL).name == "small"
    with pytest.raises(PartError, match=r"small\.toml:6: "):
        part.loads("\ufeff" + SMALL.replace("thickness = 10", "thickness = 0"), "small.toml")


POCKETS = (
    SHOP
    + feature(*NUT, 'relief_cutter = "2"', name="nut")
    + feature('kind = "counterbore"', 'cutter = "6"', "diameter = 20", "depth = 5", name="spotface")
    + feature(
        *BORE, "diameter = 20", "finishing = 0.2", "measured = {bore_diameter = 20}", name="b"
    )
)
POCKET_LINES = [
    index for index, line in enumerate(POCKETS.splitlines())
    if "=" in line and "[[" not in line and not line.startswith("part")
]  # fmt: skip
NAMES = st.sampled_from(['"2"', '"6"', '"drill 3"', '"vee"', '"N8"', '"T"', '"M6"', '"insert"'])


@given(st.lists(st.tuples(st.sampled_from(POCKET_LINES), VALUES | NAMES), min_size=1, max_size=3))
@settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_any_value_in_a_pocket_is_read_right_or_told(changes):
    lines = POCKETS.splitlines()
    for index, value in changes:
        lines[index] = f"{lines[index].split('=')[0]}= {value}"
    check_any("\n".join(lines))
