"""Places as people type them, and what is said where that is no place."""

import pytest

from holecalc.panels import places
from holecalc.panels.places import PlaceError

READ = [
    ("150, 100", [150, 100]),
    ("150,100", [150, 100]),
    ("150 100", [150, 100]),
    (" 150 ,100 ", [150, 100]),
    ("[150, 100]", [150, 100]),
    ("(150, 100)", [150, 100]),
    ("X150 Y100", [150, 100]),
    ("x = 150, y = 100", [150, 100]),
    ("150 100; 50 100", [[150, 100], [50, 100]]),
    ("150, 100; 50, 100;", [[150, 100], [50, 100]]),
    ("150, 100\n50, 100", [[150, 100], [50, 100]]),
    ("[150, 100], [50, 100]", [[150, 100], [50, 100]]),
    ("(150, 100) (50, 100)", [[150, 100], [50, 100]]),
    ("[150, 100]; [50, 100]", [[150, 100], [50, 100]]),
    ("[[150, 100], [50, 100]]", [[150, 100], [50, 100]]),
    ("150 mm, 100 mm", ["150 mm", "100 mm"]),
    ("150mm 100mm", ["150mm", "100mm"]),
    ("150 mm 100 mm; 2 in, 3 in", [["150 mm", "100 mm"], ["2 in", "3 in"]]),
    ("1-1/2 in, 2 in", ["1-1/2 in", "2 in"]),
    ("1 1/2 in, 2 in", ["1 1/2 in", "2 in"]),
    ("150, 100 mm", [150, "100 mm"]),
    ("6,5 mm, 7,5 mm", ["6,5 mm", "7,5 mm"]),
    ("-5, 12.5", [-5, 12.5]),
    ("1 1 1/2", [1, "1 1/2"]),
    ('["1-1/2 in", "2 in"]', ["1-1/2 in", "2 in"]),
    (
        '{pattern = "bolt circle", centre = [9, 8], diameter = 7, count = 5}',
        {"pattern": "bolt circle", "centre": [9, 8], "diameter": 7, "count": 5},
    ),
]


@pytest.mark.parametrize(("typed", "value"), READ)
def test_what_people_type_is_read(typed, value):
    found = places.read(typed, "mm")
    assert found == value
    # What is written back is the same again.
    assert places.read(places.written(found), "mm") == value


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("in the middle", "“in the middle” is no place. Type X and Y"),
        ("150", "“150” is one size, and a place has two"),
        ("150, 100; 50", "“50” is one size, and a place has two"),
        ("150, 100, 50, 100", "has 4 sizes, and a place has two, X and Y"),
        ("150, 1o0", "“150, 1o0” is no place: Y, '1o0' is not a size"),
        ("15 kg, 100", "“15 kg, 100” is no place: X, "),
        (";", "no place is typed"),
        # Read as an inch panel reads it, it would be 150 inches.
        ("2, 3 in", "Type it behind both: 2 in, 3 in."),
        ("2 in, 3", "Type it behind both: 2 in, 3 in."),
        ("1 1/2", "can be read in more than one way"),
        ("150,100, 50", "has 3 sizes, and a place has two"),
        ("6,5, 50", "can be read in more than one way"),
        ("150,100 50,100", "“150,100 50,100” is no place"),
    ],
)
def test_what_is_no_place_is_told(typed, why):
    with pytest.raises(PlaceError) as told:
        places.read(typed, "mm")
    assert why in str(told.value)


def test_a_bare_number_beside_the_panels_own_unit_is_no_riddle():
    assert places.read("1-1/2 in, 2", "in") == ["1-1/2 in", 2]


@pytest.mark.parametrize("typed", ["300 x 200", "300×200", "300, 200", "[300, 200]", "300 200"])
def test_a_plates_size(typed):
    assert places.read_size(typed, "mm") == [300, 200]


@pytest.mark.parametrize("typed", ["300", "300, 200; 1, 2", "300 x", "[[1, 2], [3, 4]]"])
def test_what_is_no_plates_size_is_told(typed):
    with pytest.raises(PlaceError, match="is no plate's size"):
        places.read_size(typed, "mm")
