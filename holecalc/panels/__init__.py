"""Panels: thin views over one function each, for the workbooks.

A panel reads what is typed the way :mod:`holecalc.sizes` does, hands it on, and shows what comes
back. It computes nothing of its own, so picture, table and Python line cannot disagree.
"""

from holecalc.panels.counterbore import CounterborePanel
from holecalc.panels.countersink import CountersinkPanel
from holecalc.panels.form_cutter import FormCutterPanel
from holecalc.panels.helix import HelixPanel
from holecalc.panels.part import PartPanel
from holecalc.panels.size import SizePanel
from holecalc.panels.solver import SolverPanel

__all__ = [
    "CounterborePanel",
    "CountersinkPanel",
    "FormCutterPanel",
    "HelixPanel",
    "PartPanel",
    "SizePanel",
    "SolverPanel",
]
