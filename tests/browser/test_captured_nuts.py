"""The workbook of captured nuts, used as a person uses it."""

import pytest
from hands import choose, clipped, copied, expect_headline, seen, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("02-captured-nuts.ipynb", height=3000)
    book.run_all()
    return book


def test_the_demo_and_a_plate_that_is_not_what_it_was_sold_as(book):
    from playwright.sync_api import expect

    panel = book.panel("the fastener")
    # 0.5 + 1.5, and 9 + 0.5 more; 35 - 14 - 1.6 - 9 reaches the thread's end but for 0.1.
    expect_headline(panel, r"flange ⌀23\.000 mm, 2\.000 mm deep")
    expect_headline(panel, r"barrel ⌀10\.000 mm, 11\.500 mm deep")
    expect_headline(panel, r"screw M8×1\.25, 35\.00 mm long")
    type_in(panel, "plate thickness", "19.3")
    expect(panel.locator("table.numbers").get_by_text("7.800 mm", exact=True).first).to_be_visible()
    for wrong in ("thick", ""):
        type_in(panel, "plate thickness", wrong)
        expect(seen(panel, "cannot be read and says why").first).to_be_visible()
        expect_headline(panel, r"barrel ⌀10\.000 mm, 11\.500 mm deep")
    type_in(panel, "plate thickness", "3/4 in")
    expect(seen(panel, "cannot be read and says why")).to_have_count(0)


def test_a_hexagon_pocket_and_its_cutter(book):
    from playwright.sync_api import expect

    panel = book.panel("the fastener")
    choose(panel, "fastener", "hexagon nut")
    # 13 + 0.2 + 6 (1 - sin 60°).
    expect_headline(panel, r"hexagon pocket 14\.004 mm across flats, 7\.300 mm deep")
    expect(panel.get_by_label("barrel diameter", exact=True)).to_be_hidden()
    expect(panel.get_by_label("across corners", exact=True)).to_be_visible()
    type_in(panel, "clearance", "0")
    expect_headline(panel, r"13\.804 mm across flats")
    expect(seen(panel, "The nut turns up to 13.73°").first).to_be_visible()
    choose(panel, "find", "largest cutter")
    expect(panel.get_by_label("cutter diameter", exact=True)).to_be_disabled()
    expect(panel.get_by_label("cutter diameter", exact=True)).to_have_value("3.827 mm")
    choose(panel, "find", "pocket across flats")
    choose(panel, "corners", "relieved")
    expect_headline(panel, r"13\.000 mm across flats, .* corners relieved on ⌀")


def test_the_recess_slider_from_end_to_end(book):
    panel = book.panel("the fastener")
    handles = panel.locator(".noUi-handle:visible")
    picture = panel.locator("img").first
    before = picture.get_attribute("src")
    handles.last.focus()
    handles.last.press("Home")
    expect_headline(panel, r"flange ⌀23\.000 mm, 1\.500 mm deep")
    handles.last.press("End")
    # A quarter of 20 is left: 20 - 5 - (9 + 0.5).
    expect_headline(panel, r"flange ⌀23\.000 mm, 5\.500 mm deep")
    assert picture.get_attribute("src") != before


def test_units_findings_and_the_lines_of_python(book):
    from playwright.sync_api import expect

    panel = book.panel("the fastener")
    choose(panel, "unit", "in")
    expect_headline(panel, r"flange ⌀0\.9055 in, 0\.0787 in deep")
    type_in(panel, "load", "2 kN")
    choose(panel, "material", "birch plywood")
    expect(seen(panel, "■ 1 stop").first).to_be_visible()
    code = (
        "from holecalc.counterbore import *\nfrom holecalc.nuts import *\n"
        f"from holecalc.cutters import EndMill\n{copied(panel)}\nprint(pocket.stack.web)"
    )
    assert "8.500 mm between barrel" in book.run(code)


def test_nothing_in_the_panel_is_cut_off(book):
    panel = book.panel("the fastener")
    for kind in ("T-nut", "hexagon nut", "insert"):
        choose(panel, "fastener", kind)
        book.page.wait_for_timeout(500)
        assert clipped(panel) == []
