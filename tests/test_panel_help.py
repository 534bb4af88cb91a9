"""What a panel says to who cannot see it, and of what to measure."""

import html
import re
from functools import partial
from xml.etree import ElementTree

import ipywidgets as widgets
import pytest

from holecalc.countersink import CUT
from holecalc.panels import (
    CounterborePanel,
    CountersinkPanel,
    FormCutterPanel,
    HelixPanel,
    SizePanel,
    SolverPanel,
)
from holecalc.panels.access import Access

KINDS = ("T-nut", "hexagon nut", "square nut", "insert", "cap screw", "washer")
# Invented: a quarter-round traced at eleven heights.
POINTS = """height [mm]; diameter [mm]
1; 12.71
3; 12.69
5; 12.70
6; 12.86
7; 13.35
8; 14.22
9; 15.53
10; 17.58
11; 21.25
12; 25.40
13; 25.39"""
PANELS = {
    "countersink": CountersinkPanel,
    **{kind: partial(CounterborePanel, kind) for kind in KINDS},
    "relieved": partial(CounterborePanel, "hexagon nut", relieved=True),
    "helix": HelixPanel,
    **{
        shape: partial(FormCutterPanel, shape, begin_diameter="12.7 mm", largest_diameter="25.4 mm")
        for shape in ("concave", "convex")
    },
    "straight": partial(
        FormCutterPanel, "straight", begin_diameter="6 mm", largest_diameter="26 mm",
        arc_height="10 mm",
    ),
    "traced": partial(FormCutterPanel, points=POINTS),
    "solver": partial(SolverPanel, CUT, top_diameter="12.6"),
    "size": SizePanel,
}  # fmt: skip


@pytest.fixture(scope="module", params=PANELS)
def panel(request):
    return PANELS[request.param]()


def in_sight(widget):
    """Every widget of a panel that is not put away."""
    if widget.layout.display == "none":
        return
    yield widget
    for child in getattr(widget, "children", ()):
        yield from in_sight(child)


def entries(widget):
    kinds = (widgets.Text, widgets.Textarea, widgets.Dropdown, widgets.IntSlider)
    return [each for each in in_sight(widget) if isinstance(each, kinds)]


def helps(panel):
    """The title of each help in sight, with its rows and what its figures name."""
    for each in in_sight(panel.box):
        if isinstance(each, widgets.HTML) and "class='help'" in each.value:
            rows = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", each.value)
            figures = re.findall(r"<svg.*?</svg>", each.value)
            named = [
                text.text for svg in figures for text in ElementTree.fromstring(svg).iter("text")
            ]
            yield {html.unescape(label): html.unescape(said) for label, said in rows}, named


def test_every_field_has_a_name_and_a_sentence(panel):
    said = {}
    for rows, _ in helps(panel):
        said |= rows
    for entry in entries(panel.box):
        assert entry.description
        # What the unit is for, the panel's numbers show.
        if entry is not panel.unit.entry:
            assert len(said[entry.description]) > 8, entry.description
            assert said[entry.description].endswith(".")


def test_a_help_tells_only_of_what_is_in_sight(panel):
    shown = {entry.description for entry in entries(panel.box)}
    for rows, named in helps(panel):
        assert rows.keys() <= shown
        assert set(named) <= rows.keys()


def test_what_is_asked_for_is_shown_in_a_figure():
    for make in (CountersinkPanel, HelixPanel, PANELS["concave"], *map(PANELS.get, KINDS)):
        assert sum(bool(named) for _, named in helps(make())) >= 3


def test_a_help_follows_what_is_asked_for():
    panel = CountersinkPanel()
    assert any("edge land" in named for _, named in helps(panel))
    panel.edge.value = "head height"
    found = [named for _, named in helps(panel)]
    assert any("head height" in named for named in found)
    assert not any("edge land" in named for named in found)


def test_a_form_cutter_is_shown_in_its_own_shape():
    panel = PANELS["concave"]()
    for shape, name in (("convex", "cove"), ("concave", "rounding"), ("straight", "chamfer")):
        panel.shape.value = shape
        told = " ".join(
            each.value for each in in_sight(panel.box) if isinstance(each, widgets.HTML)
        )
        assert f"A {name} cutter from the side" in told


def test_the_picture_says_in_words_what_the_panel_shows():
    panel = CountersinkPanel()
    alt = html.unescape(re.search(r"alt='(.*?)'", panel._picture.value)[1])
    assert alt == panel._figure.said
    # By hand: (12.6 - 3.6 - 0.2) / 2.
    for words in ("cone ⌀12.60 mm, 90°", "hole of ⌀6.60 mm", "circle of 3.60 mm", "4.40 mm below",
                  "head ⌀11.30 mm, flush", "from 2.60 mm to 4.10 mm work"):  # fmt: skip
        assert words in alt
    panel.fields["circle"].text = "0"
    assert "cutter plunged" in panel._figure.said
    panel.unit.value = "in"
    assert "⌀0.4961 in" in panel._figure.said
    assert " mm" not in panel._figure.said


@pytest.mark.parametrize(
    ("make", "words"),
    [
        ("T-nut", ("T-nut M8×1.25", "flange ⌀23.00 mm, 2.00 mm deep", "web 8.50 mm")),
        ("hexagon nut", ("pocket hexagon 14.00 mm", "the nut turned 16.87°")),
        ("helix", ("bore ⌀47.00 mm", "path ⌀35.00 mm", "the last of 4 rings", "through the plate")),
        ("concave", ("concave, radius 6.350 mm", "6.350 mm outside the finished wall",
                     "at the face: tangent to the face")),
        ("traced", ("11 traced points, 0 on no part",)),
    ],
)  # fmt: skip
def test_every_picture_says_what_it_shows(make, words):
    said = PANELS[make]()._figure.said
    assert "None" not in said
    for each in words:
        assert each in said


def test_a_panel_has_what_speaks_for_it(panel):
    assert sum(isinstance(each, Access) for each in in_sight(panel.box)) == 1


def test_findings_unfold_why():
    panel = CountersinkPanel(cutting_diameter="8 mm")
    assert "<summary>why: circles that work</summary>" in panel._findings.value
    assert "tip inside the hole: else a flat ring" in panel._findings.value
