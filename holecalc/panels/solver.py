"""The solver panel: any relations, any way round.

A view over :meth:`holecalc.relations.Relations.solve`: what is known is typed, what is wanted is
left empty.
"""

from __future__ import annotations

import html

import ipywidgets as widgets

from holecalc import sizes
from holecalc.panels.fields import UNREAD, Choice, Panel, SizeField, block, told_twice
from holecalc.relations import ANGLE, Relations, RelationsError, Solution

__all__ = ["SolverPanel"]


class SolverPanel(Panel):
    """Fields for all quantities of some relations: fill in what you know.

    Parameters
    ----------
    relations : Relations
        What to solve, such as :data:`holecalc.countersink.CUT`.
    unit : {"mm", "in"}
        The unit of bare numbers and of the answers.
    **known : str
        What stands in the fields first.

    Attributes
    ----------
    solution : Solution or None
        The last that was found.

    Examples
    --------
    >>> from holecalc.gauging import BALL
    >>> panel = SolverPanel(BALL, ball_diameter="12 mm", top_diameter="12.6", included_angle="90")
    >>> print(sizes.show(panel.solution.protrusion, fine=True))
    8.185 mm
    """

    def __init__(self, relations: Relations, *, unit: str = "mm", **known: str) -> None:
        super().__init__(relations.title)
        self.relations = relations
        self.solution: Solution | None = None
        self._unit = unit
        self.unit = Choice("unit", ["mm", "in"], unit, "Unit of bare numbers and of the answers")
        self.fields = {
            name: SizeField(
                variable.label,
                known.get(name, ""),
                variable.meaning,
                reads="angle" if variable.kind is ANGLE else "length",
                wide=True,
            )
            for name, variable in relations.variables.items()
        }
        self.unit.on_change(self._unit_changed)
        for field in self.fields.values():
            field.on_change(self._update)
        self._numbers = widgets.HTML()
        self._worked = widgets.HTMLMath()
        self._update()
        self._lay_out(
            [self.unit.box, block(f"{relations.title}: type what you know", *self.fields.values())],
            [self._numbers, self._worked],
        )

    def _unit_changed(self) -> None:
        for field in self.fields.values():
            field.with_unit(self._unit)
        self._unit = self.unit.value
        self._update()

    def _update(self) -> None:
        known, wrong = {}, False
        for name, field in self.fields.items():
            if field.blank:
                field.mark("")
                continue
            try:
                known[name] = field.read(self._unit)
            except sizes.SizeError:
                wrong = True
        if wrong:
            self._say(UNREAD)
            return
        try:
            self.solution = self.relations.solve(unit=self._unit, **known)
        except RelationsError as error:
            self._say(str(error))
            return
        self._say("")
        self._numbers.value = self._number_table(self.solution)
        found = [name for name in self.solution if name not in self.solution.given]
        self._worked.value = "<h4>worked out</h4>" + "".join(
            self.solution.explain(name)._repr_latex_() for name in found[:1]
        )

    def _number_table(self, solution: Solution) -> str:
        rows = []
        for name in solution:
            variable = self.relations.variables[name]
            size = solution[name]
            if variable.kind is ANGLE:
                here, other = sizes.show(size), ""
            else:
                here, other = told_twice(size, self._unit)
            row, mark = ("", "given") if name in solution.given else ("found", "found")
            rows.append(
                f"<tr class='{row}'><td>{variable.label}</td><td class='n'>{here}</td>"
                f"<td class='n'>{other}</td><td>{mark}</td>"
                f"<td>{html.escape(variable.meaning)}</td></tr>"
            )
        return f"<h4>the numbers</h4><table class='numbers'>{''.join(rows)}</table>"
