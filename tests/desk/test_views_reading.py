"""The reading pages: what the commands say, suspects put right and put back, guests kept out."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from pacewright.core.slips.corrected_log import accept_suspect, undo_all
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.notebook.keeping import keep_change, state_of
from pacewright.desk.notebook.log_files import log_csv
from pacewright.desk.notebook.page_changes import PageState
from pacewright.desk.notebook.page_corrections import change_to, on_its_page
from pacewright.desk.notebook.reading import read_kept
from pacewright.desk.walkers.keeping import go_back
from support.command import run
from support.page_words import same_form, words_of

MakeLog = Callable[..., KeptLog]
OPEN_SQUARE = [("0", "900"), ("90", "700", "[at Oak]"), ("180", "500"), ("270", "700", "[at Gate]")]
SIGHTED = [("0", "900"), ("45", "", "[see Fire tower]"), ("90", "700", "[at Oak]"), ("180", "900")]
SIGHTED += [("312", "", "[see Fire tower]"), ("270", "700", "[at Gate]")]
MIRRORED = "title: Crossing\nazimuth: magnetic degrees\ncount: paces\nstart: Gate\ndeclination: 12 E"
WALKER = b'name = "Ines Rowe"\n\n[pace]\nper_100_m = 62.5\n'


def text_of(response: Any) -> str:
    """What a page says, as it is compared with what the command says."""
    return same_form(words_of(response))


def without_lines(text: str) -> str:
    """A sentence without the number of its line: a page counts its rows, a file its lines."""
    return re.sub(r"line \d+", "line", same_form(text))


def assert_says_what_the_command_says(response: Any, *arguments: object) -> None:
    said = run(*arguments)
    assert said.err == "", said.err
    sentences = [line for line in said.out.split("\n\n")[0].splitlines() if line.strip()]
    assert len(sentences) > 2
    page = without_lines(text_of(response))
    if arguments[0] == "back":
        # Its first line is what is to walk and nothing else; the page says that in a sentence.
        azimuth, count, *_ = sentences.pop(0).split("  ")
        order = next(one for one in sentences if re.match(r"From .*\(magnetic\)\.$", one))
        sentences.remove(order)
        assert order.replace(" (magnetic).", f": azimuth {azimuth} (magnetic), {count}") in page
    for sentence in sentences:
        assert without_lines(sentence) in page


@pytest.fixture
def written(tmp_path: Path) -> Callable[[KeptLog], Path]:
    """`written(log)` gives the log as the file that the desk hands out."""

    def write(log: KeptLog) -> Path:
        path = tmp_path / "log.csv"
        path.write_bytes(log_csv(KeptLog.objects.get(pk=log.pk)))
        return path

    return write


@pytest.fixture
def walker_file(tmp_path: Path) -> Path:
    path = tmp_path / "walker.toml"
    path.write_bytes(WALKER)
    return path


def given_walker(log: KeptLog) -> KeptWalker:
    walker = KeptWalker.objects.create(owner=log.owner, name="Ines Rowe", toml=WALKER.decode("utf-8"))
    log.walker = walker
    log.save()
    return walker


def fields_of(response: Any, do: str, at: int = 0) -> dict[str, str]:
    """What the form with this button would send."""
    body = response.content.decode("utf-8")
    forms = [form for form in re.findall(r"<form.*?</form>", body, re.DOTALL) if f'value="{do}"' in form]
    found = dict(re.findall(r'<input type="hidden" name="(key|what|mark)" value="([^"]*)"', forms[at]))
    return {"do": do, **{name: html.unescape(value) for name, value in found.items()}}


def state(log: KeptLog) -> PageState:
    return state_of(KeptLog.objects.get(pk=log.pk))


@pytest.mark.parametrize(
    ("query", "options"),
    [
        ("", []),
        ("from=Oak&to=0", ["--from", "Oak"]),
        ("line=40&toward=220&wrong_side=5", ["--line", "40", "--toward", "220", "--wrong-side", "5"]),
        ("sight=40&retrace=1", ["--sighting-distance", "40", "--retrace"]),
        ("sight=0.1", ["--sighting-distance", "0.1"]),
    ],
)
def test_the_way_back_says_what_the_command_says(owner, owner_member, make_log, written, query, options):
    log = make_log(owner_member, [*OPEN_SQUARE[:3], ("250", "300", "[at Ford]")])
    response = owner.get(f"/logs/{log.pk}/way?{query}")
    assert_says_what_the_command_says(response, "back", written(log), *options)


def test_a_way_over_a_doubtful_leg_is_shown_with_its_warning(owner, owner_member, make_log, written):
    log = make_log(owner_member, [*OPEN_SQUARE, ("45", "300", "[at Ford]")])
    response = owner.get(f"/logs/{log.pk}/way?to=2")
    assert "may rest on a mistake" in text_of(response)
    assert_says_what_the_command_says(response, "back", written(log), "--to", "2")


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("line=400", "400 is not an azimuth in degrees"),
        ("from=Nowhere", "Nowhere"),
        ("sight=far", "Far is not a number"),
        ("sight=-3", "distance"),
        ("line=40&wrong_side=200", "chance"),
        ("toward=40", "Give the line's azimuth too"),
    ],
)
def test_a_field_that_cannot_be_read_is_said_beside_a_way_that_stands(
    owner, owner_member, make_log, query, says
):
    log = make_log(owner_member, OPEN_SQUARE[:3])
    said = text_of(owner.get(f"/logs/{log.pk}/way?{query}"))
    assert says in said
    assert "From station 3 to Gate: azimuth" in said


def test_what_was_asked_of_a_way_stays_chosen(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE[:3])
    page = owner.get(f"/logs/{log.pk}/way?from=3&to=1&line=90&retrace=1").content.decode()
    goal = page.split('name="to"')[1].split("</select>")[0]
    assert re.findall(r'value="(\d)" selected', goal) == ["1"]
    assert 'name="line" value="90"' in page and 'name="retrace" value="1" checked' in page


@pytest.mark.parametrize("rows", [OPEN_SQUARE, SIGHTED, OPEN_SQUARE[:2]])
def test_does_it_close_says_what_the_command_says(owner, owner_member, make_log, written, rows):
    log = make_log(owner_member, rows)
    assert_says_what_the_command_says(owner.get(f"/logs/{log.pk}/closing"), "check", written(log))


def test_the_suspects_are_those_of_the_command(owner, owner_member, make_log, written):
    log = make_log(owner_member, OPEN_SQUARE)
    table = run("check", written(log)).out.split("\n\n")[1].splitlines()[2:]
    page = text_of(owner.get(f"/logs/{log.pk}/closing"))
    for row in table:
        said = " ".join(row.split())
        # Of a missing leg it is asked where it was.
        missing = re.search(r"after one of legs (\d+) to (\d+)", said)
        asked = " after leg which? 0 (the start) 1 2 3 4" if missing else ""
        assert f"{said}{asked} Accept" in page


def test_accepting_a_suspect_and_undoing_it_gives_the_page_byte_for_byte(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE)
    before, data = state(log), log_csv(log)
    shown = owner.get(f"/logs/{log.pk}/closing")
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "accept"))
    assert state(log).rows[0] == {**before.rows[0], "count": "450", "notes": "[was 900 count]"}
    assert state(log).rows[1:] == before.rows[1:]
    shown = owner.get(f"/logs/{log.pk}/closing")
    assert "Put right on the page: leg 1 (line 1: 0,900) may have been 0,450" in text_of(shown)
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "undo"))
    assert state(log) == before
    assert log_csv(KeptLog.objects.get(pk=log.pk)) == data


@pytest.mark.parametrize("do", ["put_back", "put_back_all"])
def test_a_struck_entry_is_put_back(owner, owner_member, make_log, do):
    log = make_log(owner_member, OPEN_SQUARE)
    before = state(log)
    shown = owner.get(f"/logs/{log.pk}/closing")
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "accept", 1))
    assert state(log) != before
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(owner.get(f"/logs/{log.pk}/closing"), do))
    assert state(log) == before


def test_rows_struck_out_empty_or_not_understood_keep_their_places(owner, owner_member, make_log):
    log = make_log(owner_member, [("7", "7"), *OPEN_SQUARE[:2], ("", ""), *OPEN_SQUARE[2:], ("bad", "3")])
    keep_change(log.pk, "strike-the-first", {"kind": "strike", "id": "r0", "struck": True})
    before = state(log)
    for at in range(3):
        shown = owner.get(f"/logs/{log.pk}/closing")
        assert "leg 1 (line 2: 0,900)" in text_of(shown)
        # The third is a missing leg: where it was is asked for.
        where = {"after": "2"} if at == 2 else {}
        owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "accept", at) | where)
        after = state(log)
        assert [row for row in after.rows if row["id"] in ("r0", "r3", "r6")] == [
            before.rows[k] for k in (0, 3, 6)
        ]
        kept = [row["id"] for row in after.rows if row["id"].startswith("r")]
        assert kept == [row["id"] for row in before.rows]
        assert len(after.rows) == len(before.rows) + (at == 2)
        owner.post(
            f"/logs/{log.pk}/closing/correct", fields_of(owner.get(f"/logs/{log.pk}/closing"), "put_back_all")
        )
        assert state(log) == before


def test_a_missing_leg_comes_in_and_goes_out_again(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE)
    before = state(log)
    shown = owner.get(f"/logs/{log.pk}/closing")
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "accept", 2))
    assert state(log) == before
    shown = owner.get(f"/logs/{log.pk}/closing")
    assert "The missing leg may have been after any of legs 0 to 4" in text_of(shown)
    offered = re.findall(r'<option value="(\d*)">', shown.content.decode("utf-8"))
    assert offered[:6] == ["", "0", "1", "2", "3", "4"]
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(shown, "accept", 2) | {"after": "2"})
    assert [row["azimuth"] for row in state(log).rows] == ["0", "90", "180", "180", "270"]
    new = [row for row in state(log).rows if row not in before.rows]
    assert [(row["azimuth"], row["count"]) for row in new] == [("180", "398")]
    assert "[was -]" in new[0]["notes"]
    owner.post(f"/logs/{log.pk}/closing/correct", fields_of(owner.get(f"/logs/{log.pk}/closing"), "put_back"))
    assert state(log) == before


def test_a_stale_page_accepts_nothing(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE)
    stale = fields_of(owner.get(f"/logs/{log.pk}/closing"), "accept")
    change = {"kind": "put", "id": "r0", "azimuth": "0", "count": "500", "notes": ""}
    keep_change(log.pk, "in-another-tab", change)
    before = state(log)
    owner.post(f"/logs/{log.pk}/closing/correct", stale)
    assert state(log) == before
    assert "This suspect is no longer there" in text_of(owner.get(f"/logs/{log.pk}/closing"))


def test_a_form_sent_twice_is_done_once_and_not_complained_of(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE)
    form = fields_of(owner.get(f"/logs/{log.pk}/closing"), "accept")
    for _ in range(2):
        owner.post(f"/logs/{log.pk}/closing/correct", form)
    assert KeptLog.objects.get(pk=log.pk).revision == 1
    assert "no longer there" not in text_of(owner.get(f"/logs/{log.pk}/closing"))


def test_a_mirrored_declination_in_the_heading_is_put_right_and_back(owner, owner_member, make_log):
    log = make_log(owner_member, OPEN_SQUARE, heading=MIRRORED)
    reading = read_kept(log)
    assert reading.log is not None
    mirrored = [one for one in find_mistakes(reading.log).suspects if one.kind == "declination_mirrored"]
    right = accept_suspect(on_its_page(log, reading.log), mirrored[0])
    change = change_to(log, reading.log, right)
    assert change["heading"].endswith("declination: 12 W\nwas declination 12 E")
    keep_change(log.pk, "mirrored-heading", change)
    now = KeptLog.objects.get(pk=log.pk)
    again = read_kept(now)
    assert again.log is not None and again.log.heading.declination_deg == -12
    assert "Put every struck entry back" in text_of(owner.get(f"/logs/{log.pk}/closing"))
    back = change_to(now, again.log, undo_all(on_its_page(now, again.log)))
    assert back["heading"] == MIRRORED


@pytest.mark.parametrize("rule", ["least-squares", "compass", "transit"])
def test_the_adjusted_page_says_what_the_command_says(owner, owner_member, make_log, written, rule):
    log = make_log(owner_member, SIGHTED)
    response = owner.get(f"/logs/{log.pk}/adjusted?rule={rule}")
    assert_says_what_the_command_says(response, "adjust", written(log), "--rule", rule)


@pytest.fixture
def taught(owner_member: Member, make_log: MakeLog) -> KeptLog:
    """A log of a walker, which known points tell of."""
    heading = f"{MIRRORED}\nknown: Gate = local 0 0 +-1 m\nknown: Oak = local 1085 1440 +-1 m"
    return make_log(owner_member, [("0", "900"), ("90", "700", "[at Oak]")], heading=heading)


def test_learning_says_what_the_command_says_and_writes_only_when_told(
    owner, taught, written, walker_file, tmp_path
):
    walker = given_walker(taught)
    shown = owner.get(f"/logs/{taught.pk}/adjusted")
    target = tmp_path / "learnt.toml"
    told = run("adjust", written(taught), "--walker", walker_file, "--learn", "--out", target)
    learning = told.out[told.out.index("Learning") :].split("\n\n")[0].splitlines()
    page = text_of(shown)
    assert all(line in page for line in learning if str(target) not in line)
    assert KeptWalker.objects.get(pk=walker.pk).toml == walker.toml
    owner.post(f"/logs/{taught.pk}/adjusted/learn", fields_of_learning(shown))
    now = KeptWalker.objects.get(pk=walker.pk)
    assert now.toml == target.read_text(encoding="utf-8")
    assert [(past.toml, past.why) for past in now.past.all()] == [(walker.toml, "learnt from Crossing")]


def fields_of_learning(response: Any) -> dict[str, str]:
    return dict(re.findall(r'name="(mark)" value="([^"]*)"', response.content.decode("utf-8")))


def test_the_same_walking_is_not_learnt_twice_unless_it_was_gone_back_on(owner, taught):
    walker = given_walker(taught)
    form = fields_of_learning(owner.get(f"/logs/{taught.pk}/adjusted"))
    for _ in range(2):
        owner.post(f"/logs/{taught.pk}/adjusted/learn", form)
    assert walker.past.count() == 1
    shown = owner.get(f"/logs/{taught.pk}/adjusted")
    assert "has learnt from this log already" in text_of(shown) and not fields_of_learning(shown)
    go_back(walker.pk, walker.past.get().pk)
    assert fields_of_learning(owner.get(f"/logs/{taught.pk}/adjusted")) == form


@pytest.mark.parametrize(
    ("more", "rows", "why"),
    [
        (
            "walker: Bo Lind\nknown: Oak = local 1085 1440 +-1 m",
            [("0", "900"), ("90", "700", "[at Oak]")],
            "The log is left out: the heading names Bo Lind as the walker, and the figures are those of Ines "
            "Rowe. Correct the name, or choose its walker.",
        ),
        (
            "known: Gate = local 0 0 +-1 m",
            [("0", "900"), ("90", "700"), ("180", "900"), ("270", "300", "[at Gate]")],
            "The log is left out: by Does it close it holds a mistake (over 99 % sure). Mend the log, and "
            "learn from it then.",
        ),
    ],
    ids=["another walker", "a mistake"],
)
def test_a_log_that_is_left_out_changes_no_figures(owner, owner_member, make_log, more, rows, why):
    log = make_log(owner_member, rows, heading=f"{MIRRORED}\n{more}")
    walker = given_walker(log)
    shown = owner.get(f"/logs/{log.pk}/adjusted")
    assert why in text_of(shown)
    assert not fields_of_learning(shown)
    owner.post(f"/logs/{log.pk}/adjusted/learn", {"mark": ""})
    assert KeptWalker.objects.get(pk=walker.pk).toml == walker.toml


def test_figures_changed_since_they_were_shown_are_not_written_over(owner, taught):
    walker = given_walker(taught)
    form = fields_of_learning(owner.get(f"/logs/{taught.pk}/adjusted"))
    changed = walker.toml.replace("62.5", "70")
    KeptWalker.objects.filter(pk=walker.pk).update(toml=changed)
    owner.post(f"/logs/{taught.pk}/adjusted/learn", form)
    assert KeptWalker.objects.get(pk=walker.pk).toml == changed
    assert "were changed since they were shown" in text_of(owner.get(f"/logs/{taught.pk}/adjusted"))


@pytest.mark.parametrize("page", ["way", "closing", "adjusted", "map", "map/ground"])
def test_a_guest_reads_no_log_of_another(guest, anonymous, owner_member, make_log, page):
    log = make_log(owner_member, OPEN_SQUARE)
    assert guest.get(f"/logs/{log.pk}/{page}").status_code == 404
    assert anonymous.get(f"/logs/{log.pk}/{page}").status_code == 403


@pytest.mark.parametrize("page", ["closing/correct", "adjusted/learn", "map/start", "map/ground/new"])
def test_a_guest_changes_no_log_of_another(guest, owner_member, make_log, page):
    log = make_log(owner_member, OPEN_SQUARE)
    before = state(log)
    assert guest.post(f"/logs/{log.pk}/{page}", {"do": "put_back_all", "key": "k" * 12}).status_code == 404
    assert state(log) == before


@pytest.mark.parametrize("page", ["way", "closing", "adjusted", "map", "map/ground"])
def test_a_page_without_a_leg_says_so(owner, owner_member, make_log, page):
    for rows, heading in (([], "start: Gate"), (OPEN_SQUARE, "azimuth: bananas")):
        log = make_log(owner_member, rows, heading=heading)
        said = text_of(owner.get(f"/logs/{log.pk}/{page}"))
        assert ("There is no leg yet" if not rows else "The heading is not understood") in said


def test_every_reading_page_of_the_example_stands(owner: Client, owner_member: Member) -> None:
    log = example_log(owner_member)
    for page in ("way", "closing", "adjusted", "map", "map/ground"):
        body = owner.get(f"/logs/{log.pk}/{page}").content.decode("utf-8")
        assert "<svg" in body and " style=" not in body and "<script>" not in body
