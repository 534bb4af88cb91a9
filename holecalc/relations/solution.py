"""Every quantity found, with what moves it and what tolerances make of it."""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from holecalc import sizes, tolerance
from holecalc.relations.answer import Answer
from holecalc.relations.declared import Variable
from holecalc.relations.explanation import Explanation
from holecalc.relations.kinds import brief
from holecalc.sizes import Quantity, Size


class Solvable(Protocol):
    """What a solution asks of the relations it is one of.

    They make solutions and solutions lead back to them, so one of the two has to know the other
    by what it does alone.
    """

    title: str
    settings: tuple[str, ...]
    variables: dict[str, Variable]

    def solve(self, *, unit: str | None = None, **known: Size) -> Solution:
        """Give a sufficient set of quantities, get all the rest."""

    def missing(self, *given: str) -> tuple[str, ...]:
        """The quantities that do not follow from these."""


class Solution(Mapping[str, Quantity]):
    """Every quantity of a :class:`Relations`, found from the givens.

    Quantities are read as attributes or by name, as pint quantities in the unit the givens were
    typed in. Those that did not follow from the givens are left out, and say what would give
    them when asked for.

    Attributes
    ----------
    relations : Relations
        What was solved.
    given : tuple of str
        The names that were given.
    base : mapping of str to float or array
        All values in the base units of their kinds: millimetres and radians.
    """

    def __init__(self, relations: Solvable, answer: Answer) -> None:
        self.relations = relations
        self.given = answer.given
        self.base = answer.base
        self._answer = answer

    def __getitem__(self, name: str) -> Quantity:
        if name in self.base:
            return self._answer.quantity(name)
        if name in self.relations.variables:
            enough = ", ".join(
                other
                for other in self.relations.variables
                if other not in self.base and name not in self.relations.missing(*self.given, other)
            )
            raise KeyError(f"{name} does not follow from the givens. Give one of: {enough}.")
        raise KeyError(
            f"{self.relations.title} has no quantity {name!r}. "
            f"It has {', '.join(self.relations.variables)}."
        )

    def __getattr__(self, name: str) -> Quantity:
        if name.startswith("_") or "relations" not in self.__dict__:
            raise AttributeError(name)
        try:
            return self[name]
        except KeyError as error:
            raise AttributeError(error.args[0]) from None

    def __dir__(self) -> list[str]:
        return [*super().__dir__(), *self.base]

    def __iter__(self) -> Iterator[str]:
        return iter(self.base)

    def __len__(self) -> int:
        return len(self.base)

    def __eq__(self, other: object) -> bool:
        return self is other

    def __hash__(self) -> int:
        return id(self)

    def givens(self) -> dict[str, Quantity]:
        """The givens as quantities, ready to be changed and solved again."""
        return {name: self[name] for name in self.given}

    def changed(self, **known: Size) -> Solution:
        """Solve again with some of the givens changed."""
        return self.relations.solve(**{**self.givens(), **known})

    def __repr__(self) -> str:
        lines = [f"{self.relations.title}:"]
        width = max(len(name) for name in self.base)
        for name in self.base:
            mark = "given" if name in self.given else ""
            lines.append(f"  {name:<{width}}  {brief(self[name]):>12}  {mark}".rstrip())
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        rows = []
        for name in self.base:
            variable = self.relations.variables[name]
            mark = "given" if name in self.given else "<b>found</b>"
            rows.append(
                f"<tr><td style='text-align:left'>{html.escape(variable.label)}</td>"
                f"<td><i>{html.escape(variable.symbol)}</i></td>"
                f"<td>{html.escape(brief(self[name]))}</td><td>{mark}</td>"
                f"<td style='text-align:left'>{html.escape(variable.meaning)}</td></tr>"
            )
        return (
            f"<table><caption>{html.escape(self.relations.title)}</caption>"
            "<tr><th>quantity</th><th></th><th>value</th><th></th><th>meaning</th></tr>"
            f"{''.join(rows)}</table>"
        )

    def explain(self, name: str) -> Explanation:
        """The calculation as a person would write it: equation, numbers put in, result.

        Parameters
        ----------
        name : str
            The quantity asked about.

        Returns
        -------
        Explanation
            Text in a terminal, LaTeX in a notebook. Quantities it rests on that were not given
            themselves are worked out first.
        """
        self[name]
        return Explanation(self._answer, name)

    def sensitivity(self, name: str) -> Sensitivity:
        """How much a quantity moves when each of the givens does.

        Partial derivatives by the implicit function theorem: the equations used tie the found
        quantities u to the givens k as F(u, k) = 0, so du/dk = -(dF/du)⁻¹ (dF/dk).

        Parameters
        ----------
        name : str
            The quantity asked about.

        Returns
        -------
        Sensitivity
            A derivative for each given that matters.
        """
        self[name]
        if name in self.given:
            return Sensitivity(self, name, {name: 1.0})
        algebra, plan = self._answer.algebra, self._answer.plan
        unknowns = [step.name for step in plan.steps]
        used = [other for other in self.given if other in algebra.tied_by(plan.equations)]
        shape = np.broadcast_shapes(*(np.shape(value) for value in self.base.values()))

        def columns(names: Sequence[str]) -> Any:
            return np.stack(
                [
                    np.stack(
                        [
                            np.broadcast_to(algebra.partial(index, other)(self.base), shape)
                            for index in plan.equations
                        ],
                        -1,
                    )
                    for other in names
                ],
                -1,
            )

        system, moved = columns(unknowns), columns(used)
        derivatives = -np.linalg.solve(system, moved)[..., unknowns.index(name), :]
        return Sensitivity(
            self,
            name,
            {
                other: derivatives[..., i]
                for i, other in enumerate(used)
                if np.any(derivatives[..., i])
            },
        )

    def spread(self, name: str, **plus_minus: Any) -> tolerance.Spread:
        """What tolerances on the givens do to a quantity.

        Parameters
        ----------
        name : str
            The quantity asked about.
        **plus_minus : size or pair of sizes
            For a given, ``"0.1 mm"`` for plus or minus, or ``("-0.2 mm", "+0.1 mm")``.

        Returns
        -------
        holecalc.tolerance.Spread
            Worst case and root-sum-square.

        Raises
        ------
        TypeError
            A name is not one of the givens.
        holecalc.sizes.SizeError
            A tolerance cannot be read.
        holecalc.tolerance.ToleranceError
            There is no answer at an end of the tolerances.
        """
        for other in plus_minus:
            if other not in self.given:
                raise TypeError(
                    f"{other!r} is not one of the givens, so it has no tolerance of its own. "
                    f"The givens are {', '.join(self.given)}."
                )
        givens = self.givens()
        variables = self.relations.variables
        return tolerance.spread(
            lambda **values: self.relations.solve(**values)[name],
            givens,
            {
                other: tolerance.plus_minus(value, givens[other], read=variables[other].kind.read)
                for other, value in plus_minus.items()
            },
        )


@dataclass(frozen=True, eq=False)
class Sensitivity(Mapping[str, Quantity]):
    """Partial derivatives of one quantity by the givens.

    As a mapping it gives, for each given that matters, the derivative as a pint quantity
    (``mm/°``, or a plain ratio). Written out it uses steps a person can picture: mm per degree,
    mm per 0.1 mm, inches per thou.
    """

    solution: Solution
    name: str
    base: Mapping[str, Any]

    def __getitem__(self, given: str) -> Quantity:
        top = self.solution.relations.variables[self.name].kind
        bottom = self.solution.relations.variables[given].kind
        units = self.solution._answer.units
        derivative = sizes.ureg.Quantity(self.base[given], top.base / bottom.base)
        return derivative.to(units[top.name] / units[bottom.name])

    def __iter__(self) -> Iterator[str]:
        return iter(self.base)

    def __len__(self) -> int:
        return len(self.base)

    def rows(self) -> list[tuple[str, str]]:
        """For each given, most telling first: what changes, and what that does."""
        rows = []
        units = self.solution._answer.units
        for given in self:
            kind = self.solution.relations.variables[given].kind
            unit = f"{units[kind.name]:~P}"
            step = sizes.ureg.Quantity(kind.steps.get(unit, 1.0), units[kind.name])
            top = self.solution.relations.variables[self.name].kind
            effect = (self[given] * step).to(units[top.name])
            if np.ndim(effect.magnitude):
                worst = np.ravel(effect.magnitude)[np.argmax(np.abs(effect.magnitude))]
                effect = sizes.ureg.Quantity(float(worst), effect.units)
            rows.append(
                (
                    abs(float(effect.magnitude)),
                    f"{f'{step.magnitude:g} {unit}'.rstrip()} more {given.replace('_', ' ')}",
                    f"{float(effect.magnitude):+.4f} {effect.units:~P}".rstrip(),
                )
            )
        return [(text, effect) for _, text, effect in sorted(rows, key=lambda row: -row[0])]

    def __str__(self) -> str:
        head = self.name.replace("_", " ")
        rows = self.rows()
        width = max(len(text) for text, _ in rows)
        return "\n".join(f"{text:<{width}}  {effect:>12}  {head}" for text, effect in rows)

    __repr__ = __str__

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td style='text-align:left'>{html.escape(text)}</td>"
            f"<td>{html.escape(effect)}</td></tr>"
            for text, effect in self.rows()
        )
        head = html.escape(self.name.replace("_", " "))
        return f"<table><tr><th>change</th><th>{head} moves by</th></tr>{rows}</table>"
