"""The helical bore workbook, used as a person uses it."""

import pytest
from hands import clipped, copied, expect_headline, expect_said, seen, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("03-helical-bores.ipynb", height=2600)
    book.run_all()
    return book


def test_rings_a_core_and_one_helix_typed_in_the_first_panel(book):
    from playwright.sync_api import expect

    panel = book.panel("the bore")
    expect_headline(panel, r"4 rings, down to 20\.500 mm")
    panel.get_by_label("a wide bore", exact=True).select_option("leaves a core")
    # 47 - 12, and 47 - 2 * 12.
    expect_headline(panel, r"path 35\.000 mm")
    expect_said(panel, "A core of 23.000 mm comes loose")
    panel.get_by_label("a wide bore", exact=True).select_option("in rings")
    type_in(panel, "bore diameter", "18")
    # 18 - 12; the pitch at most 3 mm and the ramp at most 5°: 20.5 / (6 pi tan 5°) = 12.4.
    expect_headline(panel, r"path 6\.000 mm, 13 turns of 1\.577 mm down to 20\.500 mm")
    for wrong in ("nonsense", ""):
        type_in(panel, "bore diameter", wrong)
        expect(seen(panel, "cannot be read and says why").first).to_be_visible()
        expect_headline(panel, r"path 6\.000 mm, 13 turns")
    type_in(panel, "bore diameter", "11 mm")
    expect_said(panel, "12.000 mm cannot go round in a bore of 11.000 mm")
    expect_headline(panel, r"path 6\.000 mm, 13 turns")
    type_in(panel, "bore diameter", "3/4 in")
    # 19.05 - 12.
    expect_headline(panel, r"path 7\.050 mm")
    expect(seen(panel, "cannot be read and says why")).to_have_count(0)


def test_slider_from_end_to_end(book):
    panel = book.panel("the bore")
    type_in(panel, "bore diameter", "18 mm")
    expect_headline(panel, r"13 turns")
    handle = panel.locator(".noUi-handle").first
    picture = panel.locator("img").first
    before = picture.get_attribute("src")
    handle.focus()
    handle.press("End")
    # 20.5 / 60.
    expect_headline(panel, r"60 turns of 0\.342 mm")
    assert picture.get_attribute("src") != before
    handle.press("Home")
    expect_headline(panel, r"1 turn of 20\.500 mm")
    handle.press("ArrowRight")
    expect_headline(panel, r"2 turns of 10\.250 mm")
    assert panel.get_by_label("turns", exact=True).first.input_value() == "2"


def test_units_the_wall_feed_typed_and_the_line_of_python(book):
    panel = book.panel("the bore")
    type_in(panel, "bore diameter", "18 mm")
    panel.get_by_label("feed from", exact=True).select_option("feed at the wall")
    type_in(panel, "feed at the wall", "2400")
    # 2400 * 6 / 18.
    expect_headline(panel, r"feed 800 mm/min")
    type_in(panel, "typed instead", "2400")
    expect_said(panel, "7200 mm/min at the wall: 3.00 times what was meant")
    panel.get_by_label("unit", exact=True).select_option("in")
    expect_headline(panel, r"path 0\.2362 in, 13 turns of 0\.0621 in .* feed 31\.5 in/min")
    assert panel.get_by_label("typed instead", exact=True).input_value() == "2400 mm/min"
    expect_said(panel, "283.5 in/min at the wall: 3.00 times what was meant")

    code = f"made = {copied(panel)}\nprint(show_rate(made.rings[0].axis_feed, 'in/min'))"
    assert book.run(code) == "31.5 in/min"


def test_the_listing_stays_open_while_sizes_change(book):
    from playwright.sync_api import expect

    panel = book.panel("the bore")
    listing = panel.locator("pre.listing")
    expect(listing).to_be_hidden()
    seen(panel, "RS-274 listing").click()
    expect(listing).to_be_visible()
    assert "PROVE IT IN AIR FIRST" in listing.inner_text()
    type_in(panel, "bore diameter", "18")
    expect(listing).to_contain_text("BORE DIAMETER 18.000", timeout=10_000)
    expect(listing).to_contain_text("G3 X-3.000 Y0.000")


def test_nothing_in_the_panel_is_cut_off(book):
    panel = book.panel("the bore")
    assert clipped(panel) == []
