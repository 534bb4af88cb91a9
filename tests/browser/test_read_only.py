"""Workbooks in a folder that is not one's own to write, as on a shared server."""

import os
import shutil
import sys
from pathlib import Path

import hands
import pytest
from hands import seen

pytestmark = pytest.mark.filterwarnings("default")

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
# An administrator may write anywhere; this takes that right away.
AS_OTHERS = ("setpriv", "--bounding-set=-dac_override,-fowner", "--inh-caps=-all")


@pytest.fixture(name="lab", scope="module")
def _lab(tmp_path_factory):
    bench = tmp_path_factory.mktemp("shared")
    folder = bench / "workbooks"
    shutil.copytree(WORKBOOKS, folder, ignore=shutil.ignore_patterns(".*"))
    for path in (*folder.iterdir(), folder):
        path.chmod(path.stat().st_mode & ~0o222)
    command = (
        *(AS_OTHERS if os.geteuid() == 0 else ()),
        *(sys.executable, "-m", "holecalc", "open", str(folder), "--no-browser", "--"),
    )
    home = bench / "home"
    home.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HOME", str(home))
        with hands.lab(folder, bench, command) as lab:
            yield lab
    folder.chmod(0o755)


def test_a_part_is_kept_elsewhere_and_says_where(open_workbook, lab):
    from playwright.sync_api import expect

    assert any(f"Nothing can be saved in {lab.folder}" in line for line in lab.log)
    before = {path: path.read_bytes() for path in lab.folder.iterdir()}
    book = open_workbook("05-a-part-from-start-to-finish.ipynb", height=2400)
    book.run_all()
    panel = book.panel("part files")
    kept = lab.folder.parent / "home" / "bearing-plate.toml"
    expect(seen(panel, f"Save puts it in {kept}").first).to_be_visible()
    panel.get_by_role("button", name="Save", exact=True).click()
    expect(seen(panel, "✓ saved").first).to_be_visible()
    expect(seen(panel, f"nothing can be saved in {lab.folder}").first).to_be_visible()
    assert "[plate]" in kept.read_text(encoding="utf-8")
    assert {path: path.read_bytes() for path in lab.folder.iterdir()} == before
