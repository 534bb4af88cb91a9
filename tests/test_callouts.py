"""Callouts: read as a drawing means them, written back the same, pointed at where they fail."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from holecalc import sizes
from holecalc.callouts import Callout, CalloutError, CalloutStep, read, write

# Forms after ASME Y14.5, ISO 129-1 and ISO 15786, from memory; the expected values are what the
# signs say, read by hand.
FORMS = [
    ("4X ⌀6.6 THRU ⌵ ⌀12.6 X 90°", "mm", 4, 6.6, None, ("countersink", 12.6, 90, None, "")),
    ("⌀.266 THRU CSK ⌀.507 X 82°", "in", 1, 0.266, None, ("countersink", 0.507, 82, None, "")),
    ("6X ⌀8.5 THRU ⌴ ⌀22 ↧ 2", "mm", 6, 8.5, None, ("counterbore", 22, None, 2, "")),
    ("6x 8.5 DIA THRU ALL CBORE 22 DIA 2 DP", "mm", 6, 8.5, None,
     ("counterbore", 22, None, 2, "")),
    ("6 × ⌀8,5 ⌴ ⌀22 × 2 FAR SIDE", "mm", 6, 8.5, None, ("counterbore", 22, None, 2, "far")),
    ("17/64 DRILL THRU CSK .507 DIA X 82", "in", 1, 17 / 64, None,
     ("countersink", 0.507, 82, None, "")),
    ("#7 DRILL THRU C'SINK 82 DEG TO 7/16 DIA 3 PLACES", "in", 3, 0.201, None,
     ("countersink", 0.4375, 82, None, "")),
    ("⌀10 x 20", "mm", 1, 10, 20, None),
    ("2 HOLES, ⌀10 ↧20", "mm", 2, 10, 20, None),
    ("dia 1/2 1.5 deep", "in", 1, 0.5, 1.5, None),
    ("⌀6.6 THRU\n⌴ ⌀11 ↧ 6.5 NEAR SIDE", "mm", 1, 6.6, None,
     ("counterbore", 11, None, 6.5, "near")),
    ("⌀6 THRU SF ⌀14", "mm", 1, 6, None, ("spotface", 14, None, None, "")),
    ("⌀1-1/2 THRU; ⌴ ⌀2 ↧ 1/4 BOTH SIDES", "in", 1, 1.5, None,
     ("counterbore", 2, None, 0.25, "both")),
    ("12.7mm dia thru", "in", 1, 12.7, None, None),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "count", "diameter", "depth", "step"), FORMS, ids=[row[0] for row in FORMS]
)
def test_forms_are_read(text, unit, count, diameter, depth, step):
    callout = read(text, unit)
    assert callout.count == count
    assert callout.diameter.magnitude == pytest.approx(diameter, rel=1e-12)
    assert (callout.depth is None) == (depth is None)
    if depth is not None:
        assert callout.depth.magnitude == depth
    assert len(callout.steps) == (step is not None)
    if step is not None:
        kind, across, angle, deep, side = step
        found = callout.steps[0]
        assert (found.kind, found.side) == (kind, side)
        assert found.diameter.magnitude == pytest.approx(across)
        assert (angle is None) == (found.included_angle is None)
        if angle is not None:
            assert found.included_angle.m_as("deg") == pytest.approx(angle)
        assert (None if found.depth is None else found.depth.magnitude) == deep


@pytest.mark.parametrize("row", FORMS, ids=[row[0] for row in FORMS])
@pytest.mark.parametrize("plain", [False, True])
def test_what_is_read_is_written_back(row, plain):
    callout = read(row[0], row[1])
    assert read(write(callout, unit=row[1], plain=plain), row[1]) == callout


def test_signs_come_out_as_they_went_in():
    for text in ("4X ⌀6.6 THRU ⌵ ⌀12.6 X 90°", "6X ⌀8.5 THRU ⌴ ⌀22 ↧ 2 FAR SIDE"):
        assert str(read(text, "mm")) == text


def test_inches_have_no_nought_before_the_point_and_millimetres_have():
    assert str(read("⌀0.266 THRU", "in")) == "⌀.266 THRU"
    assert str(read("⌀.5 THRU", "mm")) == "⌀0.5 THRU"


def test_a_plain_callout_is_ascii():
    assert write(read("4X ⌀6.6 THRU ⌵ ⌀12.6 X 90°", "mm"), plain=True).isascii()


@pytest.mark.parametrize(
    ("text", "column", "reason"),
    [
        ("4X ⌀6.6 THRUU", 9, "THRUU"),
        ("⌀6.6 THRU ⌵ ⌀12.6", 18, "angle"),
        ("⌀6.6 THRU ⌵ ⌀6 X 90°", 13, "not wider"),
        ("⌀6.6 THRU ⌵ ⌀12.6 X 190°", 21, "between"),
        ("⌀6.6 THRU ⌴ ⌀12.6", 18, "depth"),
        ("⌵ ⌀12.6 X 90°", 1, "hole itself"),
        ("0X ⌀6", 1, "0 holes"),
        ("4X", 3, "diameter is wanted"),
        ("⌀6.6 ±0.1 THRU", 6, "Tolerances"),
        ("⌀6.6 THRU FAR", 11, "FAR"),
        ("⌀6.6 THRU ⌴ ⌀12 ↧ 2 FAR", 24, "SIDE is wanted"),
        ("4X ⌀6.6 THRU 3 PLACES", 14, "twice"),
        ("⌀1/0 THRU", 2, "zero"),
        ("", 1, "diameter is wanted"),
        ("⌀0 THRU", 2, "more than 0"),
    ],
)
def test_what_is_not_read_is_pointed_at(text, column, reason):
    with pytest.raises(CalloutError, match=reason) as caught:
        read(text, "mm")
    assert caught.value.column == column
    *_, written, pointer = str(caught.value).split("\n")
    assert pointer.index("^") - 2 == column - 1
    assert written.strip() == text.split("\n")[0].strip()


def test_a_second_line_is_told_by_line_and_column():
    with pytest.raises(CalloutError, match="line 2, column 3") as caught:
        read("⌀6.6 THRU\n⌵ ?12", "mm")
    assert (caught.value.line, caught.value.column) == (2, 3)


def test_without_a_unit_a_bare_size_is_refused_and_a_drill_is_not():
    with pytest.raises(CalloutError, match="no unit"):
        read("⌀6.6 THRU")
    assert read("#7 DRILL THRU").diameter == sizes.length("#7")


length = st.floats(0.001, 500).flatmap(
    lambda x: st.sampled_from([sizes.length(x, unit) for unit in ("mm", "in", "thou")])
)


@st.composite
def callouts(draw):
    hole = draw(length)
    wider = st.floats(1.0001, 50).map(lambda share: share * hole)
    through = draw(st.booleans())
    steps = draw(
        st.lists(
            st.builds(
                CalloutStep,
                st.just("countersink"),
                wider,
                st.floats(0.001, 179.9).map(sizes.angle),
                st.none(),
                st.sampled_from(["", "near", "far", "both"]),
            )
            | st.builds(
                CalloutStep,
                st.just("counterbore"),
                wider,
                st.none(),
                length,
                st.sampled_from(["", "near", "far", "both"]),
            ),
            max_size=3,
        )
    )
    told = through and draw(st.booleans())
    return Callout(
        hole,
        None if through else draw(length),
        draw(st.integers(1, 9999)),
        tuple(steps),
        told and draw(st.booleans()),
        told,
    )


@given(callouts(), st.sampled_from(["mm", "in", "thou"]), st.booleans())
def test_round_trip_to_the_last_digit(callout, unit, plain):
    assert read(write(callout, unit=unit, plain=plain), unit) == callout


PIECES = ["4X", "4 ", "⌀", "6.6", "6,6", "1/4", "#7", "THRU", "ALL", "⌵", "CSK", "X", "×", "90°",
          "⌴", "CBORE", "↧", "2", "DP", "FAR", "SIDE", "SF", "DIA", ",", "/", "\n", " ", "mm",
          "PLACES", "°", "letter F", "-", "in", "TO"]  # fmt: skip


@given(st.text(max_size=40) | st.lists(st.sampled_from(PIECES), max_size=12).map(" ".join))
@example("\x00")
@example("⌀" + "9" * 200)
@example("⌀" + "9" * 59)
@example("²X ⌀5")
def test_any_text_is_read_or_pointed_at(text):
    try:
        callout = read(text, "mm")
    except CalloutError as refused:
        place = refused.column
    else:
        place = 1
        assert read(write(callout, unit="mm"), "mm") == callout
    assert 1 <= place <= len(text) + 1
