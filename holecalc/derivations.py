"""The derivations: what explains a finding, by the heading that it stands under.

Each is written once, in a page ``derivations*.md``. The pages lie beside the package in the
repository and inside it where it is installed.
"""

from __future__ import annotations

import html
import importlib.resources
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

__all__ = ["fold", "sections"]


@cache
def sections() -> Mapping[str, str]:
    """Every derivation as Markdown, by its heading in small letters.

    Returns
    -------
    mapping of str to str

    Examples
    --------
    >>> print(sections()["correction"][:44])
    A difference that is within the measuring un
    """
    package = Path(str(importlib.resources.files("holecalc")))
    # Inside the package first: next to an installed package stand other people's folders.
    for folder in (package / "references", package.parent / "references"):
        if pages := sorted(folder.glob("derivations*.md")):
            break
    else:
        pages = []
    found: dict[str, str] = {}
    for page in pages:
        for part in f"\n{page.read_text(encoding='utf-8')}".split("\n## ")[1:]:
            heading, _, text = part.partition("\n")
            found[heading.strip().lower()] = text.strip()
    return MappingProxyType(found)


@cache
def fold(topic: str) -> str:
    """A derivation as HTML that is folded until it is asked for.

    Parameters
    ----------
    topic : str
        Its heading, in small letters.

    Returns
    -------
    str
        Empty where there is no such heading.

    Examples
    --------
    >>> print(fold("correction")[:73])
    <details class='why' data-topic='correction'><summary>why: correction</su
    """
    text = sections().get(topic.lower())
    if text is None:
        return ""
    import mistune

    class Plain(mistune.HTMLRenderer):
        """Links lead to headings of the page, which is not there: only their words stay."""

        def link(self, text: str, url: str, title: str | None = None) -> str:
            return text

    said = html.escape(topic)
    body = mistune.create_markdown(renderer=Plain(escape=True), plugins=["table"])(text)
    return (
        f"<details class='why' data-topic='{said}'><summary>why: {said}</summary>"
        f"<div class='derivation'>{body}</div></details>"
    )
