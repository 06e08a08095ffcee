"""What is typed at the end of a walk outlives the other form, a reload, and a phone that drops off."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from support.class_phones import Phone, begin_exercise
from support.desk_server import DeskServer

pytestmark = pytest.mark.slow

KEPT = "#draft-told:text-is('Kept; not handed in yet.')"


class Learner(Phone):
    """A learner who stands on the page of card 1."""

    def __init__(self, browser: Any, server: DeskServer, code: str) -> None:
        super().__init__(browser, server.base)
        self.server = server
        self.open(code)
        self.join("Marlo Finch")
        self.take(1)
        self.page.wait_for_selector("#minutes")
        # What keeps a draft is a script of the page: a network lost before that keeps nothing.
        self.page.wait_for_load_state("load")
        self.log = self.page.url

    def shows(self) -> tuple[str, ...]:
        """The minutes, the pace count and the stake on the page."""
        return tuple(self.page.input_value(f"#{name}") for name in ("minutes", "pace-count", "ends-at"))

    def minutes_at_desk(self) -> str:
        """The minutes that the desk holds, as the instructor's page has them."""
        found = re.search(r'name="minutes" value="([^"]*)"', self.server.owner.get(self.path).body)
        assert found
        return found[1]

    @property
    def path(self) -> str:
        return self.log.removeprefix(self.server.base)

    def drop_off(self) -> None:
        """Lose the network, and then the page."""
        self.page.wait_for_selector("#draft-told:has-text('kept in this browser')")
        self.page.close()

    def come_back(self) -> None:
        self.context.set_offline(False)
        self.page = self.context.new_page()
        self.page.goto(self.log)


@pytest.fixture
def learner(browser, browser_page, new_desk) -> Iterator[Learner]:
    server = new_desk(network=True)
    owner = browser_page(1440, server=server)
    exercise, _ = begin_exercise(owner, learners=4)
    owner.goto(f"{exercise}/board")
    made = Learner(browser, server, owner.inner_text(".board-code"))
    yield made
    made.context.close()
    assert not made.wrong, made.wrong


def test_nothing_typed_is_lost_by_the_other_form_a_reload_or_the_network(learner):
    page = learner.page
    page.fill("#minutes", "24")
    page.fill("#pace-count", "62,5")
    page.click("text=Show the counts")
    page.wait_for_selector("button:has-text('Change')")
    assert learner.shows() == ("24", "62.5", "")
    page.wait_for_selector(KEPT)
    assert learner.minutes_at_desk() == "24"

    page.select_option("#ends-at", index=2)
    page.fill("#pace-count", "6")
    stake = page.input_value("#ends-at")
    page.reload()
    assert learner.shows() == ("24", "6", stake)

    page.wait_for_selector(KEPT)
    learner.context.set_offline(True)
    page.fill("#minutes", "31")
    learner.drop_off()
    assert learner.minutes_at_desk() == "24"
    learner.come_back()
    assert learner.shows() == ("31", "6", stake)
    learner.page.wait_for_selector(KEPT)
    assert learner.minutes_at_desk() == "31"
    left = learner.page.evaluate("Object.keys(localStorage).filter((one) => one.startsWith('desk-draft:'))")
    assert left == []


def test_what_is_typed_before_the_page_has_its_scripts_is_kept(learner):
    held: list[Any] = []
    learner.page.route("**/draft.js", lambda route: held.append(route))
    learner.page.reload(wait_until="commit")
    learner.page.wait_for_selector("#minutes")
    learner.page.fill("#minutes", "27")
    learner.page.select_option("#ends-at", index=2)
    stake = learner.page.input_value("#ends-at")
    while not held:
        learner.page.wait_for_timeout(20)
    held[0].continue_()
    learner.page.unroute("**/draft.js")
    learner.page.wait_for_selector(KEPT)
    assert learner.minutes_at_desk() == "27"
    learner.page.reload()
    assert learner.shows() == ("27", "", stake)


def test_what_another_wrote_meanwhile_stays_and_what_was_typed_here_is_told(learner):
    learner.context.set_offline(True)
    learner.page.fill("#minutes", "31")
    learner.drop_off()
    entry = re.search(r'action="(/entries/[\w-]+/finish)"', learner.server.owner.get(learner.path).body)
    assert entry
    send_form(learner, entry[1], {"minutes": "50", "do": "save"})
    learner.come_back()
    assert "Minutes, start to end: 31" in learner.page.inner_text("#draft-trouble")
    assert learner.shows()[0] == learner.minutes_at_desk() == "50"

    learner.page.fill("#minutes", "52")
    learner.page.wait_for_selector(KEPT)
    send_form(learner, entry[1], {"minutes": "52", "do": "hand-sure"})
    learner.page.fill("#minutes", "55")
    learner.page.wait_for_selector("text=was handed in from another page")
    learner.page.reload()
    assert "Minutes, start to end: 55" in learner.page.inner_text("#draft-trouble")
    assert learner.page.is_disabled("#minutes")
    assert learner.shows()[0] == learner.minutes_at_desk() == "52"


def send_form(learner: Learner, address: str, fields: dict[str, str]) -> None:
    """Send the finish as the instructor does, from a page of their own."""
    owner = learner.server.owner
    page = owner.get(learner.path).body
    found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
    assert found
    done = owner.send_form(address, {**fields, "csrfmiddlewaretoken": found[1]})
    assert done.status == 302, done.body
