"""What holds for every panel of every workbook."""

import re
from pathlib import Path

import pytest
from hands import choose, clipped, seen

pytestmark = pytest.mark.filterwarnings("default")

WORKBOOKS = sorted(
    path.name for path in (Path(__file__).parents[2] / "workbooks").glob("0[0-4]*.ipynb")
)
WITH_SLIDERS = [name for name in WORKBOOKS if not name.startswith("00")]
NOT_READ = "✗ not read"


@pytest.fixture(name="book", params=WORKBOOKS)
def _book(request, open_workbook):
    book = open_workbook(request.param, height=3000)
    book.run_all()
    return book


def headline(panel):
    said = panel.locator(".headline")
    return said.inner_text() if said.count() else ""


@pytest.mark.parametrize("book", WITH_SLIDERS, indirect=True)
def test_a_drag_ends_at_the_last_value(book):
    panel = next(each for each in book.panels() if each.locator(".noUi-handle").count())
    handle = panel.locator(".noUi-handle:visible").first
    rail = panel.locator(".noUi-base:visible").first.bounding_box()
    middle = rail["y"] + rail["height"] / 2
    book.page.mouse.move(handle.bounding_box()["x"] + 8, middle)
    book.page.mouse.down()
    for turn in range(40):
        book.page.mouse.move(rail["x"] + rail["width"] * (turn % 10) / 10, middle)
    book.page.mouse.move(rail["x"] + rail["width"] + 40, middle)
    book.page.mouse.up()
    book.idle()
    book.page.wait_for_timeout(300)
    dragged = headline(panel)
    handle.press("End")
    book.page.wait_for_timeout(500)
    assert headline(panel) == dragged


def test_every_field_says_when_it_cannot_be_read_and_loses_nothing(book):
    from playwright.sync_api import expect

    panel = next(book.panels())
    entries = [
        (entry, entry.input_value())
        for entry in panel.locator("input[type=text]:visible:enabled").all()
    ]
    entries = [(entry, before) for entry, before in entries if before.strip()]
    assert entries
    told = headline(panel)
    for entry, _ in entries:
        entry.fill("nonsense")
        entry.press("Enter")
    expect(seen(panel, NOT_READ)).to_have_count(len(entries), timeout=15_000)
    for entry, before in entries:
        entry.fill(before)
        entry.press("Enter")
    expect(seen(panel, NOT_READ)).to_have_count(0, timeout=15_000)
    assert headline(panel) == told


def test_every_slider_goes_from_end_to_end_and_every_panel_speaks_the_unit_chosen(book):
    for panel in book.panels():
        slide(book, panel)
        change_unit(book, panel)


def slide(book, panel):
    from playwright.sync_api import expect

    for slider in range(panel.locator(".noUi-handle:visible").count()):
        # Found anew each time: a slider may show or hide others.
        handle = panel.locator(".noUi-handle:visible").nth(slider)
        if handle.get_attribute("aria-disabled") or not handle.is_enabled():
            continue
        for key in ("Home", "End", "ArrowLeft"):
            handle.press(key)
            book.page.wait_for_timeout(250)
        book.idle()
        expect(seen(panel, "last good result")).to_have_count(0)
        assert clipped(panel) == []


def change_unit(book, panel):
    from playwright.sync_api import expect

    before = panel.get_by_label("unit", exact=True).input_value()
    other = {"mm": "in", "in": "mm"}[before]
    told = headline(panel)
    choose(panel, "unit", other)
    if told:
        expect(panel.locator(".headline")).to_contain_text(
            re.compile(rf"\d {other}\b"), timeout=15_000
        )
        assert not re.search(rf"\d {before}\b", headline(panel))
    book.idle()
    assert clipped(panel) == []
    choose(panel, "unit", before)
    if told:
        expect(panel.locator(".headline")).not_to_contain_text(
            re.compile(rf"\d {other}\b"), timeout=15_000
        )
        assert headline(panel) == told
