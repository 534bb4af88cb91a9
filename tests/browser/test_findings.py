"""Each finding is brought about as a person would, and is told with its cure and its derivation."""

import pytest
from hands import entries, expect_findings, findings_told, into, look_at_finding, put_back
from provocations import OF_A_PANEL

pytestmark = pytest.mark.filterwarnings("default")

HEADINGS = {
    "01-countersinks.ipynb": "the screw",
    "02-captured-nuts.ipynb": "the fastener",
    "03-helical-bores.ipynb": "the bore",
    "04-form-cutters.ipynb": "arc begins at",
}
OPPOSITE = {"PageUp": "PageDown", "PageDown": "PageUp"}


@pytest.fixture(name="opened", scope="module")
def _opened():
    """Panels that were opened, with what stood in them."""
    return {}


@pytest.fixture(name="panel_of")
def _panel_of(open_workbook, opened):
    def open_one(name):
        # Tall, so that the whole of its first panel stays attached.
        book = open_workbook(name, height=3400)
        if name not in opened:
            book.run_all()
            panel = book.panel(HEADINGS[name])
            opened[name] = panel, entries(panel), findings_told(panel)
        return (book, *opened[name])

    return open_one


@pytest.mark.parametrize(
    ("name", "row"),
    [(name, row) for name, rows in OF_A_PANEL.items() for row in rows],
    ids=lambda value: getattr(value, "says", value),
)
def test_what_is_typed_is_told(panel_of, unfolded, name, row):
    book, panel, stood, first = panel_of(name)
    put_back(book, panel, stood)
    for label, text in row.typed.items():
        into(panel, label, text)
    look_at_finding(panel, row.says, row.weight, unfolded)
    for label, text in row.typed.items():
        if text in OPPOSITE:
            into(panel, label, OPPOSITE[text])
    put_back(book, panel, stood)
    expect_findings(panel, first)
    assert not row.typed or row.says not in str(first)
