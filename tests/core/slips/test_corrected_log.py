"""Corrections: the struck entry stays, undo is exact to the letter, nothing else changes."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.slips.corrected_log import (
    accept_suspect,
    correct_leg,
    corrected_legs,
    corrected_names,
    insert_leg,
    is_corrected,
    undo_all,
    undo_leg,
    undo_name,
)
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.struck_readings import turn_station
from pacewright.exceptions import Complaint, MissingComplaint
from pacewright.files.log_csv import read_log, write_log
from support.made_logs import draw_log

PAGE = (
    "# start: Gate\n# azimuth: magnetic degrees\n# count: paces\nazimuth,count,notes\n"
    "346,,[see Fire tower]\n"
    "0,600,\n"
    "# a line of prose\n"
    " 90 ,450,pond, deep\n"
    "180,500,  dry \n"
    "12,,[see Fire tower]\n"
    "270,449,[at Gate]\n"
)
LAYOUTS = {
    "as written": lambda text: text,
    "no last line break": lambda text: text.rstrip("\n"),
    "carriage returns": lambda text: text.replace("\n", "\r\n"),
    "semicolons": lambda text: text.replace("pond, deep", "pond").replace(",", ";"),
    "byte order mark": lambda text: "\ufeff" + text,
    "five columns": lambda text: text.replace("azimuth,count,notes", "azimuth,count,notes,,"),
    "no last line break, carriage returns": lambda text: text.rstrip("\n").replace("\n", "\r\n"),
}


def first_place(suspect):
    return suspect.after_legs[0] if suspect.after_legs is not None else None


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_suspect_can_be_accepted_and_undone_to_the_letter(layout):
    data = LAYOUTS[layout](PAGE).encode()
    log = read_log(data)
    suspects = [one for one in find_mistakes(log).suspects if one.is_told]
    assert len(suspects) > 50
    for suspect in suspects:
        corrected = accept_suspect(log, suspect, first_place(suspect))
        written = write_log(corrected)
        assert written != data
        again = read_log(written)
        assert again == corrected
        assert write_log(undo_all(again)) == data
        if suspect.legs:
            for leg in reversed(suspect.legs):
                again = undo_leg(again, leg)
            assert write_log(again) == data


def test_a_made_log_survives_as_well():
    made = draw_log(np.random.default_rng(1), "wander", 8, known=True, sightings=2)
    data = made.text.encode()
    log = read_log(data)
    suspects = [one for one in find_mistakes(log).suspects if one.is_told]
    assert len(suspects) > 50
    for suspect in suspects:
        if suspect.after_legs is not None and suspect.entries[0].count == 0:
            continue
        corrected = accept_suspect(log, suspect, first_place(suspect))
        assert write_log(undo_all(read_log(write_log(corrected)))) == data


def test_a_missing_leg_of_which_nothing_is_told_is_not_written_in():
    log = read_log(PAGE.replace("270,449,[at Gate]", "270,449,[at Gate]\n0,200,").encode())
    (untold,) = (s for s in find_mistakes(log).suspects if s.after_legs == (4, 5))
    assert untold.entries[0].count == 0
    with pytest.raises(Complaint, match="nothing in this log tells how the missing leg ran"):
        accept_suspect(log, untold)


def test_only_the_struck_row_changes():
    log = read_log(PAGE.encode())
    corrected = correct_leg(log, 1, count_text="500")
    before, after = PAGE.splitlines(), write_log(corrected).decode().splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        ("0,600,", "0,500,[was 600 count]")
    ]
    assert corrected.legs[0].count == 500
    assert corrected_legs(corrected) == (1,)


def test_the_notes_keep_their_prose_and_get_the_struck_azimuth():
    corrected = correct_leg(read_log(PAGE.encode()), 2, azimuth_text="80")
    assert write_log(corrected).decode().splitlines()[7] == " 80 ,450,pond, deep [was 90]"


def test_two_corrections_of_a_row_are_undone_one_by_one():
    log = read_log(PAGE.encode())
    once = correct_leg(log, 3, azimuth_text="190")
    twice = correct_leg(once, 3, azimuth_text="200", count_text="480")
    assert twice.legs[2].cells.notes == "  dry  [was 180] [was 190] [was 500 count]"
    back = undo_leg(undo_leg(twice, 3), 3)
    assert write_log(back) == write_log(once)
    assert write_log(undo_leg(back, 3)).decode() == PAGE


def test_a_missing_leg_comes_in_as_an_estimate_and_goes_out_again():
    log = read_log(PAGE.encode())
    longer = insert_leg(log, 2, "45", "120")
    lines = write_log(longer).decode().splitlines()
    assert lines[8] == "45,120,[est 25%] [was -] [was - count]"
    assert len(longer.legs) == 5
    assert write_log(undo_leg(read_log(write_log(longer)), 3)).decode() == PAGE


@pytest.mark.parametrize("after", range(5))
def test_a_missing_leg_can_come_in_anywhere(after):
    longer = insert_leg(read_log(PAGE.encode()), after, "45", "120")
    again = read_log(write_log(longer))
    assert again == longer
    assert again.legs[after].count == 120
    assert write_log(undo_all(again)).decode() == PAGE


def test_a_mirrored_declination_is_struck_out_in_the_heading():
    page = PAGE.replace("# count: paces\n", "# declination: 5.5 E\n# count: paces\n")
    log = read_log(page.encode())
    (suspect,) = [s for s in find_mistakes(log).suspects if s.turn_deg]
    assert suspect.turn_deg == -11
    corrected = accept_suspect(log, suspect)
    assert corrected.heading.declination_deg == -5.5
    assert "# declination: 5.5 W\n# was declination 5.5 E\n" in write_log(corrected).decode()
    assert write_log(undo_all(read_log(write_log(corrected)))).decode() == page


def test_accepting_searching_again_and_undoing_leaves_the_log_given_alone():
    log = read_log(PAGE.encode())
    before = write_log(log)
    accept_suspect(log, find_mistakes(log).suspects[0])
    assert write_log(log) == before


def test_a_quoted_row_keeps_its_cells_when_a_correction_is_undone():
    page = PAGE.replace("pond, deep", '"pond, deep"')
    log = read_log(page.encode())
    corrected = read_log(write_log(correct_leg(log, 2, count_text="350")))
    assert corrected.legs[1].cells.notes == "pond, deep [was 450 count]"
    assert write_log(undo_leg(corrected, 2)).decode() == page


def test_what_cannot_be_undone_is_said():
    log = read_log(PAGE.encode())
    with pytest.raises(MissingComplaint, match="leg 2 has no struck entry to put back"):
        undo_leg(log, 2)
    with pytest.raises(MissingComplaint, match="the log has no leg 9"):
        undo_leg(log, 9)
    with pytest.raises(MissingComplaint, match="the log has no leg 7"):
        insert_leg(log, 7, "10", "10")
    with pytest.raises(Complaint, match="361 is not an azimuth in degrees"):
        correct_leg(log, 1, azimuth_text="361")


READINGS = (
    "# start: Gate\n# azimuth: magnetic degrees\n# count: metres\n"
    "# known: Barn = local 505 610 +-8 m\n# known: Mast = local 900 300\nazimuth,count,notes\n"
    "0,600,[back 180]\n"
    " 80 ,,pylon [see Mast] hazy\n"
    "90,500,[at Barn] [back 259°30'] by the ford\n"
    "176°15',610,[back 350°00']\n"
    "38,,[see Mast]\n"
    "270,500,[at Gate] [back 90]\n"
    "0,600,\n90,500,[at  Barn]\n"
)
"""Every kind of reading: back azimuths, bearings, known places, markers met again, a place read at twice."""


def reading_suspects(text):
    log = read_log(text.encode())
    return log, [one for one in find_mistakes(log).suspects if one.reading is not None]


@pytest.mark.parametrize(
    "layout", ["as written", "carriage returns", "no last line break", "byte order mark"]
)
def test_every_reading_can_be_struck_out_and_put_back_to_the_letter(layout):
    data = LAYOUTS[layout](READINGS).encode()
    log, suspects = reading_suspects(LAYOUTS[layout](READINGS))
    kinds = {one.reading.reading for one in suspects}
    assert kinds == {"back", "bearing", "place", "marker", "station"}
    assert {one.is_told for one in suspects} == {True}
    for suspect in suspects:
        corrected = accept_suspect(log, suspect)
        again = read_log(write_log(corrected))
        assert again == corrected
        if suspect.reading.reading != "station" or corrected != log:
            assert is_corrected(again)
            assert write_log(again) != data
        assert write_log(undo_all(again)) == data


def struck_lines(reading, **wanted):
    log, suspects = reading_suspects(READINGS)
    suspect = next(
        one
        for one in suspects
        if one.reading.reading == reading
        and all(getattr(one.reading, key) == value for key, value in wanted.items())
    )
    corrected = accept_suspect(log, suspect)
    before, after = READINGS.splitlines(), write_log(corrected).decode().splitlines()
    return corrected, [line for line in after if line not in before]


def test_a_bearing_of_another_thing_becomes_a_note_and_its_name_puts_it_back():
    corrected, lines = struck_lines("bearing", row=1, instead=None)
    assert lines == [",,pylon [was  80  see Mast] hazy"]
    assert [row.name for _, row in corrected.sightings()] == ["Mast"]
    assert corrected_names(corrected) == ("Mast",)
    assert write_log(undo_name(corrected, "Mast")).decode() == READINGS


def test_a_misread_bearing_is_written_anew():
    corrected, lines = struck_lines("bearing", row=4, instead="83")
    assert lines == ["83,,[see Mast] [was 38]"]
    assert write_log(undo_name(corrected, "Mast")).decode() == READINGS


def test_a_wrong_known_place_is_struck_out_in_the_heading():
    corrected, lines = struck_lines("place", name="Barn", instead=None)
    assert lines == ["# was known Barn = local 505 610 +-8 m"]
    assert [point.name for point in corrected.heading.known] == ["Mast"]
    assert write_log(undo_name(corrected, "Barn")).decode() == READINGS


def test_a_place_less_sure_than_stated_keeps_its_place():
    corrected, lines = struck_lines("place", name="Mast", instead="+-30 m")
    assert lines == ["# known: Mast = local 900 300 +-30 m", "# was known Mast = local 900 300"]
    assert [point.sd_m for point in corrected.heading.known] == [8, 30]
    assert undo_name(corrected, "Mast").heading == read_log(READINGS.encode()).heading


def test_a_mistaken_marker_is_a_marker_no_longer():
    corrected, lines = struck_lines("marker", name="Barn", station=6)
    assert lines == ["90,500,[was at  Barn]"]
    assert corrected.station_names()[6] is None
    assert write_log(undo_leg(corrected, 6)).decode() == READINGS


def test_a_pulled_station_has_all_its_readings_turned_each_as_finely_as_it_was_read():
    log = read_log(READINGS.encode())
    corrected = turn_station(log, log.find_station("Barn"), 2.26)
    before, after = READINGS.splitlines(), write_log(corrected).decode().splitlines()
    assert [line for line in after if line not in before] == [
        "90,500,[at Barn] [back 261°46'] [was 259°30' back] by the ford",
        "178°31',610,[back 350°00'] [was 176°15']",
    ]
    assert write_log(undo_all(corrected)).decode() == READINGS


def test_undoing_a_name_that_nothing_is_struck_out_of_is_refused():
    with pytest.raises(MissingComplaint, match="nothing called Barn is struck out"):
        undo_name(read_log(READINGS.encode()), "Barn")


def test_a_missing_leg_that_may_be_in_several_places_is_not_put_in_unasked():
    log = read_log(PAGE.encode())
    suspect = next(
        s for s in find_mistakes(log).suspects if s.after_legs and s.after_legs[0] != s.after_legs[1]
    )
    with pytest.raises(MissingComplaint, match="may have been after any of legs"):
        accept_suspect(log, suspect)


TURNED = (
    "# start: Gate\n# azimuth: {reference} degrees\n# count: metres\n# declination: 6 E\n"
    "# known: Barn = local {barn}\n# known: Mill = local {mill}\nazimuth,count,notes\n"
    "{first},800,[at Barn] [back {back}]\n{second},700,[at Mill]\n"
)
"""By hand: 800 m north to the barn, 700 m east to the mill, in truth; 6 E applied the wrong way is 12 off."""


@pytest.mark.parametrize("reference", ["true", "grid"])
def test_readings_that_the_walker_turned_the_wrong_way_lack_twice_the_declination(reference):
    """Read 354 and 84 by the compass; with 6 E they are 0 and 90, turned the wrong way 348 and 78."""
    page = TURNED.format(
        reference=reference, barn="0 800 +-5 m", mill="700 800 +-5 m", first=348, second=78, back=168
    )
    log = read_log(page.encode())
    first = find_mistakes(log).suspects[0]
    assert (first.kind, first.turn_deg) == ("declination_mirrored", 12)
    corrected = accept_suspect(log, first)
    rows = write_log(corrected).decode().splitlines()[-2:]
    assert rows == ["0,800,[at Barn] [back 180] [was 168 back] [was 348]", "90,700,[at Mill] [was 78]"]
    assert corrected.heading == log.heading
    assert find_mistakes(corrected).verdict == "none"
    assert write_log(undo_all(corrected)).decode() == page
