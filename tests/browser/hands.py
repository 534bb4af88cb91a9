"""What a person does at the bench with keyboard and mouse, for the tests that need a browser."""

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

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
# A kernel tells of an error in a widget's callback on its socket alone: no cell shows it.
ERRORS_OF_A_KERNEL = (b'"msg_type": "error"', b'"msg_type":"error"', b'"name": "stderr"')
# The widget manager asks for widgets as soon as a page is open; a kernel that has not imported
# ipywidgets yet answers so.
NO_WIDGETS_YET = re.compile(rb"No such comm|jupyter\.widget\.control")
KEYS = ("Home", "End", "PageUp", "PageDown")
"""On a slider."""
COMPLAINT = re.compile(r"^\[E |Traceback|Exception|CRITICAL")


class NoBrowserError(Exception):
    """There is nothing to test with; the message says what would help."""


@contextmanager
def browser() -> Iterator[Any]:
    """A browser without a window.

    Raises
    ------
    NoBrowserError
        There is none, or nothing to drive it with.
    """
    named = os.environ.get("HOLECALC_BROWSER")
    path = named or next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        raise NoBrowserError(
            "no chromium or chrome found; install one or name it in HOLECALC_BROWSER"
        )
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        raise NoBrowserError("playwright is not installed: pip install -e '.[browser]'") from None
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=[*QUIET])
        yield started
        started.close()


@dataclass
class Lab:
    """A JupyterLab on a folder.

    `log` is what it and its kernels have said so far.
    """

    folder: Path
    address: str
    token: str
    log: list[str] = field(default_factory=list)

    def complaints(self) -> list[str]:
        """What in the log speaks of an error."""
        return [line for line in self.log if COMPLAINT.search(line)]


@contextmanager
def lab(folder: Path, settings: Path, command: Sequence[str] = ()) -> Iterator[Lab]:
    """A JupyterLab started the way a person starts it, with settings of its own.

    Parameters
    ----------
    folder : Path
        Where the workbooks go.
    settings : Path
        Where JupyterLab keeps what is set in it.
    command : sequence of str
        What to start in place of ``holecalc open``.
    """
    # Several pages show one workbook, and none of them is to ask which is the newer.
    saving = settings / "settings/@jupyterlab/docmanager-extension/plugin.jupyterlab-settings"
    saving.parent.mkdir(parents=True, exist_ok=True)
    saving.write_text('{"autosave": false}', encoding="utf-8")
    usual = (sys.executable, "-m", "holecalc", "open", str(folder), "--no-browser", "--")
    environment = {
        **os.environ,
        "JUPYTERLAB_SETTINGS_DIR": str(settings / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(settings / "workspaces"),
        # A kernel restarted warns of the debugger, which nobody asked for, as if it were an error.
        "PYDEVD_DISABLE_FILE_VALIDATION": "1",
    }
    with subprocess.Popen(
        # Two that look for a free port in order, side by side, find the same one.
        [*(command or usual), "--ServerApp.port=0"],
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
            raise AssertionError("JupyterLab did not start:\n" + "".join(said))
        made = Lab(folder, found[1], found[2], said)
        reader = threading.Thread(target=lambda: made.log.extend(process.stdout), daemon=True)
        reader.start()
        try:
            yield made
        finally:
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(30)
            except subprocess.TimeoutExpired:
                process.kill()


class Workbook:
    """One workbook in one page.

    `errors` is what the browser's console and the kernel complained of.
    """

    def __init__(self, page: Any, lab: Lab, name: str) -> None:
        self.page = page
        self._lab, self._name = lab, name
        self.errors: list[str] = []
        self._heard = 0
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("websocket", lambda socket: socket.on("framereceived", self._hear_the_kernel))
        page.goto(f"{lab.address}/lab/tree/{name}?token={lab.token}&reset")
        page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=60_000)
        self.idle()
        self._settle()

    def _settle(self) -> None:
        """Wait until the widget manager has asked the kernel for the widgets that there are.

        Where cells make new ones meanwhile, it may look for one that it has not got yet.
        """
        heard = -1
        while heard != self._heard:
            heard = self._heard
            self.page.wait_for_timeout(1500)

    def close(self) -> None:
        """Close it with its kernel, so that whoever opens it next begins anew."""
        asked = {"headers": {"Authorization": f"token {self._lab.token}"}}
        sessions = f"{self._lab.address}/api/sessions"
        for each in self.page.request.get(sessions, **asked).json():
            if each["path"] == self._name:
                self.page.request.delete(f"{sessions}/{each['id']}", **asked)
        self.page.close()

    def _hear(self, said: Any) -> None:
        if said.type == "error":
            self.errors.append(said.text)

    def _hear_the_kernel(self, frame: str | bytes) -> None:
        self._heard += 1
        content = frame.encode() if isinstance(frame, str) else frame
        complains = any(sign in content for sign in ERRORS_OF_A_KERNEL)
        if complains and not NO_WIDGETS_YET.search(content):
            self.errors.append(content.decode(errors="replace")[:4000])

    def idle(self) -> None:
        """Wait for the kernel to have nothing left to do."""
        self.page.get_by_text("| Idle").wait_for(timeout=120_000)

    def menu(self, name: str, entry: str) -> None:
        """Choose an entry of a menu."""
        self.page.get_by_role("menuitem", name=name, exact=True).click()
        self.page.get_by_text(entry, exact=True).click()

    def run_all(self) -> None:
        """Run all cells from the menu, and wait until they have run."""
        self.menu("Run", "Run All Cells")
        # The cells are queued before the kernel is heard to be busy; folded ones show no number.
        self.page.wait_for_timeout(1500)
        self.idle()

    def restart_and_run_all(self) -> None:
        """Restart the kernel, and run all cells when it is there again."""
        self.menu("Kernel", "Restart Kernel…")
        self.page.get_by_role("button", name="Confirm Kernel Restart").click()
        self.page.wait_for_timeout(3000)
        self.idle()
        self._settle()
        self.run_all()

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

    def panels(self) -> Iterator[Any]:
        """Every panel, from the top, each scrolled into view."""
        scroller = self.page.locator(".jp-WindowedPanel-outer").first
        seen: set[str] = set()
        height = scroller.evaluate("e => e.scrollHeight")
        for top in range(0, height, 900):
            scroller.evaluate("(e, top) => e.scrollTop = top", top)
            self.page.wait_for_timeout(200)
            for panel in self.page.locator(".holecalc:visible").all():
                # Cells are attached and detached; a widget keeps its fields' ids.
                name = panel.evaluate("e => e.querySelector('[id]')?.id ?? ''")
                if name not in seen:
                    seen.add(name)
                    panel.scroll_into_view_if_needed()
                    yield panel

    def run(self, code: str) -> str:
        """Type code into a new cell below all others, run it, and read what it prints."""
        scroller = self.page.locator(".jp-WindowedPanel-outer").first
        scroller.evaluate("e => e.scrollTop = e.scrollHeight")
        self.page.get_by_text("Click to add a cell.").click()
        # Only some cells are attached at a time: the last of those need not be the last of all.
        cell = self.page.locator(".jp-CodeCell.jp-mod-active")
        cell.locator(".cm-content").fill(code)
        cell.locator(".cm-content").press("Control+Enter")
        output = cell.locator(".jp-OutputArea-output")
        output.first.wait_for(timeout=30_000)
        return str(output.first.inner_text()).strip()


def type_in(panel: Any, label: str, text: str) -> None:
    """Type into a field in place of what is there."""
    entry = panel.get_by_label(label, exact=True)
    entry.fill(text)
    entry.press("Enter")


def into(panel: Any, label: str, text: str) -> None:
    """Type, choose or press a key, whichever is right for what stands in sight under a label."""
    kind = "[role=slider]" if text in KEYS else ":is(input[type=text], select, textarea)"
    entry = panel.get_by_label(label, exact=True).and_(panel.page.locator(f"{kind}:visible")).first
    if text in KEYS:
        entry.press(text)
    elif entry.evaluate("e => e.tagName") == "SELECT":
        entry.select_option(label=text)
    else:
        entry.fill(text)
        entry.blur()


def entries(panel: Any) -> dict[str, tuple[str, bool]]:
    """What stands in every field and choice in sight, by its label, and whether it is a choice.

    What cannot be typed in follows from the rest, and is left out.
    """
    found = panel.evaluate(
        """panel => [...panel.querySelectorAll('input[type=text], select, textarea')]
            .filter(e => e.offsetParent && !e.disabled && e.labels[0])
            .map(e => [e.labels[0].textContent.trim(), e.selectedOptions
                ? [e.selectedOptions[0]?.textContent ?? '', true] : [e.value, false]])"""
    )
    return {label: (text, chosen) for label, (text, chosen) in found}


def put_back(book: Workbook, panel: Any, before: dict[str, tuple[str, bool]]) -> None:
    """Type and choose again what stood in a panel, choices first: they may fill in fields."""
    for _ in range(60):
        now = entries(panel)
        if now == before:
            return
        other = [label for label in now.keys() & before if now[label] != before[label]]
        other.sort(key=lambda label: not before[label][1])
        if other:
            into(panel, other[0], before[other[0]][0])
        # Before the kernel is heard to be busy.
        book.page.wait_for_timeout(60)
        book.idle()
    raise AssertionError(f"these do not come back: {dict(before.items() - now.items())}")


def choose(panel: Any, label: str, option: str) -> None:
    """Choose from a list."""
    panel.get_by_label(label, exact=True).select_option(option)


def seen(panel: Any, text: Any, **how: Any) -> Any:
    """Where a panel shows a text; what it tells a screen reader comes later and stays longer."""
    return panel.get_by_text(text, **how).and_(panel.page.locator(":not(.holecalc-live)"))


def expect_headline(panel: Any, pattern: str) -> None:
    """Wait for the headline to say something."""
    from playwright.sync_api import expect

    expect(panel.locator(".headline")).to_have_text(re.compile(pattern), timeout=10_000)


def expect_said(panel: Any, text: str) -> None:
    """Wait for a panel to say something, anywhere."""
    from playwright.sync_api import expect

    expect(seen(panel, text).first).to_be_visible(timeout=15_000)


def findings_told(panel: Any) -> list[dict[str, str]]:
    """The findings that a panel shows: sign and word, sentence with cure, cure and topic."""
    return list(
        panel.evaluate(
            """panel => [...panel.querySelectorAll('ul.findings > li:has(details.why)')]
                .map(li => ({
                    weight: li.querySelector('b').textContent,
                    said: li.textContent,
                    cure: li.querySelector('i').textContent,
                    topic: li.querySelector('details.why').dataset.topic,
                }))"""
        )
    )


def expect_findings(panel: Any, told: list[dict[str, str]]) -> None:
    """Wait for a panel to tell these findings and no others."""
    for _ in range(150):
        if findings_told(panel) == told:
            return
        panel.page.wait_for_timeout(100)
    assert findings_told(panel) == told


def look_at_finding(panel: Any, says: str, weight: Any, unfolded: set[str]) -> None:
    """See the finding with its sign, its word, its cure and, once for a topic, its derivation."""
    from playwright.sync_api import expect

    sign = f"{weight.mark} {weight.word}"
    item = panel.locator("ul.findings > li", has_text=f"{sign}: ").filter(has_text=says).first
    # Told as soon as it is there; `expect` looks only now and then, which adds up.
    item.wait_for(timeout=30_000)
    found = [
        each for each in findings_told(panel) if says in each["said"] and each["weight"] == sign
    ]
    assert found
    assert all(each["cure"].strip() for each in found)
    count = re.compile(rf"{weight.mark} \d+ {weight.word}\b")
    assert panel.locator(".counts", has_text=count).count()
    topic = found[0]["topic"]
    if topic not in unfolded:
        unfolded.add(topic)
        item.locator("summary").click()
        expect(item.locator(".derivation")).to_be_visible()
        assert len(item.locator(".derivation").inner_text()) > 100
        item.locator("summary").click()
        expect(item.locator(".derivation")).to_be_hidden()
    assert clipped(panel) == []


def copied(panel: Any) -> str:
    """Click on the line of Python, copy it, and tell what is on the clipboard."""
    page = panel.page
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    line = panel.locator("pre.line")
    for _ in range(20):
        # A panel that is still being worked out takes the selection away.
        line.click()
        page.keyboard.press("Control+c")
        text = str(page.evaluate("navigator.clipboard.readText()"))
        if text and text.split() == line.inner_text().split():
            return text
        page.wait_for_timeout(250)
    raise AssertionError(f"the line of Python cannot be copied: {text!r}")


def clipped(panel: Any) -> list[str]:
    """Texts of a panel that are wider than there is room for."""
    return list(
        panel.evaluate(
            """panel => {
                const ink = document.createElement('canvas').getContext('2d');
                const wide = e => {
                    ink.font = getComputedStyle(e).font;
                    return ink.measureText(e.selectedOptions[0].textContent).width + 28;
                };
                const shown = selector =>
                    [...panel.querySelectorAll(selector)].filter(e => e.offsetParent);
                return [
                    ...shown('.widget-label, td, h4, .headline, .widget-html, button')
                        .filter(e => e.scrollWidth > e.clientWidth + 1),
                    ...shown('select').filter(e => e.selectedOptions[0])
                        .filter(e => wide(e) > e.clientWidth),
                ].map(e => e.textContent);
            }"""
        )
    )
