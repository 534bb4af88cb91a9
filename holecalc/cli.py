"""The ``holecalc`` command: open the workbooks in JupyterLab, and make a part's sheet."""

import argparse
import importlib.resources
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

__all__ = [
    "OpenError",
    "copy_workbooks",
    "jupyter_command",
    "jupyter_environment",
    "main",
    "workbooks_folder",
]

DEFAULT_FOLDER = "holecalc-workbooks"


class OpenError(Exception):
    """The workbooks cannot be opened; the message says what, why and what would help."""


class Copied(NamedTuple):
    """What `copy_workbooks` did.

    Names newly copied, names that were there and were kept, and whether anything can be saved
    beside them.
    """

    new: tuple[str, ...]
    kept: tuple[str, ...]
    writable: bool


def workbooks_folder() -> Path:
    """Find the workbooks that came with this installation.

    Returns
    -------
    pathlib.Path
        The folder inside the installed package, or ``workbooks/`` of the source tree when holecalc
        runs from one.

    Raises
    ------
    OpenError
        If neither holds a workbook.
    """
    package = Path(str(importlib.resources.files("holecalc")))
    # Inside the package first: next to an installed package stand other people's folders.
    places = (package / "workbooks", package.parent / "workbooks")
    for place in places:
        if any(place.glob("*.ipynb")):
            return place
    raise OpenError(
        f"no workbook in {places[0]} or {places[1]}: this installation is not complete; "
        "install holecalc again"
    )


def copy_workbooks(source: Path, folder: Path) -> Copied:
    """Copy every workbook into a folder, never over a file that is there.

    Parameters
    ----------
    source : pathlib.Path
        Folder the workbooks are taken from.
    folder : pathlib.Path
        Folder they go to; made if it is not there.

    Returns
    -------
    Copied
        Which workbooks are new in the folder and which were there already.

    Raises
    ------
    OpenError
        If the folder cannot be made, or does not hold the workbooks and cannot be written to.
    """
    new: list[str] = []
    kept: list[str] = []
    try:
        if folder.exists() and not folder.is_dir():
            raise NotADirectoryError(None, "it is a file, not a folder")
        folder.mkdir(parents=True, exist_ok=True)
        for workbook in sorted(source.glob("*.ipynb")):
            target = folder / workbook.name
            (new if _copy_if_absent(workbook, target) else kept).append(workbook.name)
    except OSError as error:
        raise OpenError(
            f"cannot put the workbooks in {folder}: {error.strerror or error}; "
            "name another folder: holecalc open FOLDER"
        ) from error
    return Copied(tuple(new), tuple(kept), os.access(folder, os.W_OK))


def _copy_if_absent(source: Path, target: Path) -> bool:
    try:
        # "x" refuses an existing file in the same step that creates a new one, so that no file
        # can slip in between a look and a write.
        destination = target.open("xb")
    except FileExistsError:
        return False
    with ExitStack() as undo:
        undo.callback(target.unlink, missing_ok=True)
        with source.open("rb") as original, destination:
            shutil.copyfileobj(original, destination)
        # Half a workbook would be kept by every later run, so it only stays when it is whole.
        undo.pop_all()
    return True


def jupyter_command(
    folder: Path, workbook: str, *, browser: bool = True, extra: Sequence[str] = ()
) -> list[str]:
    """Compose the command that starts JupyterLab on one workbook.

    Neither the token nor the address is given: Jupyter's own settings ask for a token and listen
    to this computer alone.

    Parameters
    ----------
    folder : pathlib.Path
        Folder JupyterLab shows.
    workbook : str
        Name of the workbook in that folder to open first.
    browser : bool
        Whether JupyterLab opens a browser window.
    extra : sequence of str
        Further arguments for JupyterLab, put last so that they win.

    Returns
    -------
    list of str
        The command, for the Python that is running.
    """
    command = [
        sys.executable,
        "-m",
        "jupyterlab",
        f"--ServerApp.root_dir={folder.resolve()}",
        # In place of naming the file, so that the address printed for somebody who opens the
        # browser by hand leads to the workbook too.
        f"--LabApp.default_url=/lab/tree/{quote(workbook)}",
    ]
    if not browser:
        command.append("--no-browser")
    if _is_root():
        command.append("--allow-root")
    return [*command, *extra]


def jupyter_environment() -> dict[str, str]:
    """Compose the environment JupyterLab runs in.

    It adds this package's own defaults for JupyterLab's settings, which a person's settings
    override: a workbook on the bench asks nobody outside for news, nor whether it may, and what is
    typed reaches the kernel before the button that is pressed next.

    Returns
    -------
    dict of str to str
        The running environment, with ``JUPYTER_CONFIG_PATH`` extended.
    """
    defaults = str(importlib.resources.files("holecalc") / "jupyter")
    before = os.environ.get("JUPYTER_CONFIG_PATH")
    paths = [*(before.split(os.pathsep) if before else []), defaults]
    return {**os.environ, "JUPYTER_CONFIG_PATH": os.pathsep.join(paths)}


def _is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _run(command: Sequence[str]) -> int:
    """Run a command to its end, leaving Ctrl-C to it, and return its exit status."""
    # The terminal sends Ctrl-C to Jupyter as well, which asks whether it is meant; answering it is
    # what ends the wait. An exception here instead could lose the status Jupyter ends with.
    previous = signal.signal(signal.SIGINT, lambda *_: None)
    try:
        with subprocess.Popen(command, env=jupyter_environment()) as process:
            before = signal.signal(signal.SIGTERM, lambda *_: process.terminate())
            try:
                status = process.wait()
            finally:
                signal.signal(signal.SIGTERM, before)
    finally:
        signal.signal(signal.SIGINT, previous)
    # A process ended by a signal reports it as a negative number; shells say 128 + signal.
    return status if status >= 0 else 128 - status


def _open(folder: Path, *, browser: bool, extra: Sequence[str]) -> int:
    copied = copy_workbooks(workbooks_folder(), folder)
    if copied.new:
        print(f"Copied to {folder}: {', '.join(copied.new)}")
    if copied.kept:
        print(f"Kept as they are in {folder}: {', '.join(copied.kept)}")
    if not copied.writable:
        print(
            f"Nothing can be saved in {folder}, which is not yours to write: the workbooks work, "
            "and what you keep goes elsewhere. For copies of your own: holecalc open FOLDER"
        )
    if _is_root():
        print("Running as root, which Jupyter refuses unless told otherwise: adding --allow-root.")
    first = min(copied.new + copied.kept)
    # Jupyter writes to the same terminal; what was said so far belongs before it.
    sys.stdout.flush()
    return _run(jupyter_command(folder, first, browser=browser, extra=extra))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="holecalc", description="An engineering workbook for hole features in plate parts."
    )
    parser.add_argument("--version", action="store_true", help="print the version and end")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    opener = commands.add_parser(
        "open",
        help="copy the workbooks into a folder and open them in JupyterLab",
        description="Copy the workbooks into FOLDER and open the first one in JupyterLab. "
        "A file that is already there is kept as it is.",
        usage="holecalc open [-h] [--no-browser] [FOLDER] [-- ARGUMENT ...]",
        epilog="Arguments after -- go to JupyterLab unchanged.",
    )
    opener.add_argument(
        "folder",
        nargs="?",
        type=Path,
        default=Path(DEFAULT_FOLDER),
        metavar="FOLDER",
        help="where the workbooks go (default: %(default)s)",
    )
    opener.add_argument(
        "--no-browser",
        action="store_false",
        dest="browser",
        help="print the address and leave opening a browser to you",
    )
    maker = commands.add_parser(
        "sheet",
        help="make the operator's sheet of a part file",
        description="Check a part, plan it and write its sheet, as one page of HTML beside the "
        "file; that of the second part, once something is measured, under a name of its own. "
        "A sheet that is replaced by another is kept with .bak.",
        epilog="Ends with 0 when the part can be cut, 1 when a finding says stop (the sheet is "
        "written, and says so), 2 when there is no sheet.",
    )
    maker.add_argument("part", type=Path, metavar="PART.toml", help="the part file")
    maker.add_argument("-o", "--output", type=Path, metavar="FILE", help="where the sheet goes")
    maker.add_argument("--csv", type=Path, metavar="FILE", help="the operations as CSV, too")
    maker.add_argument("--dxf", type=Path, metavar="FILE", help="outlines and circles as DXF, too")
    return parser


def _sheet(file: Path, output: Path | None, csv: Path | None, dxf: Path | None) -> int:
    """Write a part's sheet and say what was found."""
    # Imported here because opening the workbooks should not pay for it.
    from holecalc import checks, part, plan, sheet

    try:
        if file.is_dir():
            raise sheet.SheetError(f"{file} is a folder. Name the part file in it.")
        made = part.load(file)
        page = sheet.file_name("sheet", made, file) if output is None else output
        # The sheet comes last: where one of the others fails, there is none.
        asked = {"list": csv, "drawing": dxf, "sheet": page}
        wanted = {what: path for what, path in asked.items() if path is not None}
        if len({path.resolve() for path in (file, *wanted.values())}) <= len(wanted):
            raise sheet.SheetError("two of the files have one name. Give each its own.")
        planned = plan.plan(made)
        origin = sheet.Origin.of(file)
        findings = checks.part(made, planned)
        for what, path in wanted.items():
            text = sheet.file_text(what, made, planned=planned, findings=findings, origin=origin)
            print(f"Wrote {sheet.write(text, path)}")
    except (part.PartError, OSError) as error:
        print(f"holecalc: {error}", file=sys.stderr)
        return 2
    print(findings)
    return 1 if findings.worst is checks.Weight.STOP else 0


def main(argv: Sequence[str] | None = None) -> int:
    """Run the ``holecalc`` command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments after the command's name; those of the running process if not given.

    Returns
    -------
    int
        Exit status: JupyterLab's own once it has started, 2 if it could not be started; of a sheet,
        0, 1 when a finding says stop, 2 when there is none.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    # argparse would take the first argument after "--" for the folder when no folder is named.
    cut = arguments.index("--") if "--" in arguments else len(arguments)
    own, extra = arguments[:cut], arguments[cut + 1 :]

    parser = _parser()
    options = parser.parse_args(own)
    if options.version:
        import holecalc

        print(f"holecalc {holecalc.__version__}")
        return 0
    if options.command is None:
        parser.error("say what to do: holecalc open, or holecalc sheet PART.toml")
    if options.command == "sheet":
        return _sheet(options.part, options.output, options.csv, options.dxf)
    try:
        return _open(options.folder, browser=options.browser, extra=extra)
    except OpenError as error:
        print(f"holecalc: {error}", file=sys.stderr)
        return 2
