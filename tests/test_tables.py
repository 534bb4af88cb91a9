"""The tables holecalc ships against the check values, and against themselves."""

import string
from fractions import Fraction
from math import radians, tan

import pytest

from holecalc import tables
from project import check_values

SHIPPED_FROM = {
    "clearance-asme-b18.2.8": "asme-b18.2.8-inch",
    "clearance-iso-273": "iso-273",
    "flat-head-asme-b18.6.3-100deg": "asme-b18.6.3-flat-100deg",
    "flat-head-asme-b18.6.3-82deg": "asme-b18.6.3-flat-82deg",
    "flat-head-din-7991": "din-7991",
    "flat-head-iso-7046-2": "iso-7046-2",
    "hex-nut-iso-4032": "iso-4032",
}
TESTED_ELSEWHERE = {
    "cap-screw-asme-b18.3",
    "cap-screw-iso-4762",
    "hex-nut-asme-b18.2.2",
    "hex-nut-asme-b18.2.2-machine-screw",
    "hex-nut-bearing-face-iso-4032",
    "hex-nut-iso-4033",
    "hex-nut-iso-4035",
    "plate-strengths",
    "screw-lengths-inch",
    "screw-lengths-metric",
    "square-nut-asme-b18.2.2",
    "square-nut-din-557",
    "square-nut-din-562",
    "starting-values",
    "thread-asme-b1.1",
    "thread-iso-262",
    "washer-asme-b18.21.1-narrow",
    "washer-asme-b18.21.1-wide",
    "washer-iso-7089",
    "washer-iso-7093-1",
}
FLAT_HEADS = sorted(name for name in SHIPPED_FROM if name.startswith("flat-head"))


def inches(name: str) -> float:
    """Diameter of a drill named by number, letter or fraction."""
    drills = {row["name"]: float(row["diameter_in"]) for row in tables.rows("drills")}
    return drills[name] if name in drills else float(sum(Fraction(part) for part in name.split()))


def test_names_are_the_tables_shipped():
    assert set(tables.names()) == {"drills", *SHIPPED_FROM, *TESTED_ELSEWHERE}
    assert list(tables.names()) == sorted(tables.names())


def test_an_unknown_table_is_an_error_that_names_the_tables_there_are():
    with pytest.raises(KeyError) as caught:
        tables.rows("bolts")
    message = str(caught.value)
    assert message.startswith(f"no table is called 'bolts'; the tables are {tables.names()[0]},")
    assert message.endswith(f", {tables.names()[-1]}")


@pytest.mark.parametrize("name", ["", "../__init__", "drills.csv", "../../references/iso-273"])
def test_a_path_is_not_a_table(name):
    with pytest.raises(tables.TableError):
        tables.rows(name)


def test_a_caller_cannot_change_a_table_for_others():
    tables.rows("drills")[0]["diameter_in"] = "1"
    assert tables.rows("drills")[0]["diameter_in"] == "0.2280"


@pytest.mark.parametrize(("shipped", "reference"), sorted(SHIPPED_FROM.items()))
def test_a_shipped_table_holds_the_published_values(shipped, reference):
    rows, published = tables.rows(shipped), check_values(reference)
    assert len(rows) == len(published)
    for row, values in zip(rows, published, strict=True):
        common = {column: row[column] for column in values}
        common["size"] = row["size"] if shipped.startswith("clear") else row["size"].lstrip("#")
        assert common == values


@pytest.mark.parametrize("name", tables.names())
def test_a_name_stands_for_one_row(name):
    rows = tables.rows(name)
    column = next(iter(rows[0]))
    assert column in {"size", "name"}
    assert len({row[column] for row in rows}) == len(rows)


@pytest.mark.parametrize("name", FLAT_HEADS)
def test_flat_heads_grow_and_their_limits_are_in_order(name):
    rows = tables.rows(name)
    most, least = ("head_diameter_max_in", "head_diameter_min_in")
    thread = "d_in"
    if "d" in rows[0]:
        most, least, thread = "dk_max", "dk_min", "d"
    diameters = [float(row[thread]) for row in rows]
    assert diameters == sorted(set(diameters))
    for row in rows:
        assert float(row[thread]) < float(row[least]) < float(row[most])


@pytest.mark.parametrize("angle", [82, 100])
def test_inch_screw_diameters_follow_the_number_size_rule(angle):
    for row in tables.rows(f"flat-head-asme-b18.6.3-{angle}deg"):
        size, diameter = row["size"], float(row["d_in"])
        rule = 0.060 + 0.013 * int(size[1:]) if size.startswith("#") else inches(size)
        assert diameter == pytest.approx(rule, abs=1e-9)


def test_drills_are_the_number_and_letter_sizes():
    names = [row["name"] for row in tables.rows("drills")]
    assert names == [f"#{n}" for n in range(1, 81)] + list(string.ascii_uppercase)


def test_drills_agree_with_the_data_set():
    published = check_values("drill-sizes")
    assert len(published) == 106
    for row in published:
        # The data set rounds a few number sizes to three places, half a thou at most.
        assert inches(row["name"]) == pytest.approx(float(row["diameter_in"]), abs=0.0006)


def test_numbers_run_down_and_letters_run_up():
    sizes = [float(row["diameter_in"]) for row in tables.rows("drills")]
    numbers, letters = sizes[:80], sizes[80:]
    assert numbers == sorted(set(numbers), reverse=True)
    assert letters == sorted(set(letters))
    assert numbers[0] < letters[0]


def test_metric_clearance_holes_are_ordered_by_fit():
    for row in tables.rows("clearance-iso-273"):
        thread = float(row["size"].removeprefix("M"))
        assert thread < float(row["close"]) < float(row["normal"]) < float(row["loose"])


def test_inch_clearance_drills_exist_and_are_ordered_by_fit():
    for row in tables.rows("clearance-asme-b18.2.8"):
        size = row["size"]
        thread = 0.060 + 0.013 * int(size[1:]) if size.startswith("#") else inches(size)
        close, normal, loose = (inches(row[f"{fit}_drill"]) for fit in ("close", "normal", "loose"))
        assert thread < close < normal < loose


def test_depth_factors_are_those_of_a_sharp_cone():
    for row in check_values("countersink-depth-factors"):
        half_angle = radians(float(row["included_angle_deg"])) / 2
        assert float(row["depth_per_diameter"]) == pytest.approx(
            1 / (2 * tan(half_angle)), abs=0.00005
        )
