"""What was worked out in a panel outlives the kernel: kept in a part file, and taken up again."""

import re

import pytest
from hands import choose, clipped, expect_headline, expect_said, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("01-countersinks.ipynb", height=2600)
    book.run_all()
    return book


def press(panel, button):
    panel.get_by_role("button", name=button, exact=True).click()


def test_kept_in_a_new_part_it_is_there_after_a_restart(book):
    from playwright.sync_api import expect

    panel = book.panel("the screw")
    # Invented. (12.6 - 3.2 - 0.2) / 2 at 90°.
    type_in(panel, "circle diameter", "3.2 mm")
    type_in(panel, "plate thickness", "18.3 mm")
    expect_headline(panel, r"circle 3\.200 mm, depth 4\.600 mm")
    press(panel, "keep in the part")
    expect_said(panel, "no part file is named")
    type_in(panel, "part file", "kept")
    press(panel, "keep in the part")
    expect_said(panel, "it has no name")
    type_in(panel, "feature", "cover screws")
    press(panel, "keep in the part")
    expect_said(panel, "it stands nowhere yet")
    type_in(panel, "stands at", "40, 35")
    press(panel, "keep in the part")
    expect_said(panel, "a new part needs its plate")
    assert clipped(panel) == []
    type_in(panel, "plate size", "300 x 200")
    press(panel, "keep in the part")
    expect_said(panel, re.compile(r"kept as “cover screws” in /.*/kept\.toml, at \d\d:\d\d"))
    expect(panel.get_by_label("plate size", exact=True)).to_be_hidden()
    assert clipped(panel) == []

    book.restart_and_run_all()
    panel = book.panel("the screw")
    expect_headline(panel, r"circle 3\.600 mm, depth 4\.400 mm")
    choose(panel, "or choose", "kept.toml")
    choose(panel, "kept in it", "cover screws")
    press(panel, "take up")
    expect_said(panel, "taken up: “cover screws”")
    expect_headline(panel, r"circle 3\.200 mm, depth 4\.600 mm")
    assert panel.get_by_label("plate thickness", exact=True).input_value() == "18.3 mm"
    assert panel.get_by_label("stands at", exact=True).input_value() == "40, 35"
    # A slip leaves the file and what is typed as they were.
    type_in(panel, "circle diameter", "nonsense")
    press(panel, "keep in the part")
    expect_said(panel, "not kept: what is typed makes no result yet")
    assert panel.get_by_label("circle diameter", exact=True).input_value() == "nonsense"


def test_a_panel_opens_on_what_was_kept(book):
    panel = book.panel("the screw")
    type_in(panel, "circle diameter", "3.1 mm")
    type_in(panel, "part file", "opened.toml")
    type_in(panel, "plate size", "300 x 200")
    type_in(panel, "feature", "lid")
    type_in(panel, "stands at", "40, 35")
    press(panel, "keep in the part")
    expect_said(panel, "kept as “lid”")
    told = book.run(
        'print(CountersinkPanel.of("opened.toml", "lid").sink.cut.circle_diameter.m_as("mm"))'
    )
    assert float(told) == pytest.approx(3.1)
