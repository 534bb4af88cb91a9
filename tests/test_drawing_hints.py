"""The figures of what to measure: what they name, and that they are well made."""

from xml.etree import ElementTree

import pytest

from holecalc.drawing import hints

SHAPES = ("concave", "convex", "straight")
FIGURES = [
    figure
    for name, found in vars(hints).items()
    if name.isupper() and not name.startswith("_")
    for figure in (found if isinstance(found, tuple) else sum(found.values(), ()))
]


def test_each_shape_of_form_cutter_has_figures_of_its_own():
    for by_shape in (hints.FORM_CUTTER, hints.SETTING):
        assert tuple(by_shape) == SHAPES
        assert len({by_shape[shape][0].svg for shape in SHAPES}) == 3


@pytest.mark.parametrize("figure", FIGURES)
def test_a_figure_is_well_formed_and_says_what_it_shows(figure):
    drawn = ElementTree.fromstring(figure.svg)
    written = [text.text for text in drawn.iter("text")]
    assert tuple(written) == figure.labels
    assert len(set(written)) == len(written)
    assert drawn.get("role") == "img"
    said = drawn.get("aria-label")
    assert said.startswith(figure.title)
    assert all(label in said for label in figure.labels)


@pytest.mark.parametrize("figure", FIGURES)
def test_lettering_stays_on_the_paper_and_apart(figure):
    drawn = ElementTree.fromstring(figure.svg)
    _, _, width, height = map(float, drawn.get("viewBox").split())
    boxes = []
    for text in drawn.iter("text"):
        # As wide as lettering in a sans-serif is on average, and a little to spare.
        wide = 0.6 * 11 * len(text.text)
        x, y = float(text.get("x")), float(text.get("y"))
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.get("text-anchor")]
        assert left >= 0, text.text
        assert left + wide <= width + 12, text.text
        assert 9 <= y <= height - 2, text.text
        boxes.append((left, left + wide, y - 9, y + 2, text.text))
    for number, (left, right, top, bottom, one) in enumerate(boxes):
        for other in boxes[number + 1 :]:
            apart = right < other[0] or other[1] < left or bottom < other[2] or other[3] < top
            assert apart, f"{one!r} runs into {other[4]!r}"


def test_figures_take_the_colour_of_the_text_around_them():
    for figure in FIGURES:
        assert '"#' not in figure.svg
        assert "currentColor" in figure.svg


def test_only_what_is_asked_for_is_shown_and_nothing_twice():
    asked = {"recess", "gap below barrel", "barrel clearance"}
    assert [h.title for h in hints.fitting(hints.POCKET, asked)] == ["A T-nut in its pocket"]
    assert [h.title for h in hints.fitting(hints.POCKET, {"recess"})] == [
        "The fastener in its pocket"
    ]
    assert hints.fitting(hints.POCKET, {"clearance"}) == []
