"""Findings: what is wrong, how much it matters, and the cure."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import partial

from holecalc import derivations, sizes
from holecalc.sizes import Quantity

__all__ = ["Finding", "Findings", "Weight", "at_least", "at_most", "exceeds", "fine", "listed"]

fine = partial(sizes.show, fine=True)
"""A calculated size as it is written."""

at_least = partial(sizes.show, fine=True, towards="up")
"""A size as it is written, rounded so that what is written is not less."""

at_most = partial(sizes.show, fine=True, towards="down")
"""A size as it is written, rounded so that what is written is not more."""


class Weight(IntEnum):
    """How much a finding matters."""

    STOP = 3
    LOOK = 2
    NOTE = 1

    @property
    def word(self) -> str:
        """The weight as one word."""
        return self.name.lower()

    @property
    def mark(self) -> str:
        """A sign that tells the weights apart without colour."""
        return {Weight.STOP: "■", Weight.LOOK: "▲", Weight.NOTE: "·"}[self]


@dataclass(frozen=True)
class Finding:
    """One thing that will go wrong.

    Parameters
    ----------
    weight : Weight
        How much it matters.
    what : str
        What is the case and what follows, with the numbers.
    cure : str
        What would put it right.
    topic : str
        Heading, in a page ``references/derivations*.md``, that explains it; it is told, folded,
        wherever findings are shown as HTML.
    lines : str
        Lines of a part file that would put it right, to be copied; they say what to fill in.
    """

    weight: Weight
    what: str
    cure: str
    topic: str
    lines: str = ""

    def __str__(self) -> str:
        told = f"{self.weight.mark} {self.weight.word}: {self.what} {self.cure}"
        return f"{told}\n\n{self.lines}" if self.lines else told

    def _repr_html_(self) -> str:
        lines = f"<pre class='line'>{html.escape(self.lines)}</pre>" if self.lines else ""
        return (
            f"<b>{self.weight.mark} {self.weight.word}</b>: {html.escape(self.what)} "
            f"<i>{html.escape(self.cure)}</i>{lines}{derivations.fold(self.topic)}"
        )


class Findings(tuple[Finding, ...]):
    """Findings, the gravest first; none means that all was checked and is in order."""

    def __new__(cls, findings: Sequence[Finding] = ()) -> Findings:
        """Sort by weight; findings of one weight stay in the order they were found."""
        return super().__new__(cls, sorted(findings, key=lambda finding: -finding.weight))

    @property
    def worst(self) -> Weight | None:
        """The gravest weight there is, or None."""
        return self[0].weight if self else None

    def __str__(self) -> str:
        return "\n".join(map(str, self)) or "checked: nothing found"

    __repr__ = __str__

    def _repr_html_(self) -> str:
        if not self:
            return "<p>Checked: nothing found.</p>"
        items = "".join(f"<li>{finding._repr_html_()}</li>" for finding in self)
        return f"<ul class='findings' style='list-style:none;padding-left:0'>{items}</ul>"


def exceeds(one: Quantity, other: Quantity) -> bool:
    """Whether one length is more than another by more than a tenth of a micrometre."""
    return bool(sizes.mm(one) > sizes.mm(other) + 1e-4)


MOST_LISTED = 8
"""Names in one sentence."""


def listed(words: Iterable[str]) -> str:
    """Words as they are said one after the other; of many, the first and how many more.

    Examples
    --------
    >>> print(listed(["reach"]), "|", listed(["a", "b", "c"]), "|", listed("abcdefghij"))
    reach | a, b and c | a, b, c, d, e, f, g and 3 more
    """
    every = list(words)
    if len(every) > MOST_LISTED:
        shown = every[: MOST_LISTED - 1]
        every = [*shown, f"{len(every) - len(shown)} more"]
    *before, last = every
    return f"{', '.join(before)} and {last}" if before else last
