"""Numbers carried through a plan: every branch, and which of them are answers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

import numpy as np

from holecalc.relations.algebra import Algebra
from holecalc.relations.declared import (
    DUST,
    Contradiction,
    NoAnswer,
    SeveralAnswers,
    TooFewGivens,
    Variable,
    within,
)
from holecalc.relations.kinds import LENGTH, brief, shown_unit
from holecalc.relations.plan import Plan, Step
from holecalc.relations.roots import MOST, Undetermined, find_roots


@dataclass
class Branch:
    """One set of values, and where (of arrays) it is valid."""

    values: dict[str, Any]
    valid: Any = True


@dataclass(frozen=True)
class Arithmetic:
    """The givens of one question, on their way through a plan.

    Parameters
    ----------
    algebra : Algebra
        The equations.
    plan : Plan
        The way.
    given : mapping of str to float or array
        The givens, in the base units of their kinds.
    units : mapping of str to pint.Unit
        For each kind by name, the unit to tell it in.
    """

    algebra: Algebra
    plan: Plan
    given: Mapping[str, Any]
    units: Mapping[str, Any]

    def answers(self) -> list[dict[str, Any]]:
        """Every distinct set of values that satisfies all there is; arrays are one set.

        Raises
        ------
        NoAnswer, Contradiction, SeveralAnswers, TooFewGivens
            As :meth:`holecalc.relations.Relations.solve`; several answers only of arrays.
        """
        with np.errstate(all="ignore"):
            branches = [Branch(dict(self.given))]
            for step in self.plan.steps:
                branches = self._taken(step, branches)
            branches = self._permitted(self._agreeing(branches))
        return [branch.values for branch in self._distinct(branches)]

    def _taken(self, step: Step, branches: list[Branch]) -> list[Branch]:
        variable = self._variables[step.name]
        grown = []
        refused = []
        for branch in branches:
            for value in self._candidates(step, branch.values):
                value, valid = within(variable, value)
                values = {**branch.values, step.name: value}
                if step.root is not None:
                    # A root of 0 comes out of rounding a little either side of it.
                    true = step.root(values) >= -DUST
                    if not np.any(true):
                        continue
                    valid = _both(valid, true)
                if valid is not True and not np.any(valid & branch.valid):
                    refused.append(value)
                    continue
                grown.append(Branch(values, _both(branch.valid, valid)))
        if not grown:
            self._refuse(variable, refused)
        return grown

    def _candidates(self, step: Step, values: Mapping[str, Any]) -> list[Any]:
        if step.residual is None:
            return [at(values) for at in step.at]
        variable = self._variables[step.name]
        try:
            return find_roots(step.residual, variable, values)
        except Undetermined as open_:
            told = self._told(self.given, values, open_.element)
            error = TooFewGivens(
                f"{told} leave {variable.label} open: every value of it fits, or more than {MOST} "
                f"do. Give it as well: {variable.name} ({variable.meaning})."
            )
            error.would_do = (variable.name,)
            raise error from None

    def _refuse(self, variable: Variable, refused: Sequence[Any]) -> NoReturn:
        put_in = self._told(self.given, self.given)
        values = [float(np.ravel(value)[0]) for value in refused]
        finite = [value for value in values if np.isfinite(value)]
        if not finite:
            raise NoAnswer(f"no real {variable.label} fits {put_in}.")
        shown = " or ".join(
            brief(value * shown_unit(variable.kind, self.units)) for value in finite
        )
        raise NoAnswer(
            f"{variable.label} would have to be {shown}, and it must be {variable.limits}. "
            f"Look again at {put_in}."
        )

    def _agreeing(self, branches: list[Branch]) -> list[Branch]:
        for index in self.plan.checks:
            equation = self.algebra.equations[index]
            kind = self._variables[equation.lhs].kind
            kept = []
            for branch in branches:
                wanted = equation.rhs_at(branch.values)
                apart = np.abs(wanted - branch.values[equation.lhs])
                valid = _both(branch.valid, apart <= kind.close)
                if np.any(valid):
                    kept.append(Branch(branch.values, valid))
            if not kept or (len(branches) == 1 and not np.all(kept[0].valid)):
                where = int(np.argmax(np.ravel(apart)))
                self._refuse_disagreeing(index, branches[0].values[equation.lhs], wanted, where)
            branches = kept
        return branches

    def _refuse_disagreeing(self, index: int, one: Any, other: Any, where: int) -> NoReturn:
        equation = self.algebra.equations[index]
        variable = self._variables[equation.lhs]
        told = self._told(self._grounds(equation.names), self.given, where)
        if not np.isfinite(_at(other, where)):
            raise NoAnswer(f"no real {variable.label} fits {told}.")
        unit = shown_unit(variable.kind, self.units)
        by_one, by_others = _at(one, where) * unit, _at(other, where) * unit
        raise Contradiction(
            f"{told} contradict each other: {variable.label} is {brief(by_one)} by one and "
            f"{brief(by_others)} by the others, {brief(abs(by_others - by_one))} apart. "
            "Leave one of them out."
        )

    def _grounds(self, names: Iterable[str]) -> list[str]:
        """The givens that a set of quantities was found from, in the order given."""
        steps = {step.name: step for step in self.plan.steps}
        seen: set[str] = set()
        queue = list(names)
        while queue:
            name = queue.pop()
            if name not in seen:
                seen.add(name)
                if name in steps:
                    queue += self.algebra.tied_by(steps[name].equations)
        return [name for name in self.given if name in seen]

    def _permitted(self, branches: list[Branch]) -> list[Branch]:
        for inequality in self.algebra.inequalities:
            if not inequality.names <= branches[0].values.keys():
                continue
            kept = []
            for branch in branches:
                gap = inequality.gap(branch.values)
                valid = _both(branch.valid, gap >= -LENGTH.close / 2)
                if np.any(valid):
                    kept.append(Branch(branch.values, valid))
            if not kept:
                names = [name for name in self._variables if name in inequality.names]
                told = self._told(names, branches[0].values)
                raise NoAnswer(f"{inequality.otherwise} ({told})")
            branches = kept
        return branches

    def _distinct(self, branches: list[Branch]) -> list[Branch]:
        """One branch for each distinct answer; for arrays, element by element."""
        distinct: list[Branch] = []
        for branch in branches:
            for other in distinct:
                same = self._same(branch.values, other.values) & other.valid
                branch = Branch(branch.values, branch.valid & ~np.asarray(same))
            if np.any(branch.valid):
                distinct.append(branch)
        if all(np.ndim(value) == 0 for branch in branches for value in branch.values.values()):
            return distinct
        return [_merged(distinct)]

    def _same(self, one: Mapping[str, Any], other: Mapping[str, Any]) -> Any:
        same: Any = True
        for name in one:
            same = same & (np.abs(one[name] - other[name]) <= self._variables[name].kind.close)
        return same

    def _told(self, names: Iterable[str], values: Mapping[str, Any], where: int = 0) -> str:
        """Quantities with their values, in words."""
        parts = []
        for name in names:
            variable = self._variables[name]
            value = _at(values[name], where) * shown_unit(variable.kind, self.units)
            parts.append(f"{variable.label} {brief(value)}")
        return ", ".join(parts)

    @property
    def _variables(self) -> Mapping[str, Variable]:
        return self.algebra.variables


def _both(one: Any, other: Any) -> Any:
    if one is True:
        return other
    return one if other is True else one & other


def _merged(branches: list[Branch]) -> Branch:
    total = sum(np.asarray(branch.valid, dtype=int) for branch in branches)
    if np.any(total == 0):
        where = int(np.argmin(np.ravel(total)))
        raise NoAnswer(
            f"{int(np.sum(total == 0))} of the values given have no answer, number "
            f"{where} (counting from 0) the first. Look at that one alone."
        )
    if np.any(total > 1):
        where = int(np.argmax(np.ravel(total)))
        raise SeveralAnswers(
            f"{int(np.sum(total > 1))} of the values given have several answers, number {where} "
            "(counting from 0) the first. Look at that one alone."
        )
    if len(branches) == 1:
        return branches[0]
    valid = [branch.valid for branch in branches]
    return Branch(
        {
            name: np.select(valid, [branch.values[name] for branch in branches])[()]
            for name in branches[0].values
        }
    )


def _at(value: Any, where: int) -> float:
    flat = np.ravel(value)
    return float(flat[where if len(flat) > 1 else 0])
