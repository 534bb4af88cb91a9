"""A real browser on a real JupyterLab, started the way a person starts it."""

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "chrome", "google-chrome", "google-chrome-stable")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def skip_or_fail(reason: str) -> None:
    """Without a browser these tests check nothing; where that must not pass, it does not."""
    if os.environ.get("HOLECALC_BROWSER_REQUIRED"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session", name="browser")
def _browser() -> Iterator[Any]:
    named = os.environ.get("HOLECALC_BROWSER")
    path = named or next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        skip_or_fail("no chromium or chrome found; install one or name it in HOLECALC_BROWSER")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        skip_or_fail("playwright is not installed: pip install -e '.[browser]'")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=[*QUIET])
        yield browser
        browser.close()


@dataclass
class Lab:
    """A JupyterLab on copies of the workbooks.

    `log` is what it has said so far.
    """

    address: str
    token: str
    log: list[str] = field(default_factory=list)


@pytest.fixture(scope="session", name="lab")
def _lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    folder = tmp_path_factory.mktemp("bench")
    environment = {
        **os.environ,
        # Neither the settings of whoever runs the tests nor those a test makes are kept.
        "JUPYTERLAB_SETTINGS_DIR": str(folder / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(folder / "workspaces"),
    }
    command = [sys.executable, "-m", "holecalc", "open", str(folder / "workbooks"), "--no-browser"]
    with subprocess.Popen(
        [*command, "--", "--ServerApp.port_retries=50"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
    ) as process:
        assert process.stdout is not None
        said = []
        for line in process.stdout:
            said.append(line)
            found = re.search(r"(http://(?:localhost|127\.0\.0\.1):\d+)/\S*token=(\w+)", line)
            if found:
                break
        else:
            pytest.fail("JupyterLab did not start:\n" + "".join(said))
        lab = Lab(found[1], found[2], said)
        reader = threading.Thread(target=lambda: lab.log.extend(process.stdout), daemon=True)
        reader.start()
        yield lab
        process.send_signal(signal.SIGTERM)
        process.wait(30)


class Workbook:
    """One workbook in one page.

    `errors` is what the browser's console complained of.
    """

    def __init__(self, page: Any, lab: Lab, name: str) -> None:
        self.page = page
        self.errors: list[str] = []
        page.on("console", lambda said: self._hear(said))
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.goto(f"{lab.address}/lab/tree/{name}?token={lab.token}&reset")
        page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=60_000)
        page.get_by_text("| Idle").wait_for(timeout=60_000)

    def _hear(self, said: Any) -> None:
        if said.type == "error":
            self.errors.append(said.text)

    def run_all(self) -> None:
        """Run all cells from the menu, and wait for the kernel to have nothing left to do."""
        self.page.get_by_role("menuitem", name="Run", exact=True).click()
        self.page.get_by_text("Run All Cells", exact=True).click()
        # The cells are queued before the kernel is heard to be busy; folded ones show no number.
        self.page.wait_for_timeout(1500)
        self.page.get_by_text("| Idle").wait_for(timeout=120_000)

    def panel(self, heading: str) -> Any:
        """The panel that holds a heading or label, scrolled into view."""
        scroller = self.page.locator(".jp-WindowedPanel-outer").first
        panel = self.page.locator(".holecalc").filter(has_text=heading).first
        for step in range(60):
            if panel.count() and panel.is_visible():
                break
            scroller.evaluate(f"e => e.scrollTop = {step * 400}")
            self.page.wait_for_timeout(150)
        panel.scroll_into_view_if_needed()
        return panel


@pytest.fixture(name="open_workbook")
def _open_workbook(browser: Any, lab: Lab) -> Iterator[Any]:
    pages = []

    def open_one(name: str, width: int = 1280, height: int = 1000) -> Workbook:
        # Tall, so that the notebook keeps the whole panel attached while it is used.
        page = browser.new_page(viewport={"width": width, "height": height})
        pages.append(page)
        return Workbook(page, lab, name)

    yield open_one
    for page in pages:
        page.close()
