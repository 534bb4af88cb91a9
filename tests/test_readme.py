"""What the README shows is what happens."""

import re
import subprocess
import sys

from holecalc import checks, fasteners
from holecalc.countersink import sink
from holecalc.cutters import VeeCutter
from project import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_example_prints_what_stands_below_it():
    code, printed = re.search(r"```python\n(.*?)```\s*```\n(.*?)```", README, re.DOTALL).groups()
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8"
    )
    assert done.stdout == printed


def test_every_workbook_is_told_of():
    for workbook in (ROOT / "workbooks").glob("*.ipynb"):
        assert f"`{workbook.stem}`" in README


def test_what_it_links_to_is_there():
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).exists(), target


def test_a_finding_is_explained_under_its_topic():
    headings = {
        line.lstrip("# ").strip().lower()
        for page in (ROOT / "references").glob("derivations*.md")
        for line in page.read_text(encoding="utf-8").splitlines()
        if line.startswith("#")
    }
    bad = sink(
        fasteners.FlatHead("11.3 mm", 82, edge_land="0.5 mm", shank_diameter="6 mm"),
        VeeCutter("8 mm", 90),
        hole_diameter="6.6 mm",
        top_diameter="11.3 mm",
        circle_diameter=0,
        plate_thickness="2 mm",
    )
    topics = {finding.topic for finding in checks.countersink(bad)}
    assert len(topics) >= 2
    assert topics <= headings
