"""The rules of the house: what the tools say, what the top level holds, what an import costs."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from nbval.plugin import find_comment_markers, find_metadata_tags

from project import ROOT

TOP_LEVEL = {
    "DEVELOPERS.md",
    "README.md",
    "holecalc",
    "pyproject.toml",
    "references",
    "tests",
    "workbooks",
}
WORKBOOKS = sorted((ROOT / "workbooks").glob("*.ipynb"))


def run(*command: str) -> subprocess.CompletedProcess[str]:
    try:
        return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=600)
    except FileNotFoundError as error:
        return subprocess.CompletedProcess(command, 127, "", str(error))


@pytest.mark.parametrize(
    "command",
    [
        ("-m", "ruff", "check", "."),
        ("-m", "ruff", "format", "--check", "."),
        ("-m", "mypy"),
        # import-linter has no module to run, and its script need not be on the path.
        ("-c", "from importlinter.cli import lint_imports_command as run; run()"),
    ],
    ids=["ruff check", "ruff format", "mypy", "lint-imports"],
)
def test_tool_has_nothing_to_say(command):
    result = run(sys.executable, *command)
    assert result.returncode == 0, f"{result.stdout}\n{result.stderr}"


def test_importing_holecalc_loads_nothing_heavy():
    code = "import sys, holecalc; print(*sys.modules)"
    loaded = {name.split(".")[0] for name in run(sys.executable, "-c", code).stdout.split()}
    assert "holecalc" in loaded
    assert not loaded & {"numpy", "pint", "sympy", "scipy", "matplotlib", "ipywidgets", "IPython"}


def test_modules_are_attributes_and_listed():
    code = "import holecalc as h; print(h.tables.names()[0], h.__version__, *dir(h))"
    words = run(sys.executable, "-c", code).stdout.split()
    assert words[0] == "cap-screw-asme-b18.3"
    assert words[1][0].isdigit()
    assert {"__version__", "cli", "tables"} <= set(words[2:])


def test_a_module_that_is_not_there_is_an_attribute_error():
    import holecalc

    with pytest.raises(AttributeError, match="no module or name 'trapdoor'"):
        holecalc.trapdoor  # noqa: B018


def test_the_top_level_holds_what_it_should():
    listed = run("git", "-c", f"safe.directory={ROOT}", "ls-files", "-co", "--exclude-standard")
    if listed.returncode == 0:
        paths = [line for line in listed.stdout.splitlines() if (ROOT / line).exists()]
    else:
        # A source archive adds one file of its own; a first try leaves the folder it opened.
        passing = {"PKG-INFO", "holecalc-workbooks"}
        paths = [path.name for path in ROOT.iterdir() if path.name not in passing]
    assert {path.split("/")[0] for path in paths if not path.startswith(".")} == TOP_LEVEL


def faults_in_workbook(notebook: dict[str, Any]) -> list[str]:
    """Where nbval would look away from a number."""
    faults = []
    for index, cell in enumerate(notebook["cells"]):
        if cell["cell_type"] != "code":
            continue
        source = "".join(cell["source"])
        if source.strip() and cell["execution_count"] is None:
            faults.append(f"cell {index} was saved without being run, so nothing is compared")
        # nbval's own reading of comments and tags, so that none it honours is missed here.
        marks = {*find_comment_markers(source), *find_metadata_tags(cell["metadata"])}
        if ("skip", True) in marks:
            faults.append(f"cell {index} is skipped")
        if ("check", False) in marks:
            # A figure's or a widget's own text says nothing of the numbers; any other output may.
            shown = ("image/", "application/vnd.jupyter.widget-view")
            for output in cell["outputs"]:
                if not any(mime.startswith(shown) for mime in output.get("data", {})):
                    faults.append(f"cell {index} hides an output that is not a picture or widget")
    return faults


@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.stem)
def test_no_number_in_a_workbook_escapes_comparison(path):
    assert faults_in_workbook(json.loads(path.read_text(encoding="utf-8"))) == []


def code_cell(
    *outputs: dict[str, Any], tags: tuple[str, ...] = (), count: int | None = 1, source: str = "1"
) -> dict[str, Any]:
    return {
        "cell_type": "code",
        "source": source,
        "execution_count": count,
        "metadata": {"tags": list(tags)},
        "outputs": list(outputs),
    }


PICTURE = {"output_type": "display_data", "data": {"image/svg+xml": "", "text/plain": "<Figure>"}}
NUMBER = {"output_type": "execute_result", "data": {"text/plain": "5.3"}}
PRINTED = {"output_type": "stream", "name": "stdout", "text": "5.3"}


@pytest.mark.parametrize(
    "cell",
    [
        code_cell(NUMBER),
        code_cell(PICTURE, tags=("nbval-ignore-output",)),
        code_cell(count=None, source=""),
        {"cell_type": "markdown", "source": "nbval-skip", "metadata": {}},
    ],
    ids=["number", "picture", "empty cell", "text"],
)
def test_a_workbook_cell_that_is_compared_is_accepted(cell):
    assert faults_in_workbook({"cells": [cell]}) == []


@pytest.mark.parametrize(
    "cell",
    [
        code_cell(count=None),
        code_cell(tags=("nbval-skip",)),
        code_cell(NUMBER, tags=("nbval-ignore-output",)),
        code_cell(PICTURE, PRINTED, tags=("nbval-ignore-output",)),
        code_cell(NUMBER, source="# NBVAL_IGNORE_OUTPUT\n5.3"),
        code_cell(source="# NBVAL_SKIP\n5.3"),
    ],
    ids=["not run", "skipped", "number", "printed", "by comment", "skipped by comment"],
)
def test_a_workbook_cell_that_hides_a_number_is_refused(cell):
    assert len(faults_in_workbook({"cells": [cell]})) == 1


def test_workbooks_are_all_notebooks():
    strangers = [path.name for path in Path(ROOT / "workbooks").iterdir() if path.name[0] != "."]
    assert sorted(strangers) == [path.name for path in WORKBOOKS]
