"""A form cutter's dimensions from what was measured on it: by calipers, or as a trace.

Both functions return what :class:`holecalc.form_cutter.FormCutter` is made of, with the evidence.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Protocol

import numpy as np

from holecalc import sizes
from holecalc.form_cutter import arc_fit, caliper_fit, outline
from holecalc.form_cutter.arc_fit import ArcFit, LineFit
from holecalc.form_cutter.caliper_fit import CaliperReport, Measurement
from holecalc.form_cutter.outline import Line
from holecalc.form_cutter.section import (
    NOTHING,
    QUARTER,
    FormCutterError,
    more_than_0,
    read_flank_angle,
)
from holecalc.form_cutter.trace import Flags, Floats, Trace
from holecalc.sizes import Quantity, Size

__all__ = ["UNCERTAINTIES", "TraceReport", "from_calipers", "from_trace"]

_fine = partial(sizes.show, fine=True)

_NEARLY = math.radians(15)
"""An arc traced to within this of a quarter's end is taken to reach it."""
_BELONGS = 3.5
"""A row further than this many standard uncertainties from a cylinder or ledge is not on it."""

UNCERTAINTIES: Mapping[str, Size] = {
    "stub_diameter": "0.03 mm",
    "begin_diameter": "0.05 mm",
    "largest_diameter": "0.03 mm",
    "arc_height": "0.1 mm",
    "shoulder_height": "0.1 mm",
    "marked_radius": "0.1 mm",
    "marked_angle": "0.5°",
}
"""Standard uncertainties of careful caliper work on a two-edged cutter, and of what is marked on
one (common practice, no source)."""


# --- from calipers -------------------------------------------------------------------------------


def from_calipers(
    shape: str,
    given: Mapping[str, Size],
    *,
    sweep: Size | None,
    uncertainties: Mapping[str, Size] | None,
) -> dict[str, Any]:
    """What a cutter is made of, from what calipers read; see :meth:`FormCutter.from_calipers`.

    Parameters
    ----------
    shape : str
        Of the cutter.
    given : mapping of str to size
        What was measured, by the names of :data:`UNCERTAINTIES`.
    sweep : angle or None
        Of the arc; None where it is to be found.
    uncertainties : mapping of str to size or None
        Standard uncertainties that differ from :data:`UNCERTAINTIES`.

    Returns
    -------
    dict
        Arguments of :class:`FormCutter`.
    """
    doubts = _uncertainties(uncertainties)
    read = _read(shape, given)
    _refuse_misordered(read, doubts)
    notes: list[str] = []
    on_stub = _begins_on_stub(read, doubts, notes)
    turn = None if sweep is None else _sweep(sweep)
    sought = _Sought(shape, read, turn, on_stub)
    start = _rough(shape, read, turn)
    best, covariance, rows, again = caliper_fit.adjust(
        [Measurement(name, size, doubts[name], sought.models[name]) for name, size in read.items()],
        [start[name] for name in sought.names],
        would_do=[
            Measurement(name, _ANY[name == "marked_angle"], doubts[name], model)
            for name, model in sought.models.items()
            if name not in read
        ],
    )
    if "sweep" in sought.names and sought.sweep(best) > QUARTER:
        over = sizes.show(sizes.from_rad(sought.sweep(best)), places=1)
        made = from_calipers(shape, given, sweep=90, uncertainties=uncertainties)
        told = (
            f"the arc came out at {over}, more than such a cutter has; it is taken for a quarter."
        )
        quarter: CaliperReport = made["evidence"]
        return {**made, "evidence": replace(quarter, notes=(*quarter.notes, told))}
    unit = next(size.units for name, size in read.items() if name != "marked_angle")
    if all(row.others_say is None for row in rows):
        notes.append("nothing was measured twice over, so nothing checks these measurements.")
    errors = {
        name: sizes.from_rad(error) if name == "sweep" else sizes.from_mm(error, unit)
        for name, error in zip(sought.names, np.sqrt(np.diag(covariance)), strict=True)
    }
    report = CaliperReport(rows, again, tuple(notes), errors)
    if not np.all(best > 0):
        raise FormCutterError(
            f"the measurements do not make a {shape} cutter: {report.verdict}. Measure them again."
        )
    return {**sought.cutter(best, unit), "evidence": report}


_ANY = (sizes.from_mm(1.0), sizes.from_rad(1.0))
"""Stand-ins for what was not measured: only what it would be of matters, not how much."""


class _Sought:
    """The numbers that are looked for, and what each measurement is of them.

    ``begin`` and ``stub`` are radii. An arc has a ``radius`` and, where that is not given, a
    ``sweep``; a straight flank has a ``width`` and a ``height``.
    """

    def __init__(
        self, shape: str, read: Mapping[str, Quantity], turn: float | None, on_stub: bool
    ) -> None:
        self.shape, self.turn = shape, turn
        self.names = ["begin"]
        if shape == "straight":
            self.names += ["width", "height"]
        else:
            self.names += ["radius"] if turn is not None else ["radius", "sweep"]
        if "stub_diameter" in read and not on_stub:
            self.names.append("stub")
        if "shoulder_height" in read:
            self.names.append("shoulder")
        self.models: dict[str, Callable[[Floats], float]] = {
            "begin_diameter": lambda p: 2 * self.of(p, "begin"),
            "largest_diameter": lambda p: 2 * (self.of(p, "begin") + self.width(p)),
            "arc_height": self.height,
        }
        if shape == "straight":
            self.models["marked_angle"] = lambda p: math.atan2(self.width(p), self.height(p))
        else:
            self.models["marked_radius"] = lambda p: self.of(p, "radius")
        if "stub_diameter" in read:
            carrier = "stub" if "stub" in self.names else "begin"
            self.models["stub_diameter"] = lambda p: 2 * self.of(p, carrier)
        if "shoulder" in self.names:
            self.models["shoulder_height"] = lambda p: self.of(p, "shoulder")

    def of(self, p: Floats, name: str) -> float:
        return float(p[self.names.index(name)])

    def sweep(self, p: Floats) -> float:
        return self.of(p, "sweep") if self.turn is None else self.turn

    def width(self, p: Floats) -> float:
        """From where the edge begins out to where it ends."""
        if self.shape == "straight":
            return self.of(p, "width")
        return self.of(p, "radius") * (1 - math.cos(self.sweep(p)))

    def height(self, p: Floats) -> float:
        if self.shape == "straight":
            return self.of(p, "height")
        return self.of(p, "radius") * math.sin(self.sweep(p))

    def cutter(self, p: Floats, unit: Any) -> dict[str, Any]:
        """Arguments of a cutter that has these numbers."""
        stub = self.of(p, "stub" if "stub" in self.names else "begin")
        begin = self.of(p, "begin")
        made: dict[str, Any] = {
            "begin_diameter": sizes.from_mm(2 * begin, unit),
            # Measured apart and adjusted apart, the two may change places by a hair.
            "stub_diameter": sizes.from_mm(2 * min(stub, begin), unit),
        }
        if "shoulder" in self.names:
            made["shoulder_height"] = sizes.from_mm(self.of(p, "shoulder"), unit)
        if self.shape == "straight":
            made["flank_angle"] = sizes.from_rad(math.atan2(self.width(p), self.height(p)))
            made["arc_height"] = sizes.from_mm(self.height(p), unit)
            return made
        over = sizes.from_rad(min(self.sweep(p), QUARTER))
        first, last = (0, over) if self.shape == "concave" else (over, 0)
        made |= {
            "radius": sizes.from_mm(self.of(p, "radius"), unit),
            "begin_angle": first,
            "end_angle": last,
        }
        return made


def _read(shape: str, given: Mapping[str, Size]) -> dict[str, Quantity]:
    wrong = "marked_radius" if shape == "straight" else "marked_angle"
    if wrong in given:
        raise FormCutterError(
            f"a {shape} cutter has no {wrong.replace('_', ' ')}. Leave it out, or say another "
            "shape."
        )
    read = {
        name: read_flank_angle(value)
        if name == "marked_angle"
        else more_than_0(name.replace("_", " "), value)
        for name, value in given.items()
    }
    if not any(name.endswith("diameter") for name in read):
        raise FormCutterError(
            "no diameter was given, and without one nothing is known from the axis out. Measure "
            "the largest diameter, or where the arc begins."
        )
    return read


def _uncertainties(given: Mapping[str, Size] | None) -> dict[str, Quantity]:
    known = {**UNCERTAINTIES, **(given or {})}
    for name in known:
        if name not in UNCERTAINTIES:
            raise TypeError(f"{name!r} is not measured. These are: {', '.join(UNCERTAINTIES)}.")
    read = {
        name: sizes.angle(size) if name == "marked_angle" else sizes.length(size)
        for name, size in known.items()
    }
    for name, size in read.items():
        if size.magnitude <= 0:
            raise FormCutterError(
                f"the uncertainty of the {name.replace('_', ' ')} is {sizes.show(size)}; it must "
                "be more than 0."
            )
    return read


def _refuse_misordered(read: Mapping[str, Quantity], doubts: Mapping[str, Quantity]) -> None:
    """Refuse diameters that are the wrong way round by far more than they may be off."""
    order = [n for n in ("stub_diameter", "begin_diameter", "largest_diameter") if n in read]
    for inner, outer in itertools.pairwise(order):
        both = math.hypot(sizes.mm(doubts[inner]), sizes.mm(doubts[outer]))
        if sizes.mm(read[inner]) > sizes.mm(read[outer]) + 4 * both:
            raise FormCutterError(
                f"the {inner.replace('_', ' ')} is {_fine(read[inner])} and the "
                f"{outer.replace('_', ' ')} {_fine(read[outer])}; the first cannot be more. "
                "Exchange them if they were noted the wrong way round, or measure both again."
            )


def _begins_on_stub(
    read: Mapping[str, Quantity], doubts: Mapping[str, Quantity], notes: list[str]
) -> bool:
    if "stub_diameter" not in read:
        return True
    if "begin_diameter" not in read:
        notes.append("the arc is taken to begin on the stub, since it was not measured where else.")
        return True
    both = math.hypot(sizes.mm(doubts["stub_diameter"]), sizes.mm(doubts["begin_diameter"]))
    if sizes.mm(read["begin_diameter"]) - sizes.mm(read["stub_diameter"]) <= 2 * both:
        notes.append(
            "the stub and where the arc begins are taken for one surface: the arc does not begin "
            "wider by more than both may be off."
        )
        return True
    return False


def _rough(shape: str, read: Mapping[str, Quantity], turn: float | None) -> dict[str, float]:
    """Dimensions to start from; anything in the right order of size will do."""
    mm = {n: float(sizes.mm(q)) for n, q in read.items() if n != "marked_angle"}
    size = mm.get("marked_radius") or mm.get("arc_height") or 6.0
    begin = mm.get("begin_diameter") or mm.get("stub_diameter")
    if begin is None:
        begin = max(mm.get("largest_diameter", 4 * size) - 2 * size, size)
    width = max((mm.get("largest_diameter", begin + 2 * size) - begin) / 2, size / 10)
    height = mm.get("arc_height", size)
    if "marked_angle" in read and "arc_height" not in mm:
        height = width / math.tan(sizes.rad(read["marked_angle"]))
    # A chord of width w and height h on an arc that starts along h: tan(sweep/2) = w/h.
    over = 2 * math.atan2(width, height) if turn is None else turn
    return {
        "begin": begin / 2,
        "radius": mm.get("marked_radius") or height / max(math.sin(over), 0.1),
        "sweep": min(max(over, 0.2), QUARTER),
        "width": width,
        "height": height,
        "stub": mm.get("stub_diameter", begin) / 2,
        "shoulder": mm.get("shoulder_height", size),
    }


def _sweep(sweep: Size) -> float:
    turn = float(sizes.rad(sizes.angle(sweep)))
    if not 0 < turn <= QUARTER + 1e-9:
        raise FormCutterError(
            f"an arc sweeps more than 0° and at most 90°, not {sizes.show(sizes.angle(sweep))}."
        )
    return turn


# --- from a trace --------------------------------------------------------------------------------


@dataclass(frozen=True)
class TraceReport:
    """What a trace says about a cutter.

    Parameters
    ----------
    fit : ArcFit or LineFit
        Of the arc or flank, through the rows that lie on it.
    parts : mapping of int to str
        What each row of the table lies on: ``"stub"``, ``"arc"``, ``"shoulder"``, ``"ledge"``
        or ``"nothing"``.
    strays : tuple of str
        The rows that lie on nothing, each with its height, its diameter and how far it is off.
    notes : tuple of str
        What else has to be said.
    offset_error, depth_error : pint.Quantity or None
        Standard errors of the tangent setting that follow from the fit; None for a straight
        flank.
    trace : Trace
        All rows, whatever they lie on.
    """

    fit: ArcFit | LineFit
    parts: Mapping[int, str]
    strays: tuple[str, ...]
    notes: tuple[str, ...]
    offset_error: Quantity | None
    depth_error: Quantity | None
    trace: Trace

    def __str__(self) -> str:
        lines = [self.fit.summary, *self.fit.notes()]
        counts = {
            part: sum(1 for one in self.parts.values() if one == part)
            for part in ("stub", "ledge", "shoulder")
        }
        told = [f"{count} on the {part}" for part, count in counts.items() if count]
        if told:
            lines.append(f"other rows: {', '.join(told)}")
        lines += [f"on nothing: {stray}." for stray in self.strays]
        if self.offset_error is not None and self.depth_error is not None:
            lines.append(
                f"a tangent setting from it has a standard error of {_fine(self.offset_error)} in "
                f"offset and {_fine(self.depth_error)} in depth"
            )
        return "\n".join([*lines, *self.notes])


def from_trace(
    trace: Trace,
    shape: str | None,
    *,
    fit: Mapping[str, Any],
    stub: Size | None,
    largest: Size | None,
    shoulder_height: Size | None,
) -> dict[str, Any]:
    """What a cutter is made of, from a trace; see :meth:`FormCutter.from_trace`.

    Parameters
    ----------
    trace : Trace
        The points.
    shape : str or None
        What the cutter should be.
    fit : mapping
        How :func:`holecalc.form_cutter.fit_arc` is to fit, with the uncertainty.
    stub, largest, shoulder_height : size or None
        What calipers read.

    Returns
    -------
    dict
        Arguments of :class:`FormCutter`.
    """
    doubts = _doubts(fit)
    _refuse_falling(trace, doubts)
    on_stub, on_shoulder = _cylinders(trace, doubts[0])
    curve: _Curve
    if shape == "straight":
        held = [name for name in ("radius", "tangent_diameter", "tangent_height") if fit[name]]
        if held:
            raise FormCutterError(
                f"a straight flank has no {held[0].replace('_', ' ')} to hold. Leave it out."
            )
        on_edge = ~(on_stub | on_shoulder)
        line = arc_fit.fit_line(
            _enough(trace, on_edge, "flank"),
            uncertainty=fit["uncertainty"],
            height_uncertainty=fit["height_uncertainty"],
        )
        found: ArcFit | LineFit = line
        curve = _Flank(line)
    else:
        arc, on_edge = _arc_of_trace(trace, on_stub | on_shoulder, doubts, fit)
        _refuse_other_shape(arc, shape)
        found, shape = arc, arc.shape
        curve = _Round(arc)
    notes: list[str] = []
    x, y = trace.xy
    stub_rows, shoulder_rows = on_stub & ~on_edge, on_shoulder & ~on_edge
    inner, outer = _radius_of(stub, x, stub_rows), _radius_of(largest, x, shoulder_rows)
    begin = _begin(curve, inner, y[stub_rows], doubts, notes)
    end = _end(curve, outer, doubts, notes)
    told = found.in_unit
    if end[1] <= begin[1] + NOTHING:
        raise FormCutterError(
            f"the {curve.part} begins {_fine(told(begin[1]))} and ends {_fine(told(end[1]))} above "
            "the tip. Check the stub's and the largest diameter."
        )
    if shoulder_height is None and shoulder_rows.any():
        shoulder_height = told(max(0.0, float(y[shoulder_rows].max()) - end[1]))
        notes.append(
            f"the shoulder is taken to be as high as it was traced, {_fine(shoulder_height)}."
        )
    inner = begin[0] if inner is None else min(inner, begin[0])
    outer = end[0] if outer is None else max(outer, end[0])
    straight = [
        Line((inner, 0.0), (inner, begin[1]), "stub"),
        Line((inner, begin[1]), begin, "ledge"),
        Line(end, (outer, end[1]), "ledge"),
        Line((outer, end[1]), (outer, max(float(y.max()), end[1])), "shoulder"),
    ]
    parts, strays = _parts(curve, straight, trace, on_edge, doubts)
    if len(strays) > len(trace) / 3:
        raise FormCutterError(
            f"{len(strays)} of {len(trace)} rows lie on no part of one cutter: "
            f"{'; '.join(strays)}. Measure them again, or state the uncertainty that the measuring "
            "really had."
        )
    return {
        "shape": shape,
        "begin_diameter": told(2 * begin[0]),
        "stub_diameter": told(2 * inner),
        "stub_height": told(begin[1]),
        "largest_diameter": told(2 * outer),
        "shoulder_height": shoulder_height,
        **curve.dimensions(begin, end),
        "evidence": TraceReport(found, parts, strays, tuple(notes), *curve.setting_errors(), trace),
    }


class _Curve(Protocol):
    """What the ends of an arc and of a straight flank are found by [mm]."""

    part: str

    @property
    def fit(self) -> ArcFit | LineFit: ...

    def at_radius(self, radius: float, doubt: float) -> outline.Point: ...

    def at_height(self, height: float) -> outline.Point: ...

    def nearest(self, point: outline.Point) -> outline.Point: ...

    def foot(self, point: outline.Point) -> outline.Point: ...

    def dimensions(self, begin: outline.Point, end: outline.Point) -> dict[str, Quantity]: ...

    def setting_errors(self) -> tuple[Quantity | None, Quantity | None]: ...


class _Round:
    """A fitted arc; where it is asked for a point beyond its quarter it gives the quarter's end."""

    part = "arc"

    def __init__(self, fit: ArcFit) -> None:
        self.fit = fit
        self.side = 1 if fit.shape == "concave" else -1
        self.centre = (float(fit.solved.full[0]), float(fit.solved.full[1]))
        self.radius = float(fit.solved.full[2])

    def at_angle(self, angle: float) -> outline.Point:
        x, y = self.centre
        reach = self.side * self.radius
        return x - reach * math.cos(angle), y + reach * math.sin(angle)

    def angle_at(self, point: outline.Point) -> float:
        away = self.side * (self.centre[0] - point[0]), self.side * (point[1] - self.centre[1])
        return min(max(math.atan2(away[1], away[0]), 0.0), QUARTER)

    def at_radius(self, radius: float, doubt: float) -> outline.Point:
        part = self.side * (self.centre[0] - radius) / self.radius
        # A cylinder that the circle passes by a hair crosses it degrees from where it would be
        # tangent; what the trace cannot tell from tangent is taken to be.
        hair = 3 * math.hypot(doubt, float(self._errors([[1.0, 0.0, -self.side]])[0]))
        if part > 1 - hair / self.radius:
            part = 1.0
        return self.at_angle(math.acos(max(part, 0.0)))

    def at_height(self, height: float) -> outline.Point:
        part = self.side * (height - self.centre[1]) / self.radius
        return self.at_angle(math.asin(min(max(part, 0.0), 1.0)))

    def nearest(self, point: outline.Point) -> outline.Point:
        return self.at_angle(self.angle_at(point))

    def foot(self, point: outline.Point) -> outline.Point:
        angle = self.angle_at(point)
        # A trace rarely holds the very end of a quarter; so near it, the quarter is meant.
        if angle < _NEARLY:
            angle = 0.0
        elif angle > QUARTER - _NEARLY:
            angle = QUARTER
        return self.at_angle(angle)

    def dimensions(self, begin: outline.Point, end: outline.Point) -> dict[str, Quantity]:
        return {
            "radius": self.fit.radius,
            "begin_angle": sizes.from_rad(self.angle_at(begin)),
            "end_angle": sizes.from_rad(self.angle_at(end)),
        }

    def setting_errors(self) -> tuple[Quantity | None, Quantity | None]:
        r"""Standard errors of the offset and depth at which the circle is tangent.

        Concave, o = r_c - R and z = h_c + R; convex, the cove's centre is on the plate's corner,
        o = r_c and z = h_c.
        """
        tangent = 1.0 if self.side > 0 else 0.0
        offset, depth = self._errors([[1.0, 0.0, -tangent], [0.0, 1.0, tangent]])
        return self.fit.in_unit(float(offset)), self.fit.in_unit(float(depth))

    def _errors(self, moves: Sequence[Sequence[float]]) -> Floats:
        """Standard errors of sums of the centre's radius and height and the arc's radius."""
        rows = np.asarray(moves)
        variances = np.diag(rows @ self.fit.covariance @ rows.T)
        # What is held has none, and rounding may make that less.
        return np.sqrt(np.maximum(variances, 0.0))


class _Flank:
    """A fitted straight flank."""

    part = "flank"

    def __init__(self, fit: LineFit) -> None:
        self.fit = fit
        self.slope = math.tan(float(sizes.rad(fit.flank_angle)))

    def at_radius(self, radius: float, doubt: float) -> outline.Point:
        return radius, (radius - self.fit.radius_at(0.0)) / self.slope

    def at_height(self, height: float) -> outline.Point:
        return self.fit.radius_at(height), height

    def nearest(self, point: outline.Point) -> outline.Point:
        x, y = self.at_height(point[1])
        gap = point[0] - x
        away = gap / (1 + self.slope**2)
        return point[0] - away, y + away * self.slope

    def foot(self, point: outline.Point) -> outline.Point:
        return self.nearest(point)

    def dimensions(self, begin: outline.Point, end: outline.Point) -> dict[str, Quantity]:
        return {
            "flank_angle": self.fit.flank_angle,
            "arc_height": self.fit.in_unit(end[1] - begin[1]),
        }

    def setting_errors(self) -> tuple[Quantity | None, Quantity | None]:
        return None, None


def _begin(
    curve: _Curve,
    stub: float | None,
    stub_heights: Floats,
    doubts: tuple[float, float],
    notes: list[str],
) -> outline.Point:
    """Where the edge begins: on the stub, or above a ledge as high as the stub was traced."""
    told = curve.fit.in_unit
    if stub is None:
        lowest = _lowest(curve.fit)
        begin = curve.foot(lowest)
        notes.append(
            f"nothing was traced below {_fine(told(lowest[1]))}: that the {curve.part} begins "
            f"{_fine(told(2 * begin[0]))} across and {_fine(told(max(begin[1], 0.0)))} above the "
            "tip is from its shape alone."
        )
    else:
        begin = curve.at_radius(stub, doubts[0])
        top = float(np.max(stub_heights, initial=0.0))
        if top > begin[1] + 3 * math.sqrt(2) * doubts[1]:
            begin = curve.at_height(top)
            notes.append(
                f"the stub was traced up to {_fine(told(top))}, so the {curve.part} is taken to "
                "begin there, above a ledge."
            )
    if begin[1] < 0:
        begin = curve.at_height(0.0)[0], 0.0
    return begin


def _end(
    curve: _Curve, outer: float | None, doubts: tuple[float, float], notes: list[str]
) -> outline.Point:
    if outer is not None:
        return curve.at_radius(outer, doubts[0])
    told = curve.fit.in_unit
    highest = _lowest(curve.fit, from_top=True)
    end = curve.foot(highest)
    notes.append(
        f"nothing was traced above {_fine(told(highest[1]))}: that the {curve.part} ends "
        f"{_fine(told(2 * end[0]))} across and {_fine(told(end[1]))} above the tip is from its "
        "shape alone."
    )
    return end


def _lowest(fit: ArcFit | LineFit, *, from_top: bool = False) -> outline.Point:
    """The lowest of the rows fitted, or the highest."""
    x, y = (values[fit.used] for values in fit.trace.xy)
    # Where the edge runs level, height alone does not tell which row is further along it.
    along = x + y
    index = int(np.argmax(along) if from_top else np.argmin(along))
    return float(x[index]), float(y[index])


def _radius_of(given: Size | None, x: Floats, rows: Flags) -> float | None:
    if given is not None:
        return float(sizes.mm(more_than_0("diameter", given))) / 2
    return float(np.mean(x[rows])) if rows.any() else None


def _doubts(fit: Mapping[str, Any]) -> tuple[float, float]:
    """Standard uncertainties of a radius and of a height [mm]."""
    across = sizes.length(fit["uncertainty"])
    upwards = fit["height_uncertainty"]
    return (
        float(sizes.mm(across)),
        float(sizes.mm(across if upwards is None else sizes.length(upwards))),
    )


def _refuse_falling(trace: Trace, doubts: tuple[float, float]) -> None:
    """Refuse a trace in which diameters mostly fall with height: it was measured from the top."""
    x, y = trace.xy
    # Every pair of a few hundred rows tells as much as every pair of thousands.
    some = np.unique(np.linspace(0, len(x) - 1, 400).astype(int))
    x, y = x[some], y[some]
    higher = y[None, :] - y[:, None] > 3 * math.sqrt(2) * doubts[1]
    moved = x[None, :] - x[:, None]
    clear = 3 * math.sqrt(2) * doubts[0]
    wider, narrower = np.sum(higher & (moved > clear)), np.sum(higher & (moved < -clear))
    if narrower > wider:
        first, last = int(some[np.argmin(y)]), int(some[np.argmax(y)])
        raise FormCutterError(
            f"the diameters fall with height, from {trace.told(first)} to {trace.told(last)}. "
            "Measure heights from the cutter's tip, upwards."
        )


def _cylinders(trace: Trace, across: float) -> tuple[Flags, Flags]:
    """Rows at the bottom, and at the top, that share one diameter: the stub and the shoulder."""
    x, y = trace.xy
    order = np.lexsort((x, y))
    found = []
    for way in (order, order[::-1]):
        run = [way[0]]
        for index in way[1:]:
            room = 3 * across * math.sqrt(1 + 1 / len(run))
            if abs(x[index] - np.mean(x[run])) > room:
                break
            run.append(index)
        rows = np.zeros(len(x), dtype=bool)
        if len(run) > 1:
            rows[run] = True
        found.append(rows)
    if found[0].all():
        raise FormCutterError(
            f"rows {trace.rows[0]} to {trace.rows[-1]} all have one diameter, so this is a "
            "cylinder. Measure where the cutter's edge runs outwards."
        )
    return found[0], found[1]


def _enough(trace: Trace, rows: Flags, what: str) -> Trace:
    if rows.sum() < 3:
        raise FormCutterError(
            f"only {int(rows.sum())} of the {len(trace)} rows lie between the stub and the "
            f"shoulder; the {what} takes three at least, and six or more to check each other."
        )
    return trace.only(rows)


def _arc_of_trace(
    trace: Trace, on_cylinders: Flags, doubts: tuple[float, float], fit: Mapping[str, Any]
) -> tuple[ArcFit, Flags]:
    """The arc, and which rows were taken for it.

    Next to a cylinder that it is tangent to, an arc has rows of one diameter too; so rows of the
    cylinders that lie on the arc's quarter are taken for the arc, and it is fitted again until
    that changes nothing.
    """
    x, y = trace.xy
    on_arc = ~on_cylinders
    seen: set[bytes] = set()
    while True:
        arc = arc_fit.fit_arc(_enough(trace, on_arc, "arc"), **fit)
        if on_arc.tobytes() in seen:
            return arc, on_arc
        seen.add(on_arc.tobytes())
        centre_x, centre_y, radius = arc.solved.full
        side = 1 if arc.shape == "concave" else -1
        out, up = side * (centre_x - x), side * (y - centre_y)
        away = np.maximum(np.hypot(out, up), NOTHING)
        doubt = np.hypot(out * doubts[0], up * doubts[1]) / away
        on_quarter = (out >= -3 * doubts[0]) & (up >= -3 * doubts[1])
        within = (out >= 0) & (up >= 0) & (np.abs(away - radius) <= 3 * doubt)
        on_arc = np.where(on_cylinders, within, on_quarter)


def _refuse_other_shape(arc: ArcFit, shape: str | None) -> None:
    if shape is None or arc.shape == shape:
        return
    x, y = arc.trace.xy
    used = np.flatnonzero(arc.used)
    first, last = used[np.argmin((x + y)[used])], used[np.argmax((x + y)[used])]
    straight = x[first] + (y - y[first]) * (x[last] - x[first]) / (y[last] - y[first])
    beside = np.where(arc.used, x - straight, 0.0)
    most = int(np.argmax(np.abs(beside)))
    rows = arc.trace.rows
    raise FormCutterError(
        f"{arc.trace.told(most)} is {_fine(arc.in_unit(2 * abs(float(beside[most]))))} "
        f"{'wider' if beside[most] > 0 else 'narrower'} than a straight line from row "
        f"{rows[int(first)]} to row {rows[int(last)]} would be there, so the cutter is "
        f"{arc.shape} and not {shape}. Say shape='{arc.shape}', or measure again from the tip."
    )


def _parts(
    curve: _Curve,
    straight: Sequence[Line],
    trace: Trace,
    on_edge: Flags,
    doubts: tuple[float, float],
) -> tuple[dict[int, str], tuple[str, ...]]:
    """What each row lies on, and those that lie on nothing."""
    fitted = dict(zip(curve.fit.trace.rows, curve.fit.used, strict=True))
    parts: dict[int, str] = {}
    strays = []
    x, y = trace.xy
    for index, row in enumerate(trace.rows):
        if on_edge[index] and fitted[row]:
            parts[row] = curve.part
            continue
        point = (float(x[index]), float(y[index]))
        gaps = [_away(line, point) for line in straight]
        near = min(range(len(straight)), key=gaps.__getitem__)
        # A cylinder is met across and a ledge from below or above.
        doubt = doubts[1 if straight[near].part == "ledge" else 0]
        if gaps[near] <= _BELONGS * doubt:
            parts[row] = straight[near].part
            continue
        parts[row] = "nothing"
        off = min(gaps[near], math.dist(point, curve.nearest(point)))
        strays.append(f"{trace.told(index)} lies {_fine(curve.fit.in_unit(off))} off")
    return parts, tuple(strays)


def _away(part: Line, point: outline.Point) -> float:
    """How far a point is from a line, its ends included [mm]."""
    (x1, y1), (x2, y2) = part.start, part.end
    ex, ey = x2 - x1, y2 - y1
    square = ex * ex + ey * ey
    along = 0.0
    if square > 0:
        along = min(max(((point[0] - x1) * ex + (point[1] - y1) * ey) / square, 0.0), 1.0)
    return math.dist(point, (x1 + along * ex, y1 + along * ey))
