"""The equations of a declaration as sympy sees them: parsed, differentiated, compiled."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from holecalc.relations.closed_forms import ClosedForms, closed_forms
from holecalc.relations.declared import Condition, Variable


@dataclass(frozen=True)
class Compiled:
    """An expression as a numpy function of values by name.

    Parameters
    ----------
    names : tuple of str
        The quantities it takes.
    function : callable
        Takes their values in that order.
    """

    names: tuple[str, ...]
    function: Callable[..., Any]

    def __call__(self, values: Mapping[str, Any]) -> Any:
        """The value; nan where Python's floats cannot tell one."""
        try:
            return self.function(*[values[name] for name in self.names])
        except (ZeroDivisionError, OverflowError):
            # Python's floats raise where numpy's, and those in arrays, become nan or inf.
            return np.nan


@dataclass(frozen=True)
class Equation:
    """One equation, ``lhs = rhs``.

    Parameters
    ----------
    text : str
        As declared.
    lhs : str
        The name of the quantity on its left.
    rhs : sympy.Expr
        Its right side.
    names : frozenset of str
        All quantities in it.
    rhs_at : Compiled
        The right side as a function.
    """

    text: str
    lhs: str
    rhs: Any
    names: frozenset[str]
    rhs_at: Compiled


@dataclass(frozen=True)
class Inequality:
    """One condition: `gap` is not negative where it holds."""

    names: frozenset[str]
    gap: Compiled
    otherwise: str


class Algebra:
    """Declared equations and conditions, read by sympy when first needed.

    Parameters
    ----------
    variables : mapping of str to Variable
        The quantities by name.
    equations : sequence of str
        Each ``"symbol = expression"`` in the variables' symbols.
    conditions : sequence of Condition
        Inequalities in the same symbols.
    """

    def __init__(
        self,
        variables: Mapping[str, Variable],
        equations: Sequence[str],
        conditions: Sequence[Condition],
    ) -> None:
        self.variables = variables
        self._texts = equations
        self._conditions = conditions
        self._name_of = {variable.symbol: variable.name for variable in variables.values()}
        self._forms: dict[tuple[Any, str], ClosedForms] = {}
        self._partials: dict[tuple[int, str], Compiled] = {}
        # Panels may solve from more than one thread; sympy's own caches are not made for that.
        self.lock = threading.RLock()

    @cached_property
    def _symbols(self) -> dict[str, Any]:
        import sympy

        return {symbol: sympy.Symbol(symbol, real=True) for symbol in self._name_of}

    @cached_property
    def equations(self) -> tuple[Equation, ...]:
        """The equations, in the order declared."""
        return tuple(self._parse(text) for text in self._texts)

    @cached_property
    def inequalities(self) -> tuple[Inequality, ...]:
        """The conditions, in the order declared."""
        found = []
        for condition in self._conditions:
            relation = self._expression(condition.text)
            gap = relation.gts - relation.lts
            found.append(Inequality(self.names_in(gap), self.compile(gap), condition.otherwise))
        return tuple(found)

    def symbol(self, name: str) -> Any:
        """The sympy symbol of a quantity."""
        return self._symbols[self.variables[name].symbol]

    def names_in(self, expression: Any) -> frozenset[str]:
        """The quantities that stand in an expression."""
        return frozenset(self._name_of[str(symbol)] for symbol in expression.free_symbols)

    def tied_by(self, indices: Iterable[int]) -> frozenset[str]:
        """All quantities that stand in some of the equations."""
        return frozenset().union(*(self.equations[index].names for index in indices))

    def residual(self, index: int) -> Any:
        """What is zero when an equation holds."""
        equation = self.equations[index]
        return self.symbol(equation.lhs) - equation.rhs

    def partial(self, index: int, name: str) -> Compiled:
        """The derivative of an equation's residual by one quantity."""
        key = (index, name)
        if key not in self._partials:
            with self.lock:
                self._partials[key] = self.compile(self.residual(index).diff(self.symbol(name)))
        return self._partials[key]

    def forms_of(self, index: int, name: str) -> ClosedForms:
        """An equation solved for one of its quantities, as declared where it stands so."""
        equation = self.equations[index]
        if name == equation.lhs and name not in self.names_in(equation.rhs):
            return ClosedForms((equation.rhs,))
        return self.forms(self.residual(index), name)

    def forms(self, expression: Any, name: str) -> ClosedForms:
        """What one quantity is where an expression is zero."""
        key = (expression, name)
        if key not in self._forms:
            variable = self.variables[name]
            self._forms[key] = closed_forms(
                expression, self.symbol(name), variable.low, variable.high
            )
        return self._forms[key]

    def compile(self, expression: Any) -> Compiled:
        """An expression in the symbols as a numpy function of values by name."""
        import sympy
        from sympy.printing.numpy import NumPyPrinter

        symbols = sorted(expression.free_symbols, key=str)
        # Asked for "numpy" by name, sympy star-imports all of it, which takes longer than
        # everything else the first answer needs; so the printer writes numpy.tan in full.
        function = sympy.lambdify(symbols, expression, [{"numpy": np}], printer=NumPyPrinter)
        return Compiled(tuple(self._name_of[str(symbol)] for symbol in symbols), function)

    def _parse(self, text: str) -> Equation:
        left, right = (part.strip() for part in text.split(" = "))
        rhs = self._expression(right)
        lhs = self._name_of[left]
        return Equation(text, lhs, rhs, self.names_in(rhs) | {lhs}, self.compile(rhs))

    def _expression(self, text: str) -> Any:
        import sympy

        # Without its own namespaces sympy fills them by star imports, at each call anew.
        return sympy.parse_expr(text, local_dict=self._symbols, global_dict=dict(vars(sympy)))
