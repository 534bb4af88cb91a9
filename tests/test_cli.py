"""The ``holecalc`` command, and the wheel it has to work from."""

import json
import os
import signal
import subprocess
import sys
import tarfile
import time
import zipfile
from pathlib import Path

import pytest

import holecalc
from holecalc import cli
from project import ROOT

FIRST, SECOND = "00-first.ipynb", "01-second.ipynb"


@pytest.fixture
def workbooks(tmp_path, monkeypatch):
    """Two stand-ins for workbooks, beside a file that is none."""
    source = tmp_path / "source"
    source.mkdir()
    for name in (SECOND, FIRST, "notes.txt"):
        (source / name).write_text(f"new {name}", encoding="utf-8")
    monkeypatch.setattr(cli, "workbooks_folder", lambda: source)
    return source


@pytest.fixture
def started(monkeypatch):
    """Commands that would have been started; none is."""
    commands = []

    def run(command):
        commands.append(list(command))
        return 7

    monkeypatch.setattr(cli, "_run", run)
    return commands


@pytest.fixture
def not_root(monkeypatch):
    monkeypatch.setattr(cli, "_is_root", lambda: False)


@pytest.mark.usefixtures("workbooks", "not_root")
def test_open_copies_the_workbooks_and_starts_jupyterlab_on_the_first(tmp_path, started, capsys):
    folder = tmp_path / "mine"
    assert cli.main(["open", str(folder)]) == 7
    assert sorted(path.name for path in folder.iterdir()) == [FIRST, SECOND]
    assert started == [
        [
            sys.executable,
            "-m",
            "jupyterlab",
            f"--ServerApp.root_dir={folder}",
            f"--LabApp.default_url=/lab/tree/{FIRST}",
        ]
    ]
    assert capsys.readouterr().out == f"Copied to {folder}: {FIRST}, {SECOND}\n"


@pytest.mark.usefixtures("workbooks", "not_root")
def test_the_default_folder_is_made_where_the_command_runs(tmp_path, started, monkeypatch):
    monkeypatch.chdir(tmp_path)
    cli.main(["open"])
    assert (tmp_path / "holecalc-workbooks" / FIRST).is_file()
    assert f"--ServerApp.root_dir={tmp_path / 'holecalc-workbooks'}" in started[0]


@pytest.mark.usefixtures("workbooks", "started", "not_root")
def test_a_file_that_is_there_is_kept_and_said_to_be(tmp_path, capsys):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / FIRST).write_text("changed by hand", encoding="utf-8")
    cli.main(["open", str(folder)])
    assert (folder / FIRST).read_text(encoding="utf-8") == "changed by hand"
    assert (folder / SECOND).read_text(encoding="utf-8") == f"new {SECOND}"
    out = capsys.readouterr().out
    assert f"Copied to {folder}: {SECOND}\n" in out
    assert f"Kept as they are in {folder}: {FIRST}\n" in out


@pytest.mark.usefixtures("workbooks", "not_root")
def test_the_first_workbook_is_opened_when_all_are_there_already(tmp_path, started, capsys):
    folder = tmp_path / "mine"
    cli.main(["open", str(folder)])
    capsys.readouterr()
    cli.main(["open", str(folder)])
    assert started[0] == started[1]
    assert "Copied" not in capsys.readouterr().out


@pytest.mark.usefixtures("workbooks", "not_root")
def test_arguments_after_two_dashes_go_to_jupyterlab_last(tmp_path, started):
    cli.main(["open", str(tmp_path / "a"), "--no-browser", "--", "--port=9000", "--", "x"])
    assert started[0][-4:] == ["--no-browser", "--port=9000", "--", "x"]


@pytest.mark.usefixtures("workbooks", "not_root")
def test_an_argument_after_two_dashes_is_not_the_folder(tmp_path, started, monkeypatch):
    monkeypatch.chdir(tmp_path)
    cli.main(["open", "--", "9000"])
    assert started[0][-1] == "9000"
    assert not (tmp_path / "9000").exists()


@pytest.mark.usefixtures("workbooks")
def test_root_is_let_in_and_told(tmp_path, started, monkeypatch, capsys):
    monkeypatch.setattr(cli, "_is_root", lambda: True)
    cli.main(["open", str(tmp_path / "mine")])
    assert "--allow-root" in started[0]
    copied, *notes = capsys.readouterr().out.splitlines()
    assert copied.startswith("Copied to ")
    assert notes == [
        "Running as root, which Jupyter refuses unless told otherwise: adding --allow-root."
    ]


def test_token_and_address_are_left_to_jupyter():
    command = cli.jupyter_command(Path("mine"), FIRST, browser=False)
    options = {part.split("=")[0] for part in command if part.startswith("--")}
    assert options - {"--allow-root"} == {
        "--ServerApp.root_dir",
        "--LabApp.default_url",
        "--no-browser",
    }


@pytest.mark.usefixtures("not_root")
def test_a_name_is_quoted_in_the_address(tmp_path):
    command = cli.jupyter_command(tmp_path, "00 ⌀ start?.ipynb")
    assert command[-1] == "--LabApp.default_url=/lab/tree/00%20%E2%8C%80%20start%3F.ipynb"


@pytest.mark.usefixtures("workbooks")
@pytest.mark.parametrize("inside", ["", "deeper"])
def test_a_folder_that_is_a_file_is_refused(tmp_path, started, capsys, inside):
    taken = tmp_path / "taken"
    taken.write_text("mine", encoding="utf-8")
    assert cli.main(["open", str(taken / inside)]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert error.startswith(f"holecalc: cannot put the workbooks in {taken / inside}: ")
    assert "name another folder: holecalc open FOLDER" in error
    assert ("not a folder" in error) or ("Not a directory" in error)
    assert taken.read_text(encoding="utf-8") == "mine"
    assert started == []


@pytest.mark.usefixtures("workbooks")
def test_a_folder_that_cannot_be_written_to_is_opened_and_told(
    tmp_path, started, capsys, monkeypatch
):
    folder = tmp_path / "mine"
    cli.main(["open", str(folder)])
    capsys.readouterr()
    # Permissions do not bind root, and the tests may run as root.
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert cli.main(["open", str(folder)]) == 7
    assert f"Nothing can be saved in {folder}" in capsys.readouterr().out
    assert len(started) == 2


@pytest.mark.usefixtures("workbooks")
def test_workbooks_that_cannot_be_put_in_a_folder_are_refused(
    tmp_path, started, capsys, monkeypatch
):
    def refuse(self, *_args, **_kwargs):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(cli.Path, "open", refuse)
    folder = tmp_path / "mine"
    assert cli.main(["open", str(folder)]) == 2
    assert capsys.readouterr().err == (
        f"holecalc: cannot put the workbooks in {folder}: Permission denied; "
        "name another folder: holecalc open FOLDER\n"
    )
    assert started == []


@pytest.mark.usefixtures("workbooks")
def test_a_copy_that_fails_leaves_no_half_of_a_workbook(tmp_path, started, capsys, monkeypatch):
    def fail(_source, destination):
        destination.write(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cli.shutil, "copyfileobj", fail)
    folder = tmp_path / "mine"
    assert cli.main(["open", str(folder)]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert list(folder.iterdir()) == []
    assert started == []


def test_an_installation_without_workbooks_says_so(tmp_path, monkeypatch, started, capsys):
    monkeypatch.setattr(cli.importlib.resources, "files", lambda _: tmp_path / "holecalc")
    assert cli.main(["open", str(tmp_path / "mine")]) == 2
    assert "install holecalc again" in capsys.readouterr().err
    assert not (tmp_path / "mine").exists()
    assert started == []


def test_workbooks_in_the_package_come_before_those_beside_it(tmp_path, monkeypatch):
    package = tmp_path / "holecalc"
    monkeypatch.setattr(cli.importlib.resources, "files", lambda _: package)
    for folder in (tmp_path / "workbooks", package / "workbooks"):
        folder.mkdir(parents=True)
        (folder / FIRST).touch()
        assert cli.workbooks_folder() == folder


def test_the_command_alone_says_what_it_can_do(capsys):
    with pytest.raises(SystemExit, match="2"):
        cli.main([])
    assert "holecalc open" in capsys.readouterr().err


def test_version(capsys):
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out == f"holecalc {holecalc.__version__}\n"


@pytest.mark.parametrize("status", [0, 3])
def test_the_exit_status_of_jupyter_is_returned(status):
    assert cli._run([sys.executable, "-c", f"raise SystemExit({status})"]) == status


@pytest.mark.skipif(os.name == "nt", reason="signals as on POSIX")
def test_an_end_by_signal_is_told_as_a_shell_does():
    kill = "import os, signal; os.kill(os.getpid(), signal.SIGKILL)"
    assert cli._run([sys.executable, "-c", kill]) == 128 + signal.SIGKILL


# Stands in for Jupyter: ends with status 5 on the second Ctrl-C, with 6 when asked to terminate.
PATIENT = """
import signal, sys, time
seen = []
signal.signal(signal.SIGINT, lambda *_: seen.append(1) if not seen else sys.exit(5))
signal.signal(signal.SIGTERM, lambda *_: sys.exit(6))
print("ready", flush=True)
time.sleep(30)
time.sleep(30)
"""


@pytest.mark.skipif(os.name == "nt", reason="signals as on POSIX")
@pytest.mark.parametrize(
    ("signals", "status"), [([signal.SIGINT, signal.SIGINT], 5), ([signal.SIGTERM], 6)]
)
def test_ctrl_c_is_quiet_and_left_to_jupyter(signals, status):
    code = "import sys; from holecalc import cli; raise SystemExit(cli._run(sys.argv[1:]))"
    with subprocess.Popen(
        [sys.executable, "-c", code, sys.executable, "-c", PATIENT],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        process_group=0,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        for number in signals:
            # A terminal's Ctrl-C reaches both processes; a request to terminate only the first.
            if number == signal.SIGINT:
                os.killpg(process.pid, number)
            else:
                process.send_signal(number)
            # Two signals sent at once may arrive as one.
            time.sleep(0.5)
        _, errors = process.communicate(timeout=20)
    assert process.returncode == status
    assert errors == ""


def build(kind: str, source: Path, target: Path) -> Path:
    result = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "--target", kind, "--directory", str(target)],
        cwd=source,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert result.returncode == 0, f"{result.stdout}\n{result.stderr}"
    (built,) = target.iterdir()
    return built


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    return build("wheel", ROOT, tmp_path_factory.mktemp("wheel"))


def names_in(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def in_tree(folder: str, pattern: str) -> set[str]:
    return {path.name for path in (ROOT / folder).glob(pattern)}


def test_the_wheel_carries_tables_types_derivations_and_workbooks(wheel):
    names = names_in(wheel)
    assert {f"holecalc/tables/{name}" for name in in_tree("holecalc/tables", "*.csv")} <= names
    assert {f"holecalc/{name}" for name in in_tree("holecalc", "*.py")} <= names
    assert "holecalc/py.typed" in names
    assert "holecalc/panels/access.js" in names
    pages = {name for name in names if name.startswith("holecalc/references/")}
    derivations = in_tree("references", "derivations*.md")
    assert pages == {f"holecalc/references/{name}" for name in derivations}
    workbooks = {name for name in names if name.startswith("holecalc/workbooks/")}
    assert workbooks == {f"holecalc/workbooks/{name}" for name in in_tree("workbooks", "*.ipynb")}


def test_the_wheel_carries_nothing_else(wheel):
    tops = {name.split("/")[0] for name in names_in(wheel)}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"holecalc"}
    assert not [name for name in names_in(wheel) if "__pycache__" in name or "checkpoint" in name]


def test_a_wheel_built_from_the_source_archive_is_the_same(wheel, tmp_path):
    archive = build("sdist", ROOT, tmp_path / "sdist")
    with tarfile.open(archive) as files:
        files.extractall(tmp_path / "source", filter="data")
    (source,) = (tmp_path / "source").iterdir()
    assert names_in(build("wheel", source, tmp_path / "again")) == names_in(wheel)


def test_the_workbooks_are_found_without_a_clone(wheel, tmp_path):
    if not in_tree("workbooks", "*.ipynb"):
        pytest.skip("there is no workbook yet")
    site = tmp_path / "site"
    with zipfile.ZipFile(wheel) as files:
        files.extractall(site)
    found = subprocess.run(
        [sys.executable, "-c", "from holecalc import cli; print(cli.workbooks_folder())"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(site)},
        check=True,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert Path(found.stdout.strip()) == site / "holecalc" / "workbooks"


def test_the_defaults_for_jupyter_are_there_and_leave_the_persons_own_in_front(monkeypatch):
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "/etc/theirs")
    *theirs, ours = cli.jupyter_environment()["JUPYTER_CONFIG_PATH"].split(os.pathsep)
    assert theirs == ["/etc/theirs"]
    overrides = Path(ours) / "labconfig" / "default_setting_overrides.json"
    settings = json.loads(overrides.read_text(encoding="utf-8"))
    assert settings["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
    # In a subshell, a button may be heard before what was typed ahead of it.
    kernels = settings["@jupyterlab/apputils-extension:kernels-settings"]
    assert kernels["commsOverSubshells"] == "disabled"
