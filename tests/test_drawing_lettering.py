"""Figures as SVG are what matplotlib itself writes, whatever was remembered from before."""

import io
from functools import partial

import matplotlib.pyplot as plt
import pytest
from matplotlib import rc_context
from matplotlib.figure import Figure

from holecalc.drawing import lettering
from holecalc.panels import CounterborePanel, CountersinkPanel, FormCutterPanel, HelixPanel

FORM = partial(FormCutterPanel, begin_diameter="12.7 mm", largest_diameter="25.4 mm")


def pixels(figure):
    return plt.imread(io.BytesIO(figure.png()))


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


@pytest.mark.parametrize(
    ("make", "typed"),
    [
        (CountersinkPanel, {"cutting_diameter": "80 mm"}),
        (CountersinkPanel, {"circle": "40 mm"}),
        (CounterborePanel, {"plate_thickness": "100 mm"}),
        (HelixPanel, {"bore_diameter": "200 mm"}),
        (FORM, {"plate_thickness": "150 mm"}),
    ],
)
def test_nothing_runs_out_of_its_view_but_what_is_enlarged(make, typed):
    panel = make()
    for name, text in typed.items():
        panel.fields[name].text = text
    figure = panel._figure
    shown = pixels(figure)
    for axes in figure.figure.axes:
        for each in (*axes.lines, *axes.patches, *axes.collections):
            each.set_clip_on(True)
    figure._unframe = lambda: None
    # Half of a line that lies on a frame, at most.
    assert (shown != pixels(figure)).sum() < 300
    clipped = figure.svg().count("clip-path=")
    del figure._unframe
    assert figure.svg().count("clip-path=") < clipped / 2
