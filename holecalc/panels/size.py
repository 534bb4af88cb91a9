"""The size panel: type a size, see what it is read as."""

from __future__ import annotations

import ipywidgets as widgets

from holecalc import sizes
from holecalc.panels.fields import UNREAD, Choice, Panel, SizeField, block

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
        super().__init__("type a size")
        self.unit = Choice("unit", ["mm", "in"], unit, "Unit of a bare number")
        self.field = SizeField("a size", text, "Any size, as you would write it")
        self._told = widgets.HTML()
        self.unit.on_change(self._update)
        self.field.on_change(self._update)
        self._update()
        self._lay_out([self.unit.box, block("type a size", self.field)], [self._told])

    def _update(self) -> None:
        try:
            self.size = self.field.read(self.unit.value)
        except sizes.SizeError:
            self._say(UNREAD)
            return
        self._say("")
        told = (
            sizes.show(self.size, "mm", fine=True),
            sizes.show(self.size, "in"),
            sizes.show(self.size, "in", fraction=64),
        )
        cells = "".join(f"<tr><td class='n'>{text}</td></tr>" for text in told)
        self._told.value = f"<h4>is</h4><table class='numbers'>{cells}</table>"
