"""Figures as SVG are what matplotlib itself writes, whatever was remembered from before."""

import io

import pytest
from matplotlib import rc_context
from matplotlib.figure import Figure

from holecalc.drawing import lettering
from holecalc.panels import CountersinkPanel, HelixPanel


def reference(figure):
    out = io.StringIO()
    with rc_context({"svg.fonttype": "path", "svg.hashsalt": "holecalc"}):
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


@pytest.mark.parametrize(
    ("panel", "field", "text"),
    [(CountersinkPanel, "circle", "3.123"), (HelixPanel, "bore_diameter", "9.21")],
)
def test_a_picture_is_what_matplotlib_writes(panel, field, text):
    made = panel()
    lettering.svg(made._figure.figure)
    made.fields[field].text = text
    assert lettering.svg(made._figure.figure) == reference(made._figure.figure)


def test_a_text_remembered_follows_its_font_and_size():
    figure = Figure(figsize=(3, 1))
    text = figure.text(0.1, 0.5, "⌀12.6 x 90°", fontsize=8)
    written = set()
    for change in ({}, {"fontsize": 14}, {"weight": "bold"}, {"fontsize": 8}, {"text": "R 6.35"}):
        text.set(**change)
        written.add(lettering.svg(figure))
        assert lettering.svg(figure) == reference(figure)
    assert len(written) == 5
    text.set(text="$x_1$")
    assert lettering.svg(figure) == reference(figure)


def test_a_figure_keeps_its_dots_per_inch():
    figure = Figure(dpi=192)
    lettering.svg(figure)
    assert figure.dpi == 192
