"""Sections to scale, with dimensions, the cutter in place and the fastener seated.

Lines and hatching follow ISO 128, dimensions ISO 129-1. One figure serves many sizes: it is made
once and its artists are moved.
"""

from holecalc.drawing.countersink import CountersinkFigure

__all__ = ["CountersinkFigure"]
