"""The form cutter workbook, used as a person uses it."""

import pytest
from hands import clipped, expect_headline, seen, type_in

pytestmark = pytest.mark.filterwarnings("default")


@pytest.fixture(name="book")
def _book(open_workbook):
    book = open_workbook("04-form-cutters.ipynb", height=2600)
    book.run_all()
    return book


def slide(panel, number, presses):
    """Press an arrow key on a slider; it stands in the middle first."""
    handle = panel.locator(".noUi-handle").nth(number)
    handle.focus()
    for _ in range(abs(presses)):
        handle.press("ArrowRight" if presses > 0 else "ArrowLeft")


def test_sizes_typed_in_the_first_panel(book):
    from playwright.sync_api import expect

    panel = book.panel("arc begins at")
    expect_headline(panel, r"offset 6\.35\d mm, depth 11\.3\d\d mm")
    type_in(panel, "largest diameter", "26.1")
    expect(seen(panel, "measure again").first).to_be_visible()
    told = panel.locator(".headline").inner_text()
    for wrong in ("nonsense", "9**9**9"):
        type_in(panel, "largest diameter", wrong)
        expect(seen(panel, "cannot be read and says why").first).to_be_visible()
        assert panel.locator(".headline").inner_text() == told
    type_in(panel, "largest diameter", "25.36 mm")
    expect(seen(panel, "cannot be read and says why")).to_have_count(0)
    panel.get_by_label("unit", exact=True).select_option("in")
    expect_headline(panel, r"offset 0\.25\d\d in, depth 0\.44\d\d in")


def test_sliders_make_a_step_and_take_it_away(book):
    from playwright.sync_api import expect

    panel = book.panel("arc begins at")
    picture = panel.locator("img").first
    before = picture.get_attribute("src")
    expect(seen(panel, "tangent to the face, tangent to the wall").first).to_be_visible()
    slide(panel, 1, 5)
    expect(seen(panel, "a step of 0.050 mm down from the face").first).to_be_visible()
    assert picture.get_attribute("src") != before
    slide(panel, 1, -5)
    slide(panel, 0, -5)
    expect(seen(panel, "a step of 0.050 mm in from the wall").first).to_be_visible()
    expect(seen(panel, "0.050 mm closer", exact=True).first).to_be_visible()


def test_points_pasted_into_the_table(book):
    from playwright.sync_api import expect

    book.panel("14 points in mm")
    # What it says of its points changes below; that they are seen does not.
    panel = book.page.locator(".holecalc").filter(has=book.page.locator("textarea:visible")).first
    table = panel.locator("textarea")
    expect(seen(panel, "row 7 (height 8.000 mm, diameter 14.520 mm)").first).to_be_visible()
    good = table.input_value().replace("14.52", "14.22")
    table.fill(good)
    table.blur()
    expect(seen(panel, "row 7 (")).to_have_count(0)
    table.fill(good.replace("14.22", "wide"))
    table.blur()
    expect(seen(panel, "✗ row 7").first).to_be_visible()
    expect(seen(panel, "last good result").first).to_be_visible()
    table.fill(good)
    table.blur()
    expect(seen(panel, "last good result")).to_have_count(0)
    seen(panel, "profile as CSV").click()
    expect(seen(panel, "start_radius_mm").first).to_be_visible()


@pytest.mark.parametrize("heading", ["arc begins at", "14 points in mm", "of the chamfer"])
def test_nothing_in_the_panels_is_cut_off(book, heading):
    panel = book.panel(heading)
    assert clipped(panel) == []
