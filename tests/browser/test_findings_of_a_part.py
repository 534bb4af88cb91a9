"""Each finding about a whole part is brought about by changing its text, and put right again."""

import pytest
from hands import expect_findings, findings_told, into, look_at_finding
from provocations import PARTS

from holecalc import demo

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="opened", scope="module")
def _opened():
    """The panel, and what it told at first."""
    return []


@pytest.mark.parametrize("row", PARTS, ids=lambda row: row.says)
def test_what_is_changed_in_a_part_is_told(open_workbook, opened, unfolded, row):
    book = open_workbook("05-a-part-from-start-to-finish.ipynb", height=3400)
    if not opened:
        book.run_all()
        panel = book.panel("part files")
        opened.extend([panel, findings_told(panel)])
    panel, first = opened
    text = demo.text("bearing-plate")
    changed = row.of(text)
    into(panel, "text", changed)
    look_at_finding(panel, row.says, row.weight, unfolded)
    if changed != text:
        into(panel, "text", text)
        expect_findings(panel, first)
        assert row.says not in str(first)
