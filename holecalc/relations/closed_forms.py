r"""One equation solved for one unknown in closed form, where that is quick.

sympy can search for seconds for forms that nobody would read, or that hold no real number. So it
is asked only where the unknown stands

- in algebra, with a numerator of at most the second degree;
- under one square root, of which squaring leaves no more than that;
- inside one function, whose value follows by one of these;
- inside several trigonometric functions of the same argument u, which are algebra in the tangent
  of its half:

  .. math:: t = \tan\frac u2,\quad
     \sin u = \frac{2t}{1+t^2},\quad \cos u = \frac{1-t^2}{1+t^2},\quad \tan u = \frac{2t}{1-t^2}

For everything else there is the scan for roots (:mod:`holecalc.relations.roots`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class ClosedForms:
    """Every explicit form of an unknown; no forms where there is none to be had quickly.

    Parameters
    ----------
    forms : tuple of sympy.Expr
        All that can be answers.
    root : sympy.Expr, optional
        What the square root over the unknown comes to, without the square root. Squaring lets in
        answers that make it negative, which are none.
    """

    forms: tuple[Any, ...] = ()
    root: Any = None


_NONE = ClosedForms()


def closed_forms(expression: Any, symbol: Any, low: float, high: float) -> ClosedForms:
    """Where an expression is zero.

    Parameters
    ----------
    expression : sympy.Expr
        To be zero.
    symbol : sympy.Symbol
        The unknown.
    low, high : float
        Between which it is looked for.

    Returns
    -------
    ClosedForms
    """
    import sympy

    inside = [f for f in expression.atoms(sympy.Function) if f.has(symbol)]
    if not inside:
        found = _algebraic(expression, symbol)
    elif len(inside) == 1:
        found = _in_one_function(expression, symbol, inside[0], low, high)
    else:
        found = _in_half_tangent(expression, symbol, inside, low, high)
    if any(form.has(sympy.I, sympy.zoo, sympy.nan) for form in found.forms):
        return _NONE
    return found


def _algebraic(expression: Any, symbol: Any) -> ClosedForms:
    import sympy

    powers = [power for power in expression.atoms(sympy.Pow) if power.base.has(symbol)]
    radicals = {power.base for power in powers if not power.exp.is_Integer}
    if not radicals:
        return ClosedForms(_of_degree_two(expression, symbol))
    if len(radicals) > 1 or any(not (2 * power.exp).is_Integer for power in powers):
        return _NONE
    (under,) = radicals
    if not under.is_rational_function(symbol):
        return _NONE
    return _under_a_square_root(expression, symbol, under)


def _of_degree_two(expression: Any, symbol: Any) -> tuple[Any, ...]:
    """Where a rational function of the first or second degree is zero."""
    import sympy

    coefficients = _coefficients(expression, symbol)
    if len(coefficients) == 2:
        # Not from the coefficients, which are multiplied out: (D - C)/k reads better.
        found = sympy.solve(expression, symbol, simplify=False, check=False)
        return tuple(sympy.together(form) for form in found)
    if len(coefficients) == 3:
        a, b, c = coefficients
        if a.could_extract_minus_sign():
            # So that the smaller answer comes first, and fewer signs are read.
            a, b, c = -a, -b, -c
        under = b**2 - 4 * a * c
        under = min(sympy.expand(under), sympy.factor_terms(under), key=sympy.count_ops)
        return tuple(sympy.together((-b + sign * sympy.sqrt(under)) / (2 * a)) for sign in (-1, 1))
    return ()


def _coefficients(expression: Any, symbol: Any) -> list[Any]:
    """Of the numerator in lowest terms, the highest power first; none if it is no polynomial."""
    import sympy

    try:
        numerator, _ = sympy.fraction(sympy.cancel(sympy.together(expression)))
        return list(sympy.Poly(numerator, symbol).all_coeffs())
    except sympy.PolynomialError:
        return []


def _under_a_square_root(expression: Any, symbol: Any, under: Any) -> ClosedForms:
    """With w the root: a + b w = 0 gives w = -a/b, and a² = b² w² an equation without it."""
    import sympy

    root = sympy.Dummy("w", positive=True)
    without = expression.replace(
        lambda part: part.is_Pow and part.base == under and not part.exp.is_Integer,
        lambda part: root ** (2 * part.exp),
    )
    a, b = sympy.Integer(0), sympy.Integer(0)
    coefficients = _coefficients(without, root)
    for power, coefficient in enumerate(reversed(coefficients)):
        whole, odd = divmod(power, 2)
        if odd:
            b += coefficient * under**whole
        else:
            a += coefficient * under**whole
    if sympy.expand(b) == 0:
        return _NONE
    return ClosedForms(_of_degree_two(a**2 - b**2 * under, symbol), root=-a / b)


def _in_one_function(
    expression: Any, symbol: Any, function: Any, low: float, high: float
) -> ClosedForms:
    import sympy

    # Of these sympy tells the inverses in one turn only. Without limits those are what is meant.
    turn = {
        sympy.sin: (-math.pi / 2, 3 * math.pi / 2),
        sympy.cos: (0.0, 2 * math.pi),
        sympy.tan: (-math.pi / 2, math.pi / 2),
    }.get(function.func)
    limited = math.isfinite(high - low)
    if turn and limited and not _runs_between(function.args[0], symbol, (low, high), turn):
        return _NONE
    value = sympy.Dummy("f", real=True)
    outside = expression.subs(function, value)
    if outside.has(symbol) or not all(arg.is_polynomial(symbol) for arg in function.args):
        return _NONE
    values = _algebraic(outside, value)
    try:
        inverses = sympy.solve(function - value, symbol, simplify=False)
    except NotImplementedError:
        return _NONE
    if not all(isinstance(form, sympy.Expr) and _explicit(form, symbol) for form in inverses):
        return _NONE
    forms = tuple(form.subs(value, at) for form in inverses for at in values.forms)
    root = None if values.root is None else values.root.subs(value, function)
    return ClosedForms(forms, root)


def _runs_between(
    argument: Any, symbol: Any, limits: tuple[float, float], ends: tuple[float, float]
) -> bool:
    """Whether a multiple of the unknown, shifted perhaps, stays between two ends."""
    multiple, offset = argument.diff(symbol), argument.subs(symbol, 0)
    if not (multiple.is_number and offset.is_number):
        return False
    reached = [float(multiple) * limit + float(offset) for limit in limits]
    return ends[0] - 1e-9 <= min(reached) and max(reached) <= ends[1] + 1e-9


def _explicit(form: Any, symbol: Any) -> bool:
    import sympy

    return not form.has(symbol, sympy.Piecewise, sympy.RootOf)


def _in_half_tangent(
    expression: Any, symbol: Any, inside: list[Any], low: float, high: float
) -> ClosedForms:
    import sympy

    trigonometric = (sympy.sin, sympy.cos, sympy.tan, sympy.cot, sympy.sec, sympy.csc)
    arguments = {function.args[0] for function in inside}
    if len(arguments) > 1 or not all(isinstance(function, trigonometric) for function in inside):
        return _NONE
    (argument,) = arguments
    # 2 atan(t) runs from -π to π, and would miss an argument beyond.
    if not _runs_between(argument, symbol, (low, high), (-math.pi, math.pi)):
        return _NONE
    multiple, offset = argument.diff(symbol), argument.subs(symbol, 0)
    t = sympy.Dummy("t", real=True)
    sine, cosine = 2 * t / (1 + t**2), (1 - t**2) / (1 + t**2)
    in_t = {
        sympy.sin: sine,
        sympy.cos: cosine,
        sympy.tan: sine / cosine,
        sympy.cot: cosine / sine,
        sympy.sec: 1 / cosine,
        sympy.csc: 1 / sine,
    }
    outside = expression.subs({function: in_t[function.func] for function in inside})
    if outside.has(symbol):
        return _NONE
    return ClosedForms(
        tuple((2 * sympy.atan(form) - offset) / multiple for form in _of_degree_two(outside, t))
    )
