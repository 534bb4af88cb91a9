"""What is declared of a quantity, and what is said when the givens do not do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from holecalc.relations.kinds import Kind, brief, shown_unit
from holecalc.sizes import Quantity

DUST = 1e-9
"""What rounding may leave of a value that should be none [base unit]."""


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

    solutions: tuple[Mapping[str, Quantity], ...] = ()


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
        """Whether a value, or each of an array, is finite and within the limits.

        What is calculated to lie on a limit comes out a little either side of it, so a limit that
        is not permitted itself is kept away from by as much.
        """
        above = value >= self.low if self.zero else value > self.low + DUST
        return above & (value < self.high - DUST) & np.isfinite(value)

    @property
    def limits(self) -> str:
        """The limits in words."""
        unit = shown_unit(self.kind, {})

        def told(limit: float) -> str:
            return brief(limit * unit) if limit else "0"

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


def within(variable: Variable, value: Any) -> tuple[Any, Any]:
    """A value with rounding dust on its lower limit wiped off, and where it is permitted."""
    if np.ndim(value) == 0:
        value = float(value)
        if variable.zero and -DUST < value - variable.low < 0:
            value = variable.low
        return value, bool(variable.permits(value))
    low, high = value.min(), value.max()
    if variable.zero and -DUST < low - variable.low < 0:
        value = np.where(np.abs(value - variable.low) < DUST, variable.low, value)
        low = value.min()
    # A whole array inside its limits is the usual case, and far cheaper to know than each one.
    if variable.permits(low) and variable.permits(high):
        return value, True
    return value, variable.permits(value)
