"""Pages whose answers a worker has: what is known stands at once, the rest comes, nothing else changes."""

from __future__ import annotations

import html
import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from pacewright.desk.books import sheet_kinds, views_files, views_sheets
from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.notebook import views_notebook
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.readings import views_adjusted, views_closing, views_map, views_way
from pacewright.desk.workers import asking
from pacewright.desk.workers.asking import workers_for
from pacewright.desk.workers.workshop import Workshop

pytestmark = pytest.mark.slow

OPEN_SQUARE = [("0", "900"), ("90", "700", "[at Oak]"), ("180", "500"), ("270", "700", "[at Gate]")]
HEADING = "title: Crossing\nazimuth: magnetic degrees\ncount: paces\nstart: Gate\ndeclination: 12 E"
POLL = {"HTTP_HX_REQUEST": "true"}
LIMITS = [
    (views_closing, "CLOSURES_AT_ONCE"),
    (views_closing, "SEARCH_AT_ONCE"),
    (views_closing, "TWO_AT_ONCE"),
    *((module, "AT_ONCE") for module in (views_adjusted, views_way, views_map, views_notebook)),
    *((module, "AT_ONCE") for module in (views_sheets, views_files, sheet_kinds)),
]


@pytest.fixture
def all_is_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every page is long enough for a worker."""
    for module, name in LIMITS:
        monkeypatch.setattr(module, name, -1)


@pytest.fixture
def nobody_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page is sent at once, without its answer."""
    monkeypatch.setattr(asking, "HOLD_S", 0.0)


def without_keys(page: bytes) -> str:
    """A page without what is drawn anew each time."""
    text = html.unescape(page.decode("utf-8"))
    text = re.sub(r'name="csrfmiddlewaretoken" value="\w+"|"X-CSRFToken": "\w+"', "", text)
    return re.sub(r'name="key" value="[^"]*"|\bform_key\b', "", text)


def polled(client: Client, page: str) -> Any:
    """The page that comes in the place of one that asks again."""
    until = time.monotonic() + 60.0
    again = re.search(r'hx-get="([^"]+)"[^>]*hx-trigger="every 1s"', page)
    assert again, page
    address = html.unescape(again[1])
    while time.monotonic() < until:
        found = client.get(address, **POLL)
        if found.status_code != 204:
            return found
        time.sleep(0.1)
    raise AssertionError("no answer came")


PAGES = ["closing", "closing?two=1", "adjusted", "adjusted?rule=compass", "adjusted?robust=1", "map"]
PAGES += ["way?retrace=1&line=90&sight=30", "way?to=none&sight=x"]


@pytest.mark.parametrize("page", PAGES)
def test_a_worker_answers_a_page_as_the_desk_itself_does(
    owner: Client,
    owner_member: Member,
    page: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    log = example_log(owner_member)
    own = without_keys(owner.get(f"/logs/{log.pk}/{page}").content)
    for module, name in LIMITS:
        monkeypatch.setattr(module, name, -1)
    assert without_keys(owner.get(f"/logs/{log.pk}/{page}").content) == own


def test_what_is_known_stands_first_and_the_rest_comes(
    owner: Client,
    owner_member: Member,
    make_log: Callable[..., KeptLog],
    all_is_long: None,
    nobody_waits: None,
) -> None:
    log = make_log(owner_member, OPEN_SQUARE)
    first = owner.get(f"/logs/{log.pk}/closing")
    assert first.status_code == 200
    assert "Its answer is being worked out" in first.content.decode()
    second = polled(owner, first.content.decode()).content.decode()
    assert "the reckoning misses it by 400 paces" in second
    assert "A mistake is very likely" not in second
    assert "What may have gone wrong is being searched for." in second
    third = polled(owner, second).content.decode()
    assert "A mistake is very likely" in third
    assert "being searched for" not in third


@pytest.mark.parametrize("page", ["adjusted", "way", "map"])
def test_a_page_that_waits_asks_again_until_its_answer_is_there(
    owner: Client, owner_member: Member, all_is_long: None, nobody_waits: None, page: str
) -> None:
    log = example_log(owner_member)
    shown = owner.get(f"/logs/{log.pk}/{page}").content.decode()
    assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in shown
    assert "<svg" not in shown
    assert "<svg" in polled(owner, shown).content.decode()


def test_a_suspect_of_a_long_log_is_accepted(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog], all_is_long: None
) -> None:
    log = make_log(owner_member, OPEN_SQUARE)
    page = owner.get(f"/logs/{log.pk}/closing").content.decode()
    what = html.unescape(re.findall(r'name="what" value="([^"]+)"', page)[0])
    sent = {"key": "key-of-accept", "what": what, "do": "accept"}
    owner.post(f"/logs/{log.pk}/closing/correct", sent, follow=True)
    now = KeptLog.objects.get(pk=log.pk)
    assert now.revision == 1
    assert any("[was " in row["notes"] for row in now.rows)


def test_a_long_log_is_learnt_from(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog], all_is_long: None
) -> None:
    heading = f"{HEADING}\nknown: Gate = local 0 0 +-1 m\nknown: Oak = local 1085 1440 +-1 m"
    log = make_log(owner_member, [("0", "900"), ("90", "700", "[at Oak]")], heading=heading)
    toml = 'name = "Ines Rowe"\n\n[pace]\nper_100_m = 62.5\n'
    log.walker = KeptWalker.objects.create(owner=owner_member, name="Ines Rowe", toml=toml)
    log.save()
    page = owner.get(f"/logs/{log.pk}/adjusted").content.decode()
    mark = re.search(r'name="mark" value="(\w+)"', page)
    assert mark
    owner.post(f"/logs/{log.pk}/adjusted/learn", {"mark": mark[1]})
    assert KeptWalker.objects.get(pk=log.walker_id).past.count() == 1


def test_a_long_page_is_saved_at_once_and_its_answer_follows(
    owner: Client,
    owner_member: Member,
    make_log: Callable[..., KeptLog],
    all_is_long: None,
    nobody_waits: None,
) -> None:
    log = make_log(owner_member, OPEN_SQUARE)
    row = {"key": "key-number-1", "kind": "put", "id": "a", "azimuth": "305", "count": "240", "notes": ""}

    def told(*changes: dict[str, str]) -> dict[str, Any]:
        sent = {"changes": list(changes)}
        return owner.post(f"/logs/{log.pk}/changes", sent, content_type="application/json").json()

    saved = told(row)
    assert saved["answer"] is None and len(saved["rows"]) == 5
    until = time.monotonic() + 60.0
    while (again := told())["answer"] is None:
        assert time.monotonic() < until
        time.sleep(0.1)
    assert "The way back" in again["answer"]
    shown = owner.get(f"/logs/{log.pk}").content.decode()
    assert "The way back" in shown


def test_a_sheet_that_takes_long_comes_by_itself(
    owner: Client, owner_member: Member, all_is_long: None, nobody_waits: None
) -> None:
    log = example_log(owner_member)
    for address in (f"/logs/{log.pk}/sheets/debrief", f"/logs/{log.pk}/files/png", "/sheets/log?pages=40"):
        first = owner.get(address)
        assert (first.status_code, first["Refresh"]) == (202, "1")
        until = time.monotonic() + 60.0
        while (found := owner.get(address)).status_code == 202:
            assert time.monotonic() < until
            time.sleep(0.1)
        assert found["Content-Type"] in ("application/pdf", "image/png")


def test_an_answer_that_needs_too_much_says_so(
    owner: Client,
    owner_member: Member,
    make_log: Callable[..., KeptLog],
    all_is_long: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shop = Workshop(1, 400, longest_s=0.0)
    monkeypatch.setattr(asking, "WORKSHOP", shop)
    log = make_log(owner_member, OPEN_SQUARE)
    page = owner.get(f"/logs/{log.pk}/adjusted").content.decode()
    shop.close()
    assert "This answer takes longer than the desk gives one." in page


def test_another_page_of_the_log_is_another_answer(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    log = make_log(owner_member, OPEN_SQUARE)
    keys = {asking.of_log(views_map.map_page, log, most_rows=9).key}
    log.revision = 1
    keys.add(asking.of_log(views_map.map_page, log, most_rows=9).key)
    log.start_place = "37.3 -119.3"
    keys.add(asking.of_log(views_map.map_page, log, most_rows=9).key)
    log.walker = KeptWalker.objects.create(owner=owner_member, name="Ines", toml='name = "Ines"\n')
    keys.add(asking.of_log(views_map.map_page, log, most_rows=9).key)
    keys.add(asking.of_log(views_way.way_page, log, {"to": "1"}, most_rows=9).key)
    assert len(keys) == 5


def test_a_core_stays_free_and_memory_is_bounded() -> None:
    assert [workers_for(cores, 1500) for cores in (1, 2, 3, 16)] == [1, 1, 2, 2]
    assert workers_for(16, 16_000) == 15
