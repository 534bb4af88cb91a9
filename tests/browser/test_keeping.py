"""What was worked out in a panel outlives the kernel: kept in a part file, and taken up again."""

import re

import pytest
from test_countersinks import expect_headline, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("01-countersinks.ipynb", height=2600)
    book.run_all()
    return book


def restart(book):
    """Restart the kernel from the menu."""
    page = book.page
    page.get_by_role("menuitem", name="Kernel", exact=True).click()
    page.get_by_text("Restart Kernel…", exact=True).click()
    page.locator(".jp-Dialog").get_by_role("button", name="Confirm Kernel Restart").click()
    page.wait_for_timeout(1500)
    page.get_by_text("| Idle").wait_for(timeout=120_000)


def expect_said(panel, text):
    from playwright.sync_api import expect

    expect(panel.get_by_text(text).first).to_be_visible(timeout=15_000)


def press(panel, button):
    panel.get_by_role("button", name=button, exact=True).click()


def test_kept_in_a_new_part_it_is_there_after_a_restart(book):
    from playwright.sync_api import expect

    panel = book.panel("the screw")
    # Invented. (12.6 - 3.2 - 0.2) / 2 at 90°.
    type_in(panel, "circle diameter", "3.2 mm")
    type_in(panel, "plate thickness", "18.3 mm")
    expect_headline(panel, r"circle 3\.200 mm, depth 4\.600 mm")
    type_in(panel, "part file", "kept")
    press(panel, "keep in the part")
    expect_said(panel, "it has no name")
    type_in(panel, "feature", "cover screws")
    press(panel, "keep in the part")
    expect_said(panel, "it stands nowhere yet")
    type_in(panel, "stands at", "[40, 35]")
    press(panel, "keep in the part")
    expect_said(panel, "a new part needs its plate")
    type_in(panel, "plate size", "300 x 200")
    press(panel, "keep in the part")
    expect_said(panel, re.compile(r"kept as “cover screws” in /.*/kept\.toml, at \d\d:\d\d"))
    expect(panel.get_by_label("plate size", exact=True)).to_be_hidden()

    restart(book)
    book.run_all()
    panel = book.panel("the screw")
    expect_headline(panel, r"circle 3\.600 mm, depth 4\.400 mm")
    panel.get_by_label("or choose", exact=True).select_option("kept.toml")
    panel.get_by_label("kept in it", exact=True).select_option("cover screws")
    press(panel, "take up")
    expect_said(panel, "taken up: “cover screws”")
    expect_headline(panel, r"circle 3\.200 mm, depth 4\.600 mm")
    assert panel.get_by_label("plate thickness", exact=True).input_value() == "18.3 mm"
    assert panel.get_by_label("stands at", exact=True).input_value() == "[40, 35]"
    # A slip leaves the file and what is typed as they were.
    type_in(panel, "circle diameter", "nonsense")
    press(panel, "keep in the part")
    expect_said(panel, "not kept: what is typed makes no result yet")
    assert panel.get_by_label("circle diameter", exact=True).input_value() == "nonsense"
    assert book.errors == []


def test_nothing_that_keeps_is_cut_off(book):
    panel = book.panel("the screw")
    type_in(panel, "feature", "cover screws")
    press(panel, "keep in the part")
    expect_said(panel, "it stands nowhere yet")
    clipped = panel.evaluate(
        """panel => [...panel.querySelectorAll(
                '.widget-label, .widget-html, .holecalc-why, button')]
            .filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"""
    )
    assert clipped == []
