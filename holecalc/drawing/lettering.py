"""Figures as SVG, with lettering that is laid out once.

Lettering is two thirds of the time a figure takes as SVG, and from one move of a slider to the
next nearly all of it stays what it was. matplotlib lays it out anew for every figure.
"""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Any

from matplotlib import rc_context
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FT2Font
from matplotlib.textpath import TextToPath

__all__ = ["svg"]

_DOTS = 72
_REMEMBERED = 4096


class _Lettering(TextToPath):
    """Outlines and extents of texts, remembered."""

    def get_text_width_height_descent(self, s: str, prop: FontProperties, ismath: Any) -> Any:
        # A copy, for what is asked with may be changed afterwards.
        return self._extent(s, prop.copy(), ismath)

    def get_glyphs_with_font(
        self,
        font: FT2Font,
        s: str,
        glyph_map: dict[str, Any] | None = None,
        return_new_glyphs_only: bool = False,
        **options: Any,
    ) -> tuple[list[Any], dict[str, Any], list[Any]]:
        placed, outlines, strokes = self._outlines(font, s, **options)
        known = glyph_map or {}
        new = {name: outline for name, outline in outlines.items() if name not in known}
        return placed, new if return_new_glyphs_only else {**known, **new}, strokes

    @lru_cache(_REMEMBERED)  # noqa: B019 - there is one, as long as the program
    def _extent(self, text: str, font: FontProperties, ismath: Any) -> Any:
        return super().get_text_width_height_descent(text, font, ismath)

    @lru_cache(_REMEMBERED)  # noqa: B019 - there is one, as long as the program
    def _outlines(self, font: FT2Font, text: str, **options: Any) -> Any:
        return super().get_glyphs_with_font(font, text, **options)


_LETTERING = _Lettering()


class _Renderer(RendererSVG):
    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)  # type: ignore[no-untyped-call]
        self._text2path = _LETTERING


def svg(figure: Figure) -> str:
    """A figure as SVG: what matplotlib writes for it, in half the time.

    Lettering is outlines, so that no font of the reader's moves it.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        It must hold nothing that is drawn as pixels.

    Returns
    -------
    str
        The same text for the same figure.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> figure = Figure(figsize=(2, 1))
    >>> _ = figure.text(0.1, 0.5, "⌀12.6")
    >>> "<!-- ⌀12.6 -->" in svg(figure)
    True
    """
    out = io.StringIO()
    width, height = figure.get_size_inches()
    before = figure.dpi
    # The salt makes the same figure the same text, so that nothing is sent for no change.
    with rc_context({"svg.fonttype": "path", "svg.hashsalt": "holecalc"}):
        figure.dpi = _DOTS
        try:
            renderer = _Renderer(_DOTS * width, _DOTS * height, out, metadata={"Date": None})
            figure.draw(renderer)
            renderer.finalize()  # type: ignore[no-untyped-call]
        finally:
            figure.dpi = before
    return out.getvalue()
