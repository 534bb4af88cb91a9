"""One set of values, with how it was come by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from holecalc import sizes
from holecalc.relations.algebra import Algebra
from holecalc.relations.declared import Variable
from holecalc.relations.plan import Plan
from holecalc.sizes import Quantity


@dataclass(frozen=True)
class Answer:
    """Values that satisfy the equations, and the way from the givens to them.

    Parameters
    ----------
    algebra : Algebra
        The equations.
    plan : Plan
        The way.
    given : tuple of str
        The names that were given.
    base : mapping of str to float or array
        All values, in the base units of their kinds.
    units : mapping of str to pint.Unit
        For each kind by name, the unit to tell it in.
    """

    algebra: Algebra
    plan: Plan
    given: tuple[str, ...]
    base: Mapping[str, Any]
    units: Mapping[str, Any]

    @property
    def variables(self) -> Mapping[str, Variable]:
        """All quantities, by name."""
        return self.algebra.variables

    def quantity(self, name: str) -> Quantity:
        """One value, in the unit to tell it in."""
        kind = self.variables[name].kind
        return sizes.ureg.Quantity(self.base[name], kind.base).to(self.units[kind.name])
