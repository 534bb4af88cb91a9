"""The countersink workbook, used as a person uses it."""

import re

import pytest
from hands import clipped, copied, expect_headline, seen, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("01-countersinks.ipynb", height=2400)
    book.run_all()
    return book


def test_sizes_typed_in_the_first_panel(book):
    from playwright.sync_api import expect

    panel = book.panel("the screw")
    # (12.6 - 3.6 - 0.2) / 2 at 90°.
    expect_headline(panel, r"circle 3\.600 mm, depth 4\.400 mm: head flush")
    for typed, depth in (("1/8 in", "4.613"), ("#7", "3.647"), ("3.2 mm", "4.600"), ("3", "4.700")):
        type_in(panel, "circle diameter", typed)
        expect_headline(panel, rf"depth {re.escape(depth)} mm")

    for wrong in ("nonsense", ""):
        type_in(panel, "circle diameter", wrong)
        expect(seen(panel, "cannot be read and says why").first).to_be_visible()
        expect_headline(panel, r"circle 3\.000 mm, depth 4\.700 mm")
    type_in(panel, "circle diameter", "3.6")
    expect_headline(panel, r"depth 4\.400 mm")
    expect(seen(panel, "cannot be read and says why")).to_have_count(0)


def test_slider_from_end_to_end(book):
    panel = book.panel("the screw")
    handle = panel.locator(".noUi-handle").first
    picture = panel.locator("img").first
    before = picture.get_attribute("src")
    handle.focus()
    handle.press("Home")
    # The face needs 12.6 of a 10 mm cutter: the smallest circle is 2.6.
    expect_headline(panel, r"circle 2\.600 mm, depth 4\.900 mm: head flush")
    handle.press("End")
    # A quarter of the cutter at the hole's edge: 6.6 - 2.5.
    expect_headline(panel, r"circle 4\.100 mm, depth 4\.150 mm: head flush")
    assert picture.get_attribute("src") != before


def test_units_findings_and_the_line_of_python(book):
    from playwright.sync_api import expect

    panel = book.panel("the screw")
    panel.get_by_label("unit", exact=True).select_option("in")
    expect_headline(panel, r"circle 0\.1417 in, depth 0\.1732 in: head flush")
    type_in(panel, "cutter diameter", "5/16")
    expect(seen(panel, "■ 1 stop").first).to_be_visible()
    expect(seen(panel, "At the face the cut needs 0.3543 in").first).to_be_visible()
    type_in(panel, "cutter diameter", "3/8")
    expect(seen(panel, "✓ nothing found").first).to_be_visible()
    expect_headline(panel, "head flush$")

    headline = panel.locator(".headline").inner_text()
    code = f"made = {copied(panel)}\nprint(show(made.cut.depth, 'in'))"
    assert book.run(code) in headline


def test_nothing_in_the_panel_is_cut_off(book):
    panel = book.panel("the screw")
    assert clipped(panel) == []
