"""The size panel: type a size, see what it is read as."""

from __future__ import annotations

import ipywidgets as widgets

from holecalc import sizes
from holecalc.panels.fields import Panel, SizeField, block, typed
from holecalc.sizes import Quantity

__all__ = ["SizePanel"]


class SizePanel(Panel):
    """One field to try the reading of sizes on.

    Parameters
    ----------
    text : str
        What stands in the field first.
    unit : {"mm", "in"}
        The unit of bare numbers.

    Examples
    --------
    >>> panel = SizePanel("15 thou")
    >>> print(sizes.show(panel.size, "mm", fine=True))
    0.381 mm
    """

    def __init__(self, text: str = "1-1/2 in", unit: str = "mm") -> None:
        super().__init__("type a size", unit)
        self.size: Quantity
        self.fields = {"size": SizeField("a size", text, "Any size, as you would write it")}
        self._told = widgets.HTML()
        self._watch(self.fields["size"])
        self._lay_out([block("type a size", self.fields["size"])], [self._told])
        self._update()

    def _made(self) -> tuple[Quantity, str]:
        size = self._read("size")["size"]
        return size, f"length({typed(size)})"

    def _tell(self, made: Quantity) -> None:
        self.size = made
        told = (
            sizes.show(made, "mm", fine=True),
            sizes.show(made, "in"),
            sizes.show(made, "in", fraction=64),
        )
        cells = "".join(f"<tr class='spoken'><td class='n'>{text}</td></tr>" for text in told)
        self._told.value = f"<h4>is</h4><table class='numbers'>{cells}</table>"
