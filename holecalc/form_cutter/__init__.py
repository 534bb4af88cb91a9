r"""Form cutters that shape a plate's edge: rounding over, cove and chamfer.

A form cutter out of the drawer, its bearing taken off, is described by its half section:

::

        |<-- largest/2 -->|                |<-- largest/2 -->|
        |_________________|  ---           |_________________|
        |                 |  shoulder      |                 |  shoulder
        |              _.-'  ---           |                 |  ---
        |           .'        | arc        |                .'   | arc
        |         /           | height     |             _.'     | height
        |        |           ---           |      |__..-'       ---
        |--------| begin/2                 |------| begin/2
        |      |             ---           |      |             ---
        |      | stub         | stub       |      |              | stub
        |______|              | height     |______|              | height
        axis           concave             axis           convex

A *concave* cutter rounds an edge over, a *convex* one cuts a cove, a *straight* one a chamfer.
Along the edge τ is the angle between its tangent and the axis. With the arc's centre at
(r_c, h_c), a point of the edge is

.. math::

    \text{concave:}\quad r = r_c - R\cos\tau,\; h = h_c + R\sin\tau
    \qquad\text{convex:}\quad r = r_c + R\cos\tau,\; h = h_c - R\sin\tau

A full quarter runs from τ = 0 to 90° where it is concave, from 90° to 0 where it is convex.

The cutter runs along the plate's edge with its axis at the *offset* from the finished wall and
its tip at the *depth* below the face. What it takes away is its half section, so what is left of
the edge is that half section moved into the plate:

::

        offset |
      axis <---|         R
        |      |      .------------ face     x = r - offset   into the plate
        |      |   .'                        z = h - depth    above the face
        |      | /
        |      ||
        |      | wall
     tip __    |                             depth = from the face down to the tip

Sizes are given as everywhere in holecalc; results are quantities in the unit of the cutter's
`begin_diameter`. Derivations: ``references/derivations-form-cutter.md``.
"""

from holecalc.form_cutter.arc_fit import ArcFit, LineFit, Settle, fit_arc, fit_line
from holecalc.form_cutter.caliper_fit import CaliperError, CaliperReport
from holecalc.form_cutter.cutter import RIM_SPEED, FormCutter
from holecalc.form_cutter.edge import BothFaces, Edge, Effect, Pass, Setting, both_faces
from holecalc.form_cutter.measured import UNCERTAINTIES, TraceReport
from holecalc.form_cutter.outline import Arc, Line, OutlineError, Profile
from holecalc.form_cutter.section import SHAPES, FormCutterError
from holecalc.form_cutter.trace import ArcFitError, Trace, read_trace

__all__ = [
    "RIM_SPEED",
    "SHAPES",
    "UNCERTAINTIES",
    "Arc",
    "ArcFit",
    "ArcFitError",
    "BothFaces",
    "CaliperError",
    "CaliperReport",
    "Edge",
    "Effect",
    "FormCutter",
    "FormCutterError",
    "Line",
    "LineFit",
    "OutlineError",
    "Pass",
    "Profile",
    "Setting",
    "Settle",
    "Trace",
    "TraceReport",
    "both_faces",
    "fit_arc",
    "fit_line",
    "read_trace",
]
