"""The order in which unknowns are found, worked out once for each set of givens."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from holecalc.relations.algebra import Algebra, Compiled
from holecalc.relations.closed_forms import ClosedForms


@dataclass(frozen=True)
class Step:
    """One unknown found from what is known before it.

    Parameters
    ----------
    name : str
        The unknown.
    forms : tuple of sympy.Expr
        Its closed forms; none where its roots have to be looked for.
    at : tuple of Compiled
        The same as functions.
    root : Compiled or None
        What must not come out negative for a form to be an answer.
    residual : Compiled or None
        What is zero at the roots to look for.
    equations : tuple of int
        The equations it comes from, by index.
    """

    name: str
    forms: tuple[Any, ...]
    at: tuple[Compiled, ...]
    root: Compiled | None
    residual: Compiled | None
    equations: tuple[int, ...]


@dataclass(frozen=True)
class Plan:
    """How a set of givens is solved.

    Parameters
    ----------
    steps : tuple of Step
        In this order.
    checks : tuple of int
        Equations between quantities known anyhow, which must agree, by index.
    missing : tuple of str
        What does not follow.
    """

    steps: tuple[Step, ...]
    checks: tuple[int, ...]
    missing: tuple[str, ...]

    @property
    def equations(self) -> tuple[int, ...]:
        """The equations used to find something, by index."""
        return tuple(sorted({index for step in self.steps for index in step.equations}))


def make_plan(algebra: Algebra, known: frozenset[str]) -> Plan:
    """Work out what follows from some known quantities, and in what order."""
    have = set(known)
    steps: list[Step] = []
    checks: list[int] = []
    unused = list(range(len(algebra.equations)))
    while unused:
        # An equation that has become fully known is the dearest news: it must agree.
        full = [index for index in unused if algebra.equations[index].names <= have]
        checks += full
        unused = [index for index in unused if index not in full]
        new = _next_steps(algebra, unused, have)
        if not new:
            break
        steps += new
        have |= {step.name for step in new}
        spent = {index for step in new for index in step.equations}
        unused = [index for index in unused if index not in spent]
    missing = tuple(name for name in algebra.variables if name not in have)
    return Plan(tuple(steps), tuple(checks), missing)


def _next_steps(algebra: Algebra, unused: Sequence[int], have: set[str]) -> list[Step]:
    """For the fewest equations that have as many unknowns as there are of them."""
    for size in range(1, len(unused) + 1):
        for chosen in itertools.combinations(unused, size):
            unknowns = sorted(algebra.tied_by(chosen) - have)
            if len(unknowns) == size:
                steps = _together(algebra, chosen, unknowns)
                if steps:
                    return steps
    return []


def _together(algebra: Algebra, chosen: tuple[int, ...], unknowns: list[str]) -> list[Step]:
    """Steps for as many unknowns as equations, the last eliminated found first."""
    if len(chosen) == 1:
        ((index,), (name,)) = chosen, unknowns
        forms = algebra.forms_of(index, name)
        return [_step(algebra, name, algebra.residual(index), forms, chosen)]
    if _say_the_same(algebra, chosen, unknowns):
        return []
    return _eliminate(algebra, [algebra.residual(index) for index in chosen], unknowns, chosen)


def _say_the_same(algebra: Algebra, chosen: tuple[int, ...], unknowns: Sequence[str]) -> bool:
    """Whether equations are dependent in these unknowns, so that they cannot fix them."""
    draw = np.random.default_rng(1)
    for _ in range(3):
        values = {name: draw.uniform(0.4, 1.4) for name in algebra.variables}
        with np.errstate(all="ignore"):
            matrix = np.array(
                [[algebra.partial(index, name)(values) for name in unknowns] for index in chosen]
            )
        if not np.isfinite(matrix).all() or np.linalg.matrix_rank(matrix) == len(chosen):
            return False
    return True


def _eliminate(
    algebra: Algebra, expressions: list[Any], unknowns: list[str], chosen: tuple[int, ...]
) -> list[Step]:
    if len(unknowns) == 1:
        forms = algebra.forms(expressions[0], unknowns[0])
        return [_step(algebra, unknowns[0], expressions[0], forms, chosen)]
    for expression, name in itertools.product(expressions, unknowns):
        symbol = algebra.symbol(name)
        if symbol not in expression.free_symbols:
            continue
        forms = algebra.forms(expression, name)
        if len(forms.forms) != 1:
            continue
        rest = [
            other.subs(symbol, forms.forms[0]) for other in expressions if other is not expression
        ]
        left = [other for other in unknowns if other != name]
        if not all(any(algebra.symbol(other) in e.free_symbols for e in rest) for other in left):
            continue
        earlier = _eliminate(algebra, rest, left, chosen)
        if earlier:
            return [*earlier, _step(algebra, name, expression, forms, chosen)]
    return []


def _step(
    algebra: Algebra, name: str, expression: Any, forms: ClosedForms, equations: tuple[int, ...]
) -> Step:
    return Step(
        name,
        forms.forms,
        tuple(algebra.compile(form) for form in forms.forms),
        None if forms.root is None else algebra.compile(forms.root),
        None if forms.forms else algebra.compile(expression),
        equations,
    )
