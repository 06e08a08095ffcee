"""The pocket page in a real browser, opened from a file, with no network."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from pacewright.answers.estimate import find_estimate
from pacewright.core.adjust.closure import find_closures
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.observations import find_observations
from pacewright.files.log_csv import read_log
from pacewright.wording.closure import say_closures
from support.axe_rules import violations
from support.command import run
from support.pocket_page import turn_to, type_row

DEMO = (Path(__file__).parents[2] / "src" / "pacewright" / "data" / "cinder_fen.csv").read_text(
    encoding="utf-8"
)
PARTS = ("rows", "way", "figure", "count", "more")
LOOP = "# start: Gate\nazimuth,count,notes\n0,400,\n90,400,\n180,400,\n270,{count},[at Gate]\n0,100,\n"


def csv_of(page: Any) -> str:
    """The log as the page would hand it on."""
    turn_to(page, "more")
    with page.expect_download() as got:
        page.get_by_role("button", name="Download").click()
    return Path(got.value.path()).read_bytes().decode("utf-8")


def test_rows_are_typed_and_the_way_back_stands_there(pocket: Any) -> None:
    page = pocket()
    assert "Type a leg" in page.inner_text("#now")
    type_row(page, "305", "240")
    type_row(page, "38", "185", "[at Split oak]")
    # 240 on 305 and 185 on 38: east -82.7, north 283.4; back 163.7 degrees and 295 paces, by hand.
    assert page.inner_text("#now .big").startswith("164 deg  295 paces")
    assert "164 deg 295 paces" in page.inner_text("#said")


def test_the_keypad_and_the_remark_buttons_write_a_row(pocket: Any) -> None:
    page = pocket()
    page.focus("#azimuth")
    for key in ("3", "0", "6", "⌫", "5"):
        page.click(f".keys button:text-is('{key}')")
    page.get_by_role("button", name="Next field").click()
    for key in ("2", "4", "0"):
        page.click(f".keys button:text-is('{key}')")
    page.get_by_role("button", name="At …").click()
    page.fill("#asked", "Split oak")
    page.get_by_role("button", name="Write it", exact=True).click()
    page.get_by_role("button", name="down", exact=True).click()
    page.click("#write")
    assert csv_of(page).endswith("305,240,[at Split oak] [down]\n")


def test_a_wrong_row_says_what_is_wrong_and_the_answer_stops_above_it(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240")
    type_row(page, "361", "100")
    type_row(page, "38", "185")
    said = page.inner_text("ol.rows li:nth-child(2)")
    assert "361 is not an azimuth in degrees. Write a number from 0 to 360" in said
    assert page.inner_text("#now .big").startswith("125 deg  240 paces")
    assert "Row 2 is not understood" in page.inner_text("#now")
    page.click("ol.rows li:nth-child(2) button")
    page.fill("#azimuth", "36")
    page.click("#write")
    assert "not understood" not in page.inner_text("#now")


def test_the_file_that_is_handed_on_is_read_by_the_tool_to_the_letter(pocket: Any) -> None:
    page = pocket()
    for row in (
        ("305", "240", ""),
        ("S40W", "30,5", 'a "quoted" word, and a comma'),
        ("", "", "12"),
        ("38", "1.200", "#x"),
    ):
        type_row(page, *row)
    log = read_log(csv_of(page).replace("1.200", "1200").encode("utf-8"))
    assert [(one.azimuth, one.count, one.notes) for one in (row.cells for row in log.rows)] == [
        ("305", "240", ""),
        ("S40W", "30,5", 'a "quoted" word, and a comma'),
        ("", "", "12"),
        ("38", "1200", "#x"),
    ]


def test_a_log_goes_through_the_phone_unchanged(pocket: Any) -> None:
    handed_on = csv_of(pocket(logs=[DEMO]))
    assert handed_on.replace('"', "") == DEMO
    assert read_log(handed_on.encode("utf-8")) == read_log(DEMO.encode("utf-8"))


def test_the_page_says_what_the_command_line_says(pocket: Any, tmp_path: Path) -> None:
    # Without its bearing, which the laptop has something to say of.
    file = tmp_path / "log.csv"
    file.write_text(
        "".join(line for line in DEMO.splitlines(keepends=True) if "see" not in line), encoding="utf-8"
    )
    walker = tmp_path / "walker.toml"
    walker.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    told = run("back", file, "--walker", walker, "--retrace", "--line", "90", "--sighting-distance", "20")
    page = pocket(logs=[file.read_text(encoding="utf-8")])
    turn_to(page, "way")
    page.get_by_label("Aim off by a line on azimuth").fill("90")
    page.get_by_label("Search: how far off the goal is seen").fill("20")
    page.get_by_role("button", name="Leg by leg").click()
    sentences = told.out.partition("\n\n")[0].splitlines()
    shown = page.locator("#answer > p").all_inner_texts()
    assert " ".join(" ".join(shown).split()) == " ".join(" ".join(sentences).split())


def test_every_change_is_kept_at_once_and_comes_back(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240", "[at Split oak]")
    page.fill("#azimuth", "38")
    page.reload()
    assert "305" in page.inner_text("ol.rows")
    assert page.input_value("#azimuth") == "38"


def test_a_page_that_lies_open_twice_loses_no_row(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240", "[at Split oak]")
    page.wait_for_url(re.compile("#.{40}"))
    other = page.context.new_page()
    other.goto(page.url)
    type_row(page, "38", "185")
    expect(other.locator("ol.rows li")).to_have_count(2)
    type_row(other, "52", "330")
    expect(page.locator("ol.rows li")).to_have_count(3)
    other.close()
    page.reload()
    assert page.locator("ol.rows li").count() == 3


def test_what_is_typed_is_never_read_as_a_part_of_the_page(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240", "<img src=x onerror=alert(1)> [at <b>Post</b>]")
    for part in PARTS:
        turn_to(page, part)
        assert page.locator("main img, main b:has-text('Post')").count() == 0


def test_the_address_alone_brings_a_log_back(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240", "[at Größe] ₁")
    address = page.url
    page.evaluate("localStorage.clear()")
    page.goto("about:blank")
    page.goto(address)
    assert "[at Größe] ₁" in page.inner_text("ol.rows")


def test_where_nothing_can_be_kept_but_the_address_it_says_so(pocket: Any) -> None:
    page = pocket()
    page.context.add_init_script(
        "Object.defineProperty(window, 'localStorage', {get() { throw new Error('no'); }})"
    )
    page.reload()
    assert "Kept in the address alone" in page.inner_text("#kept")
    page.context.add_init_script("history.replaceState = () => { throw new Error('no'); }")
    page.reload()
    assert "Not kept" in page.inner_text("#kept")


def test_what_the_page_does_not_use_is_said(pocket: Any) -> None:
    text = "# known: Byre = local 10 20\nazimuth,count,notes\n305,240,[back 126]\n346,,[see Fire tower]\n"
    page = pocket(logs=[text])
    turn_to(page, "way")
    said = page.inner_text("#answer")
    assert "the bearings to Fire tower; the back reading of leg 1; the known place of Byre" in said
    assert "its answer may be another" in said


def closing(text: str) -> str:
    """What the command says of the closures of a log, by its legs alone."""
    log = read_log(text.encode("utf-8"))
    estimate = find_estimate(log)
    walked = find_observations(log, Walker(), estimate.written.frame)
    closures = find_closures(log, estimate.written, walked)
    return " ".join(say_closures(log, closures, "pace"))


def test_a_loop_that_does_not_close_warns_before_the_way(pocket: Any) -> None:
    text = LOOP.format(count=900)
    page = pocket(logs=[text])
    assert page.inner_text("#now").startswith("Take care: at Gate this log misses")
    turn_to(page, "way")
    assert closing(text) in " ".join(page.inner_text("#closing").split())
    assert "Gate was met again" in page.inner_text("#answer")


def test_a_loop_that_closes_is_called_ordinary(pocket: Any) -> None:
    text = LOOP.format(count=405)
    assert "ordinary" in closing(text)
    page = pocket(logs=[text])
    turn_to(page, "way")
    assert closing(text) in " ".join(page.inner_text("#closing").split())
    assert "Take care" not in page.inner_text("#answer")


def test_the_tally_pad_counts_undoes_and_writes_the_count(pocket: Any) -> None:
    page = pocket()
    turn_to(page, "count")
    for _ in range(12):
        page.get_by_role("button", name="A hundred", exact=True).click()
    page.get_by_role("button", name="Undo a hundred").click()
    page.get_by_label("And beyond the last hundred").fill("42")
    assert page.inner_text("#total") == "1142"
    assert (
        page.locator("#cord svg").get_attribute("aria-label")
        == "The cord: 1 upper bead, 1 lower bead, 42 paces"
    )
    page.reload()
    assert page.inner_text("#total") == "1142"
    page.get_by_role("button", name="Write it as the row's count").click()
    turn_to(page, "rows")
    assert page.input_value("#count") == "1142"


def test_the_boxing_helper_turns_as_the_handbook_does(pocket: Any) -> None:
    # A detour by right angles: add 90 to turn right, take 90 away to turn left (common practice).
    page = pocket()
    turn_to(page, "count")
    page.get_by_label("You walk on").fill("350")
    page.get_by_label("Count of the offset").fill("40")
    shown = []
    for _ in range(4):
        shown.append(re.search(r"(\d+) deg", page.inner_text("#box-step")).group(1))
        if len(shown) < 4:
            page.get_by_role("button", name="Done, next").click()
    assert shown == ["80", "350", "260", "350"]
    page.get_by_role("button", name="Write it into the row").click()
    turn_to(page, "rows")
    assert page.input_value("#notes") == "[box right 40]"


def test_a_pasted_log_is_taken_in_once(pocket: Any) -> None:
    page = pocket()
    turn_to(page, "more")
    for said in ("Taken in: 6 rows.", "That log is here already"):
        page.get_by_label("Or paste it here").fill(DEMO)
        page.get_by_role("button", name="Take it in").click()
        assert said in page.inner_text("#handed")
    assert page.locator("select").first.locator("option").count() == 2


def test_the_pace_table_of_the_walker_is_counted_with(pocket: Any) -> None:
    walker = Walker("Ines Rowe", 62.5, classes=(PaceClass("brush", None, None, 71.0, runs=4),))
    page = pocket(logs=["azimuth,count,notes\n0,71,[ground brush]\n"], walker=walker)
    # 71 paces of brush are 100 m, and so are the 71 paces back over it.
    assert page.inner_text("#now .big").startswith("180 deg  71 paces")
    turn_to(page, "way")
    assert "ordinary ground 63" in page.inner_text("#answer")


@pytest.mark.parametrize(("width", "scheme"), [(320, "dark"), (360, "light"), (390, "dark"), (430, "light")])
def test_axe_finds_nothing_and_nothing_runs_off_the_screen(pocket: Any, width: int, scheme: str) -> None:
    page = pocket(width, logs=[DEMO], color_scheme=scheme)
    for part in PARTS:
        turn_to(page, part)
        assert violations(Axe(), page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        small = page.evaluate(
            "[...document.querySelectorAll('button, input, select, textarea, summary')]"
            ".filter((one) => one.checkVisibility())"
            ".map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])"
            ".filter(([, box]) => box.height < 44 || box.width < 44).map(([text]) => text)"
        )
        assert small == []
        letters = page.evaluate(
            "Math.min(...[...document.querySelectorAll('body *')]"
            ".filter((one) => one.checkVisibility() && one.innerText)"
            ".map((one) => parseFloat(getComputedStyle(one).fontSize)))"
        )
        assert letters >= 16


def test_the_night_colours_are_red_on_black_and_legible(pocket: Any) -> None:
    page = pocket(logs=[DEMO])
    turn_to(page, "more")
    page.get_by_role("button", name="Night: red on black").click()
    for part in PARTS:
        turn_to(page, part)
        assert violations(Axe(), page) == []
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(0, 0, 0)"


@pytest.mark.parametrize("size", [{"width": 740, "height": 360}, {"width": 360, "height": 740}])
def test_letters_of_twice_the_size_stay_usable(pocket: Any, size: dict[str, int]) -> None:
    page = pocket(logs=[DEMO], viewport=size)
    page.add_style_tag(content="html { font-size: 225%; }")
    for part in PARTS:
        turn_to(page, part)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    turn_to(page, "rows")
    type_row(page, "90", "100")
    assert "90" in page.inner_text("ol.rows")


def test_the_first_tab_says_when_the_answer_leaves_something_out(pocket: Any) -> None:
    page = pocket()
    type_row(page, "305", "240")
    assert "Not all of this log" not in page.inner_text("#now")
    type_row(page, "38", "185", "[back 219]")
    assert "Not all of this log is used here: see Way." in page.inner_text("#now")
