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
   there is one to be had quickly, else as every root that a scan brackets.
3. Equations whose quantities were all given must agree with them.

The way is worked out once for each set of names and kept, so solving again is only arithmetic.
sympy is imported when the first equation is looked at, not before.

Where what is
-------------
Each module imports only from those above it.

================  ==============================================================================
``kinds``         what a quantity measures: units, reading, how close is close enough
``declared``      one quantity, one condition, and the errors
``closed_forms``  one equation solved for one unknown, where that is quick
``algebra``       all equations of a declaration: parsed, differentiated, compiled
``plan``          the order in which unknowns are found
``roots``         roots bracketed by a scan, for what has no closed form
``arithmetic``    numbers carried through a plan
``answer``        one set of values, with how it was come by
``explanation``   the calculation written out
``solution``      the values as quantities; sensitivity and spread
``core``          :class:`Relations` itself
================  ==============================================================================
"""

from holecalc.relations.core import Relations
from holecalc.relations.declared import (
    Condition,
    Contradiction,
    NoAnswer,
    OutOfRange,
    RelationsError,
    SeveralAnswers,
    TooFewGivens,
    Variable,
)
from holecalc.relations.explanation import Explanation
from holecalc.relations.kinds import (
    ANGLE,
    COUNT,
    FEED_RATE,
    LENGTH,
    SPINDLE_SPEED,
    SURFACE_SPEED,
    Kind,
)
from holecalc.relations.solution import Sensitivity, Solution

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
