"""A form cutter's half section as DXF and as CSV.

Both take a :class:`holecalc.form_cutter.Profile` and write it in its own unit: across is the
radius from the cutter's axis, up is the height above its tip. In the DXF the whole outline is one
closed polyline; an arc is a bulge, the tangent of a quarter of its sweep, positive where it turns
counter-clockwise.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING

from holecalc import sizes
from holecalc.form_cutter import Arc, Profile

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["csv_text", "dxf", "write_csv", "write_dxf"]

LAYER = "PROFILE"

# Values of $INSUNITS in the DXF reference; the measurement system goes with them.
_DXF_UNITS = {"mm": (4, 1), "cm": (5, 1), "in": (1, 0)}
_DIGITS = {"mm": 5, "cm": 6, "in": 7}

_COLUMNS = (
    "start_radius",
    "start_height",
    "end_radius",
    "end_height",
    "centre_radius",
    "centre_height",
    "arc_radius",
)


def dxf(profile: Profile) -> Drawing:
    """The profile as a DXF drawing: one closed polyline on the layer ``PROFILE``.

    Parameters
    ----------
    profile : holecalc.form_cutter.Profile
        Of a cutter.

    Returns
    -------
    ezdxf.document.Drawing

    Examples
    --------
    >>> from holecalc.form_cutter import FormCutter
    >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    >>> (polyline,) = dxf(cutter.profile()).modelspace()
    >>> polyline.closed, len(polyline)
    (True, 4)
    """
    from ezdxf.filemanagement import new

    unit = _unit(profile)
    drawing = new("R2010")
    drawing.header["$INSUNITS"], drawing.header["$MEASUREMENT"] = _DXF_UNITS[unit]
    drawing.layers.add(LAYER)
    drawing.modelspace().add_lwpolyline(
        [
            (_in(unit, segment.start[0]), _in(unit, segment.start[1]), segment.bulge)
            for segment in profile
        ],
        format="xyb",
        close=True,
        dxfattribs={"layer": LAYER},
    )
    return drawing


def write_dxf(profile: Profile, path: Path | str) -> Path:
    """Write the profile to a DXF file.

    Parameters
    ----------
    profile : holecalc.form_cutter.Profile
        Of a cutter.
    path : pathlib.Path or str
        Where to.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    OSError
        The file cannot be written.
    """
    dxf(profile).saveas(path)
    return Path(path)


def csv_text(profile: Profile) -> str:
    """The profile as CSV: a row for each line and arc, from the tip to the shank and back.

    Parameters
    ----------
    profile : holecalc.form_cutter.Profile
        Of a cutter.

    Returns
    -------
    str
        The unit is in the names of the columns; a line has no centre and no radius.

    Examples
    --------
    >>> from holecalc.form_cutter import FormCutter
    >>> cutter = FormCutter("concave", begin_diameter="12.7 mm", radius="6.35 mm")
    >>> for row in csv_text(cutter.profile()).splitlines()[1:3]:
    ...     print(row)
    tip,line,0.00000,0.00000,6.35000,0.00000,,,
    arc,arc,6.35000,0.00000,12.70000,6.35000,12.70000,0.00000,6.35000
    """
    unit = _unit(profile)
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(["part", "kind", *(f"{column}_{unit}" for column in _COLUMNS)])
    for segment in profile:
        numbers = [*segment.start, *segment.end]
        if isinstance(segment, Arc):
            numbers += [*segment.centre, segment.radius]
        told = [f"{_in(unit, number):.{_DIGITS[unit]}f}" for number in numbers]
        kind = "arc" if isinstance(segment, Arc) else "line"
        blank = [""] * (len(_COLUMNS) - len(told))
        rows.writerow([segment.part, kind, *told, *blank])
    return text.getvalue()


def write_csv(profile: Profile, path: Path | str) -> Path:
    """Write the profile to a CSV file.

    Parameters
    ----------
    profile : holecalc.form_cutter.Profile
        Of a cutter.
    path : pathlib.Path or str
        Where to.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    OSError
        The file cannot be written.
    """
    path = Path(path)
    path.write_text(csv_text(profile), encoding="utf-8", newline="")
    return path


def _unit(profile: Profile) -> str:
    """The unit to write in: the profile's own where a DXF has a code for it."""
    return profile.unit if profile.unit in _DXF_UNITS else "mm"


def _in(unit: str, millimetres: float) -> float:
    value = float(sizes.from_mm(millimetres, unit).magnitude)
    # A hair below nothing would be written as -0.
    return 0.0 if abs(value) < 1e-9 else value
