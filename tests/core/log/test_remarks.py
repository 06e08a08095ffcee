"""Every bracketed remark: what it means, how it is written, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.core.log.doubted_numbers import MayBe
from pacewright.core.log.remarks import (
    KNOWN_REMARKS,
    Altitude,
    At,
    BackReading,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Flat,
    Ground,
    LegSlope,
    NoStream,
    See,
    StationOn,
    Steepness,
    Time,
    Was,
    parse_remarks,
    prose,
)
from pacewright.core.log.written_remarks import back_reading, format_remark
from pacewright.exceptions import FormatComplaint, ValueComplaint

moderate = settings(max_examples=100, deadline=None)

EVERY = {
    "[at Split oak]": At("Split oak"),
    "[see Fire tower]": See("Fire tower"),
    "[back 126]": BackReading(126.0, "126"),
    "[back S40W]": BackReading(220.0, "S40W"),
    "[box right 40]": Box("right", 40.0, "40"),
    "[box left 12.5]": Box("left", 12.5, "12.5"),
    "[est]": Estimated(20.0),
    "[est 15%]": Estimated(15.0, "15"),
    "[ground brush]": Ground("brush"),
    "[up]": LegSlope("up"),
    "[level]": LegSlope("level"),
    "[down]": LegSlope("down"),
    "[cross stream]": CrossStream(),
    "[on ridge]": StationOn("ridge"),
    "[no stream]": NoStream(),
    "[in valley]": StationOn("valley"),
    "[on slope]": StationOn("slope"),
    "[on stream]": StationOn("stream"),
    "[flat]": Flat(),
    "[slope 20 %]": Steepness(20.0, "20 %"),
    "[slope 7.5%]": Steepness(7.5, "7.5%"),
    "[faces NE]": Faces(45.0, "NE"),
    "[alt 512 m]": Altitude(512.0, "512 m"),
    "[alt -3.5 m]": Altitude(-3.5, "-3.5 m"),
    "[time 14:32]": Time(872, "14:32"),
    "[was 52]": Was("azimuth", "52"),
    "[was 230 count]": Was("count", "230"),
    "[or 58 9%]": MayBe("azimuth", "58", 58.0, 9.0, "9"),
    "[or S40W 2.5%]": MayBe("azimuth", "S40W", 220.0, 2.5, "2.5"),
    "[or 388 count 12%]": MayBe("count", "388", 388.0, 12.0, "12"),
}


@pytest.mark.parametrize("text", EVERY)
def test_every_remark_is_understood_and_written_back_to_the_letter(text):
    assert parse_remarks(text) == (EVERY[text],)
    assert format_remark(EVERY[text]) == text


@pytest.mark.parametrize("text", KNOWN_REMARKS.replace("] [", "]|[").split("|"))
def test_every_remark_that_the_complaint_names_is_known(text):
    assert len(parse_remarks(text)) == 1


def test_remarks_may_be_typed_in_capitals_and_with_more_blanks():
    assert parse_remarks("[AT  Split   oak] [Box Right  40] [ UP ] [est 15 %] [Cross Stream]") == (
        At("Split oak"),
        Box("right", 40.0, "40"),
        LegSlope("up"),
        Estimated(15.0, "15"),
        CrossStream(),
    )


def test_an_altitude_in_feet_becomes_metres():
    # The international foot of 0.3048 m exactly: NIST Special Publication 811, appendix B (from memory).
    assert parse_remarks("[alt 1000 ft]") == (Altitude(pytest.approx(304.8), "1000 ft"),)


def test_a_back_reading_is_read_in_the_units_of_the_log():
    assert parse_remarks("[back 1600]", "mils") == (BackReading(90.0, "1600"),)
    assert format_remark(back_reading(90.0, "mils")) == "[back 1600]"
    with pytest.raises(ValueComplaint, match="1600 is not an azimuth in degrees"):
        parse_remarks("[back 1600]")


def test_remarks_stand_anywhere_among_the_prose_and_keep_their_order():
    notes = "wet; [down] then [box left 7], a fence [at Gate]"
    assert parse_remarks(notes) == (LegSlope("down"), Box("left", 7.0, "7"), At("Gate"))
    assert prose(notes) == "wet; then , a fence"


@pytest.mark.parametrize("text", ["round (brackets)", "a ] alone", "{at Gate}", "", "at Gate"])
def test_other_brackets_are_prose(text):
    assert parse_remarks(text) == ()


@pytest.mark.parametrize(
    "inside",
    [
        "",
        " ",
        "at",
        "see",
        "atGate",
        "box right",
        "box up 40",
        "box right -4",
        "box right 4 m",
        "cross road",
        "on hill",
        "faces",
        "alt",
        "alt 5 km",
        "time",
        "was",
        "nearly there",
        "back",
        "box right nan",
        "alt nan m",
    ],
)
def test_an_unknown_bracket_is_refused_and_the_known_ones_named(inside):
    with pytest.raises(FormatComplaint) as raised:
        parse_remarks(f"pond [{inside}]")
    assert str(raised.value) == (
        f"[{inside}] is not a remark of a travel log. The known ones are {KNOWN_REMARKS}."
    )


@pytest.mark.parametrize(
    ("inside", "meant"),
    [
        ("est 15", "est 15%"),
        ("est +-15 %", "est 15%"),
        ("estimated 15", "est 15%"),
        ("guess", "est"),
        ("boxed right 40", "box right 40"),
        ("box 40 R", "box right 40"),
        ("detour left 40 paces", "box left 40"),
        ("backsight 126", "back 126"),
        ("back azimuth 126", "back 126"),
        ("reverse bearing 126", "back 126"),
        ("bearing to Fire tower", "see Fire tower"),
        ("sighting: Fire tower", "see Fire tower"),
        ("Uphill", "up"),
        ("descending", "down"),
        ("crossed stream", "cross stream"),
        ("ford", "cross stream"),
        ("ridge", "on ridge"),
        ("steep 20", "slope 20%"),
        ("altitude 512 metres", "alt 512 m"),
        ("time 1432", "time 14:32"),
        ("time 2 pm", "time 14:00"),
        ("terrain brush", "ground brush"),
        ("bakc 126", "back 126"),
    ],
)
def test_a_remark_in_other_words_is_answered_with_the_one_meant(inside, meant):
    with pytest.raises(FormatComplaint) as raised:
        parse_remarks(f"[{inside}]")
    assert str(raised.value) == (
        f"[{inside}] is not a remark of a travel log. Write [{meant}] if that is meant."
    )
    assert parse_remarks(f"[{meant}]")


def test_metres_are_not_taken_for_paces_where_a_remark_is_suggested():
    with pytest.raises(FormatComplaint, match="The known ones are"):
        parse_remarks("[box right 4 m]")


def test_a_very_long_unknown_bracket_is_shown_in_part():
    with pytest.raises(FormatComplaint, match=r"^\[x{37}\.\.\.\] is not a remark"):
        parse_remarks(f"[{'x' * 10_000}]")


@pytest.mark.parametrize("notes", ["[at Gate", "[[at Gate]", "[at Gate] [", "a[at [at Gate]"])
def test_a_bracket_that_is_not_closed_is_refused(notes):
    with pytest.raises(FormatComplaint) as raised:
        parse_remarks(notes)
    assert str(raised.value) == (
        "a square bracket in the notes is not closed. Close it with ], or use round brackets for prose."
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[time 24:00]", "[time 24:00] is not a time of day. Write 0:00 to 23:59."),
        ("[time 9:60]", "[time 9:60] is not a time of day. Write 0:00 to 23:59."),
        ("[est 0%]", "[est 0%] is not an uncertainty. Write more than 0% and at most 100%."),
        ("[est 101%]", "[est 101%] is not an uncertainty. Write more than 0% and at most 100%."),
        ("[alt 512]", "[alt 512] has no unit. Write [alt 512 m] or [alt 512 ft]."),
        (
            "[faces 361]",
            "361 is not an azimuth in degrees. "
            "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W.",
        ),
    ],
)
def test_a_remark_whose_value_cannot_be_says_what_can(text, says):
    with pytest.raises(ValueComplaint) as raised:
        parse_remarks(text)
    assert str(raised.value) == says


@moderate
@given(st.text(max_size=40))
def test_any_notes_are_remarks_or_one_clear_complaint(notes):
    try:
        remarks = parse_remarks(notes)
    except (FormatComplaint, ValueComplaint) as complaint:
        assert complaint.what and complaint.do
    else:
        assert parse_remarks(" ".join(format_remark(remark) for remark in remarks)) == remarks


@moderate
@given(st.text(max_size=30).filter(lambda t: not set("[]") & set(t) and t.strip()))
def test_a_name_in_any_script_is_kept(name):
    (at,) = parse_remarks(f"[at {name}]")
    assert at == At(" ".join(name.split()))


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ("slope 20", "[slope 20] has no unit. Write [slope 20 %]."),
        ("slope 900 %", "[slope 900 %] is no ground to walk on. Write 0 to 500 %."),
    ],
)
def test_a_slope_says_its_per_cent_and_is_ground_to_walk_on(inside, said):
    with pytest.raises(ValueComplaint) as refused:
        parse_remarks(f"[{inside}]")
    assert str(refused.value) == said
