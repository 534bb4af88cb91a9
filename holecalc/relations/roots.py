"""Roots of what has no closed form, each bracketed by a scan of the permitted range."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from holecalc.relations.algebra import Compiled
from holecalc.relations.declared import Variable

MOST = 12
"""Roots of one element; more come of rounding, or of something that is not determined."""

AT_ONCE = 4_000_000
"""Floats in one array of the scan, so that a million elements do not need gigabytes."""

_NOTHING = 1e-9
"""A residual that stays within this [base unit] over the whole range is zero everywhere."""


class Undetermined(Exception):
    """More roots than can be meant, or nothing but roots.

    Attributes
    ----------
    element : int
        The first element where that is so.
    """

    def __init__(self, element: int) -> None:
        super().__init__(element)
        self.element = element


def find_roots(residual: Compiled, variable: Variable, values: Mapping[str, Any]) -> list[Any]:
    """Every root in the permitted range, one array for each rank, nan where there is none.

    Parameters
    ----------
    residual : Compiled
        Zero at a root.
    variable : Variable
        The unknown.
    values : mapping of str to float or array
        The other quantities; arrays broadcast.

    Raises
    ------
    Undetermined
        There are more than :data:`MOST`, or the residual is zero everywhere.
    """
    held = {name: values[name] for name in residual.names if name != variable.name}
    shape = np.broadcast_shapes(*(np.shape(value) for value in held.values()))
    count = math.prod(shape)
    flat = {
        name: np.broadcast_to(value, shape).reshape(-1) if np.ndim(value) else value
        for name, value in held.items()
    }
    grid = _scan(variable)
    step = max(1, AT_ONCE // len(grid))
    found = np.full((1, count), np.nan)
    for start in range(0, count, step):
        here = slice(start, min(start + step, count))
        part = {name: value[here] if np.ndim(value) else value for name, value in flat.items()}
        try:
            elements, roots = _in_part(residual, variable.name, part, grid, here.stop - start)
        except Undetermined as error:
            raise Undetermined(start + error.element) from None
        # Elements come in order, so an element's first root is where it would be inserted.
        rank = np.arange(len(elements)) - np.searchsorted(elements, elements)
        more = int(rank.max(initial=0)) + 1 - len(found)
        if more > 0:
            found = np.concatenate([found, np.full((more, count), np.nan)])
        found[rank, start + elements] = roots
    return [ranked.reshape(shape)[()] for ranked in found]


def _in_part(
    residual: Compiled, name: str, held: Mapping[str, Any], grid: Any, count: int
) -> tuple[Any, Any]:
    """Elements and their roots, in order."""
    from scipy.optimize import elementwise

    samples = np.broadcast_to(residual({**held, name: grid[:, None]}), (len(grid), count))
    finite = np.isfinite(samples)
    flat = finite.any(axis=0) & (
        np.max(np.abs(samples), axis=0, where=finite, initial=0) < _NOTHING
    )
    if flat.any():
        raise Undetermined(int(flat.argmax()))
    signs = np.sign(np.where(finite, samples, np.nan)).T
    zero = signs == 0
    # Of a run of zeros, which rounding makes of a root that is touched slowly, only the first.
    zero[:, 1:] &= ~zero[:, :-1].copy()
    on_grid, at = np.nonzero(zero)
    turning, first = np.nonzero(signs[:, :-1] * signs[:, 1:] < 0)

    arrays = [other for other, value in held.items() if np.ndim(value)]

    def at_trial(trial: Any, *others: Any) -> Any:
        # The root finder drops elements that have converged, from what is held as well.
        return residual({**held, **dict(zip(arrays, others, strict=True)), name: trial})

    own = tuple(held[other][turning] for other in arrays)
    low, high = grid[first], grid[first + 1]
    root = elementwise.find_root(at_trial, (low, high), args=own).x
    size = np.maximum(np.abs(samples[first, turning]), np.abs(samples[first + 1, turning]))
    # A pole changes sign as a root does, but the residual does not come down there.
    real = np.abs(at_trial(root, *own)) <= 1e-6 * size + 1e-12

    elements = np.concatenate([on_grid, turning[real]])
    roots = np.concatenate([grid[at], root[real]])
    order = np.lexsort((roots, elements))
    elements, roots = elements[order], roots[order]
    many = np.bincount(elements, minlength=1) > MOST
    if many.any():
        raise Undetermined(int(many.argmax()))
    return elements, roots


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
