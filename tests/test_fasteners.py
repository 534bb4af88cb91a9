"""Flat heads and clearance holes: the tables against each other and against geometry."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecalc import sizes
from holecalc.fasteners import (
    FITS,
    FLAT_HEAD_STANDARDS,
    FastenerError,
    FlatHead,
    clearance_drill,
    clearance_hole,
    flat_head,
    flat_head_sizes,
)
from holecalc.sizes import SizeError, length
from project import check_values

METRIC = ("ISO 7046-2", "DIN 7991")
INCH_82, INCH_100 = "ASME B18.6.3 82°", "ASME B18.6.3 100°"
INCH = {INCH_82: 82, INCH_100: 100}


def slope(degrees: float) -> float:
    return math.tan(math.radians(degrees) / 2)


def inch_rows(degrees: int) -> list[dict[str, float | str]]:
    """The table's numbers, with the screw's diameter: 0.060 + 0.013 n for a number size n."""
    rows: list[dict[str, float | str]] = []
    for row in check_values(f"asme-b18.6.3-flat-{degrees}deg"):
        size = row["size"]
        whole, _, part = size.partition("/")
        d = float(whole) / float(part) if part else 0.060 + 0.013 * int(size)
        values = {k: float(v) for k, v in row.items() if k.endswith("_in")}
        rows.append({"name": size if part else f"#{size}", "d_in": d, **values})
    return rows


def row_ids(rows: list[dict[str, float | str]]) -> list[str]:
    return [str(row["name"]) for row in rows]


# --- the head itself -------------------------------------------------------------------------


@given(
    head=st.floats(2, 60),
    shank=st.floats(0.05, 0.95),
    degrees=st.floats(20, 160),
    land=st.floats(0, 5),
)
@settings(deadline=None)
def test_height_and_sharp_diameter_follow_from_the_outline(head, shank, degrees, land):
    shank *= head
    made = FlatHead(
        length(head, "mm"),
        degrees,
        edge_land=length(land, "mm"),
        shank_diameter=length(shank, "mm"),
    )
    # Down the land, then along the cone from the rim to the shank.
    height = land + (head - shank) / 2 / slope(degrees)
    assert sizes.mm(made.head_height) == pytest.approx(height, rel=1e-12)
    # The cone carried up from the shank to the height of the face.
    assert sizes.mm(made.sharp_diameter) == pytest.approx(
        shank + 2 * height * slope(degrees), rel=1e-12
    )
    again = FlatHead.from_height(
        length(head, "mm"),
        degrees,
        length(height, "mm"),
        shank_diameter=length(shank, "mm"),
    )
    assert sizes.mm(again.edge_land) == pytest.approx(land, abs=1e-9)


@given(head=st.floats(3, 60), gauge=st.floats(0.5, 0.95), degrees=st.floats(40, 130))
@settings(deadline=None)
def test_a_gauged_head_stands_as_far_above_the_gauge_as_was_measured(head, gauge, degrees):
    """A head of a known outline set into a sharp-edged hole, and found again from that."""
    gauge *= head
    land = 0.05 * head
    # The cone meets the hole's edge where it is as wide: that far below the face.
    protrusion = land + (head - gauge) / 2 / slope(degrees)
    found = FlatHead.from_gauge(
        length(head, "mm"),
        degrees,
        protrusion=length(protrusion, "mm"),
        gauge_diameter=length(gauge, "mm"),
        shank_diameter=length(0.4 * head, "mm"),
    )
    assert sizes.mm(found.edge_land) == pytest.approx(land, abs=1e-9)


def test_a_head_keeps_its_units_and_compares_by_its_dimensions():
    head = FlatHead("0.472 in", 82, shank_diameter="6.35 mm", name="one")
    assert head.sharp_diameter.units == length("1 in").units
    assert head == FlatHead("0.472 in", 82, shank_diameter="6.35 mm", name="another")
    assert head != FlatHead("0.473 in", 82, shank_diameter="6.35 mm")
    assert hash(head) == hash(FlatHead("0.472 in", 82, shank_diameter="6.35 mm"))


@pytest.mark.parametrize(
    "head",
    [
        FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm", name="M6"),
        FlatHead("0.507 in", 82, shank_diameter="1/4 in"),
        FlatHead("1-1/3 in", "41°30'", edge_land="12.3456 thou", shank_diameter="0.66 cm"),
        flat_head("ISO 7046-2", "M3.5"),
        flat_head("DIN 7991", "M24"),
    ],
    ids=repr,
)
def test_a_head_is_written_as_the_python_that_makes_it(head):
    again = eval(repr(head), {"FlatHead": FlatHead})
    assert again == head
    assert again.name == head.name


def test_a_head_in_a_notebook_holds_its_numbers():
    shown = FlatHead("11.3 mm", 90, edge_land="0.65 mm", shank_diameter="6 mm")._repr_html_()
    for text in ("11.30 mm", "12.60 mm", "90°", "0.650 mm", "3.30 mm", "6.00 mm"):
        assert text in shown


def test_a_name_in_a_notebook_is_text_and_no_markup():
    shown = FlatHead("11 mm", 90, shank_diameter="6 mm", name="a <b> & c")._repr_html_()
    assert "<caption>a &lt;b&gt; &amp; c</caption>" in shown


@pytest.mark.parametrize(
    ("head", "degrees", "land", "shank", "reason"),
    [
        ("11 mm", 0, "0 mm", "6 mm", "between 0° and 180°"),
        ("11 mm", 180, "0 mm", "6 mm", "between 0° and 180°"),
        ("11 mm", -90, "0 mm", "6 mm", "between 0° and 180°"),
        ("6 mm", 90, "0 mm", "6 mm", "wider than its shank"),
        ("5 mm", 90, "0 mm", "6 mm", "wider than its shank"),
        ("5 mm", 90, "0 mm", "0 mm", "wider than its shank"),
        ("-5 mm", 90, "0 mm", "-6 mm", "wider than its shank"),
        ("11 mm", 90, "-0.1 mm", "6 mm", "cannot be negative"),
    ],
)
def test_what_is_no_flat_head_is_refused_with_the_reason(head, degrees, land, shank, reason):
    with pytest.raises(FastenerError, match=reason):
        FlatHead(head, degrees, edge_land=land, shank_diameter=shank)


def test_a_height_or_gauge_below_the_cone_is_refused_with_the_reason():
    # A 90° cone from 11 to 6 mm is 2.5 mm high; one that stands 1 mm above an 8 mm hole is
    # 10 mm wide.
    with pytest.raises(FastenerError, match=r"already 2\.50 mm high"):
        FlatHead.from_height("11 mm", 90, "2.4 mm", shank_diameter="6 mm")
    with pytest.raises(FastenerError, match=r"10\.00 mm, less than the head's 11\.00 mm"):
        FlatHead.from_gauge(
            "11 mm", 90, protrusion="1 mm", gauge_diameter="8 mm", shank_diameter="6 mm"
        )


def test_calipers_may_round_a_head_to_no_land():
    head = FlatHead.from_height("11 mm", 90, "2.499 mm", shank_diameter="6 mm")
    assert sizes.mm(head.edge_land) == 0
    with pytest.raises(SizeError):
        FlatHead(11, 90, shank_diameter="6 mm")


# --- ISO 7046-2 and DIN 7991 -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "sharp"),
    # d + 2k of ISO 7046-2, its theoretical sharp diameter.
    [
        ("M2", 4.4),
        ("M2.5", 5.5),
        ("M3", 6.3),
        ("M3.5", 8.2),
        ("M4", 9.4),
        ("M5", 10.4),
        ("M6", 12.6),
        ("M8", 17.3),
        ("M10", 20.0),
    ],
)
def test_iso_7046_2_sharp_diameters(size, sharp):
    head = flat_head("ISO 7046-2", size)
    assert sizes.mm(head.sharp_diameter) == pytest.approx(sharp, abs=1e-6)
    assert head.head_angle.m_as("deg") == 90


def test_iso_7046_2_m6_is_the_head_of_the_worked_seats():
    head = flat_head("ISO 7046-2", "M6")
    assert sizes.mm(head.head_diameter) == pytest.approx(11.3)
    assert sizes.mm(head.edge_land) == pytest.approx(0.65)


@pytest.mark.parametrize("standard", METRIC)
def test_a_metric_head_is_as_high_as_its_table_says(standard):
    rows = check_values(standard.lower().replace(" ", "-"))
    assert flat_head_sizes(standard) == tuple(row["size"] for row in rows)
    for row in rows:
        d, k = float(row["d"]), float(row["k_max"])
        degrees = float(row.get("head_angle_deg") or 90)
        for largest, column in ((True, "dk_max"), (False, "dk_min")):
            head = flat_head(standard, row["size"], largest=largest)
            assert sizes.mm(head.head_diameter) == float(row[column])
            assert sizes.mm(head.shank_diameter) == d
            assert head.head_angle.m_as("deg") == degrees
            if largest:
                # k is to the sharp corner or, where the cone alone is higher, less than that.
                cone = (float(row[column]) - d) / 2 / slope(degrees)
                assert sizes.mm(head.head_height) == pytest.approx(max(k, cone), abs=1e-6)


@pytest.mark.parametrize("row", check_values("din-7991"), ids=lambda row: row["size"])
def test_din_7991_heights_are_those_of_the_cone_and_a_small_land(row):
    """With the head angle the table gives, 60° from M22, k leaves 0.2 to 1.0 mm of land.

    The wrong angle shows: at 60° an M6 head would be 5.2 mm high, at 90° an M24 one 7.5 mm.
    """
    d, k, head = float(row["d"]), float(row["k_max"]), float(row["dk_max"])
    degrees = float(row["head_angle_deg"])
    land = k - (head - d) / 2 / slope(degrees)
    assert 0 <= land <= 1.05, land
    other = 60 if degrees == 90 else 90
    assert not 0 <= k - (head - d) / 2 / slope(other) <= 1.05
    sharp = sizes.mm(flat_head("DIN 7991", row["size"]).sharp_diameter)
    assert sharp == pytest.approx(d + 2 * k * slope(degrees), abs=1e-6)


# --- ASME B18.6.3 ----------------------------------------------------------------------------
#
# How the columns hang together. A head set into a sharp-edged hole of diameter G stands F above
# it, which is (A - G) / (2 tan(angle / 2)) for a sharp diameter A. The A columns of the table are
# those of the rounded or flat edge, so A is found in two other ways: by the height, d + 2 H
# tan(angle / 2), and by the gauge, G + 2 F tan(angle / 2).


def by_height(row: dict[str, float | str], degrees: float) -> float:
    return float(row["d_in"]) + 2 * float(row["head_height_ref_in"]) * slope(degrees)


def stands_above_gauge(sharp: float, row: dict[str, float | str], degrees: float) -> float:
    return (sharp - float(row["gaging_diameter_in"])) / 2 / slope(degrees)


@pytest.mark.parametrize("row", inch_rows(100), ids=row_ids(inch_rows(100)))
def test_asme_100_degree_protrusion_follows_from_the_height_sharp_edge(row):
    protrusion = stands_above_gauge(by_height(row, 100), row, 100)
    assert protrusion == pytest.approx(row["protrusion_max_in"], abs=0.002)


@pytest.mark.parametrize("row", inch_rows(82), ids=row_ids(inch_rows(82)))
def test_asme_82_degree_protrusion_follows_from_the_height_up_to_size_8_sharp_edge(row):
    """At 82° the height, a reference dimension, says too much protrusion from #10 up."""
    over = stands_above_gauge(by_height(row, 82), row, 82) - float(row["protrusion_max_in"])
    if float(row["d_in"]) <= 0.164:
        assert abs(over) <= 0.002
    else:
        assert 0.0028 <= over <= 0.0052


@pytest.mark.parametrize(("degrees", "least"), [(82, 80), (100, 99)])
def test_asme_heights_and_protrusions_agree_at_the_least_head_angle_sharp_edge(degrees, least):
    """The standard lets an 82° head be 80° and a 100° one 99° (from memory).

    Reckoned at that angle, height and protrusion agree for every size, and the height says the
    sharp diameter of the standard's own column, here from memory.
    """
    sharp = {
        row["size"]: float(row["sharp_diameter_max_in"])
        for row in check_values("asme-b18.6.3-sharp-diameters")
    }
    for row in inch_rows(degrees):
        found = by_height(row, least)
        assert found == pytest.approx(sharp[str(row["name"]).lstrip("#")], abs=0.002)
        assert stands_above_gauge(found, row, least) == pytest.approx(
            row["protrusion_max_in"], abs=0.002
        )


@pytest.mark.parametrize(("degrees", "apart"), [(82, 0.0025), (100, 0.0042)])
def test_asme_head_diameters_are_those_of_the_rounded_or_flat_edge(degrees, apart):
    """By the gauge, the largest and the smallest head have the same land below their edge."""
    for row in inch_rows(degrees):
        lands = [
            float(row[f"protrusion_{end}_in"])
            - (float(row[f"head_diameter_{end}_in"]) - float(row["gaging_diameter_in"]))
            / 2
            / slope(degrees)
            for end in ("max", "min")
        ]
        assert min(lands) > 0.002
        assert lands[0] == pytest.approx(lands[1], abs=apart)


@pytest.mark.parametrize("standard", INCH)
@pytest.mark.parametrize(("largest", "end"), [(True, "max"), (False, "min")])
def test_an_inch_head_has_the_tabulated_edge_and_a_land(standard, largest, end):
    """The edge condition taken: rounded or flat."""
    rows = inch_rows(INCH[standard])
    assert flat_head_sizes(standard) == tuple(row["name"] for row in rows)
    for row in rows:
        head = flat_head(standard, str(row["name"]), largest=largest)
        assert head.head_diameter.m_as("in") == row[f"head_diameter_{end}_in"]
        assert head.shank_diameter.m_as("in") == pytest.approx(row["d_in"], abs=1e-12)
        assert 0.003 < head.edge_land.m_as("in") < 0.03


@pytest.mark.parametrize(("standard", "least"), [(INCH_82, 80), (INCH_100, 99)])
def test_the_largest_inch_head_meets_the_gauge_at_its_smallest_angle(standard, least):
    """F max above G within 0.002 in for every size, the sharp head at the smallest angle."""
    for row in inch_rows(INCH[standard]):
        head = flat_head(standard, str(row["name"]))
        protrusion = stands_above_gauge(head.sharp_diameter.m_as("in"), row, least)
        assert protrusion == pytest.approx(row["protrusion_max_in"], abs=0.002)


def test_the_largest_82_degree_heads_meet_the_sharp_diameters():
    """ASME B18.6.3, head diameter max with a sharp edge (from memory), within 0.002 in."""
    by_size = {row["size"]: row for row in check_values("asme-b18.6.3-sharp-diameters")}
    assert len(by_size) >= 13
    for size, row in by_size.items():
        name = size if "/" in size else f"#{size.lstrip('#')}"
        sharp = flat_head(INCH_82, name).sharp_diameter.m_as("in")
        assert sharp == pytest.approx(float(row["sharp_diameter_max_in"]), abs=0.002)


# --- BS 4620 ---------------------------------------------------------------------------------


@pytest.mark.parametrize("row", check_values("bs-4620-table-6"), ids=lambda row: row["shank_d"])
def test_bs_4620_rivet_heads_are_cones(row):
    """BS 4620:1970 table 6, 90°: depth = (head - shank) / 2, to the table's 0.1 mm."""
    head = FlatHead(f"{row['head_diameter']} mm", 90, shank_diameter=f"{row['shank_d']} mm")
    assert sizes.mm(head.head_height) == pytest.approx(float(row["head_depth"]), abs=0.0501)
    assert sizes.mm(head.sharp_diameter) == pytest.approx(float(row["head_diameter"]))


# --- looking things up -----------------------------------------------------------------------


def test_every_tabulated_head_can_be_had_by_name():
    for standard in FLAT_HEAD_STANDARDS:
        for size in flat_head_sizes(standard):
            head = flat_head(standard, f" {size} ")
            assert str(head) == f"{size} flat head, {standard}"
            assert head.head_diameter > flat_head(standard, size, largest=False).head_diameter


@pytest.mark.parametrize(
    ("standard", "typed", "size"),
    [
        ("ISO 7046-2", "m6", "M6"),
        ("ISO 7046-2", " M 6 ", "M6"),
        ("ISO 7046-2", "m2,5", "M2.5"),
        (INCH_82, "No. 10", "#10"),
        (INCH_82, "no 10", "#10"),
        (INCH_82, "number 10", "#10"),
        (INCH_82, "# 10", "#10"),
        (INCH_82, "1/4 in", "1/4"),
        (INCH_82, '1/4"', "1/4"),
        (INCH_82, "1/4 inch", "1/4"),
    ],
)
def test_a_size_may_be_spelled_as_the_shop_does(standard, typed, size):
    head = flat_head(standard, typed)
    assert head == flat_head(standard, size)
    assert head.name == f"{size} flat head, {standard}"
    assert clearance_drill(typed) == clearance_drill(size)


@pytest.mark.parametrize("typed", ["", "10", "M", "1/4 mm", "##10", "M6 in 3", "14"])
def test_what_is_no_size_is_not_taken_for_one(typed):
    for standard in FLAT_HEAD_STANDARDS:
        with pytest.raises(FastenerError):
            flat_head(standard, typed)


def test_the_standards_are_told_by_name_alone():
    assert isinstance(FLAT_HEAD_STANDARDS, tuple)
    assert set(FLAT_HEAD_STANDARDS) == {*METRIC, *INCH}


@pytest.mark.parametrize(
    ("standard", "size", "named"),
    [("ISO 7046-2", "M7", "M2, M2.5"), ("DIN 7991", "6", "M3, M4"), ("ISO 9999", "M6", "DIN 7991")],
)
def test_a_head_that_is_not_there_is_an_error_that_names_those_that_are(standard, size, named):
    with pytest.raises(FastenerError, match=named):
        flat_head(standard, size)


@pytest.mark.parametrize("fit", FITS)
def test_iso_273_clearance_holes(fit):
    for row in check_values("iso-273"):
        hole = clearance_hole(row["size"], fit)
        assert sizes.mm(hole) == pytest.approx(float(row[fit]))
        assert hole.units == length("1 mm").units
        assert clearance_drill(row["size"], fit) == f"{row[fit]} mm"


@pytest.mark.parametrize("fit", FITS)
def test_asme_b18_2_8_clearance_holes(fit):
    letters_and_numbers = {row["name"]: row["diameter_in"] for row in check_values("drill-sizes")}
    for row in check_values("asme-b18.2.8-inch"):
        hole = clearance_hole(row["size"], fit)
        name = row[f"{fit}_drill"]
        if name in letters_and_numbers:
            # The data set rounds some number sizes to three places, half a thou at most.
            assert hole.m_as("in") == pytest.approx(float(letters_and_numbers[name]), abs=0.0006)
        else:
            whole, _, part = name.rpartition(" ")
            over, under = part.split("/")
            wanted = float(whole or 0) + int(over) / int(under)
            assert hole.m_as("in") == pytest.approx(wanted, abs=1e-12)
        assert length(clearance_drill(row["size"], fit)) == hole


def test_clearance_holes_by_name():
    assert clearance_drill("#10", "loose") == "letter B"
    assert clearance_drill("#10") == "#2"
    assert clearance_drill("1/4", "close") == "17/64 in"
    assert clearance_drill("1", "close") == "1 1/32 in"
    assert sizes.mm(clearance_hole("m6")) == pytest.approx(6.6)


@pytest.mark.parametrize(("size", "fit"), [("M99", "normal"), ("#99", "close"), ("", "loose")])
def test_a_hole_that_is_not_there_is_an_error_that_names_those_that_are(size, fit):
    with pytest.raises(FastenerError, match=r"M6, .*1/4"):
        clearance_hole(size, fit)


def test_a_fit_that_is_not_there_is_an_error_that_names_those_that_are():
    with pytest.raises(FastenerError, match="close, normal, loose"):
        clearance_hole("M6", "snug")
