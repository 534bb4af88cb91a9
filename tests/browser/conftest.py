"""A real browser on a real JupyterLab, started the way a person starts it."""

import os
from collections.abc import Iterator
from typing import Any

import hands
import pytest


@pytest.fixture(scope="session", name="browser")
def _browser() -> Iterator[Any]:
    try:
        with hands.browser() as browser:
            from playwright.sync_api import expect

            # Several browsers may share few cores.
            expect.set_options(timeout=15_000)
            yield browser
    except hands.NoBrowserError as error:
        # Without a browser these tests check nothing; where that must not pass, it does not.
        if os.environ.get("HOLECALC_BROWSER_REQUIRED"):
            pytest.fail(str(error))
        pytest.skip(str(error))


@pytest.fixture(scope="session", name="lab")
def _lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[hands.Lab]:
    bench = tmp_path_factory.mktemp("bench")
    # Neither the settings of whoever runs the tests nor those a test makes are kept.
    with hands.lab(bench / "workbooks", bench) as lab:
        yield lab


@pytest.fixture(scope="module", name="pages")
def _pages() -> Iterator[dict[str, hands.Workbook]]:
    """Workbooks the tests of a module have opened: opening one takes far longer than a test."""
    pages: dict[str, hands.Workbook] = {}
    yield pages
    for workbook in pages.values():
        workbook.close()


@pytest.fixture(name="unfolded", scope="module")
def _unfolded() -> set[str]:
    """Topics of findings whose derivation was looked at."""
    return set()


@pytest.fixture(name="open_workbook")
def _open_workbook(browser: Any, lab: hands.Lab, pages: dict[str, hands.Workbook]) -> Iterator[Any]:
    def open_one(name: str, width: int = 1280, height: int = 1000) -> hands.Workbook:
        # Tall, so that the notebook keeps the whole panel attached while it is used.
        size = {"width": width, "height": height}
        if name not in pages:
            page = browser.new_page(viewport=size)
            pages[name] = hands.Workbook(page, lab, name)
        # A second page on a running kernel would bring its widgets back while cells make new ones.
        pages[name].page.set_viewport_size(size)
        return pages[name]

    yield open_one
    complaints = [*lab.complaints(), *(each for book in pages.values() for each in book.errors)]
    lab.log.clear()
    for book in pages.values():
        book.errors.clear()
    assert not complaints, "\n".join(complaints)
