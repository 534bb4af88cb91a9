r"""One best set of dimensions from more measurements than are needed, and which one is off.

Calipers measure a form cutter more often than its shape has free numbers: the largest diameter,
the arc's height and the radius marked on it all tell the radius. With a standard uncertainty
:math:`u_i` for each measurement :math:`m_i`, the best dimensions p make

.. math:: \sum_i \left( \frac{m_i - f_i(p)}{u_i} \right)^2

as small as it gets. How far a measurement is from what *the others* say is larger than how far
it is from the best dimensions, because it has pulled those its own way; by how much follows from
its redundancy :math:`\rho_i`, the part of it that the others check (0: not at all, 1: entirely),

.. math:: m_i - m_{i,\,others} = \frac{m_i - f_i(p)}{\rho_i}, \qquad
    \rho_i = 1 - \left[ J (J^T J)^{-1} J^T \right]_{ii}

and in standard errors it is :math:`|m_i - f_i(p)| / (u_i \sqrt{\rho_i})`. The largest of these
is the one to measure again. Derivation: ``references/derivations-form-cutter.md``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from holecalc import sizes
from holecalc.sizes import Quantity

__all__ = ["CaliperError", "CaliperReport", "Disagreement", "Measurement", "adjust"]

Floats = NDArray[np.float64]

_CHECKED = 1e-6


class CaliperError(ValueError):
    """The measurements do not make the dimensions; the message says which, and what would."""


@dataclass(frozen=True)
class Measurement:
    """One measurement, and what it should read for given dimensions.

    Parameters
    ----------
    name : str
        What was measured, as a Python name.
    value : pint.Quantity
        What was read.
    uncertainty : pint.Quantity
        Its standard uncertainty.
    model : callable
        What it should read [mm or rad] for dimensions as an array.
    """

    name: str
    value: Quantity
    uncertainty: Quantity
    model: Callable[[Floats], float]

    @property
    def base(self) -> tuple[float, float]:
        """Value and uncertainty [mm or rad]."""
        read = sizes.mm if self.value.check("[length]") else sizes.rad
        return float(read(self.value)), float(read(self.uncertainty))


@dataclass(frozen=True)
class Disagreement:
    """How a measurement compares with the best dimensions.

    Parameters
    ----------
    name : str
        What was measured.
    measured, uncertainty, best : pint.Quantity
        What was read, its standard uncertainty, and what it should have read.
    off : pint.Quantity
        Measured less best.
    others_say : pint.Quantity or None
        What the other measurements make it; None where none of them checks it.
    times : float
        How many standard errors it is from what the others say; 0 where none checks it.
    """

    name: str
    measured: Quantity
    uncertainty: Quantity
    best: Quantity
    off: Quantity
    others_say: Quantity | None
    times: float

    @property
    def label(self) -> str:
        """The name as words."""
        return self.name.replace("_", " ")


@dataclass(frozen=True)
class CaliperReport:
    """What calipers and marks say about a cutter, and how well they agree.

    Parameters
    ----------
    rows : tuple of Disagreement
        Every measurement.
    measure_again : tuple of str
        The measurement that disagrees most with the others, if more than chance would have it;
        several where they cannot be told apart.
    notes : tuple of str
        What else has to be said.
    errors : mapping of str to pint.Quantity
        Standard errors of the dimensions found.
    """

    rows: tuple[Disagreement, ...]
    measure_again: tuple[str, ...]
    notes: tuple[str, ...]
    errors: Mapping[str, Quantity]

    @property
    def agrees(self) -> bool:
        """Whether all measurements agree within what their uncertainties allow."""
        return not self.measure_again

    def __getitem__(self, name: str) -> Disagreement:
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(name)

    @property
    def verdict(self) -> str:
        """Whether to measure again, and what."""
        if self.agrees:
            return "the measurements agree within their uncertainties"
        told = []
        for name in self.measure_again:
            row = self[name]
            told.append(
                f"{row.label} ({_fine(row.measured)}; the others say {_fine(row.others_say)}, "
                f"{row.times:.1f} standard errors away)"
            )
        if len(told) == 1:
            return f"measure again: {told[0]}"
        return "measure again, for it cannot be told which of them is off: " + "; ".join(told)

    def __str__(self) -> str:
        head = ("measurement", "measured", "best profile", "off by", "others say")
        table = [head]
        for row in self.rows:
            others = "not checked" if row.others_say is None else _fine(row.others_say)
            table.append((row.label, _fine(row.measured), _fine(row.best), _fine(row.off), others))
        widths = [max(len(line[column]) for line in table) for column in range(len(head))]
        lines = [
            "  ".join(f"{cell:<{width}}" for cell, width in zip(line, widths, strict=True)).rstrip()
            for line in table
        ]
        return "\n".join([*lines, self.verdict, *self.notes])


def adjust(
    measurements: Sequence[Measurement],
    start: Sequence[float],
    *,
    would_do: Sequence[Measurement] = (),
) -> tuple[Floats, Floats, tuple[Disagreement, ...], tuple[str, ...]]:
    """The best dimensions, their covariance, and how far each measurement is off.

    Parameters
    ----------
    measurements : sequence of Measurement
        What was measured.
    start : sequence of float
        Rough dimensions [mm or rad].
    would_do : sequence of Measurement
        What could be measured besides, to be named where too little was.

    Returns
    -------
    dimensions, covariance : numpy.ndarray
        [mm or rad], and their squares.
    rows : tuple of Disagreement
    measure_again : tuple of str
        As in :class:`CaliperReport`.

    Raises
    ------
    CaliperError
        The measurements do not fix the dimensions; names what would.
    """
    from scipy.optimize import least_squares
    from scipy.special import ndtri

    values, doubts = np.array([m.base for m in measurements]).T

    def misfit(dimensions: Floats) -> Floats:
        return np.array(
            [
                (m.model(dimensions) - value) / doubt
                for m, value, doubt in zip(measurements, values, doubts, strict=True)
            ]
        )

    at_start = _slopes(measurements, np.asarray(start, dtype=float)) / doubts[:, None]
    _refuse_too_few(measurements, at_start, np.asarray(start, dtype=float), would_do)
    dimensions = least_squares(misfit, start, x_scale=1.0, xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    slopes = _slopes(measurements, dimensions) / doubts[:, None]
    covariance = np.linalg.inv(slopes.T @ slopes)
    redundancy = 1 - np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    off = -misfit(dimensions)
    rows = []
    for i, measurement in enumerate(measurements):
        checked = redundancy[i] > _CHECKED
        unit = measurement.value.units
        back = sizes.from_mm if measurement.value.check("[length]") else sizes.from_rad
        others = values[i] - off[i] * doubts[i] / redundancy[i] if checked else math.nan
        rows.append(
            Disagreement(
                name=measurement.name,
                measured=measurement.value,
                uncertainty=measurement.uncertainty,
                best=back(values[i] - off[i] * doubts[i], unit),
                off=back(off[i] * doubts[i], unit),
                others_say=back(others, unit) if checked else None,
                times=float(abs(off[i]) / math.sqrt(redundancy[i])) if checked else 0.0,
            )
        )
    checked_rows = sum(row.others_say is not None for row in rows)
    # As many measurements have as many chances to look off; 1 in 20 for all of them together.
    limit = float(ndtri(1 - 0.025 / max(checked_rows, 1)))
    worst = max(row.times for row in rows)
    again = tuple(row.name for row in rows if worst > limit and row.times > worst * (1 - 1e-3))
    return dimensions, np.asarray(covariance), tuple(rows), again


def _slopes(measurements: Sequence[Measurement], at: Floats) -> Floats:
    """What each measurement moves by for each dimension."""
    step = 1e-6
    columns = []
    for i in range(len(at)):
        move = np.zeros_like(at)
        move[i] = step
        columns.append(
            [(m.model(at + move) - m.model(at - move)) / (2 * step) for m in measurements]
        )
    return np.array(columns).T


def _refuse_too_few(
    measurements: Sequence[Measurement],
    slopes: Floats,
    start: Floats,
    would_do: Sequence[Measurement],
) -> None:
    if np.linalg.matrix_rank(slopes, tol=1e-6) == len(start):
        return
    have = ", ".join(m.name.replace("_", " ") for m in measurements) or "nothing"
    cures = []
    for other in would_do:
        row = _slopes([other], start) / other.base[1]
        if np.linalg.matrix_rank(np.vstack([slopes, row]), tol=1e-6) == len(start):
            cures.append(other.name.replace("_", " "))
    cure = f"Measure one of: {', '.join(cures)}." if cures else "Measure at least two more."
    raise CaliperError(f"{have} alone do not fix the profile. {cure}")


def _fine(quantity: Any) -> str:
    return sizes.show(quantity, fine=True)
