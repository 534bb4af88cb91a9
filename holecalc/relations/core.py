"""The relations themselves: what is declared once, and asked any way round."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from holecalc import sizes
from holecalc.relations.algebra import Algebra
from holecalc.relations.answer import Answer
from holecalc.relations.arithmetic import Arithmetic
from holecalc.relations.declared import (
    Condition,
    Contradiction,
    OutOfRange,
    RelationsError,
    SeveralAnswers,
    TooFewGivens,
    Variable,
    within,
)
from holecalc.relations.kinds import ANGLE, brief, is_inches, shown_unit
from holecalc.relations.plan import Plan, make_plan
from holecalc.relations.solution import Solution
from holecalc.sizes import Size


class Relations:
    """Named quantities and the equations between them.

    Parameters
    ----------
    title : str
        What is described.
    *variables : Variable
        The quantities.
    equations : sequence of str
        Each ``"symbol = expression"`` in the variables' symbols, read by sympy when first
        needed.
    conditions : sequence of Condition
        Inequalities that must hold besides.
    settings : sequence of str
        Names of the quantities that are set, by the machine or the cutter; the others result.

    Examples
    --------
    >>> from holecalc.relations import ANGLE, LENGTH
    >>> right_angled = Relations(
    ...     "slope",
    ...     Variable("run", "a", LENGTH, "along"),
    ...     Variable("rise", "b", LENGTH, "up"),
    ...     Variable("slope_angle", "s", ANGLE, "from the horizontal", high=np.pi / 2),
    ...     equations=["b = a*tan(s)"],
    ... )
    >>> print(right_angled.solve(run="3 mm", rise="3 mm").slope_angle)
    45.0 deg
    """

    def __init__(
        self,
        title: str,
        *variables: Variable,
        equations: Sequence[str],
        conditions: Sequence[Condition] = (),
        settings: Sequence[str] = (),
    ) -> None:
        self.title = title
        self.settings = tuple(settings)
        self.variables = {variable.name: variable for variable in variables}
        self.equations = tuple(equations)
        self.conditions = tuple(conditions)
        self._algebra = Algebra(self.variables, self.equations, self.conditions)
        self._plans: dict[frozenset[str], Plan] = {}

    def __repr__(self) -> str:
        return f"<Relations {self.title}: {'; '.join(self.equations)}>"

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{html.escape(v.label)}</td><td><i>{html.escape(v.symbol)}</i></td>"
            f"<td style='text-align:left'>{html.escape(v.meaning)}</td></tr>"
            for v in self.variables.values()
        )
        equations = "<br>".join(html.escape(text) for text in self.equations)
        return (
            f"<table><caption>{html.escape(self.title)}: give enough of these, get the rest"
            f"</caption>{rows}</table><p>{equations}</p>"
        )

    def solve(self, *, unit: str | None = None, **known: Size) -> Solution:
        """Give a sufficient set of quantities, get all the rest.

        Parameters
        ----------
        unit : str, optional
            The unit of bare numbers, and of the answers. Without it bare lengths are refused,
            except 0, and answers come in the unit of the first length given.
        **known : str, pint.Quantity, number or array
            Values by name; arrays broadcast against each other.

        Returns
        -------
        Solution

        Raises
        ------
        TooFewGivens
            More has to be given, or every value of something fits; names which single quantity
            would do.
        Contradiction
            More was given than needed, and it does not agree. Lengths may be two micrometres
            apart, angles six thousandths of a degree, and an angle typed with decimals half its
            last digit: it is then told as the others give it, and is not among the `given`.
        NoAnswer
            Nothing real and permitted satisfies the givens.
        SeveralAnswers
            More than one answer does; all are told, and carried by the error.
        OutOfRange
            A given value is not possible for its quantity.
        holecalc.sizes.SizeError
            A value cannot be read.
        TypeError
            A name is not one of the quantities.
        """
        found = self.solutions(unit=unit, **known)
        if len(found) > 1:
            told = "; or ".join(
                ", ".join(
                    f"{self.variables[name].label} {brief(solution[name])}"
                    for name in solution
                    if name not in known
                )
                for solution in found
            )
            error = SeveralAnswers(
                f"{len(found)} answers fit {self.title}: {told}. "
                "Give one more quantity to say which is meant."
            )
            error.solutions = tuple(found)
            raise error
        return found[0]

    def solutions(self, *, unit: str | None = None, **known: Size) -> list[Solution]:
        """Every answer, where several fit; otherwise as :meth:`solve`."""
        try:
            return self._solutions(known, unit)
        except Contradiction:
            found = self._solutions_without_rounded(known, unit)
            if found:
                return found
            raise

    def _solutions_without_rounded(
        self, known: Mapping[str, Size], unit: str | None
    ) -> list[Solution]:
        """The answers of which an angle that was typed is only the rounded value.

        Angles are read off to a tenth of a degree beside sizes that are exact. Where the others
        give an angle that rounds to what was typed, that is no contradiction, and the angle they
        give is the better one.
        """
        for name, value in known.items():
            half = _half_of_last_digit(value) if self.variables[name].kind is ANGLE else None
            if half is None:
                continue
            try:
                found = self.solutions(
                    unit=unit, **{other: known[other] for other in known if other != name}
                )
            except RelationsError:
                continue
            typed = sizes.rad(sizes.angle(value))
            fit = [
                one for one in found if np.all(np.abs(one.base.get(name, np.nan) - typed) <= half)
            ]
            if fit:
                return fit
        return []

    def _solutions(self, known: Mapping[str, Size], unit: str | None) -> list[Solution]:
        given, units = self._read(known, unit)
        plan = self._plan(frozenset(given))
        self._refuse_too_few(plan, given)
        answers = Arithmetic(self._algebra, plan, given, units).answers()
        return [
            Solution(
                self,
                Answer(
                    self._algebra,
                    plan,
                    tuple(given),
                    {name: values[name] for name in self.variables if name in values},
                    units,
                ),
            )
            for values in answers
        ]

    def _read(
        self, known: Mapping[str, Size], unit: str | None
    ) -> tuple[dict[str, Any], dict[str, Any]]:
        given: dict[str, Any] = {}
        units: dict[str, Any] = {}
        if unit is not None:
            units["length"] = sizes.length(1.0, unit).units
        for name, value in known.items():
            variable = self.variables.get(name)
            if variable is None:
                raise TypeError(
                    f"{self.title} has no quantity {name!r}. It has {', '.join(self.variables)}."
                )
            kind = variable.kind
            try:
                if unit is None and _is_zero(value):
                    given[name] = 0.0
                else:
                    quantity = kind.read(value, unit)
                    units.setdefault(kind.name, quantity.units)
                    given[name] = quantity.m_as(kind.base)
            except sizes.SizeError as error:
                raise sizes.SizeError(f"{variable.label}: {error}") from None
            given[name], permitted = within(variable, given[name])
            if not np.all(permitted):
                outside = np.ravel(given[name])[np.argmin(np.ravel(permitted))]
                shown = brief(float(outside) * shown_unit(kind, units))
                raise OutOfRange(f"{variable.label} is {shown}, and it must be {variable.limits}.")
        inches = any(is_inches(unit) for unit in units.values())
        for variable in self.variables.values():
            kind = variable.kind
            units.setdefault(kind.name, kind.inch_unit if inches and kind.inch_unit else kind.unit)
        return given, units

    def _plan(self, known: frozenset[str]) -> Plan:
        plan = self._plans.get(known)
        if plan is None:
            with self._algebra.lock:
                plan = self._plans.setdefault(known, make_plan(self._algebra, known))
        return plan

    def _refuse_too_few(self, plan: Plan, given: Mapping[str, Any]) -> None:
        wanted = [name for name in plan.missing if not self.variables[name].optional]
        if not wanted:
            return
        enough = self.would_do(*given)
        have = ", ".join(self.variables[name].label for name in given) or "nothing"
        if enough:
            cure = "Give one of: " + ", ".join(self._describe(name) for name in enough) + "."
        else:
            cure = "Give at least two more of: " + ", ".join(map(self._describe, wanted)) + "."
        left = ", ".join(self.variables[name].label for name in wanted)
        error = TooFewGivens(f"{self.title}: {have} alone leave {left} open. {cure}")
        error.would_do = enough
        raise error

    def _describe(self, name: str) -> str:
        return f"{name} ({self.variables[name].meaning})"

    def would_do(self, *given: str) -> tuple[str, ...]:
        """The quantities of which any single one, given as well, would be enough.

        Examples
        --------
        >>> from holecalc.countersink import CUT
        >>> CUT.would_do("top_diameter", "circle_diameter", "included_angle")
        ('tip_diameter', 'depth')
        """
        known = frozenset(given)
        required = {name for name, variable in self.variables.items() if not variable.optional}
        return tuple(
            name
            for name in self.variables
            if name not in known and required.isdisjoint(self._plan(known | {name}).missing)
        )

    def missing(self, *given: str) -> tuple[str, ...]:
        """The quantities that do not follow from these.

        Examples
        --------
        >>> from holecalc.countersink import CUT
        >>> CUT.missing("top_diameter", "circle_diameter", "depth", "included_angle")
        ('hole_diameter', 'cone_depth', 'hole_cutting_diameter')
        """
        return self._plan(frozenset(given)).missing


def _is_zero(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value == 0


_DEGREES_WITH_DECIMALS = re.compile(r"\s*[0-9]*[.,](?P<decimals>[0-9]+)\s*(?:°|deg\w*\.?)?\s*")


def _half_of_last_digit(typed: Size) -> float | None:
    """Of degrees typed with decimals, what rounding may have taken [rad]; whole ones are meant."""
    if isinstance(typed, float) and not typed.is_integer():
        typed = str(typed)
    digits = _DEGREES_WITH_DECIMALS.fullmatch(typed) if isinstance(typed, str) else None
    if digits is None:
        return None
    # A hair more, so that a value right between two roundings is within either.
    return math.radians(0.5 * 10.0 ** -len(digits["decimals"])) * (1 + 1e-9)
