"""Screw lengths against hand arithmetic and a search through every length there is."""

import math

import pytest

from holecalc import nuts, screws, sizes
from holecalc.fasteners import FastenerError
from holecalc.screws import ScrewError, screw_length


def mm(quantity):
    return float(sizes.mm(quantity))


def m8(**options):
    return screw_length(
        "M8",
        **{
            "mating_part": "12 mm",
            "washers": "1.6 mm",
            "plate": "8.2 mm",
            "thread_length": "6.8 mm",
            **options,
        },
    )


def test_a_nut_by_hand():
    screw = m8()
    # 12 + 1.6 + 8.2 = 21.8; the nut ends at 28.6, a pitch through it is 29.85.
    assert mm(screw.grip) == pytest.approx(21.8)
    assert mm(screw.shortest) == pytest.approx(29.85)
    assert mm(screw.length) == 30
    assert mm(screw.engaged) == pytest.approx(6.8)
    assert screw.turns == pytest.approx(6.8 / 1.25)
    assert screw.diameters == pytest.approx(0.85)
    assert mm(screw.tip) == pytest.approx(1.4)
    assert screw.longest is None
    assert not screw.bottoms
    assert not screw.proud


def test_a_long_thread_needs_one_diameter_of_it():
    # Common practice, no source: one diameter engaged, steel in steel.
    screw = m8(thread_length="20 mm", room="2 mm")
    assert mm(screw.shortest) == pytest.approx(21.8 + 8)
    assert mm(screw.longest) == pytest.approx(21.8 + 20 + 2)
    assert [mm(each) for each in screw.would_do] == [30, 35, 40]
    # None comes through by a pitch, so the longest that stays inside.
    assert mm(screw.length) == 40
    soft = m8(thread_length="20 mm", room="2 mm", least_engaged="16 mm")
    assert [mm(each) for each in soft.would_do] == [40]


def test_a_thin_nut_has_to_be_filled():
    assert mm(m8(room="3 mm").shortest) == pytest.approx(21.8 + 6.8 + 1.25)
    # Where there is no room for a pitch beyond it, level with it.
    assert mm(m8(room="1.5 mm").shortest) == pytest.approx(21.8 + 6.8 + 1.25)
    assert mm(m8(plate="9.6 mm", room="1 mm", length="30 mm").shortest) == pytest.approx(30)


def test_a_floor_is_kept_a_pitch_away():
    screw = m8(thread_length="12 mm", room="4 mm", blind=True)
    assert mm(screw.longest) == pytest.approx(21.8 + 12 + 4 - 1.25)
    assert mm(screw.length) == 35


@pytest.mark.parametrize(
    ("length", "engaged", "bottoms"),
    [(20, 0, False), (25, 3.2, False), (35, 12, False), (38, 12, True), (40, 12, True)],
)
def test_the_screw_at_hand_in_a_blind_hole(length, engaged, bottoms):
    screw = m8(thread_length="12 mm", room="4 mm", blind=True, length=f"{length} mm")
    assert mm(screw.engaged) == pytest.approx(engaged)
    assert screw.bottoms is bottoms
    assert not screw.proud
    assert mm(screw.tip) == pytest.approx(length - 21.8 - 12)


def test_touching_the_floor_is_bottoming_and_level_with_a_face_is_not_proud():
    assert m8(room="1.4 mm", blind=True, length="30 mm").bottoms
    assert not m8(room="1.4 mm", length="30 mm").proud
    assert m8(room="1.3 mm", length="30 mm").proud


@pytest.mark.parametrize("mating", [0, 3, 7.5, 12.2, 18.9, 41])
@pytest.mark.parametrize("held", [5, 8, 12.5])
@pytest.mark.parametrize("room", [None, 0.5, 3, 8])
@pytest.mark.parametrize("blind", [False, True])
def test_the_choice_is_the_best_of_all_lengths_there_are(mating, held, room, blind):
    """What `screw_length` promises, asked of every length on the list one by one."""
    if blind and room is None:
        return
    options = {
        "mating_part": f"{mating} mm",
        "washers": 0,
        "plate": "4 mm",
        "thread_length": f"{held} mm",
        "room": None if room is None else f"{room} mm",
        "blind": blind,
    }
    grip, pitch, good = mating + 4, 1.25, {}
    for each in nuts.screw_lengths(metric=True):
        reaches = mm(each) - grip
        engaged, through = min(max(reaches, 0), held), reaches - held
        enough = engaged >= 8 if held >= 8 else through >= (0 if blind else pitch)
        if held < 8 and not blind and room is not None and room < pitch:
            enough = through >= -1e-9
        free = math.inf if room is None else room - (pitch if blind else 0)
        if enough and through <= free + 1e-9:
            good[mm(each)] = through
    if not good:
        with pytest.raises(ScrewError, match=r"no length on the list|room for only"):
            screw_length("M8", **options)
        return
    screw = screw_length("M8", **options)
    assert [mm(each) for each in screw.would_do] == list(good)
    through = [length for length, by in good.items() if by >= (0 if blind else pitch) - 1e-9]
    assert mm(screw.length) == (min(through) if through else max(good))


def test_no_length_says_what_would_help():
    with pytest.raises(ScrewError) as caught:
        m8(plate="6 mm", room="2 mm")
    # 19.6 + 6.8 = 26.4: from 27.65 to 28.4, and 25 and 30 are what there is.
    told = str(caught.value)
    assert "no length on the list is from 27.650 mm to 28.400 mm" in told
    assert "clamp 2.650 mm less, such as by a pocket that much deeper, for 25.00 mm" in told
    assert "put 1.600 mm of washers more under the head for 30.00 mm" in told
    # Both cures work.
    assert mm(m8(plate="3.35 mm", room="4.65 mm").length) == 25
    assert mm(m8(plate="6 mm", room="2 mm", washers="3.2 mm").length) == 30


def test_no_room_for_enough_thread():
    with pytest.raises(ScrewError, match="there is room for only"):
        m8(thread_length="9 mm", room="0.5 mm", blind=True, least_engaged="9 mm")
    with pytest.raises(ScrewError, match="no length on the list"):
        m8(mating_part="300 mm")


def test_lengths_from_the_drawer():
    screw = m8(lengths=["28 mm", "32 mm", "1-1/2 in"])
    assert mm(screw.length) == 32
    assert len(screw.would_do) == 2


def test_inch_screws_come_in_inches():
    screw = screw_length(
        "1/4", mating_part="12 mm", washers="1/16 in", plate="1/4 in", thread_length="7/32 in"
    )
    # 0.4724 + 0.0625 + 0.25 + 0.2188 + 0.05
    assert screw.length.units == sizes.ureg.inch
    assert screw.shortest.magnitude == pytest.approx(1.0537, abs=0.0001)
    assert screw.length.magnitude == pytest.approx(1.25)
    assert str(screw).startswith("1/4-20 screw, 1.2500 in long")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"mating_part": "-1 mm"}, "mating part is -1.00 mm; it cannot be negative"),
        ({"washers": "x"}, "washers: 'x' is not a size"),
        ({"thread_length": "0 mm"}, "thread length is 0.00 mm; it must be more than 0"),
        ({"least_engaged": 0}, "least engaged is 0.00 mm"),
        ({"length": "-5 mm"}, "length is -5.00 mm"),
        ({"plate": "3"}, "plate: '3' has no unit"),
    ],
)
def test_values_that_make_no_sense(change, words):
    with pytest.raises(ValueError, match=words):
        m8(**change)
    with pytest.raises(FastenerError, match="is no thread"):
        screw_length("screw", mating_part=0, thread_length="5 mm")


def test_a_screw_reads_well():
    text = str(m8(room="3 mm"))
    assert "12.000 mm, washers 1.600 mm, plate 8.200 mm" in text
    assert "1.400 mm through the thread, 1.1 pitches; 1.600 mm short of the face" in text
    assert "29.850 mm to 31.600 mm" in text
    assert "1.1 pitches; level with the face" in str(m8(room="1.4 mm", length="30 mm"))
    assert "1.400 mm past the face" in str(m8(room=0, length="30 mm"))
    assert "3.600 mm short of the thread's end" in str(m8(length="25 mm"))
    assert "29.850 mm or longer" in str(m8())
    assert "<td style='text-align:left'>21.800 mm: mating part" in m8()._repr_html_()
    assert screws.__all__ == ["ScrewError", "ScrewLength", "screw_length"]
