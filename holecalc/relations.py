"""Quantities tied by equations, declared once and solved any way round.

A :class:`Relations` names its quantities (symbol, kind, meaning) and the equations between them.
From that one declaration come the answers, the worked calculation, the sensitivities and the
spread, so they cannot disagree.

How a set of givens is solved
-----------------------------
1. Every equation with one unknown left is solved for it, and the value carried on, until nothing
   new follows.
2. Where that stops, the smallest set of equations that has as many unknowns is taken together:
   unknowns are eliminated one by one in closed form, and the last is found in closed form if
   sympy has one, else as every root that a scan brackets.
3. Equations whose quantities were all given must agree with them.

The way is worked out once for each set of names and kept, so solving again is only arithmetic.
sympy is imported when the first equation is looked at, not before.
"""

from __future__ import annotations

import html
import itertools
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from holecalc import sizes, tolerance
from holecalc.sizes import Quantity, Size

__all__ = [
    "ANGLE",
    "COUNT",
    "FEED_RATE",
    "LENGTH",
    "SPINDLE_SPEED",
    "SURFACE_SPEED",
    "Condition",
    "Contradiction",
    "Explanation",
    "Kind",
    "NoAnswer",
    "OutOfRange",
    "Relations",
    "RelationsError",
    "Sensitivity",
    "SeveralAnswers",
    "Solution",
    "TooFewGivens",
    "Variable",
]


class RelationsError(ValueError):
    """The givens do not lead to one answer; the message says why."""


class TooFewGivens(RelationsError):
    """Something more has to be given.

    Attributes
    ----------
    would_do : tuple of str
        Names of which any single one, given as well, is enough; empty when one is not enough.
    """

    would_do: tuple[str, ...] = ()


class Contradiction(RelationsError):
    """The givens do not agree with each other."""


class NoAnswer(RelationsError):
    """No real, permitted value satisfies the givens."""


class OutOfRange(RelationsError):
    """A given value is outside what its quantity can be."""


class SeveralAnswers(RelationsError):
    """More than one set of values satisfies the givens.

    Attributes
    ----------
    solutions : tuple of Solution
        All of them.
    """

    solutions: tuple[Solution, ...] = ()


@dataclass(frozen=True)
class Kind:
    """What a quantity measures.

    Parameters
    ----------
    name : str
        ``"length"``, ``"angle"`` …
    base : pint.Unit
        The unit equations are computed in.
    unit : pint.Unit
        The unit answers come in when none was typed.
    read : callable
        Turns what was typed, and the declared unit, into a quantity.
    close : float
        How far apart two values may be [base unit] and still agree, given that people type
        rounded numbers.
    steps : mapping of str to float
        For a unit, the step that a sensitivity is told for.
    inch_unit : pint.Unit, optional
        In place of `unit` where what was typed is in inches or feet.
    """

    name: str
    base: Any
    unit: Any
    read: Callable[[Size, str | None], Quantity] = field(repr=False)
    close: float
    steps: Mapping[str, float]
    inch_unit: Any = None


_MM, _DEGREE, _RADIAN = sizes.ureg.millimeter, sizes.ureg.degree, sizes.ureg.radian
_INCH, _FOOT, _MINUTE = sizes.ureg.inch, sizes.ureg.foot, sizes.ureg.minute

LENGTH = Kind("length", _MM, _MM, sizes.length, 0.002, {"mm": 0.1, "in": 0.001}, inch_unit=_INCH)
"""Lengths, in millimetres inside; typed values agree within two micrometres."""

ANGLE = Kind(
    "angle",
    _RADIAN,
    _DEGREE,
    lambda value, _unit: sizes.angle(value),
    1e-4,
    {"deg": 1.0, "rad": 0.01},
)
"""Angles, in radians inside; typed values agree within six thousandths of a degree."""

COUNT = Kind(
    "count",
    sizes.ureg.dimensionless,
    sizes.ureg.dimensionless,
    lambda value, _unit: sizes.count(value),
    0.001,
    {"": 1.0},
)
"""Counts, of turns or of flutes; they need not be whole."""

SPINDLE_SPEED = Kind(
    "spindle speed",
    sizes.ureg.rpm,
    sizes.ureg.rpm,
    lambda value, _unit: sizes.spindle_speed(value),
    1.0,
    {"rpm": 100.0},
)
"""Spindle speeds, in revolutions a minute; typed values agree within one."""

FEED_RATE = Kind(
    "feed",
    _MM / _MINUTE,
    _MM / _MINUTE,
    sizes.feed,
    1.0,
    {"mm/min": 100.0, "in/min": 1.0},
    inch_unit=_INCH / _MINUTE,
)
"""Feeds, in millimetres a minute inside; typed values agree within one millimetre a minute."""

SURFACE_SPEED = Kind(
    "surface speed",
    _MM / _MINUTE,
    sizes.ureg.meter / _MINUTE,
    sizes.surface_speed,
    500.0,
    {"m/min": 10.0, "ft/min": 10.0},
    inch_unit=_FOOT / _MINUTE,
)
"""Surface speeds, in millimetres a minute inside, so that π times a diameter times a spindle
speed needs no factor; typed values agree within half a metre a minute."""


@dataclass(frozen=True)
class Variable:
    """One named quantity of a :class:`Relations`.

    Parameters
    ----------
    name : str
        The trade's term, as a Python name.
    symbol : str
        What the equations and the drawing call it.
    kind : Kind
        What it measures.
    meaning : str
        What to measure, and where.
    low, high : float
        Least and largest value [base unit of the kind].
    zero : bool
        Whether `low` itself is permitted.
    optional : bool
        Whether a solution is complete without it.
    """

    name: str
    symbol: str
    kind: Kind
    meaning: str
    low: float = 0.0
    high: float = np.inf
    zero: bool = False
    optional: bool = False

    @property
    def label(self) -> str:
        """The name as words."""
        return self.name.replace("_", " ")

    def permits(self, value: Any) -> Any:
        """Whether a value, or each of an array, is finite and within the limits."""
        above = value >= self.low if self.zero else value > self.low
        return above & (value < self.high) & np.isfinite(value)

    @property
    def limits(self) -> str:
        """The limits in words."""
        unit = _unit(self.kind, {})

        def told(limit: float) -> str:
            return _brief(limit * unit) if limit else "0"

        low = f"{'at least' if self.zero else 'more than'} {told(self.low)}"
        return f"{low} and less than {told(self.high)}" if np.isfinite(self.high) else low


@dataclass(frozen=True)
class Condition:
    """An inequality the values must satisfy, and what it means when they do not.

    Parameters
    ----------
    text : str
        The inequality in the symbols, such as ``"k <= D"``. It is asked only when every
        quantity in it is known.
    otherwise : str
        What is the case when it fails, and the cure.
    """

    text: str
    otherwise: str


@dataclass(frozen=True)
class _Equation:
    text: str
    lhs: str
    rhs: Any
    names: frozenset[str]
    rhs_at: Callable[..., Any]


@dataclass(frozen=True)
class _Step:
    """One unknown found from what is known before it."""

    name: str
    forms: tuple[Any, ...]
    at: tuple[Callable[[Mapping[str, Any]], Any], ...]
    residual: Callable[[Mapping[str, Any], Any], Any] | None
    equations: tuple[int, ...]


@dataclass(frozen=True)
class _Plan:
    steps: tuple[_Step, ...]
    checks: tuple[int, ...]
    missing: tuple[str, ...]

    @property
    def equations(self) -> tuple[int, ...]:
        return tuple(sorted({index for step in self.steps for index in step.equations}))


@dataclass
class _Branch:
    values: dict[str, Any]
    valid: Any = True


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
        self._by_symbol = {variable.symbol: variable for variable in variables}
        self._plans: dict[frozenset[str], _Plan] = {}
        self._forms: dict[tuple[Any, str], tuple[Any, ...]] = {}
        self._partials: dict[tuple[int, str], Callable[[Mapping[str, Any]], Any]] = {}
        # Panels may solve from more than one thread; sympy's own caches are not made for that.
        self._lock = threading.RLock()

    def __repr__(self) -> str:
        return f"<Relations {self.title}: {'; '.join(self.equations)}>"

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{_escape(v.label)}</td><td><i>{_escape(v.symbol)}</i></td>"
            f"<td style='text-align:left'>{_escape(v.meaning)}</td></tr>"
            for v in self.variables.values()
        )
        equations = "<br>".join(_escape(text) for text in self.equations)
        return (
            f"<table><caption>{_escape(self.title)}: give enough of these, get the rest</caption>"
            f"{rows}</table><p>{equations}</p>"
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
            More has to be given; names which single quantity would do.
        Contradiction
            More was given than needed, and it does not agree.
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
                    f"{self.variables[name].label} {_brief(solution[name])}"
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
        given, units = self._read(known, unit)
        plan = self._plan(frozenset(given))
        self._refuse_too_few(plan, given)
        branches = self._run(plan, given, units)
        return [
            Solution(self, plan, tuple(given), branch.values, units)
            for branch in self._settle(branches)
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
            given[name], permitted = _within(variable, given[name])
            if not np.all(permitted):
                shown = _brief(_first(given[name], ~np.asarray(permitted)) * _unit(kind, units))
                raise OutOfRange(f"{variable.label} is {shown}, and it must be {variable.limits}.")
        inches = any(_in_inches(unit) for unit in units.values())
        for variable in self.variables.values():
            kind = variable.kind
            units.setdefault(kind.name, kind.inch_unit if inches and kind.inch_unit else kind.unit)
        return given, units

    def _refuse_too_few(self, plan: _Plan, given: Mapping[str, Any]) -> None:
        wanted = [name for name in plan.missing if not self.variables[name].optional]
        if not wanted:
            return
        enough = self.would_do(*given)
        have = ", ".join(self.variables[name].label for name in given) or "nothing"
        if enough:
            cure = "Give one of: " + ", ".join(self._describe(name) for name in enough) + "."
        else:
            cure = "Give at least two more of: " + ", ".join(map(self._describe, wanted)) + "."
        error = TooFewGivens(
            f"{self.title}: {have} alone leave {', '.join(self._label(n) for n in wanted)} open. "
            f"{cure}"
        )
        error.would_do = enough
        raise error

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

    def _label(self, name: str) -> str:
        return self.variables[name].label

    def _describe(self, name: str) -> str:
        variable = self.variables[name]
        return f"{variable.name} ({variable.meaning})"

    # --- what sympy is asked, once -------------------------------------------------------

    @cached_property
    def _symbols(self) -> dict[str, Any]:
        import sympy

        return {symbol: sympy.Symbol(symbol, real=True) for symbol in self._by_symbol}

    @cached_property
    def _equations(self) -> tuple[_Equation, ...]:
        return tuple(self._parse(text) for text in self.equations)

    def _expression(self, text: str) -> Any:
        import sympy

        # Without its own namespaces sympy fills them by star imports, at each call anew.
        return sympy.parse_expr(text, local_dict=self._symbols, global_dict=dict(vars(sympy)))

    def _parse(self, text: str) -> _Equation:
        left, right = (part.strip() for part in text.split(" = "))
        rhs = self._expression(right)
        symbols = [str(symbol) for symbol in rhs.free_symbols]
        names = frozenset(self._by_symbol[symbol].name for symbol in [left, *symbols])
        return _Equation(text, self._by_symbol[left].name, rhs, names, self._compile(rhs))

    @cached_property
    def _tests(self) -> tuple[tuple[frozenset[str], Any, str], ...]:
        tests = []
        for condition in self.conditions:
            relation = self._expression(condition.text)
            gap = relation.gts - relation.lts
            names = frozenset(self._by_symbol[str(symbol)].name for symbol in gap.free_symbols)
            tests.append((names, self._compile(gap), condition.otherwise))
        return tuple(tests)

    def _compile(self, expression: Any) -> Callable[[Mapping[str, Any]], Any]:
        import sympy
        from sympy.printing.numpy import NumPyPrinter

        symbols = sorted(expression.free_symbols, key=str)
        names = [self._by_symbol[str(symbol)].name for symbol in symbols]
        # Asked for "numpy" by name, sympy star-imports all of it, which takes longer than
        # everything else the first answer needs; so the printer writes numpy.tan in full.
        function = sympy.lambdify(symbols, expression, [{"numpy": np}], printer=NumPyPrinter)

        def at(values: Mapping[str, Any]) -> Any:
            try:
                return function(*[values[name] for name in names])
            except (ZeroDivisionError, OverflowError):
                # Python's floats raise where numpy's, and those in arrays, become nan or inf.
                return np.nan

        return at

    def _closed_forms(self, expression: Any, name: str) -> tuple[Any, ...]:
        """Every explicit form of one quantity that makes an expression zero; () for none."""
        import sympy

        key = (expression, name)
        if key not in self._forms:
            symbol = self._symbols[self.variables[name].symbol]
            try:
                # With a quantity under two different functions sympy searches for many seconds;
                # the scan for roots is there for those.
                easy = _under_one_function(expression, symbol)
                found = sympy.solve(expression, symbol, simplify=False) if easy else []
            except NotImplementedError:
                found = []
            explicit = [
                sympy.together(form)
                for form in found
                if isinstance(form, sympy.Expr)
                and symbol not in form.free_symbols
                and not form.has(sympy.I, sympy.Piecewise, sympy.RootOf)
            ]
            self._forms[key] = tuple(explicit) if len(explicit) == len(found) else ()
        return self._forms[key]

    def _forms_of(self, index: int, name: str) -> tuple[Any, ...]:
        equation = self._equations[index]
        symbol = self._symbols[self.variables[name].symbol]
        if name == equation.lhs and symbol not in equation.rhs.free_symbols:
            return (equation.rhs,)
        return self._closed_forms(self._residual(index), name)

    def _plan(self, known: frozenset[str]) -> _Plan:
        plan = self._plans.get(known)
        if plan is None:
            with self._lock:
                plan = self._plans.setdefault(known, self._make_plan(known))
        return plan

    def _make_plan(self, known: frozenset[str]) -> _Plan:
        have = set(known)
        steps: list[_Step] = []
        checks: list[int] = []
        unused = list(range(len(self._equations)))
        while unused:
            # An equation that has become fully known is the dearest news: it must agree.
            full = [i for i in unused if self._equations[i].names <= have]
            checks += full
            unused = [i for i in unused if i not in full]
            new = self._next_steps(unused, have)
            if not new:
                break
            steps += new
            have |= {step.name for step in new}
            spent = {index for step in new for index in step.equations}
            unused = [i for i in unused if i not in spent]
        missing = tuple(name for name in self.variables if name not in have)
        return _Plan(tuple(steps), tuple(checks), missing)

    def _next_steps(self, unused: Sequence[int], have: set[str]) -> list[_Step]:
        for size in range(1, len(unused) + 1):
            for chosen in itertools.combinations(unused, size):
                unknowns = frozenset().union(*(self._equations[i].names for i in chosen)) - have
                if len(unknowns) == size:
                    steps = self._together(chosen, unknowns)
                    if steps:
                        return steps
        return []

    def _together(self, chosen: tuple[int, ...], unknowns: frozenset[str]) -> list[_Step]:
        """Steps for as many unknowns as equations, the last eliminated found first."""
        if len(chosen) == 1:
            (name,) = unknowns
            return [
                self._step(name, self._residual(chosen[0]), self._forms_of(chosen[0], name), chosen)
            ]
        if self._say_the_same(chosen, sorted(unknowns)):
            return []
        expressions = [self._residual(i) for i in chosen]
        return self._eliminate(expressions, sorted(unknowns), chosen)

    def _residual(self, index: int) -> Any:
        equation = self._equations[index]
        return self._symbols[self.variables[equation.lhs].symbol] - equation.rhs

    def _partial(self, index: int, name: str) -> Callable[[Mapping[str, Any]], Any]:
        """The derivative of an equation's residual by one quantity."""
        key = (index, name)
        if key not in self._partials:
            symbol = self._symbols[self.variables[name].symbol]
            self._partials[key] = self._compile(self._residual(index).diff(symbol))
        return self._partials[key]

    def _say_the_same(self, chosen: tuple[int, ...], unknowns: Sequence[str]) -> bool:
        """Whether equations are dependent in these unknowns, so that they cannot fix them."""
        draw = np.random.default_rng(1)
        for _ in range(3):
            values = {name: draw.uniform(0.4, 1.4) for name in self.variables}
            with np.errstate(all="ignore"):
                matrix = np.array(
                    [[self._partial(i, name)(values) for name in unknowns] for i in chosen]
                )
            if not np.isfinite(matrix).all() or np.linalg.matrix_rank(matrix) == len(chosen):
                return False
        return True

    def _eliminate(
        self, expressions: list[Any], unknowns: list[str], chosen: tuple[int, ...]
    ) -> list[_Step]:
        if len(unknowns) == 1:
            forms = self._closed_forms(expressions[0], unknowns[0])
            return [self._step(unknowns[0], expressions[0], forms, chosen)]
        for expression, name in itertools.product(expressions, unknowns):
            symbol = self._symbols[self.variables[name].symbol]
            if symbol not in expression.free_symbols:
                continue
            forms = self._closed_forms(expression, name)
            if len(forms) != 1:
                continue
            rest = [e.subs(symbol, forms[0]) for e in expressions if e is not expression]
            left = [other for other in unknowns if other != name]
            if not all(self._mentions(rest, other) for other in left):
                continue
            earlier = self._eliminate(rest, left, chosen)
            if earlier:
                return [*earlier, self._step(name, expression, forms, chosen)]
        return []

    def _mentions(self, expressions: Sequence[Any], name: str) -> bool:
        symbol = self._symbols[self.variables[name].symbol]
        return any(symbol in expression.free_symbols for expression in expressions)

    def _step(
        self, name: str, expression: Any, forms: tuple[Any, ...], equations: tuple[int, ...]
    ) -> _Step:
        at = tuple(self._compile(form) for form in forms)
        residual = None
        if not forms:
            whole = self._compile(expression)

            def residual(values: Mapping[str, Any], trial: Any) -> Any:
                return whole({**values, name: trial})

        return _Step(name, forms, at, residual, equations)

    # --- arithmetic ----------------------------------------------------------------------

    def _run(
        self, plan: _Plan, given: Mapping[str, Any], units: Mapping[str, Any]
    ) -> list[_Branch]:
        branches = [_Branch(dict(given))]
        with np.errstate(all="ignore"):
            for step in plan.steps:
                variable = self.variables[step.name]
                grown = []
                refused = []
                for branch in branches:
                    for value in _candidates(step, variable, branch.values):
                        value, valid = _within(variable, value)
                        if valid is not True and not np.any(valid & branch.valid):
                            refused.append(value)
                            continue
                        values = {**branch.values, step.name: value}
                        grown.append(_Branch(values, _both(branch.valid, valid)))
                if not grown:
                    raise NoAnswer(self._why_not(variable, refused, given, units))
                branches = grown
            branches = self._agreeing(plan, branches, given, units)
            return self._permitted(branches, units)

    def _why_not(
        self,
        variable: Variable,
        refused: Sequence[Any],
        given: Mapping[str, Any],
        units: Mapping[str, Any],
    ) -> str:
        put_in = self._told(given, given, units)
        values = [float(np.ravel(value)[0]) for value in refused]
        finite = [value for value in values if np.isfinite(value)]
        if not finite:
            return f"no real {variable.label} fits {put_in}."
        shown = " or ".join(_brief(value * _unit(variable.kind, units)) for value in finite)
        return (
            f"{variable.label} would have to be {shown}, and it must be {variable.limits}. "
            f"Look again at {put_in}."
        )

    def _told(
        self, names: Any, values: Mapping[str, Any], units: Mapping[str, Any], at: int = 0
    ) -> str:
        parts = []
        for name in names:
            kind = self.variables[name].kind
            value = np.ravel(values[name])
            shown = _brief(float(value[at if len(value) > 1 else 0]) * _unit(kind, units))
            parts.append(f"{self._label(name)} {shown}")
        return ", ".join(parts)

    def _agreeing(
        self,
        plan: _Plan,
        branches: list[_Branch],
        given: Mapping[str, Any],
        units: Mapping[str, Any],
    ) -> list[_Branch]:
        for index in plan.checks:
            equation = self._equations[index]
            kind = self.variables[equation.lhs].kind
            kept = []
            for branch in branches:
                wanted = equation.rhs_at(branch.values)
                apart = np.abs(wanted - branch.values[equation.lhs])
                valid = _both(branch.valid, apart <= kind.close)
                if np.any(valid):
                    kept.append(_Branch(branch.values, valid))
            if not kept or (len(branches) == 1 and not np.all(kept[0].valid)):
                where = int(np.argmax(np.ravel(apart)))
                because = sorted(self._grounds(plan, equation.names, given), key=list(given).index)
                if not np.isfinite(_at(wanted, where)):
                    raise NoAnswer(
                        f"no real {self._label(equation.lhs)} fits "
                        f"{self._told(because, given, units, where)}."
                    )
                value = _at(branches[0].values[equation.lhs], where) * _unit(kind, units)
                other = _at(wanted, where) * _unit(kind, units)
                gap = abs(other - value)
                raise Contradiction(
                    f"{self._told(because, given, units, where)} contradict each other: "
                    f"{self._label(equation.lhs)} is {_brief(value)} by one and {_brief(other)} "
                    f"by the others, {_brief(gap)} apart. Leave one of them out."
                )
            branches = kept
        return branches

    def _grounds(
        self, plan: _Plan, names: frozenset[str], given: Mapping[str, Any]
    ) -> frozenset[str]:
        """The givens that a set of quantities was found from."""
        steps = {step.name: step for step in plan.steps}
        grounds: set[str] = set()
        seen: set[str] = set()
        queue = list(names)
        while queue:
            name = queue.pop()
            if name in seen:
                continue
            seen.add(name)
            if name in given:
                grounds.add(name)
            elif name in steps:
                queue += [n for i in steps[name].equations for n in self._equations[i].names]
        return frozenset(grounds)

    def _permitted(self, branches: list[_Branch], units: Mapping[str, Any]) -> list[_Branch]:
        for names, gap, otherwise in self._tests:
            if not names <= branches[0].values.keys():
                continue
            kept = []
            for branch in branches:
                valid = _both(branch.valid, gap(branch.values) >= -LENGTH.close / 2)
                if np.any(valid):
                    kept.append(_Branch(branch.values, valid))
            if not kept:
                told = self._told(
                    [name for name in self.variables if name in names], branches[0].values, units
                )
                raise NoAnswer(f"{otherwise} ({told})")
            branches = kept
        return branches

    def _settle(self, branches: list[_Branch]) -> list[_Branch]:
        """One branch for each distinct answer; for arrays, element by element."""
        distinct: list[_Branch] = []
        for branch in branches:
            for other in distinct:
                same = _same(self.variables, branch.values, other.values) & other.valid
                branch = _Branch(branch.values, branch.valid & ~np.asarray(same))
            if np.any(branch.valid):
                distinct.append(branch)
        if all(np.ndim(value) == 0 for branch in branches for value in branch.values.values()):
            return distinct
        return [_merged(distinct)]


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

    def __init__(
        self,
        relations: Relations,
        plan: _Plan,
        given: tuple[str, ...],
        base: Mapping[str, Any],
        units: Mapping[str, Any],
    ) -> None:
        self.relations = relations
        self.given = given
        self.base = {name: base[name] for name in relations.variables if name in base}
        self._plan = plan
        self._units = units

    def __getitem__(self, name: str) -> Quantity:
        if name in self.base:
            kind = self.relations.variables[name].kind
            quantity = sizes.ureg.Quantity(self.base[name], kind.base)
            return quantity.to(self._units[kind.name])
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
            lines.append(f"  {name:<{width}}  {_brief(self[name]):>12}  {mark}".rstrip())
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        rows = []
        for name in self.base:
            variable = self.relations.variables[name]
            mark = "given" if name in self.given else "<b>found</b>"
            rows.append(
                f"<tr><td style='text-align:left'>{_escape(variable.label)}</td>"
                f"<td><i>{_escape(variable.symbol)}</i></td>"
                f"<td>{_escape(_brief(self[name]))}</td><td>{mark}</td>"
                f"<td style='text-align:left'>{_escape(variable.meaning)}</td></tr>"
            )
        return (
            f"<table><caption>{_escape(self.relations.title)}</caption>"
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
        return Explanation(self, name)

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
        relations = self.relations
        if name in self.given:
            return Sensitivity(self, name, {name: 1.0})
        unknowns = [step.name for step in self._plan.steps]
        shape = np.broadcast_shapes(*(np.shape(value) for value in self.base.values()))
        used = [
            other
            for other in self.given
            if any(other in relations._equations[i].names for i in self._plan.equations)
        ]

        def columns(names: Sequence[str]) -> Any:
            return np.stack(
                [
                    np.stack(
                        [
                            np.broadcast_to(relations._partial(i, other)(self.base), shape)
                            for i in self._plan.equations
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
        """
        for other in plus_minus:
            if other not in self.given:
                raise TypeError(
                    f"{other!r} is not one of the givens, so it has no tolerance of its own. "
                    f"The givens are {', '.join(self.given)}."
                )
        return tolerance.spread(
            lambda **values: self.relations.solve(**values)[name], self.givens(), plus_minus
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
        units = self.solution._units
        derivative = sizes.ureg.Quantity(self.base[given], top.base / bottom.base)
        return derivative.to(units[top.name] / units[bottom.name])

    def __iter__(self) -> Iterator[str]:
        return iter(self.base)

    def __len__(self) -> int:
        return len(self.base)

    def rows(self) -> list[tuple[str, str]]:
        """For each given, most telling first: what changes, and what that does."""
        rows = []
        units = self.solution._units
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
            f"<tr><td style='text-align:left'>{_escape(text)}</td><td>{_escape(effect)}</td></tr>"
            for text, effect in self.rows()
        )
        head = _escape(self.name.replace("_", " "))
        return f"<table><tr><th>change</th><th>{head} moves by</th></tr>{rows}</table>"


class Explanation:
    """A worked calculation: each line an equation, the numbers put in, and the result."""

    def __init__(self, solution: Solution, name: str) -> None:
        self._solution = solution
        self._name = name

    def _lines(self, latex: bool) -> list[tuple[str, str, str, str]]:
        """Left side, expression, expression with numbers, result, for each step needed."""
        solution = self._solution
        relations = solution.relations
        steps = {step.name: step for step in solution._plan.steps}
        order: list[str] = []

        def need(name: str) -> None:
            step = steps.get(name)
            if step is None or name in order:
                return
            form = _form_used(solution, step)
            names = (
                {relations._by_symbol[str(symbol)].name for symbol in form.free_symbols}
                if form is not None
                else set().union(*(relations._equations[i].names for i in step.equations))
            )
            for other in sorted(names - {name}, key=list(relations.variables).index):
                if form is not None or other in solution.given:
                    need(other)
            order.append(name)

        need(self._name)
        printer = _printer(latex)
        lines = []
        for name in order:
            step = steps[name]
            symbol = printer({}).doprint(relations._symbols[relations.variables[name].symbol])
            form = _form_used(solution, step)
            result = _shown(solution[name], latex)
            if form is None:
                together = "; ".join(relations.equations[i] for i in step.equations)
                how = f"root of {together}"
                lines.append((symbol, rf"\text{{{how}}}" if latex else how, "", result))
                continue
            numbers = {
                str(symbol): _shown(solution[relations._by_symbol[str(symbol)].name], latex)
                for symbol in form.free_symbols
            }
            expression = printer({}).doprint(form)
            put_in = printer(numbers).doprint(form)
            lines.append((symbol, expression, "" if put_in == result else put_in, result))
        return lines

    def __str__(self) -> str:
        name = self._name
        if name in self._solution.given:
            return f"{name}: {_brief(self._solution[name])} (given)"
        text = []
        for symbol, expression, put_in, result in self._lines(latex=False):
            pad = " " * len(symbol)
            text.append(f"{symbol} = {expression}")
            if put_in:
                text.append(f"{pad} = {put_in}")
            text.append(f"{pad} = {result}")
        return "\n".join(text)

    __repr__ = __str__

    def _repr_latex_(self) -> str:
        name = self._name
        symbol = self._solution.relations.variables[name].symbol
        if name in self._solution.given:
            result = _shown(self._solution[name], latex=True)
            return rf"$\displaystyle {symbol} = {result}\quad\text{{(given)}}$"
        rows = []
        for left, expression, put_in, result in self._lines(latex=True):
            parts = [expression, *([put_in] if put_in else []), result]
            rows.append(rf"{left} &= " + r" \\ &= ".join(parts))
        return r"$$\begin{aligned}" + r" \\[2pt] ".join(rows) + r"\end{aligned}$$"


def _under_one_function(expression: Any, symbol: Any) -> bool:
    """Whether a symbol stands only in algebra, or only inside one and the same function."""
    import sympy

    functions = [f for f in expression.atoms(sympy.Function) if symbol in f.free_symbols]
    if not functions:
        return True
    outside = expression.subs(functions[0], sympy.Dummy())
    return len(functions) == 1 and symbol not in outside.free_symbols


def _form_used(solution: Solution, step: _Step) -> Any:
    """The closed form, of possibly several, that the value came from."""
    value = solution.base[step.name]
    with np.errstate(all="ignore"):
        for form, at in zip(step.forms, step.at, strict=True):
            if np.allclose(at(solution.base), value, rtol=1e-9, atol=1e-9, equal_nan=True):
                return form
    return None


def _printer(latex: bool) -> Callable[[Mapping[str, str]], Any]:
    from sympy.printing.latex import LatexPrinter
    from sympy.printing.str import StrPrinter

    base: Any = LatexPrinter if latex else StrPrinter

    class Printer(base):  # type: ignore[misc]
        def __init__(self, numbers: Mapping[str, str]) -> None:
            super().__init__()
            self.numbers = numbers

        def _print_Symbol(self, symbol: Any, **style: Any) -> str:
            number = self.numbers.get(str(symbol))
            return number if number is not None else super()._print_Symbol(symbol, **style)

        def _as_ordered_terms(self, sum_: Any, order: Any = None) -> list[Any]:
            # A person writes what is taken away after what it is taken from: D - C, not -C + D.
            terms = super()._as_ordered_terms(sum_, order=order)
            return sorted(terms, key=lambda term: term.could_extract_minus_sign())

    return Printer


def _shown(quantity: Quantity, latex: bool) -> str:
    text = _brief(quantity)
    if not latex:
        return text
    number, _, unit = text.partition(" ")
    if number.endswith("°"):
        return number.replace("°", r"^{\circ}")
    return rf"{number}\,\mathrm{{{unit}}}" if unit else number


def _candidates(step: _Step, variable: Variable, values: Mapping[str, Any]) -> list[Any]:
    if step.residual is None:
        return [at(values) for at in step.at]
    return _roots(step.residual, variable, values)


def _roots(
    residual_at: Callable[[Mapping[str, Any], Any], Any],
    variable: Variable,
    values: Mapping[str, Any],
) -> list[Any]:
    """Every root that a scan of the permitted range brackets, one array for each rank."""
    from scipy.optimize import elementwise

    shape = np.broadcast_shapes(*(np.shape(value) for value in values.values()))

    def residual(trial: Any, *held: Any) -> Any:
        # The root finder drops elements that have converged, from what is held as well.
        return residual_at(dict(zip(values, held, strict=True)) if held else values, trial)

    grid = _scan(variable)
    samples = np.stack([np.broadcast_to(residual(x), shape).astype(float) for x in grid])
    turns = np.signbit(samples[:-1]) != np.signbit(samples[1:])
    turns &= np.isfinite(samples[:-1]) & np.isfinite(samples[1:])
    found: list[Any] = []
    rank = np.cumsum(turns, axis=0) * turns
    for k in range(1, int(rank.max(initial=0)) + 1):
        here = rank == k
        some = here.any(axis=0)
        first = np.where(some, here.argmax(axis=0), 0)
        low, high = grid[first], grid[first + 1]
        held = tuple(np.broadcast_to(value, shape) for value in values.values())
        root = elementwise.find_root(residual, (low, high), args=held).x
        size = np.maximum(np.abs(residual(low)), np.abs(residual(high)))
        # A pole changes sign as a root does, but the residual does not come down there.
        real = some & (np.abs(residual(root)) <= 1e-6 * size + 1e-12)
        found.append(np.where(real, root, np.nan)[()])
    return found or [np.full(shape, np.nan)[()]]


def _scan(variable: Variable) -> Any:
    if np.isfinite(variable.high - variable.low):
        edge = 1e-9 * (variable.high - variable.low)
        low = variable.low if variable.zero else variable.low + edge
        return np.linspace(low, variable.high - edge, 2001)
    positive = np.geomspace(1e-6, 1e6, 2001)
    if np.isfinite(variable.low):
        return variable.low + np.concatenate([[0.0], positive])
    if np.isfinite(variable.high):
        return variable.high - positive[::-1]
    return np.concatenate([-positive[::-1], [0.0], positive])


def _within(variable: Variable, value: Any) -> tuple[Any, Any]:
    """A value with rounding dust on its lower limit wiped off, and where it is permitted."""
    if np.ndim(value) == 0:
        value = float(value)
        if variable.zero and -1e-9 < value - variable.low < 0:
            value = variable.low
        return value, bool(variable.permits(value))
    low, high = value.min(), value.max()
    if variable.zero and -1e-9 < low - variable.low < 0:
        value = np.where(np.abs(value - variable.low) < 1e-9, variable.low, value)
        low = value.min()
    # A whole array inside its limits is the usual case, and far cheaper to know than each one.
    if variable.permits(low) and variable.permits(high):
        return value, True
    return value, variable.permits(value)


def _both(one: Any, other: Any) -> Any:
    if one is True:
        return other
    return one if other is True else one & other


def _same(
    variables: Mapping[str, Variable], one: Mapping[str, Any], other: Mapping[str, Any]
) -> Any:
    same: Any = True
    for name in one:
        same = same & (np.abs(one[name] - other[name]) <= variables[name].kind.close)
    return same


def _merged(branches: list[_Branch]) -> _Branch:
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
    return _Branch(
        {
            name: np.select(valid, [branch.values[name] for branch in branches])[()]
            for name in branches[0].values
        }
    )


def _is_zero(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value == 0


def _in_inches(unit: Any) -> bool:
    _, parts = sizes.ureg.Quantity(1.0, unit).to_tuple()
    return any(name in ("inch", "foot", "thou") for name, _ in parts)


def _unit(kind: Kind, units: Mapping[str, Any]) -> Quantity:
    """One base unit of a kind, in the unit a person used."""
    unit = units.get(kind.name) or kind.unit
    return sizes.ureg.Quantity(1.0, kind.base).to(unit)


def _first(value: Any, where: Any) -> float:
    return float(np.ravel(value)[np.argmax(np.ravel(where))])


def _at(value: Any, where: int) -> float:
    flat = np.ravel(value)
    return float(flat[where if len(flat) > 1 else 0])


def _brief(quantity: Quantity) -> str:
    magnitude = quantity.magnitude
    if np.ndim(magnitude):
        ends = f"{_brief(quantity.min())} to {_brief(quantity.max())}"
        return f"{np.size(magnitude)} values from {ends}"
    if quantity.check("[length]") or quantity.units in (_DEGREE, _RADIAN):
        return sizes.show(quantity, fine=True)
    return sizes.show_rate(quantity)


def _escape(text: str) -> str:
    return html.escape(text)
