"""What a screen reader needs of a panel, beyond what ipywidgets can say.

ipywidgets sets no ARIA attribute: a slider has no name, a wrong field is wrong to the eye alone,
and nothing says that a result has changed. This does, for the whole panel it stands in; without it
everything works as before.
"""

from __future__ import annotations

from pathlib import Path

import anywidget

__all__ = ["Access"]


class Access(anywidget.AnyWidget):
    """Names the sliders of its panel, marks its wrong fields, and says what is told first."""

    _esm = Path(__file__).with_name("access.js")
