"""Tables of heights and diameters as people paste them."""

import pytest

from holecalc import sizes
from holecalc.form_cutter import ArcFitError, read_trace

TWO = [(0.5, 12.71), (1.0, 12.86)]


def points(trace):
    pairs = zip(trace.heights.magnitude, trace.diameters.magnitude, strict=True)
    return [(round(float(h), 6), round(float(d), 6)) for h, d in pairs]


@pytest.mark.parametrize(
    "text",
    [
        "0.5 12.71\n1.0 12.86",
        "0.5, 12.71\n1.0, 12.86",
        "0.5,12.71\n1.0,12.86",
        "0.5 ,12.71\n1.0 , 12.86",
        "0.5;12.71\n1.0;12.86",
        "0.5\t12.71\r\n1.0\t12.86\r\n",
        "0,5 12,71\n1,0 12,86",
        "0,5; 12,71;\n1,0; 12,86;",
        '"0,5","12,71"\n"1,0","12,86"',
        "0.5 mm, 12.71 mm\n1.0 mm, 12.86 mm",
        "0.5 mm,12.71 mm\n1.0 mm,12.86 mm",
        "0.5 mm 12.71 mm\n1.0 mm 12.86 mm",
        "# walked with calipers\n\n0.5 12.71\n\n  1.0   12.86  \n",
        "height [mm]; diameter [mm]\n0.5; 12.71\n1.0; 12.86",
        "height_mm,diameter_mm\n0.5,12.71\n1.0,12.86",
        "\ufeffheight,diameter\n0.5,12.71\n1.0,12.86",
        "diameter (mm)\theight (mm)\n12.71\t0.5\n12.86\t1.0",
        "⌀, h\n12.71, 0.5\n12.86, 1.0",
    ],
)
def test_a_table_is_read_however_it_is_parted(text):
    assert points(read_trace(text, "mm")) == TWO


def test_headings_declare_the_unit():
    trace = read_trace("height (in)\tdiameter (in)\n1/4\t1/2\n1-1/2\t2")
    assert points(trace) == [(0.25, 0.5), (1.5, 2.0)]
    assert trace.unit == "in"
    assert trace.xy[0] == pytest.approx([6.35, 25.4])


def test_fractions_with_blanks_need_a_semicolon():
    assert points(read_trace("1 1/2 in; 2 1/4 in")) == [(1.5, 2.25)]
    with pytest.raises(ArcFitError, match=r"row 1 holds 3 values.*put a semicolon"):
        read_trace("1 1/2 2", "in")


def test_pairs_of_sizes_are_read_too():
    pairs = [("0.5 mm", "12.71 mm"), (sizes.length("1 mm"), sizes.length("12.86 mm"))]
    assert points(read_trace(pairs)) == TWO
    assert points(read_trace(TWO, "mm")) == TWO
    assert read_trace(TWO, "mm").rows == (1, 2)


def test_a_trace_is_itself_and_a_file_is_read(tmp_path):
    path = tmp_path / "trace.csv"
    path.write_text("height [mm],diameter [mm]\n0.5,12.71\n1.0,12.86\n", encoding="utf-8-sig")
    trace = read_trace(path)
    assert points(trace) == TWO
    assert trace.rows == (2, 3)
    assert read_trace(trace) is trace


def test_rows_are_counted_as_a_spreadsheet_does():
    trace = read_trace("height; diameter\n# note\n\n0.5; 12.71\n1; 12.86", "mm")
    assert trace.rows == (4, 5)
    assert trace.told(1) == "row 5 (height 1.000 mm, diameter 12.860 mm)"
    assert trace.only(trace.xy[1] > 0.7).rows == (5,)


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("0.5 mm; 12.7 mm\n1 mm; 0.51 in", None, r"row 2 has 0\.5100 in and .* before it is in mm"),
        ("0.5 mm; 0.5 in", None, r"row 1 has 0\.5000 in and what stands before"),
        ("0.5; 12.7\n1 in; 13", "mm", r"row 2 has 1\.0000 in"),
        ("height [mm]; diameter [in]\n1; 2", None, "row 1: the headings .* name 2 units"),
        ("height [mm]; diameter [mm]\n1; 2", "in", "row 1: the headings .* name 2 units"),
        ("0.5; 12.7\n-1; 13", "mm", r"row 2: the height is -1\.00 mm, which is below"),
        ("0.5; 12.7\n1; -13", "mm", r"row 2: the diameter is -13\.00 mm"),
        ("0.5; 12.7\n1; x", "mm", "row 2: 'x' is not a size"),
        ("0.5; 12.7\n1; 13", None, r"row 1: '0\.5' has no unit"),
        ("0.5; 12.7\n1", "mm", "row 2 holds 1 values"),
        ("0.5; 12.7; 3\n1; 2; 3", "mm", "row 1 holds 3 values"),
        ("1,234; 12.7", "mm", "row 1: '1,234' can be read as 1234 or as 1.234"),
        ("radius; height\n1; 2", "mm", "row 1 is neither numbers nor a heading"),
        ("remark\n1; 2", "mm", "row 1 is neither numbers nor a heading"),
        ("1; 2\nend of trace", "mm", "row 2 holds 3 values"),
        ("", "mm", "holds no points"),
        ("height; diameter", "mm", "holds no points"),
        ("1; 2\n" * 5001, "mm", "5001 rows; 5000 is the most"),
    ],
)
def test_what_is_wrong_is_said_with_its_row(text, unit, message):
    with pytest.raises(ArcFitError, match=message):
        read_trace(text, unit)


def test_pairs_that_are_no_pairs_are_refused():
    with pytest.raises(ArcFitError, match="row 2 holds 3 values"):
        read_trace([(1, 2), (1, 2, 3)], "mm")
