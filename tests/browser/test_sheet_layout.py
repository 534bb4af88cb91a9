"""The operator's sheet as a browser lays it out: nothing runs off the paper."""

from typing import Any

import pytest

from holecalc import demo, part, sheet

LONG = "x" * 150
WIDE = """() => {
  const cells = [...document.querySelectorAll("td, th, p, li, figcaption")];
  return [document.documentElement.scrollWidth,
          cells.filter(each => each.scrollWidth > each.clientWidth + 1)
               .map(each => each.outerHTML)];
}"""


@pytest.mark.parametrize("name", demo.names())
@pytest.mark.parametrize("typed", ["as it is", "long"])
def test_no_column_runs_off_the_paper(browser: Any, name: str, typed: str) -> None:
    text = demo.text(name)
    if typed == "long":
        for old in ("dowel holes", "leg T-nuts", "12 mm end mill", "1/4 end mill", "opening"):
            text = text.replace(f'"{old}"', f'"{LONG} {old}"')
    # 186 mm, which is A4 less its margins, at 96 dots an inch.
    page = browser.new_page(viewport={"width": 703, "height": 1000})
    try:
        page.set_content(sheet.html_text(part.loads(text)))
        width, overflowing = page.evaluate(WIDE)
    finally:
        page.close()
    assert overflowing == []
    assert width <= 703
