"""Sizes as the shop writes them: what is read, what is refused, and what is written back."""

import os
import subprocess
import sys
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from math import pi
from pathlib import Path

import numpy as np
import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from holecalc import sizes
from holecalc.sizes import SizeError, angle, length, show, ureg
from project import ROOT, check_values

MM_PER_INCH = 25.4  # exact by the international definition of the inch


# --- reading lengths -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("6.5 mm", 6.5),
        ("6.5mm", 6.5),
        ("6,5 mm", 6.5),
        ("0,250 mm", 0.25),
        ("  6.5  mm  ", 6.5),
        ("6.5 MM", 6.5),
        ("5. mm", 5),
        (".5 mm", 0.5),
        (",5 mm", 0.5),
        ("5 millimetres", 5),
        ("5 millimeter", 5),
        ("1.2 cm", 12),
        ("12 µm", 0.012),
        ("12 μm", 0.012),
        ("12 microns", 0.012),
        ('1/4"', 6.35),
        ("1/4 in", 6.35),
        ("1 / 4 inch", 6.35),
        ("1/4 in.", 6.35),
        ("1/4″", 6.35),
        ("1/4”", 6.35),
        ("1/4 ''", 6.35),
        ("1⁄4 in", 6.35),
        ("¼ in", 6.35),
        ('.25"', 6.35),
        ("0.25 inches", 6.35),
        ("1-1/2 in", 38.1),
        ("1 - 1/2 in", 38.1),
        ('1 1/2"', 38.1),
        ("1½ in", 38.1),
        ("1 ½ in", 38.1),
        ("3/2 in", 38.1),
        ("15 thou", 0.381),
        ("15 mil", 0.381),
        ("15 mils", 0.381),
        ("2 ft", 609.6),
        ("#7", 0.2010 * MM_PER_INCH),
        ("# 7", 0.2010 * MM_PER_INCH),
        ("#07", 0.2010 * MM_PER_INCH),
        ("No. 7", 0.2010 * MM_PER_INCH),
        ("no 7", 0.2010 * MM_PER_INCH),
        ("Number 7", 0.2010 * MM_PER_INCH),
        ("#7 drill", 0.2010 * MM_PER_INCH),
        ("letter F", 0.257 * MM_PER_INCH),
        ("Letter f", 0.257 * MM_PER_INCH),
        ("letter F drill", 0.257 * MM_PER_INCH),
        ("Ø6.6 mm", 6.6),
        ("ø 6.6 mm", 6.6),
        ("⌀6.6 mm", 6.6),
        ("∅6.6 mm", 6.6),
        ("⌀ .266 in", 0.266 * MM_PER_INCH),
        ("dia 6.6 mm", 6.6),
        ("dia. 6.6 mm", 6.6),
        ("diameter 6.6 mm", 6.6),
        ("Ø #7", 0.2010 * MM_PER_INCH),
        ("+6.5 mm", 6.5),
        ("-6.5 mm", -6.5),
        ("−6.5 mm", -6.5),
        ("- 1-1/2 in", -38.1),
        ("1/4 in (+0.0004 in)", 0.2504 * MM_PER_INCH),
        ("1/4 in (−0.0004 in)", 0.2496 * MM_PER_INCH),
        ("6.5\u202fmm", 6.5),
    ],
)
def test_a_length_with_its_unit_is_read(typed, mm):
    assert sizes.mm(length(typed)) == pytest.approx(mm, rel=1e-12)
    # What is written wins over what the caller declared.
    for declared in ("mm", "in"):
        assert sizes.mm(length(typed, declared)) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("1/4", 0.25),
        (".25", 0.25),
        ("6,5", 6.5),
        ("1 1/2", 1.5),
        ("1-1/2", 1.5),
        ("Ø6.6", 6.6),
        ("⌀ .266", 0.266),
        ("-3", -3),
        ("0", 0),
        (0.25, 0.25),
        (3, 3),
        (np.float32(2.5), 2.5),
        (np.int64(3), 3),
        (Decimal("0.25"), 0.25),
        (Fraction(1, 4), 0.25),
    ],
    ids=repr,
)
def test_a_bare_number_takes_the_declared_unit_and_is_refused_without_one(typed, number):
    assert sizes.mm(length(typed, "mm")) == pytest.approx(number, rel=1e-12)
    assert sizes.mm(length(typed, "in")) == pytest.approx(number * MM_PER_INCH, rel=1e-12)
    with pytest.raises(SizeError, match=r"has no unit. Write for example '.* mm' or '.* in'"):
        length(typed)


@pytest.mark.parametrize(
    ("typed", "unit"),
    [("6 mm", "mm"), ("1/4 in", "in"), ("5 thou", "thou"), ("#7", "in"), ("letter F", "in")],
)
def test_the_unit_that_was_written_is_kept(typed, unit):
    assert length(typed).units == ureg.Unit(unit)


@pytest.mark.parametrize("row", check_values("drill-sizes"), ids=lambda row: row["name"])
def test_every_drill_of_asme_b94_11m_is_read_by_name(row):
    name = row["name"]
    typed = [f"letter {name}"] if name.isalpha() else [name, f"No. {name[1:]}"]
    for text in typed:
        # The data set rounds some number sizes to three places, half a thou at most.
        assert length(text).m_as("in") == pytest.approx(float(row["diameter_in"]), abs=0.0006)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("", "nothing was typed"),
        ("   ", "nothing was typed"),
        ("mm", "does not start with a number"),
        ("M6", "does not start with a number"),
        ("F", "does not start with a number"),
        ("abc", "does not start with a number"),
        (".", "does not start with a number"),
        ("-", "does not start with a number"),
        ("--5 mm", "does not start with a number"),
        ("nan mm", "does not start with a number"),
        ("inf", "does not start with a number"),
        ("#007", "does not start with a number"),
        ("#10-24", "does not start with a number"),
        ("#0", "is no drill"),
        ("#81", "is no drill"),
        ("1/0 in", "divides by zero"),
        ("1/0", "divides by zero"),
        ("1-3/2 in", "after a whole number the fraction stays below one"),
        ("1 2/2 in", "after a whole number the fraction stays below one"),
        ("1,234 mm", "can be read as 1234 or as 1.234"),
        ("12,600 mm", "can be read as 12600 or as 12.600"),
        ("6 mmm", "'mmm' is no unit of length"),
        ("6 mm 3", "'mm 3' is no unit of length"),
        ("6.5.3 mm", "is no unit of length"),
        ("1.234,5 mm", "is no unit of length"),
        ("1e3 mm", "is no unit of length"),
        ("0x10 mm", "is no unit of length"),
        ("1_000 mm", "is no unit of length"),
        ("1+1 mm", "is no unit of length"),
        ("2*3 mm", "is no unit of length"),
        ("2 mm * 3", "is no unit of length"),
        ("1/2/4 in", "is no unit of length"),
        ("1/4-20", "is no unit of length"),
        ("3' 6\"", "is no unit of length"),
        ("82 deg", "is no unit of length"),
        ("5 kg", "is no unit of length"),
        ("__import__('os')", "does not start with a number"),
        ("6 mm (+0.1)", "has no unit"),
        ("6 mm (0.1 mm)", "is no unit of length"),
        ("(+1 mm)", "nothing was typed"),
        ("1" * 61, "it is 61 characters"),
    ],
)
def test_what_is_not_a_length_is_refused_with_the_reason(typed, reason):
    with pytest.raises(SizeError) as caught:
        length(typed)
    message = str(caught.value)
    assert reason in message
    # What would be a size, or what to write instead, always stands at the end.
    assert "Write" in message or "drills run" in message


@pytest.mark.parametrize("typed", ["9**9**9", "9**9**9 mm", "9^9^9^9", "1e999999999 mm", "9!!!!!"])
def test_arithmetic_is_never_carried_out(typed):
    for read in (length, angle):
        with pytest.raises(SizeError, match=r"is not (a size|an angle)"):
            read(typed)


@pytest.mark.parametrize("unit", ["furlong", "", "mm2", "deg", 5])
def test_a_declared_unit_that_is_no_length_is_refused(unit):
    with pytest.raises(SizeError, match="is no unit of length"):
        length(5, unit)


def test_the_error_is_a_value_error():
    assert issubclass(SizeError, ValueError)


# --- reading angles --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        (82, 82),
        (82.5, 82.5),
        ("82", 82),
        ("82°", 82),
        ("82 °", 82),
        ("82º", 82),
        ("82.5 deg", 82.5),
        ("82,5°", 82.5),
        ("82 degrees", 82),
        ("41°30'", 41.5),
        ("41° 30′", 41.5),
        ("41 deg 30'", 41.5),
        ("41°30'36\"", 41.51),
        ("41°30′36″", 41.51),
        ("-41°30'", -41.5),
        ("-10", -10),
        ("1 rad", 180 / pi),
        ("0.5 radians", 90 / pi),
        ("1/2 rad", 90 / pi),
        ("22 1/2°", 22.5),
    ],
    ids=repr,
)
def test_an_angle_is_read_and_a_bare_number_is_in_degrees(typed, degrees):
    assert angle(typed).m_as("deg") == pytest.approx(degrees, rel=1e-12)
    assert sizes.rad(angle(typed)) == pytest.approx(degrees * pi / 180, rel=1e-12)


@pytest.mark.parametrize(
    "typed", ["", "deg", "82 mm", "#7", "41°60'", "41°30'60\"", "41°-30'", "82°°", "1/0°", None]
)
def test_what_is_not_an_angle_is_refused(typed):
    with pytest.raises(SizeError):
        angle(typed)


# --- quantities, numbers and arrays ----------------------------------------------------------


@pytest.mark.parametrize("read", [length, angle])
@pytest.mark.parametrize(
    "value",
    [
        True,
        False,
        None,
        np.True_,
        np.array([True, False]),
        float("nan"),
        float("inf"),
        -np.inf,
        10**400,
        1j,
        np.array([1j]),
        b"12",
        print,
        {},
        [1, None],
        [[1, 2], [3]],
        np.array([1.0, np.nan]),
        ureg.millimeter,
        ureg.Quantity(1, "second"),
        ureg.Quantity(1, "mm**2"),
        ureg.Quantity(1, ""),
        ureg.Quantity(float("nan"), "mm"),
        ureg.Quantity(float("nan"), "deg"),
        ureg.Quantity([1.0, np.inf], "mm"),
        ureg.Quantity(1j, "mm"),
    ],
    ids=repr,
)
def test_what_is_no_finite_real_size_is_refused(read, value):
    with pytest.raises(SizeError):
        read(value)
    with pytest.raises(SizeError):
        length(value, "mm")


def test_an_angle_is_no_length_and_a_length_no_angle():
    with pytest.raises(SizeError, match="is not a length"):
        length(angle(82))
    with pytest.raises(SizeError, match="is not an angle"):
        angle(length("82 mm"))


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_arrays_are_read_whole(shape):
    values = np.arange(np.prod(shape), dtype=float).reshape(shape)
    read = length(values, "in")
    np.testing.assert_allclose(sizes.mm(read), values * MM_PER_INCH, rtol=1e-15)
    assert length(read) is read or np.array_equal(length(read).magnitude, values)
    np.testing.assert_array_equal(angle(values).m_as("deg"), values)
    assert length(values.tolist(), "mm").magnitude.shape == shape


def test_integer_quantities_become_floats():
    read = length(ureg.Quantity(np.array([1, 2]), "mm"))
    assert read.magnitude.dtype == float
    assert isinstance(length(ureg.Quantity(1, "mm")).magnitude, float)


@pytest.mark.parametrize("style", ["", "~P", "L", "Lx", "~C", "H"])
def test_a_quantity_of_another_registry_joins_ours_however_that_one_prints(style):
    other = pint.UnitRegistry()
    other.formatter.default_format = style
    for read, value, unit in (
        (length, 1.5, "mm"),
        (length, 1.5, "µm"),
        (length, 1.5, "inch"),
        (angle, 1.5, "deg"),
        (angle, 1.5, "rad"),
    ):
        mine = read(other.Quantity(value, unit))
        assert mine == ureg.Quantity(value, unit)
        assert mine + ureg.Quantity(value, unit) == 2 * mine
    assert np.array_equal(length(other.Quantity([1, 2], "in")).m_as("in"), [1, 2])


def test_a_quantity_in_a_unit_only_another_registry_knows_is_refused():
    other = pint.UnitRegistry()
    other.define("cubitoid = 45 cm")
    with pytest.raises(SizeError):
        length(other.Quantity(1, "cubitoid"))
    with pytest.raises(SizeError):
        angle(other.Quantity(1, "cubitoid"))
    with pytest.raises(SizeError):
        length(other.Quantity(1, "second"))


# --- writing ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "options", "text"),
    [
        (length("12.6 mm"), {}, "12.60 mm"),
        (length("12.6 mm"), {"fine": True}, "12.600 mm"),
        (length("12.6 mm"), {"unit": "in"}, "0.4961 in"),
        (length("12.6 mm"), {"unit": "in", "fine": True}, "0.4961 in"),
        (length("12.6 mm"), {"places": 0}, "13 mm"),
        (length("1/2 in"), {}, "0.5000 in"),
        (length("1/2 in"), {"unit": "mm"}, "12.70 mm"),
        (length("15 thou"), {}, "15.0 thou"),
        (length("12 µm"), {}, "12.0 µm"),
        (length("-0.001 mm"), {}, "0.00 mm"),
        (length("-0.01 mm"), {}, "-0.01 mm"),
        (length("0.266 in"), {"fraction": 64}, "17/64 in (+0.0004 in)"),
        (length("0.265 in"), {"fraction": 64}, "17/64 in (-0.0006 in)"),
        (length("-0.266 in"), {"fraction": 64}, "-17/64 in (-0.0004 in)"),
        (length("1/2 in"), {"fraction": 64}, "1/2 in"),
        (length("1-1/2 in"), {"fraction": 64}, "1-1/2 in"),
        (length("0.9999 in"), {"fraction": 8}, "1 in (-0.0001 in)"),
        (length("0.003 in"), {"fraction": 8}, "0 in (+0.0030 in)"),
        (length("-0.003 in"), {"fraction": 8}, "0 in (-0.0030 in)"),
        (length("12.7 mm"), {"fraction": 8}, "1/2 in"),
        (angle(82), {}, "82°"),
        (angle(82.5), {}, "82.5°"),
        (angle(82.123), {}, "82.12°"),
        (angle(100), {}, "100°"),
        (angle(0), {}, "0°"),
        (angle(-0.001), {}, "0°"),
        (angle(82), {"places": 1}, "82.0°"),
        (angle("1 rad"), {}, "57.3°"),
        (angle(180), {"unit": "rad", "places": 4}, "3.1416 rad"),
    ],
)
def test_a_size_is_written_as_the_shop_does(quantity, options, text):
    assert show(quantity, **options) == text


@pytest.mark.parametrize(
    ("quantity", "options"),
    [
        (5, {}),
        ("5 mm", {}),
        (None, {}),
        (ureg.Quantity(2, "second"), {}),
        (ureg.Quantity(2, ""), {}),
        (ureg.Quantity(np.nan, "mm"), {}),
        (ureg.Quantity(np.inf, "deg"), {}),
        (ureg.Quantity([1.0, 2.0], "mm"), {}),
        (ureg.Quantity(2, "mm"), {"unit": "deg"}),
        (ureg.Quantity(2, "deg"), {"unit": "mm"}),
        (ureg.Quantity(2, "mm"), {"fraction": 3}),
        (ureg.Quantity(2, "mm"), {"fraction": 0}),
        (ureg.Quantity(2, "mm"), {"fraction": -8}),
    ],
    ids=repr,
)
def test_what_cannot_be_written_is_refused(quantity, options):
    with pytest.raises(SizeError):
        show(quantity, **options)


# Half a micrometre of slack: the nearest decimal and the nearest binary number differ.
SLACK = 1 + 1e-9
PLATES = st.floats(-1e5, 1e5)


@given(PLATES, st.sampled_from(["mm", "in", "thou", "µm", "cm", "ft"]), st.booleans())
@settings(deadline=None)
def test_what_show_writes_length_reads_back_to_the_printed_precision(value, unit, fine):
    places = {"mm": 3 if fine else 2, "thou": 1, "µm": 1}.get(unit, 4)
    text = show(length(value, unit), fine=fine)
    back = length(text)
    assert abs(back.m_as(unit) - value) <= 0.5 * 10**-places * SLACK + 1e-12 * abs(value)
    assert back.units == length(1, unit).units
    assert show(back, fine=fine) == text


@given(PLATES, st.sampled_from(["mm", "in"]), st.sampled_from(["mm", "in", "thou"]))
@settings(deadline=None)
def test_what_show_writes_in_another_unit_is_read_back_too(value, unit, other):
    half = {"mm": 0.005, "in": 0.00005 * MM_PER_INCH, "thou": 0.00005 * MM_PER_INCH}[other]
    quantity = length(value, unit)
    back = length(show(quantity, other))
    assert abs(sizes.mm(back) - sizes.mm(quantity)) <= half * SLACK + 1e-12 * abs(sizes.mm(back))


@given(PLATES, st.sampled_from(["yd", "km", "dm", "nm", "mile"]))
@settings(deadline=None)
def test_a_size_in_a_unit_the_shop_does_not_write_is_still_written_readably(value, unit):
    quantity = length(ureg.Quantity(value, unit))
    back = length(show(quantity))
    assert abs(sizes.mm(back) - sizes.mm(quantity)) <= 0.005 * SLACK + 1e-9 * abs(sizes.mm(back))


@given(PLATES, st.sampled_from(["mm", "in"]), st.sampled_from([1, 2, 4, 8, 16, 32, 64, 128]))
@settings(deadline=None)
def test_what_show_writes_as_a_fraction_is_read_back_with_its_remainder(value, unit, fraction):
    quantity = length(value, unit)
    back = length(show(quantity, fraction=fraction))
    assert abs((back - quantity).m_as("in")) <= 0.00005 * SLACK + 1e-12 * abs(value)
    written, _, _ = show(quantity, fraction=fraction).partition(" (")
    off = abs((length(written) - quantity).m_as("in"))
    assert off <= 0.5 / fraction + 1e-9 * (1 + abs(value))


@given(st.floats(-1000, 1000), st.sampled_from([None, 0, 1, 2, 3, 4, 6]), st.booleans())
@settings(deadline=None)
def test_what_show_writes_angle_reads_back_to_the_printed_precision(value, places, radians):
    quantity = ureg.Quantity(value, "rad" if radians else "deg")
    printed = 2 if places is None else places
    for unit in (None, "deg", "rad"):
        back = angle(show(quantity, unit, places=places))
        shown = "rad" if unit == "rad" else "deg"
        assert abs((back - quantity).m_as(shown)) <= 0.5 * 10**-printed * SLACK + 1e-9


TYPED = st.one_of(
    st.text(max_size=80),
    # Near misses: what a person's fingers can make of a size.
    st.text("0123456789 .,/-+#°'\"()⌀ØøµA½¼⅛″′−", max_size=70),
    st.lists(
        st.sampled_from(
            [
                *("0", "1", "7", "12.6", "6,5", ".25", "1/4", "1-1/2", "½", "-", "+", " ", "mm"),
                *("in", "thou", "mil", "°", "deg", "rad", "'", '"', "″", "#", "No.", "letter", "F"),
                *("Ø", "dia", "drill", "(", ")", "(+", "(-", ",", ".", "/", "**", "e", "nan"),
            ]
        ),
        max_size=12,
    ).map("".join),
    st.lists(st.sampled_from(["1/4", " ", "in", "(+", ")", "-", "9", "#7"]), max_size=20).map(
        "".join
    ),
)


@given(TYPED, st.sampled_from([None, "mm", "in"]))
@settings(deadline=None, max_examples=1000)
@example("(+1 in" * 10, None)
@example("1 in (+" * 8 + "1 in" + ")", "mm")
@example("9" * 60, "mm")
@example("1/" + "9" * 58, "in")
@example("\ud800", None)
@example("5 İ", "mm")
@example("²/₄ in", None)
@example("١٢ mm", None)
def test_whatever_is_typed_is_a_finite_size_or_a_size_error(typed, unit):
    for read in (lambda: length(typed, unit), lambda: angle(typed)):
        with suppress(SizeError):
            assert np.isfinite(read().magnitude)


@given(st.text("0123456789()+- in", min_size=200, max_size=5000))
@settings(deadline=None, max_examples=30)
def test_a_long_text_is_refused_at_once_and_not_repeated_whole(typed):
    with pytest.raises(SizeError) as caught:
        length(typed)
    assert len(str(caught.value)) < 200


# --- the registry ----------------------------------------------------------------------------

READ_ONE = "from holecalc import sizes; print(sizes.mm(sizes.length('1/2 in')))"


def read_in_a_new_process(**environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", READ_ONE],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        text=True,
        timeout=120,
    )


def homes(folder: Path) -> dict[str, str]:
    """Everything a cache folder is derived from on the systems Python runs on."""
    return dict.fromkeys(("HOME", "XDG_CACHE_HOME", "LOCALAPPDATA", "USERPROFILE"), str(folder))


def test_a_home_that_cannot_be_written_still_gives_a_registry(tmp_path):
    # A file in place of the folder: even the superuser cannot make a folder under it.
    blocked = tmp_path / "home"
    blocked.write_text("not a folder")
    result = read_in_a_new_process(**homes(blocked / "below"))
    assert (result.returncode, result.stdout.strip()) == (0, "12.7"), result.stderr


@pytest.mark.skipif(os.name == "nt", reason="folder permissions are not like this there")
def test_a_folder_without_permission_still_gives_a_registry(tmp_path):
    tmp_path.chmod(0o500)
    try:
        result = read_in_a_new_process(**homes(tmp_path))
    finally:
        tmp_path.chmod(0o700)
    assert (result.returncode, result.stdout.strip()) == (0, "12.7"), result.stderr


@pytest.mark.parametrize("spoilt", [b"", b"half a cache", None], ids=["empty", "garbage", "cut"])
def test_a_spoilt_definition_cache_still_gives_a_registry(tmp_path, spoilt):
    first = read_in_a_new_process(**homes(tmp_path))
    assert first.returncode == 0, first.stderr
    kept = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert kept, "the definitions were not cached, so this test has nothing to spoil"
    for path in kept:
        whole = path.read_bytes()
        path.write_bytes(whole[: len(whole) // 2] if spoilt is None else spoilt)
    result = read_in_a_new_process(**homes(tmp_path))
    assert (result.returncode, result.stdout.strip()) == (0, "12.7"), result.stderr


def test_what_was_read_from_an_array_does_not_change_with_it():
    typed = np.array([1.0, 2.0])
    read = length(typed, "mm")
    typed[0] = 9.0
    assert read.magnitude.tolist() == [1.0, 2.0]
    again = length(read)
    assert np.shares_memory(again.magnitude, read.magnitude)
    with pytest.raises(ValueError, match="read-only"):
        read.magnitude[0] = 9.0


def test_an_array_of_huge_sizes_is_finite_and_one_with_a_hole_is_not():
    assert length(np.full(3, 1e308), "mm").magnitude.tolist() == [1e308] * 3
    with pytest.raises(SizeError, match="not a finite size"):
        length(np.array([1e308, 1e308, np.inf]), "mm")


def test_a_half_is_rounded_alike_by_whatever_road_it_came():
    # 9/32 is 0.28125 exactly; by way of millimetres it comes back a hair off.
    assert show(length("9/32 in")) == "0.2813 in"
    assert show(sizes.from_mm(sizes.mm(length("9/32 in")), "in")) == "0.2813 in"
    assert show(length("-0.005 mm")) == "-0.01 mm"


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (length("12.7 mm"), "'12.7 mm'"),
        (length("4 mm"), "'4 mm'"),
        (length("2 thou"), "'2 thou'"),
        (length("0.66 cm"), "'0.66 cm'"),
        (length("3 µm"), "'3 µm'"),
        (length("-1/3 in"), "'-0.3333333333333333 in'"),
        (length(1e-7, "mm"), "'0.0000001 mm'"),
        (ureg.Quantity(0.018, "m"), "'18 mm'"),
        (sizes.angle("41°30'"), "'41.5°'"),
        (sizes.angle("1.5 rad"), "'1.5 rad'"),
        (sizes.count(8), "8"),
        (sizes.spindle_speed("24,000 rpm"), "'24000 rpm'"),
        (sizes.feed("95 in/min"), "'95 in/min'"),
    ],
    ids=str,
)
def test_a_size_is_written_exactly_as_python_that_reads_it_back(size, text):
    assert sizes.exact(size) == text
    read = {
        "[length]": length,
        "[length]/[time]": sizes.feed,
        "1/[time]": sizes.spindle_speed,
    }
    for kind, reader in read.items():
        if size.check(kind):
            assert reader(eval(text)).m_as(size.units) == pytest.approx(size.magnitude, rel=1e-15)


@given(
    st.floats(1e-9, 1e6) | st.floats(-1e6, -1e-9),
    st.sampled_from(["mm", "in", "thou", "cm", "ft", "µm"]),
)
def test_no_digit_is_lost_in_writing_a_size_exactly(value, unit):
    read = length(eval(sizes.exact(length(value, unit))))
    assert (read.magnitude, read.units) == (value, length(1, unit).units)


@pytest.mark.parametrize("size", [length([1.0, 2.0], "mm"), ureg.Quantity(float("nan"), "mm")])
def test_what_is_not_one_size_is_not_written_exactly(size):
    with pytest.raises(SizeError, match="not one finite size"):
        sizes.exact(size)


@pytest.mark.parametrize("unit", ["mm", "cm", "um", "in", "thou", "ft"])
def test_the_name_of_a_unit_reads_back(unit):
    assert length(1, sizes.unit_of(length(1, unit))) == length(1, unit)


def test_a_unit_that_is_not_read_gives_way_to_millimetres():
    assert sizes.unit_of(ureg.Quantity(0.018, "m")) == "mm"


@pytest.mark.parametrize(
    ("size", "system"),
    [
        ("1 mm", "mm"),
        ("1 cm", "mm"),
        ("1 µm", "mm"),
        ("1 in", "in"),
        ("1 thou", "in"),
        ("1 ft", "in"),
    ],
)
def test_a_drawing_is_in_one_of_two_units(size, system):
    assert sizes.system_of(length(size)) == system
