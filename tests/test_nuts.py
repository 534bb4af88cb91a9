"""Nuts, T-nuts, inserts, washers, cap screws and threads, against each other and a data set."""

import math

import pytest

from holecalc import nuts, sizes, tables
from holecalc.fasteners import FastenerError, clearance_hole
from holecalc.nuts import CapScrew, Insert, Nut, TNut, Washer
from project import check_values

ISO_4032 = check_values("iso-4032")
DATA_SET = check_values("hex-nut-data-set")


def every(kind):
    return [(standard, size) for standard in kind for size in nuts.listed(kind, standard)]


# --- threads ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "diameter", "pitch"),
    [
        ("M8", 8, 1.25),
        ("m8", 8, 1.25),
        ("M8x1", 8, 1),
        ("M8 × 1", 8, 1),
        ("M2.5", 2.5, 0.45),
        ("#10", 4.826, 25.4 / 24),
        ("#10-32", 4.826, 25.4 / 32),
        ("#0", 1.524, 25.4 / 80),
        ("1/4", 6.35, 25.4 / 20),
        ("1/4-28", 6.35, 25.4 / 28),
        ("1-8", 25.4, 25.4 / 8),
    ],
)
def test_threads_are_read(text, diameter, pitch):
    thread = nuts.thread(text)
    assert sizes.mm(thread.diameter) == pytest.approx(diameter)
    assert sizes.mm(thread.pitch) == pytest.approx(pitch)
    assert nuts.thread(thread) is thread
    # What it says of itself is read back as the same thread.
    assert nuts.thread(str(thread)) == thread


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("8", "threads per inch of 8 is not in the table"),
        ("M9", "pitch of M9 is not in the table"),
        ("M8x9", "leaves no core"),
        ("#13", "is not in the table"),
        ("1/0", "is not in the table"),
        ("1/0-20", "divides by zero"),
        ("W3/8", "is no thread"),
        ("", "is no thread"),
        ("M8x", "is no thread"),
    ],
)
def test_what_is_no_thread_is_refused(text, words):
    with pytest.raises(FastenerError, match=words):
        nuts.thread(text)


def test_metric_pitches_agree_with_the_data_set():
    # Values of the table from memory, against the open data set.
    pitches = {row["size"]: row["pitch"] for row in DATA_SET if row["pitch"] != "0.45"}
    compared = 0
    for row in tables.rows("thread-iso-262"):
        if row["size"] in pitches:
            assert float(row["pitch"]) == float(pitches[row["size"]]), row["size"]
            compared += 1
    assert compared >= 18


def test_inch_threads_agree_with_the_data_set():
    ours = {
        (row["size"], row[column])
        for row in tables.rows("thread-asme-b1.1")
        for column in ("coarse_per_inch", "fine_per_inch")
    }
    theirs = {(row["size"], row["per_inch"]) for row in check_values("inch-thread-data-set")}
    # The data set has two more, of special series.
    assert theirs - ours <= {("#4", "36"), ("1", "14")}
    assert len(theirs & ours) > 30


def test_screw_lengths_rise():
    for metric in (True, False):
        lengths = nuts.screw_lengths(metric)
        assert list(lengths) == sorted(set(lengths))
    assert {20, 25, 30} <= {length.magnitude for length in nuts.screw_lengths(True)}
    assert 22 not in {length.magnitude for length in nuts.screw_lengths(True)}


# --- tables -------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", ISO_4032, ids=lambda row: row["size"])
def test_iso_4032(row):
    # ISO 4032 as reprinted on two technical pages that agree.
    nut = nuts.hex_nut("ISO 4032", row["size"])
    assert sizes.mm(nut.across_flats) == float(row["s_max"])
    assert sizes.mm(nut.least_across_flats) == float(row["s_min"])
    assert sizes.mm(nut.across_corners) == float(row["e_min"])
    assert sizes.mm(nut.height) == float(row["m_max"])
    assert sizes.mm(nut.least_height) == float(row["m_min"])


@pytest.mark.parametrize("standard", ["ISO 4032", "ISO 4033", "ISO 4035"])
def test_metric_nuts_agree_with_the_data_set(standard):
    theirs = {row["size"]: row for row in DATA_SET if row["standard"] == standard}
    # The data set's column for ISO 4035 has the flats of an older standard in these.
    older = {"M10", "M12"} if standard == "ISO 4035" else set()
    compared = 0
    for size in nuts.listed(nuts.HEX_NUTS, standard):
        if size not in theirs:
            continue
        nut = nuts.hex_nut(standard, size)
        assert sizes.mm(nut.height) == pytest.approx(float(theirs[size]["m"]), abs=0.051)
        if size not in older:
            assert sizes.mm(nut.across_flats) == float(theirs[size]["s"])
        compared += 1
    assert compared >= 8


@pytest.mark.parametrize(("standard", "size"), every(nuts.HEX_NUTS))
def test_hexagon_nuts_hang_together(standard, size):
    nut = nuts.hex_nut(standard, size)
    assert nut.least_across_flats < nut.across_flats
    assert nut.least_height < nut.height
    # Least corners: 1.13 (ISO) or 1.14 (ASME) times the least flats, within the rounding.
    factor = 1.14 if "ASME" in standard else 1.13
    assert sizes.mm(nut.across_corners) == pytest.approx(
        factor * sizes.mm(nut.least_across_flats), abs=0.05 if "ASME" in standard else 0.0051
    )
    assert nut.across_corners < nut.sharp_corners
    assert nut.thread.diameter < nut.bearing_diameter < nut.across_flats
    # The screw's clearance hole leaves something to bear on; ASME B18.2.8 omits these two.
    if size not in ("#12", "9/16"):
        assert clearance_hole(nut.thread.size) < nut.bearing_diameter


@pytest.mark.parametrize(("standard", "size"), every(nuts.SQUARE_NUTS))
def test_square_nuts_hang_together(standard, size):
    nut = nuts.square_nut(standard, size)
    least = sizes.mm(nut.least_across_flats)
    assert 1.26 * least < sizes.mm(nut.across_corners) < math.sqrt(2) * least
    assert nut.thread.diameter < nut.across_flats


def test_high_and_thin_nuts_differ_in_height_only():
    for size in nuts.listed(nuts.HEX_NUTS, "ISO 4033"):
        regular, high = nuts.hex_nut("ISO 4032", size), nuts.hex_nut("ISO 4033", size)
        assert high.across_flats == regular.across_flats
        assert high.height > regular.height
    for size in nuts.listed(nuts.HEX_NUTS, "ISO 4035"):
        regular, thin = nuts.hex_nut("ISO 4032", size), nuts.hex_nut("ISO 4035", size)
        assert thin.across_flats == regular.across_flats
        assert thin.height < regular.height


@pytest.mark.parametrize(("standard", "size"), every(nuts.CAP_SCREWS))
def test_cap_screws_are_as_high_as_thick(standard, size):
    # ISO 4762 and ASME B18.3 both make the head as high as the screw is thick.
    screw = nuts.cap_screw(standard, size)
    assert sizes.mm(screw.head_height) == pytest.approx(sizes.mm(screw.thread.diameter))
    assert screw.head_diameter > 1.45 * screw.thread.diameter


@pytest.mark.parametrize(
    ("size", "plain_head"),
    [("M3", 5.5), ("M4", 7), ("M5", 8.5), ("M6", 10), ("M8", 13), ("M10", 16), ("M12", 18)],
)
def test_knurled_heads_are_a_little_wider_than_plain_ones(size, plain_head):
    # Plain heads of ISO 4762 from memory.
    head = sizes.mm(nuts.cap_screw("ISO 4762", size).head_diameter)
    assert 0.1 < head - plain_head < 0.5


@pytest.mark.parametrize(("standard", "size"), every(nuts.WASHERS))
def test_washers_go_over_their_screw(standard, size):
    ring = nuts.washer(standard, size)
    over = nuts.thread(ring.size).diameter
    assert over < ring.inside_diameter < 1.3 * over
    assert ring.outside_diameter > 1.6 * over


def test_large_washers_are_larger():
    for size in nuts.listed(nuts.WASHERS, "ISO 7093-1"):
        normal, large = nuts.washer("ISO 7089", size), nuts.washer("ISO 7093-1", size)
        assert large.outside_diameter > 1.25 * normal.outside_diameter


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: nuts.hex_nut("ISO 9999", "M8"), "there is no table 'ISO 9999'. There is ISO 4032"),
        (lambda: nuts.hex_nut("ISO 4033", "M3"), "ISO 4033 has no size 'M3' here. It has M5"),
        (lambda: nuts.square_nut("ISO 4032", "M8"), "There is DIN 557"),
        (lambda: nuts.cap_screw("ISO 4762", "1/4"), "has no size '1/4'"),
        (lambda: nuts.washer("ISO 7089", "M9x1"), "has no size 'M9'"),
        (lambda: nuts.listed(nuts.WASHERS, "ISO 4762"), "there is no table"),
    ],
)
def test_what_no_table_has_is_refused(ask, words):
    with pytest.raises(FastenerError, match=words):
        ask()


def test_fine_threads_keep_the_nuts_size():
    assert nuts.hex_nut("ISO 4032", "M8x1").across_flats == sizes.length("13 mm")
    assert str(nuts.hex_nut("ISO 4032", "M8x1")) == "M8×1 hexagon nut, ISO 4032"
    assert nuts.hex_nut("ASME B18.2.2", "1/4-28").thread.pitch.m_as("in") == pytest.approx(1 / 28)


# --- measured -----------------------------------------------------------------------------------


def test_a_measured_nut_has_cautious_corners_and_face():
    hexagon = Nut("hexagon", "13 mm", "6.5 mm", thread="M8")
    assert sizes.mm(hexagon.across_corners) == pytest.approx(1.13 * 13)
    assert sizes.mm(hexagon.sharp_corners) == pytest.approx(26 / math.sqrt(3))
    assert sizes.mm(hexagon.bearing_diameter) == pytest.approx(0.8 * 13)
    square = Nut("square", "1/2 in", "1/4 in", thread="5/16")
    assert square.across_corners.m_as("in") == pytest.approx(0.635)
    assert square.sharp_corners.m_as("in") == pytest.approx(math.sqrt(0.5))
    assert square.bearing_diameter == square.across_flats


M8 = {"thread": "M8"}


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Nut("octagon", "13 mm", "7 mm", **M8), "hexagon or a square, not 'octagon'"),
        (lambda: Nut("hexagon", "0 mm", "7 mm", **M8), "across flats is 0.00 mm; it must be more"),
        (lambda: Nut("hexagon", "13", "7 mm", **M8), "across flats: '13' has no unit"),
        (lambda: Nut("hexagon", "7 mm", "7 mm", **M8), "Measure over the flats, not the hole"),
        (
            lambda: Nut("hexagon", "13 mm", "7 mm", across_corners="13 mm", **M8),
            "Measure from corner to opposite corner",
        ),
        (
            lambda: Nut("hexagon", "13 mm", "7 mm", across_corners="15.2 mm", **M8),
            "at most 15.011 mm across",
        ),
        (lambda: Nut("hexagon", "13 mm", "7 mm", bearing_diameter="8 mm", **M8), "bearing face"),
        (lambda: Nut("hexagon", "13 mm", "7 mm", least_height="8 mm", **M8), "Swap them"),
        (lambda: TNut("9 mm", "1.5 mm", "9.8 mm", "9 mm", **M8), "wider than its barrel"),
        (lambda: TNut("22 mm", "1.5 mm", "8 mm", "9 mm", **M8), "no wider than the M8×1.25"),
        (lambda: TNut("22 mm", "-1 mm", "9.8 mm", "9 mm", **M8), "flange thickness is -1.00 mm"),
        (lambda: Insert("8 mm", "12 mm", **M8), "no wider than the M8×1.25 thread"),
        (lambda: Insert("11 mm", "12 mm", flange_diameter="14 mm", **M8), "only one was given"),
        (
            lambda: Insert(
                "11 mm", "12 mm", flange_diameter="10 mm", flange_thickness="1 mm", **M8
            ),
            "drops into the 11.000 mm hole",
        ),
        (lambda: Washer("16 mm", "8.4 mm", "1.6 mm"), "is no ring. Swap them"),
        (lambda: CapScrew("8 mm", "8 mm", **M8), "no wider than its M8×1.25 thread"),
    ],
)
def test_dimensions_that_make_no_part_are_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_parts_say_what_they_are():
    assert str(Nut("hexagon", "13 mm", "7 mm", thread="M8", name="from the blue box")) == (
        "from the blue box"
    )
    assert str(Insert("11 mm", "12 mm", thread="M8")) == "insert M8×1.25, 12.00 mm long"
    assert str(Washer("8.4 mm", "16 mm", "1.6 mm")) == "washer, 16.00 mm across"
    assert "13.00 mm" in str(Nut("hexagon", "13 mm", "7 mm", thread="M8"))
    html = TNut("22 mm", "1.5 mm", "9.8 mm", "9 mm", thread="M8", name="a <b>")._repr_html_()
    assert "a &lt;b&gt;" in html
    assert "22.000 mm" in html
    assert "14.380 mm" in nuts.hex_nut("ISO 4032", "M8")._repr_html_()
