"""``holecalc sheet``: a part file in, a sheet out, and an exit status that says whether to cut."""

import subprocess
import sys

import ezdxf
import pytest

from holecalc import demo
from holecalc.cli import main


@pytest.fixture(name="file")
def _file(tmp_path):
    path = tmp_path / "plate.toml"
    path.write_text(demo.text("bearing-plate"), encoding="utf-8")
    return path


def test_a_sheet_is_made_beside_the_file(file, capsys):
    assert main(["sheet", str(file)]) == 0
    said = capsys.readouterr().out
    assert "Wrote" in said
    assert "note:" in said
    assert "Bearing plate" in file.with_suffix(".html").read_text(encoding="utf-8")


def test_a_stop_is_an_exit_status_and_the_sheet_is_made_all_the_same(file, capsys):
    text = file.read_text(encoding="utf-8").replace("[220, 90]", "[145, 90]")
    file.write_text(text, encoding="utf-8")
    assert main(["sheet", str(file)]) == 1
    assert "■ stop" in capsys.readouterr().out
    assert "Do not cut" in file.with_suffix(".html").read_text(encoding="utf-8")


def test_the_second_part_gets_a_sheet_of_its_own_and_a_changed_one_is_kept(file, capsys):
    assert main(["sheet", str(file)]) == 0
    first = file.with_suffix(".html").read_bytes()
    text = file.read_text(encoding="utf-8")
    bored = text.replace("diameter = 47\n", "diameter = 47\nmeasured = {bore_diameter = 46.92}\n")
    file.write_text(bored, encoding="utf-8")
    assert main(["sheet", str(file)]) == 0
    assert "Wrote" in capsys.readouterr().out
    assert file.with_suffix(".html").read_bytes() == first
    second = file.with_name("plate, part 2.html").read_text(encoding="utf-8")
    assert "35.080 mm" in second
    assert "from plate.toml as saved " in second
    file.write_text(bored.replace("46.92", "46.93"), encoding="utf-8")
    assert main(["sheet", str(file)]) == 0
    kept = file.with_name("plate, part 2.html.bak")
    assert f"; the one before is kept as {kept}" in capsys.readouterr().out
    assert kept.read_text(encoding="utf-8") == second


def test_csv_and_dxf_come_with_it(file, tmp_path):
    csv, drawn = tmp_path / "a.csv", tmp_path / "a.dxf"
    page = tmp_path / "b.html"
    asked = ["sheet", str(file), "-o", str(page), "--csv", str(csv), "--dxf", str(drawn)]
    assert main(asked) == 0
    assert csv.read_text(encoding="utf-8").startswith("setup,face")
    assert ezdxf.readfile(drawn).modelspace().query("CIRCLE")
    assert page.exists()


def test_a_bad_file_is_told_by_line_and_nothing_is_written(file, capsys):
    text = file.read_text(encoding="utf-8").replace("thickness = 19.8", 'thickness = "19.8 mn"')
    file.write_text(text, encoding="utf-8")
    assert main(["sheet", str(file)]) == 2
    (line,) = (number for number, each in enumerate(text.split("\n"), start=1) if "19.8 mn" in each)
    assert f"plate.toml:{line}:" in capsys.readouterr().err
    assert not file.with_suffix(".html").exists()


def test_a_file_that_is_not_there(tmp_path, capsys):
    assert main(["sheet", str(tmp_path / "none.toml")]) == 2
    assert "none.toml" in capsys.readouterr().err


def test_the_part_file_itself_is_never_written_over(file, capsys):
    before = file.read_bytes()
    assert main(["sheet", str(file), "-o", str(file)]) == 2
    assert main(["sheet", str(file), "--csv", str(file)]) == 2
    assert file.read_bytes() == before
    assert "one name" in capsys.readouterr().err


def test_without_a_notebook_neither_widgets_nor_matplotlib_are_loaded(file):
    code = (
        "import sys; from holecalc.cli import main; "
        f"status = main(['sheet', {str(file)!r}]); "
        "print(status, *sorted({'matplotlib', 'ipywidgets', 'IPython'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120)
    assert done.stdout.splitlines()[-1] == "0"


def test_nothing_that_was_not_made_here_is_written_over(file, tmp_path, capsys):
    notes, other = tmp_path / "notes.txt", tmp_path / "other.toml"
    notes.write_text("mine", encoding="utf-8")
    other.write_text(demo.text("table-insert"), encoding="utf-8")
    for option, path in (("--csv", notes), ("--dxf", other)):
        before = path.read_bytes()
        assert main(["sheet", str(file), option, str(path)]) == 2
        assert path.read_bytes() == before
        assert f"{path} is there and was not made here" in capsys.readouterr().err
        assert not file.with_suffix(".html").exists()


def test_list_and_drawing_are_made_again(file, tmp_path):
    asked = ["--csv", str(tmp_path / "a.csv"), "--dxf", str(tmp_path / "a.dxf")]
    assert main(["sheet", str(file), *asked]) == 0
    assert main(["sheet", str(file), *asked]) == 0


def test_a_folder_is_no_part_file(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for folder in (".", "..", str(tmp_path)):
        assert main(["sheet", folder]) == 2
        assert "is a folder. Name the part file in it." in capsys.readouterr().err
