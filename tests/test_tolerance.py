"""Tolerances: how they are read, and the spread they make, against brute force."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecalc import sizes, tolerance
from holecalc.sizes import SizeError, angle, length
from holecalc.tolerance import PlusMinus, ToleranceError, plus_minus, spread

MM = length("6 mm")


@pytest.mark.parametrize(
    ("typed", "like", "below", "above"),
    [
        ("0.1 mm", MM, -0.1, 0.1),
        ("±0.1 mm", MM, -0.1, 0.1),
        ("± 0.1 mm", MM, -0.1, 0.1),
        ("+/-0.1 mm", MM, -0.1, 0.1),
        ("+/- 0.1 mm", MM, -0.1, 0.1),
        ("+ / − 0.1", MM, -0.1, 0.1),
        ("+/-1/64 in", MM, -25.4 / 64, 25.4 / 64),
        ("0.1", MM, -0.1, 0.1),
        (0.1, MM, -0.1, 0.1),
        ("5 thou", MM, -0.127, 0.127),
        ("±0.005", length("1/4 in"), -0.127, 0.127),
        (("-0.2 mm", "+0.1 mm"), MM, -0.2, 0.1),
        (("+0.1 mm", "-0.2 mm"), MM, -0.2, 0.1),
        (["0 mm", "0.3 mm"], MM, 0, 0.3),
        ((-0.2, 0.1), MM, -0.2, 0.1),
        (("+0.1 mm", "+0.3 mm"), MM, 0.1, 0.3),
        (length("0.1 mm"), MM, -0.1, 0.1),
        ("0 mm", MM, 0, 0),
    ],
)
def test_a_tolerance_is_read(typed, like, below, above):
    allowed = plus_minus(typed, like)
    assert sizes.mm(allowed.below) == pytest.approx(below, abs=1e-12)
    assert sizes.mm(allowed.above) == pytest.approx(above, abs=1e-12)
    assert plus_minus(allowed, like) is allowed


def test_a_tolerance_of_an_angle_is_in_degrees():
    assert plus_minus("1", angle(82)).above.m_as("deg") == 1
    assert plus_minus("±0°30'", angle(82)).above.m_as("deg") == pytest.approx(0.5)
    assert plus_minus("0.5 deg", angle(82)).above.m_as("deg") == 0.5
    assert plus_minus((-1, 0), angle(82)).below.m_as("deg") == -1


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("-0.1 mm", "cannot be negative"),
        (-0.1, "cannot be negative"),
        (("0.1 mm",), "a pair has two deviations"),
        (("1 mm", "2 mm", "3 mm"), "a pair has two deviations"),
        ("+/--0.1 mm", "cannot be negative"),
        (("±0.1 mm", "0.2 mm"), "is not a size"),
        ("wide", "is not a size"),
        (("0.1 mm", "wide"), "is not a size"),
        ("1 deg", "no unit of length"),
        (None, "is not a size"),
    ],
)
def test_what_is_no_tolerance_is_refused_with_the_reason(typed, reason):
    with pytest.raises(SizeError, match=reason):
        plus_minus(typed, MM)


def test_a_tolerance_of_a_count_is_a_count():
    allowed = plus_minus("+/-0.5", sizes.count(8))
    assert (allowed.below.magnitude, allowed.above.magnitude) == (-0.5, 0.5)
    assert str(allowed) == "±0.5"
    with pytest.raises(SizeError, match="is not a count"):
        plus_minus("0.1 mm", sizes.count(8))


@pytest.mark.parametrize(
    ("like", "read", "typed", "text"),
    [
        (sizes.feed("2400 mm/min"), sizes.feed, "±50", "±50 mm/min"),
        (sizes.feed("95 ipm"), sizes.feed, ("-5 ipm", "0 ipm"), "-5 in/min to 0 in/min"),
        (sizes.surface_speed("1000 sfm"), sizes.surface_speed, 20, "±20 ft/min"),
        (sizes.spindle_speed(18000), lambda v, _: sizes.spindle_speed(v), 500, "±500 rev/min"),
    ],
    ids=["feed", "feed in inches", "surface speed", "spindle speed"],
)
def test_a_tolerance_of_a_rate_is_read_as_told(like, read, typed, text):
    assert str(plus_minus(typed, like, read=read)) == text
    with pytest.raises(SizeError, match=r"neither length, angle nor count\. Say with read="):
        plus_minus(typed, like)


@pytest.mark.parametrize(
    ("allowed", "text"),
    [
        (plus_minus("0.1 mm", MM), "±0.100 mm"),
        (plus_minus("5 thou", MM), "±5.0 thou"),
        (plus_minus(("-0.2 mm", "0.1 mm"), MM), "-0.200 mm to +0.100 mm"),
        (plus_minus(("0 mm", "0.1 mm"), MM), "0.000 mm to +0.100 mm"),
        (plus_minus("1°", angle(82)), "±1°"),
    ],
    ids=str,
)
def test_a_tolerance_is_written(allowed, text):
    assert str(allowed) == text
    assert isinstance(allowed, PlusMinus)


def recess(plate, pocket, head):
    return plate - pocket - head


def test_a_sum_spreads_as_its_parts_by_hand():
    """A stack of 18 ± 0.3, 11.5 ± 0.4 and 3.3 +0/-0.2: the parts add, or add in squares."""
    told = spread(
        recess,
        {"plate": length("18 mm"), "pocket": length("11.5 mm"), "head": length("3.3 mm")},
        {"plate": "0.3 mm", "pocket": "0.4 mm", "head": ("-0.2 mm", "0 mm")},
    )
    assert sizes.mm(told.nominal) == pytest.approx(3.2)
    assert sizes.mm(told.least) == pytest.approx(3.2 - 0.3 - 0.4)
    assert sizes.mm(told.most) == pytest.approx(3.2 + 0.3 + 0.4 + 0.2)
    assert sizes.mm(told.middle) == pytest.approx(3.3)
    assert sizes.mm(told.rss) == pytest.approx(math.sqrt(0.3**2 + 0.4**2 + 0.1**2))
    assert {name: sizes.mm(part) for name, part in told.contributions.items()} == pytest.approx(
        {"plate": 0.3, "pocket": 0.4, "head": 0.1}
    )


@given(
    nominal=st.tuples(*[st.floats(5, 20)] * 3),
    deviations=st.tuples(*[st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))] * 3),
)
@settings(deadline=None, max_examples=40)
def test_the_worst_case_holds_everything_between_the_ends(nominal, deviations):
    """Of a product over a tangent, which rises or falls steadily with each."""

    def volume(a, b, half):
        return a * b / length("1 mm") / np.tan(sizes.rad(half))

    a, b, degrees = nominal[0], nominal[1], 20 + nominal[2]
    told = spread(
        volume,
        {"a": length(a, "mm"), "b": length(b, "mm"), "half": angle(degrees)},
        {
            "a": tuple(length(end, "mm") for end in deviations[0]),
            "b": tuple(length(end, "mm") for end in deviations[1]),
            "half": tuple(angle(end) for end in deviations[2]),
        },
    )
    grids = [
        value + np.linspace(min(ends), max(ends), 9)
        for value, ends in zip((a, b, degrees), deviations, strict=True)
    ]
    every = grids[0][:, None, None] * grids[1][:, None] / np.tan(np.radians(grids[2]))
    centre = a * b / math.tan(math.radians(degrees))
    assert sizes.mm(told.least) == pytest.approx(min(every.min(), centre), rel=1e-12)
    assert sizes.mm(told.most) == pytest.approx(max(every.max(), centre), rel=1e-12)
    assert told.least <= told.nominal <= told.most


def test_nothing_spreads_without_tolerances():
    told = spread(lambda plate: plate, {"plate": MM}, {})
    assert told.least == told.nominal == told.most == told.middle
    assert sizes.mm(told.rss) == 0
    assert dict(told.contributions) == {}


def test_the_result_is_told_in_its_own_unit():
    told = spread(lambda plate: plate.to("in"), {"plate": MM}, {"plate": "0.254 mm"})
    assert told.rss.units == told.nominal.units == told.most.units
    assert told.rss.magnitude == pytest.approx(0.01)
    assert "0.2362 in ± 0.0100 in" in str(told)


def test_the_largest_contribution_stands_first_in_text_and_html():
    told = spread(
        lambda edge_land, plate: plate - 2 * edge_land,
        {"edge_land": length("0.6 mm"), "plate": MM},
        {"edge_land": "0.1 mm", "plate": "0.15 mm"},
    )
    assert [label for label, _ in told.rows()][-2:] == ["from edge land", "from plate"]
    for text in (str(told), told._repr_html_()):
        assert text.index("0.200 mm") < text.index("0.150 mm")
        assert "4.800 mm" in text
        assert "4.450 mm to 5.150 mm" in text
        assert "4.800 mm ± 0.250 mm" in text


def test_too_many_tolerances_are_refused_before_the_work_is_done():
    names = [f"part_{k}" for k in range(13)]
    calls = []

    def total(**parts):
        calls.append(parts)
        return sum(parts.values(), 0 * MM)

    sizes_ = dict.fromkeys(names, MM)
    with pytest.raises(ValueError, match="12 is the most"):
        spread(total, sizes_, dict.fromkeys(names, "0.1 mm"))
    assert calls == []
    told = spread(total, sizes_, dict.fromkeys(names[:12], "0.1 mm"))
    assert sizes.mm(told.most) == pytest.approx(13 * 6 + 1.2)


def test_an_end_without_a_result_is_told_with_the_cure():
    def land(width):
        if width < 0 * MM:
            raise ValueError("a width cannot be negative.")
        return width

    with pytest.raises(ToleranceError) as caught:
        spread(land, {"width": length("0 mm")}, {"width": "±0.1 mm"})
    assert str(caught.value) == (
        "at the end of the tolerances where width -0.100 mm, there is no result: a width cannot "
        "be negative. Where a size can only be off one way, give its tolerance as a pair, such "
        'as ("0 mm", "+0.1 mm").'
    )
    assert sizes.mm(spread(land, {"width": 0 * MM}, {"width": ("0 mm", "0.1 mm")}).most) == 0.1


def test_a_tolerance_for_what_is_not_there_is_a_key_error():
    with pytest.raises(KeyError):
        spread(lambda plate: plate, {"plate": MM}, {"hole": "0.1 mm"})


def test_public_names():
    assert set(tolerance.__all__) == {
        "PlusMinus",
        "Spread",
        "ToleranceError",
        "plus_minus",
        "spread",
    }


@pytest.mark.parametrize("value", ["+0.1 mm", " + 0.1 mm", "+0.1"])
def test_a_plus_alone_says_only_one_end_and_is_refused(value):
    """On a drawing +0.1 stands above a 0; taken for ±0.1 it would let half as much again pass."""
    with pytest.raises(sizes.SizeError, match=r"only how far above. Write '±0\.1"):
        plus_minus(value, MM)
    assert plus_minus(("0 mm", value.strip()), MM).below.magnitude == 0


def test_a_bare_tolerance_is_in_the_unit_of_its_size_whatever_that_is():
    told = plus_minus(2, sizes.length("500 thou"))
    assert told.above.m_as("thou") == pytest.approx(2)
    assert sizes.mm(plus_minus(2, sizes.ureg.Quantity(0.5, "m")).above) == pytest.approx(2)
