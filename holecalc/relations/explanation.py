"""A calculation written out as a person would: equation, numbers put in, result."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from holecalc.relations.answer import Answer
from holecalc.relations.kinds import brief
from holecalc.relations.plan import Step
from holecalc.sizes import Quantity


class Explanation:
    """A worked calculation: each line an equation, the numbers put in, and the result."""

    def __init__(self, answer: Answer, name: str) -> None:
        self._answer = answer
        self._name = name

    def _order(self) -> list[tuple[Step, Any]]:
        """The steps needed, each after those it rests on, with the closed form each came from."""
        answer = self._answer
        steps = {step.name: step for step in answer.plan.steps}
        order: dict[str, tuple[Step, Any]] = {}

        def need(name: str) -> None:
            step = steps.get(name)
            if step is None or name in order:
                return
            form = _form_used(answer, step)
            if form is None:
                names = answer.algebra.tied_by(step.equations) & set(answer.given)
            else:
                names = answer.algebra.names_in(form)
            for other in answer.variables:
                if other in names and other != name:
                    need(other)
            order[name] = (step, form)

        need(self._name)
        return list(order.values())

    def _lines(self, latex: bool) -> list[tuple[str, str, str, str]]:
        """Left side, expression, expression with numbers, result, for each step needed."""
        answer = self._answer
        algebra = answer.algebra
        printer = _printer(latex)
        lines = []
        for step, form in self._order():
            symbol = printer({}).doprint(algebra.symbol(step.name))
            result = _shown(answer.quantity(step.name), latex)
            if form is None:
                together = "; ".join(algebra.equations[index].text for index in step.equations)
                how = f"root of {together}"
                lines.append((symbol, rf"\text{{{how}}}" if latex else how, "", result))
                continue
            numbers = {
                str(algebra.symbol(name)): _shown(answer.quantity(name), latex)
                for name in algebra.names_in(form)
            }
            put_in = "" if form.is_Symbol else printer(numbers).doprint(form)
            lines.append((symbol, printer({}).doprint(form), put_in, result))
        return lines

    def __str__(self) -> str:
        name = self._name
        if name in self._answer.given:
            return f"{name}: {brief(self._answer.quantity(name))} (given)"
        text = []
        for symbol, expression, put_in, result in self._lines(latex=False):
            pad = " " * len(symbol)
            text.append(f"{symbol} = {expression}")
            if put_in and put_in != result:
                text.append(f"{pad} = {put_in}")
            text.append(f"{pad} = {result}")
        return "\n".join(text)

    __repr__ = __str__

    def _repr_latex_(self) -> str:
        name = self._name
        if name in self._answer.given:
            symbol = self._answer.variables[name].symbol
            result = _shown(self._answer.quantity(name), latex=True)
            return rf"$\displaystyle {symbol} = {result}\quad\text{{(given)}}$"
        rows = []
        for left, expression, put_in, result in self._lines(latex=True):
            parts = [expression, *([put_in] if put_in and put_in != result else []), result]
            rows.append(rf"{left} &= " + r" \\ &= ".join(parts))
        return r"$$\begin{aligned}" + r" \\[2pt] ".join(rows) + r"\end{aligned}$$"


def _form_used(answer: Answer, step: Step) -> Any:
    """The closed form, of possibly several, that the value came from."""
    value = answer.base[step.name]
    with np.errstate(all="ignore"):
        for form, at in zip(step.forms, step.at, strict=True):
            if np.allclose(at(answer.base), value, rtol=1e-9, atol=1e-9, equal_nan=True):
                return form
    return None


def _printer(latex: bool) -> Callable[[Mapping[str, str]], Any]:
    from sympy.printing.latex import LatexPrinter
    from sympy.printing.precedence import PRECEDENCE
    from sympy.printing.str import StrPrinter

    base: Any = LatexPrinter if latex else StrPrinter
    left, right = (r"\left(", r"\right)") if latex else ("(", ")")

    class Printer(base):  # type: ignore[misc]
        def __init__(self, numbers: Mapping[str, str]) -> None:
            # Numbers with their units, side by side, would read as one.
            super().__init__({"mul_symbol": "dot"} if latex and numbers else {})
            self.numbers = numbers

        def _print_Symbol(self, symbol: Any, **style: Any) -> str:
            number = self.numbers.get(str(symbol))
            if number is None:
                return str(super()._print_Symbol(symbol, **style))
            return f"{left}{number}{right}" if number.startswith("-") else number

        def parenthesize(self, item: Any, level: float, *how: Any, **named: Any) -> str:
            text = str(super().parenthesize(item, level, *how, **named))
            # A power of a bare 3.000 mm would be read as one of the unit alone.
            bare = str(item) in self.numbers and not text.startswith(left)
            if level >= PRECEDENCE["Pow"] and bare and not re.fullmatch(r"[\d.]+", text):
                return f"{left}{text}{right}"
            return text

        def parenthesize_super(self, text: str) -> str:
            if text.startswith(left):
                return text
            return str(super().parenthesize_super(text))

        def _as_ordered_terms(self, sum_: Any, order: Any = None) -> list[Any]:
            # A person writes what is taken away after what it is taken from: D - C, not -C + D.
            terms = super()._as_ordered_terms(sum_, order=order)
            return sorted(terms, key=lambda term: term.could_extract_minus_sign())

    return Printer


def _shown(quantity: Quantity, latex: bool) -> str:
    text = brief(quantity)
    if not latex:
        return text
    number, _, unit = text.partition(" ")
    if number.endswith("°"):
        return number.replace("°", r"^{\circ}")
    return rf"{number}\,\mathrm{{{unit}}}" if unit else number
