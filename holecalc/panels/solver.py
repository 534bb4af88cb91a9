"""The solver panel: any relations, any way round.

A view over :meth:`holecalc.relations.Relations.solve`: what is known is typed, what is wanted is
left empty.
"""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from holecalc.panels.fields import Panel, SizeField, block, number_table, python_line, typed
from holecalc.relations import Relations, RelationsError, Solution

__all__ = ["SolverPanel"]


class SolverPanel(Panel):
    """Fields for all quantities of some relations: fill in what you know.

    Parameters
    ----------
    relations : Relations
        What to solve, such as :data:`holecalc.countersink.CUT`.
    called : str
        What the line of Python calls them.
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
    >>> from holecalc import sizes
    >>> from holecalc.gauging import BALL
    >>> panel = SolverPanel(BALL, ball_diameter="12 mm", top_diameter="12.6", included_angle="90")
    >>> print(sizes.show(panel.solution.protrusion, fine=True))
    8.185 mm
    """

    def __init__(
        self, relations: Relations, *, called: str = "relations", unit: str = "mm", **known: str
    ) -> None:
        super().__init__(relations.title, unit)
        self.relations = relations
        self._called = called
        self.solution: Solution | None = None
        self.fields = {
            name: SizeField(
                variable.label,
                known.get(name, ""),
                variable.meaning,
                reads=variable.kind.name,
                wide=True,
            )
            for name, variable in relations.variables.items()
        }
        self._numbers = widgets.HTML()
        self._worked = widgets.HTMLMath()
        self._line = widgets.HTML()
        for field in self.fields.values():
            self._watch(field)
        self._lay_out(
            [block(f"{relations.title}: type what you know", *self.fields.values())],
            [self._numbers, self._worked, self._line],
        )
        self._update()

    def _made(self) -> tuple[Solution, str]:
        for field in self.fields.values():
            if field.blank:
                field.mark("")
        known = self._read(*(name for name, field in self.fields.items() if not field.blank))
        told = ", ".join(f"{name}={typed(size)}" for name, size in known.items())
        solution = self._solved(unit=self._unit, **known)
        return solution, f"{self._called}.solve(unit={self._unit!r}, {told})"

    def _solved(self, **known: Any) -> Solution:
        try:
            return self.relations.solve(**known)
        except RelationsError as error:
            told = str(error)
            # Python's names mean nothing beside fields that carry the trade's words.
            for name, variable in self.relations.variables.items():
                told = told.replace(name, variable.label)
            raise ValueError(told) from error

    def _tell(self, made: Solution) -> None:
        self.solution = made
        found = [name for name in made if name not in made.given]
        labels = {name: self.relations.variables[name].label for name in made}
        self._numbers.value = number_table(
            ((labels[name], made[name], self.relations.variables[name].meaning) for name in made),
            self._unit,
            found=[labels[name] for name in found],
        )
        self._worked.value = "<h4>worked out</h4>" + "".join(
            made.explain(name)._repr_latex_() for name in found[:1]
        )
        self._line.value = python_line(self.python)
