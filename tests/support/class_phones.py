"""Phones of learners in a real browser, and an instructor's exercise that they walk in."""

from __future__ import annotations

import re
from typing import Any

PHONE = {"width": 390, "height": 844}
LONG_MS = 15_000
SETTING_MS = 60_000
"""A course for many is set in the time of a page, which on a machine with much to do is long."""


class Phone:
    """One learner's phone; what its scripts complain of is kept in `wrong`."""

    def __init__(self, browser: Any, base: str) -> None:
        # A real phone reaches the desk over the network, where no worker keeps its pages.
        self.context = browser.new_context(
            base_url=base, viewport=PHONE, reduced_motion="reduce", service_workers="block"
        )
        self.context.set_default_timeout(LONG_MS)
        self.wrong: list[str] = []
        self.context.on("weberror", lambda found: self.wrong.append(str(found.error)))
        self.page = self.context.new_page()

    def open(self, code: str) -> None:
        """Ask for the page that the square on the board leads to; it may still be loading."""
        self.page.goto(f"/join?code={code}", wait_until="commit")

    def join(self, name: str) -> None:
        """Come in under a name."""
        self.page.fill("#name", name)
        self.page.press("#name", "Enter")

    def take(self, card: int) -> None:
        """Take a card; its page may still be loading."""
        self.page.fill("input[name=card]", str(card))
        self.page.press("input[name=card]", "Enter")

    def come_in(self, code: str, name: str, card: int) -> None:
        """Join and take a card by the requests of `open`, `join` and `take`, showing no page before."""
        asked = self.context.request
        self._send("/join", asked.get(f"/join?code={code}"), {"code": code, "name": name})
        home = asked.get("/")
        take = re.search(r'action="(/cards/[\w-]+/take)"', home.text())
        assert take, home.text()
        log = self._send(take[1], home, {"card": str(card)})
        self.page.goto(log, wait_until="commit")

    def _send(self, address: str, page: Any, fields: dict[str, str]) -> str:
        """Send a form of a page; give where it leads."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.text())
        assert found, page.text()
        form = {**fields, "csrfmiddlewaretoken": found[1]}
        done = self.context.request.post(address, form=form, max_redirects=0)
        assert done.status == 302, done.text()
        return str(done.headers["location"])

    def type_row(self, azimuth: str, count: str, *, by_keys: bool = True) -> None:
        """Type a row after the last, key by key or cell by cell."""
        last = self.page.locator(".row").last
        if by_keys:
            last.locator(".azimuth").click()
            self.page.keyboard.type(azimuth)
            self.page.keyboard.press("Tab")
            self.page.keyboard.type(count)
            self.page.keyboard.press("Enter")
        else:
            last.locator(".azimuth").fill(azimuth)
            last.locator(".count").fill(count)
            last.locator(".count").press("Enter")

    def wait_saved(self) -> None:
        """Wait until the desk has every row."""
        self.page.wait_for_selector("#saved:text-is('Saved.')")
        self.page.wait_for_selector(".row.unsent", state="detached")

    def hand_in(self, minutes: int) -> None:
        """Write down the finish and hand in; the answer may still be on its way."""
        self.page.select_option("#ends-at", index=1 + minutes % 8)
        self.page.fill("#minutes", str(minutes))
        self.page.press("button:has-text('Hand in')", "Enter")

    def wait_handed(self) -> None:
        """Wait until the desk says that the card is handed in."""
        self.page.wait_for_selector("text=is handed in")


def begin_exercise(page: Any, learners: int = 32) -> tuple[str, str]:
    """Set a field course, make a group, begin; give the addresses of exercise and group."""
    page.goto("/class")
    page.fill("#group-name", "Tuesday")
    page.click("button:has-text('Make it')")
    group = page.url
    page.goto("/class/courses/new/field")
    page.fill("#learners", str(learners))
    page.fill("#stakes", "11")
    page.click("text=Set the course", timeout=SETTING_MS)
    page.select_option("#of-group", label="Tuesday")
    page.click("button:has-text('Begin')")
    page.wait_for_selector("#live")
    return page.url, group
