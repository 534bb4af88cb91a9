"""Sections to scale, with dimensions, the cutter in place and the fastener seated.

Lines and hatching follow ISO 128, dimensions ISO 129-1. One figure serves many sizes: it is made
once and its artists are moved.
"""

from holecalc.drawing.counterbore import CounterboreFigure
from holecalc.drawing.countersink import CountersinkFigure
from holecalc.drawing.form_cutter import FormCutterFigure
from holecalc.drawing.helix import HelixFigure

__all__ = ["CounterboreFigure", "CountersinkFigure", "FormCutterFigure", "HelixFigure"]
