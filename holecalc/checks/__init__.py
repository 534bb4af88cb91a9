"""What will go wrong, said before the plate is cut.

Each check compares two numbers. A finding names them, what follows, and what would cure it; no
finding means that it was checked and is in order. Findings have three weights: *stop* (the part
or the cutter will be spoilt), *look* (it can be cut, but perhaps not as meant), and *note*.
"""

from holecalc.checks.bores import helix
from holecalc.checks.edges import form_cutter
from holecalc.checks.findings import Finding, Findings, Weight
from holecalc.checks.pockets import counterbore
from holecalc.checks.sinks import countersink
from holecalc.checks.whole import part

__all__ = [
    "Finding",
    "Findings",
    "Weight",
    "counterbore",
    "countersink",
    "form_cutter",
    "helix",
    "part",
]
