"""Walkers: pace trials typed in a table come to what `pacewright calibrate` says, and nothing is lost."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.walkers.keeping import new_walker
from pacewright.desk.walkers.trial_table import MOST_TRIALS, kept_table
from pacewright.files.bundled import DEMO_WALKER, bundled
from pacewright.files.trials_csv import COLUMNS
from support.command import run

TRIALS = bundled("pace_trials.csv")
RUNS = [line.split(",") for line in TRIALS.decode().splitlines() if line[:1] not in ("#", "g", "")]
COMPASS = {"azimuth_sd_deg": "2.5", "bias_sd_deg": "1.5", "sighting_sd_deg": "2"}


def typed(runs: list[list[str]], blanks: int = 2, **more: str) -> dict[str, str]:
    """The form of a walker's page, blank rows between the typed ones and below them."""
    rows = [*runs[:3], [""] * 5, *runs[3:], *[[""] * 5] * blanks]
    cells = {
        f"{name}-{at}": cell for at, row in enumerate(rows) for name, cell in zip(COLUMNS, row, strict=True)
    }
    return {"rows": str(len(rows)), "unit": "paces", "do": "save", **cells, **more}


def text_of(found: Any) -> str:
    return html.unescape(found.content.decode())


def wrongs(page: str) -> list[str]:
    return re.findall(r'id="wrong-\d+">(.*?)</td>', page)


@pytest.fixture
def walker(owner: Client) -> KeptWalker:
    owner.post("/walkers/new", {"name": "Ines Rowe"})
    return KeptWalker.objects.get()


@pytest.mark.parametrize("unit", ["paces", "steps"])
def test_typed_trials_come_to_what_the_command_writes_and_says(
    owner: Client, walker: KeptWalker, tmp_path: Path, unit: str
) -> None:
    at = f"/walkers/{walker.pk}"
    assert owner.post(at, typed(RUNS, unit=unit)).status_code == 302
    (tmp_path / "trials.csv").write_bytes(owner.get(f"{at}/files/csv").content)
    said = run("calibrate", tmp_path / "trials.csv", "--name", "Ines Rowe", "--out", tmp_path / "ines.toml")
    assert said.code == 0, said.err
    assert owner.get(f"{at}/files/toml").content == (tmp_path / "ines.toml").read_bytes()
    page = text_of(owner.get(at))
    # What the command adds is the option by which a run is left out, and where it wrote the file.
    sentences = re.sub(r" \(--without \d+\)", "", said.out.split("\n\n")[0]).splitlines()
    sentences = [one for one in sentences if str(tmp_path / "ines.toml") not in one]
    assert len(sentences) > 4 and all(f"<p>{sentence}</p>" in page for sentence in sentences)
    rows = [re.split(r"\s{2,}", line.strip()) for line in said.out.split("\n\n")[1].splitlines()[2:]]
    for row in rows:
        assert "".join(f"<td{_class(k)}>{cell}</td>" for k, cell in enumerate(row)) in page


def _class(column: int) -> str:
    return ' class="figure"' if column else ""


def test_the_line_of_a_sentence_is_the_line_of_the_table(owner: Client, walker: KeptWalker) -> None:
    """The run of 52 in the made-up trials is the one out of the ordinary."""
    owner.post(f"/walkers/{walker.pk}", typed(RUNS))
    page = text_of(owner.get(f"/walkers/{walker.pk}"))
    (line,) = re.findall(r"Without line (\d+) heath, level, 8 kg is 62\.5 paces", page)
    assert re.search(rf'<td class="number">{line}</td>(?:(?!</tr>).)*value="52"', page, re.DOTALL)


def test_every_wrong_cell_is_marked_with_the_readers_complaint(owner: Client, walker: KeptWalker) -> None:
    runs = [["heath", "steep", "8", "100", "62"], ["heath", "level", "", "100", "6x"], RUNS[0]]
    runs.append(["Heath", "level", "", "100", "<b>62,5"])
    found = owner.post(f"/walkers/{walker.pk}", typed(runs))
    page = text_of(found)
    assert found.status_code == 422
    first, second, third = wrongs(page)
    assert first.startswith("Steep is not a slope. Write up, level or down in the direction walked")
    assert second == "6x is not a number. Write digits, with a point for decimals."
    assert third == "<b>62,5 is not a number. Write digits, with a point for decimals."
    raw = found.content.decode()
    assert re.findall(r'name="(\w+-\d+)"[^>]*aria-invalid', raw) == ["slope-0", "count-1", "count-3"]
    assert 'value="&lt;b&gt;62,5"' in raw and "<b>" not in raw
    walker.refresh_from_db()
    assert walker.trials_csv == "" and not walker.past.exists()


@pytest.mark.parametrize(
    ("runs", "says"),
    [
        ([RUNS[0], ["Heath", "level", "8", "100", "62"]], "Heath is written heath in line"),
        ([["heath", "up", "8", "100", "62"]], "No run is on level ground"),
        ([["", "", "", "", ""]], "There is only a heading and no run"),
        ([["heath", "level", "8", "100", "1"]], "make a pace of 100 m"),
    ],
)
def test_what_no_single_cell_is_to_blame_for_is_said_as_well(
    owner: Client, walker: KeptWalker, runs: list[list[str]], says: str
) -> None:
    found = owner.post(f"/walkers/{walker.pk}", typed(runs))
    assert found.status_code == 422 and says in text_of(found)


def test_the_class_that_counts_as_ordinary_can_be_named(
    owner: Client, walker: KeptWalker, tmp_path: Path
) -> None:
    at = f"/walkers/{walker.pk}"
    owner.post(at, typed(RUNS, ordinary="brush, level, 8 kg"))
    (tmp_path / "trials.csv").write_bytes(owner.get(f"{at}/files/csv").content)
    out = tmp_path / "ines.toml"
    run(
        "calibrate",
        tmp_path / "trials.csv",
        "--name",
        "Ines Rowe",
        "--ordinary",
        "brush, level, 8 kg",
        "--out",
        out,
    )
    assert owner.get(f"{at}/files/toml").content == out.read_bytes()
    wrong = owner.post(at, typed(RUNS, ordinary="sand"))
    assert wrong.status_code == 422 and 'value="sand"' in text_of(wrong)


@pytest.mark.parametrize("heading", ["", "ground\tslope\tload_kg\tdistance_m\tcount\n"])
def test_pasted_runs_stand_below_the_typed_ones(owner: Client, walker: KeptWalker, heading: str) -> None:
    pasted = heading + "\r\n".join("\t".join(run_) for run_ in RUNS[1:])
    assert owner.post(f"/walkers/{walker.pk}", typed(RUNS[:1], paste=pasted)).status_code == 302
    walker.refresh_from_db()
    assert [list(row.cells) for row in kept_table(walker.trials_csv, 0).rows] == RUNS
    wrong = owner.post(f"/walkers/{walker.pk}", typed(RUNS[:1], paste="1,2,3\n"))
    assert wrong.status_code == 422 and ">1,2,3" in text_of(wrong) and "3 columns" in text_of(wrong)


def test_more_rows_keep_what_is_typed_and_keep_nothing_else(owner: Client, walker: KeptWalker) -> None:
    page = text_of(owner.post(f"/walkers/{walker.pk}", typed([["heath", "up", "x", "y", "z"]], do="more")))
    assert 'value="z"' in page and "Not kept yet" in page and 'name="count-12"' in page
    assert not walker.past.exists()


def test_a_table_has_its_limits(owner: Client, walker: KeptWalker) -> None:
    for form in ({"rows": str(MOST_TRIALS + 1)}, {"rows": "1", "count-0": "1" * 2001}):
        assert owner.post(f"/walkers/{walker.pk}", form).status_code == 422
    pasted = "\n".join(["heath,level,0,100,62"] * (MOST_TRIALS + 1))
    assert "at most 500 runs" in text_of(owner.post(f"/walkers/{walker.pk}", {"rows": "0", "paste": pasted}))


def test_every_earlier_state_is_there_and_can_be_gone_back_to(owner: Client, walker: KeptWalker) -> None:
    at = f"/walkers/{walker.pk}"
    first = walker.toml
    owner.post(at, typed(RUNS))
    owner.post(f"{at}/compass", {**COMPASS, "bias_sd_deg": "1"})
    walker.refresh_from_db()
    third = (walker.toml, walker.trials_csv)
    assert [past.why for past in walker.past.all()] == ["compass figures typed", "pace trials typed"]
    page = text_of(owner.get(f"{at}/history"))
    assert "61.19 paces to 100 m" in page and "No pace count yet" in page and "21 runs" in page
    owner.post(f"{at}/history", {"past": str(walker.past.last().pk)})
    walker.refresh_from_db()
    assert (walker.toml, walker.trials_csv) == (first, "")
    latest = walker.past.first()
    assert (latest.toml, latest.trials_csv) == third and latest.why.startswith(
        "gone back to the state before"
    )
    owner.post(f"{at}/history", {"past": str(latest.pk)})
    walker.refresh_from_db()
    assert (walker.toml, walker.trials_csv) == third and walker.past.count() == 4
    assert owner.post(f"{at}/history", {"past": "999999"}).status_code == 404


def test_trials_leave_the_compass_and_what_is_the_same_leaves_no_entry(
    owner: Client, walker: KeptWalker
) -> None:
    at = f"/walkers/{walker.pk}"
    owner.post(f"{at}/compass", {**COMPASS, "azimuth_sd_deg": "3.1"})
    owner.post(at, typed(RUNS))
    walker.refresh_from_db()
    assert (
        "azimuth_sd_deg = 3.1" in walker.toml and '"compass.azimuth_sd_deg" = "typed by hand"' in walker.toml
    )
    owner.post(at, typed(RUNS))
    owner.post(f"{at}/compass", {**COMPASS, "azimuth_sd_deg": "3.10"})
    assert walker.past.count() == 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("100", "100 is not a compass bias in degrees. Write a number from 0 to 90."),
        ("x", "X is not a compass bias in degrees. Write a number from 0 to 90."),
        ("nan", "Nan is not a compass bias in degrees"),
        ("-1", "-1.0 is not a compass bias in degrees"),
        ("", "is not a compass bias in degrees"),
    ],
)
def test_a_compass_figure_out_of_bounds_is_marked_and_not_kept(
    owner: Client, walker: KeptWalker, text: str, says: str
) -> None:
    sent = {"azimuth_sd_deg": "4", "bias_sd_deg": text, "sighting_sd_deg": "0"}
    found = owner.post(f"/walkers/{walker.pk}/compass", sent)
    page = text_of(found)
    assert found.status_code == 422 and says in page and f'value="{text}"' in page and 'value="4"' in page
    assert "0 is not a scatter of bearings in degrees. Write a number above 0, up to 90." in page
    assert not walker.past.exists()


def test_a_walker_file_comes_in_and_goes_out_to_the_letter(owner: Client) -> None:
    data = b"# mine\r\n" + bundled(DEMO_WALKER)
    owner.post("/walkers/new", {"file": SimpleUploadedFile("../x.toml", data)})
    walker = KeptWalker.objects.get()
    assert walker.name == "Ines Rowe"
    assert owner.get(f"/walkers/{walker.pk}/files/toml").content == data
    other = data.replace(b"Ines Rowe", "Åsa – 沼".encode())
    owner.post(f"/walkers/{walker.pk}/import", {"file": SimpleUploadedFile("x", other), "what": "walker"})
    found = owner.get(f"/walkers/{walker.pk}/files/toml")
    assert found.content == other and 'filename="asa.toml"' in found["Content-Disposition"]
    assert walker.past.get().why == "file imported"


def test_imported_trials_stay_to_the_letter_until_they_are_typed_on(
    owner: Client, walker: KeptWalker
) -> None:
    data = b"\xef\xbb\xbf" + TRIALS.replace(b",", b";").replace(b"\n", b"\r\n")
    owner.post(f"/walkers/{walker.pk}/import", {"file": SimpleUploadedFile("x", data), "what": "trials"})
    assert owner.get(f"/walkers/{walker.pk}/files/csv").content == data
    page = text_of(owner.get(f"/walkers/{walker.pk}"))
    assert 'name="remark" value="walker: Ines Rowe"' in page and "61.2 paces to 100 m" in page


@pytest.mark.parametrize(
    ("what", "data"),
    [("walker", b"x"), ("walker", b"\xff"), ("walker", b""), ("trials", b"x"), ("walker", b"a" * 2_000_001)],
)
def test_a_bad_file_changes_nothing(owner: Client, walker: KeptWalker, what: str, data: bytes) -> None:
    sent = {"file": SimpleUploadedFile("x", data), "what": what}
    found = owner.post(f"/walkers/{walker.pk}/import", sent)
    assert found.status_code == 422 and 'role="alert"' in text_of(found)
    assert not walker.past.exists()


def test_a_name_can_be_changed_and_never_be_empty(owner: Client, walker: KeptWalker) -> None:
    owner.post(f"/walkers/{walker.pk}/name", {"name": "  Ines   of the Fen "})
    walker.refresh_from_db()
    assert walker.name == "Ines of the Fen" and 'name = "Ines of the Fen"' in walker.toml
    assert owner.post(f"/walkers/{walker.pk}/name", {"name": " "}).status_code == 422
    assert owner.post("/walkers/new", {"name": "x" * 81}).status_code == 422
    assert KeptWalker.objects.count() == 1


def test_the_walker_of_a_log_is_chosen_on_its_page(owner: Client, owner_member: Member) -> None:
    log = example_log(owner_member)
    quick = new_walker(owner_member, 'name = "Quick"\n[pace]\nper_100_m = 50\n')
    assert "Ines Rowe</option>" in text_of(owner.get(f"/logs/{log.pk}"))
    owner.post(f"/logs/{log.pk}/walker", {"walker": str(quick.pk)})
    assert KeptLog.objects.get().walker == quick
    page = text_of(owner.get(f"/logs/{log.pk}"))
    assert re.search(r"selected>Quick</option>", page) and "784 metres" in page
    owner.post(f"/logs/{log.pk}/walker", {"walker": "x"})
    assert KeptLog.objects.get().walker == quick
    owner.post(f"/logs/{log.pk}/walker", {"walker": ""})
    assert KeptLog.objects.get().walker is None


def test_nobody_takes_a_walker_of_anothers(
    owner: Client, guest: Client, guest_member: Member, owner_member: Member
) -> None:
    log = example_log(owner_member)
    assert log.walker is not None
    own = example_log(guest_member)
    assert guest.post(f"/logs/{own.pk}/walker", {"walker": str(log.walker.pk)}).status_code == 404
    assert guest.get(f"/walkers/{log.walker.pk}").status_code == 404
    assert str(log.walker.pk) not in text_of(guest.get("/walkers"))


def test_a_guest_keeps_no_more_walkers_than_a_guest_may(
    guest: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pacewright.desk.walkers.keeping.MOST_GUEST_WALKERS", 1)
    assert guest.post("/walkers/new", {"name": "A"}).status_code == 302
    assert "at most 1 walkers" in text_of(guest.post("/walkers/new", {"name": "B"}))


def test_a_run_off_by_a_factor_is_asked_about_before_it_is_kept(owner: Client, walker: KeptWalker) -> None:
    """62 paces to 100 m, and once 620 written for 62."""
    at = f"/walkers/{walker.pk}"
    runs = [["", "level", "", "100", count] for count in ("62", "61", "620", "63", "62")]
    asked = owner.post(at, typed(runs))
    assert asked.status_code == 422
    assert wrongs(text_of(asked)) == ["Far off the other runs. Is a figure too many or too few?"]
    assert "620" in text_of(asked)
    assert KeptWalker.objects.get().trials_csv == ""
    assert owner.post(at, {**typed(runs), "do": "sure"}).status_code == 302
    assert "620" in KeptWalker.objects.get().trials_csv
    # A file is asked about as well, and nothing of it is kept before the answer.
    owner.post(at, typed([["", "level", "", "100", "62"]]))
    lines = ["ground,slope,load_kg,distance_m,count", *(",".join(run) for run in runs)]
    file = SimpleUploadedFile("trials.csv", "\n".join(lines).encode("utf-8"))
    asked = owner.post(f"{at}/import", {"file": file, "what": "trials"})
    assert asked.status_code == 422 and "Keep as it stands" in text_of(asked)
    assert wrongs(text_of(asked)) == ["Far off the other runs. Is a figure too many or too few?"]
    assert "620" not in KeptWalker.objects.get().trials_csv
    # Just within twice the middle one is not asked about: ground, slope and load may do as much.
    runs[2][4] = "123"
    assert owner.post(at, typed(runs)).status_code == 302
