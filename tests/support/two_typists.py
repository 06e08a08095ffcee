"""Two people type on one log in two browsers, by chance: offline spells, undo, reloads, kills of the desk.

Every text typed is there once, so that each can be followed. What the desk acknowledged is read off the
network; what each page showed is noted on it whenever a key is pressed.
"""

from __future__ import annotations

import json
import random
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from support.desk_forks import Forks
from support.notebook_page import CELLS, until

MOST_ROWS = 12
LOOK_EVERY = 25
"""Turns after which the kept changes are looked at: far fewer than make a desk let go of one."""
STATE = """() => ({
  rows: [...document.querySelectorAll('#page .row')]
    .map(row => ({ cells: ['azimuth', 'count', 'notes'].map(name => row.querySelector('.' + name).value),
      struck: row.classList.contains('struck'),
      asks: [...row.querySelectorAll('.asks button')].map(one => one.textContent) }))
    .filter(row => row.cells.some(Boolean) || row.asks.length),
  heading: document.getElementById('heading-text').value,
  answer: document.getElementById('answer').textContent.replace(/\\s+/g, ' '),
})"""
SHOWN = """(() => {
  const seen = new Set();
  const note = (...what) => {
    const name = 'shown ' + JSON.stringify(what);
    if (!seen.has(name)) sessionStorage.setItem(name, '');
    seen.add(name);
  };
  const names = ['azimuth', 'count', 'notes'];
  const texts = (row) => names.map((name) => [name, row.querySelector('.' + name).value]);
  const buttons = (row) => [...row.querySelectorAll('.asks button')];
  // Without the "Keep" or "Take" before it.
  const asked = (row) => buttons(row).map((one) => one.textContent.slice(5));
  const look = () => document.querySelectorAll('#page .row').forEach((row) => {
    for (const [name, text] of texts(row)) note(row.dataset.id, name, text);
    for (const text of asked(row)) note(row.dataset.id, 'beside', text);
  });
  const acts = ['keydown', 'beforeinput', 'input', 'click'];
  for (const what of acts) document.addEventListener(what, look, true);
})()"""
"""Notes what stands on the page whenever something is done on it, before the page itself hears of it."""
SAW = """() => Object.keys(sessionStorage).filter((name) => name.startsWith('shown '))
  .map((name) => name.slice(6))"""
WORKER_HAS_IT = "async () => (await caches.match(location.href)) !== undefined"
SETTLED = """() => document.getElementById('saved').textContent.startsWith('Saved.')
  && !document.querySelector('.row.unsent')
  && /^(Row \\d+ holds two values.*)?$/.test(document.getElementById('rests').textContent)"""


class Typist:
    """One of the two: a page, what it showed, and what the desk acknowledged of what was done on it."""

    def __init__(self, name: str, page: Any, chance: random.Random) -> None:
        self.name, self.page, self.chance = name, page, chance
        self.acknowledged: dict[str, dict[str, Any]] = {}
        self.is_offline = False
        self.did: list[str] = []
        self.made = 0
        page.on("requestfinished", self._hear)
        page.context.add_init_script(SHOWN)
        page.evaluate(f"() => {{ {SHOWN} }}")
        self.saw: set[tuple[str, str, str]] = set()

    def _hear(self, request: Any) -> None:
        if request.method != "POST" or not request.url.endswith("/changes"):
            return
        answer = request.response()
        if answer is None or answer.status != 200:
            return
        try:
            told = answer.json()
        except Exception:
            # The page was left before the answer was read: it was not heard there either.
            return
        self.hear(json.loads(request.post_data or "{}"), told)

    def hear(self, sent: dict[str, Any], told: dict[str, Any]) -> None:
        """Note what the desk acknowledged of what was sent."""
        refused = {one["key"] for one in told["refused"]}
        for change in sent.get("changes", []):
            if change["key"] not in refused:
                self.acknowledged[change["key"]] = change

    def act(self) -> None:
        """Do one thing by chance."""
        does: list[tuple[int, Callable[[], None]]] = [
            (40, self.type_over),
            (14, self.add_row),
            (5, lambda: self._keys("strike", "Control+Delete")),
            (5, lambda: self._keys("remove", "Alt+Shift+Delete")),
            (4, lambda: self._keys("move", self.chance.choice(["Alt+ArrowUp", "Alt+ArrowDown"]))),
            (3, lambda: self._keys("insert", "Control+Enter")),
            (10, lambda: self._keys("undo", *["Control+z"] * self.chance.randint(1, 3))),
            (4, lambda: self._keys("redo", "Shift+Control+Z")),
            (3, self.write_heading),
            (3, self.choose),
            (6, self.go_off_or_on),
            (3, self.reload),
        ]
        weights, acts = zip(*does, strict=True)
        if self.is_lost:
            self.reload()
        else:
            self.chance.choices(acts, weights)[0]()

    @property
    def is_lost(self) -> bool:
        """Whether the browser shows a page of its own, because it could not load this one."""
        return bool(getattr(self.page, "is_lost", False))

    def type_over(self) -> None:
        """Write into a cell that is there."""
        row = self._row()
        if row is None or row.evaluate("one => one.classList.contains('struck')"):
            return
        self._write(row.locator("." + self.chance.choice(CELLS)))

    def add_row(self) -> None:
        """Write azimuth and count into the row below all others."""
        rows = self.page.locator("#page .row")
        if rows.count() > MOST_ROWS:
            return
        self._write(rows.last.locator(".azimuth"))
        self.page.keyboard.press("Tab")
        self._write(self.page.locator("#page .row.here .count"))
        self.page.keyboard.press("Enter")

    def write_heading(self) -> None:
        """Change the title."""
        self.made += 1
        self.page.locator("details.heading").evaluate("one => { one.open = true; }")
        lines = self.page.input_value("#heading-text").split("\n")
        rest = [line for line in lines if not line.startswith("title:")]
        self.page.fill("#heading-text", "\n".join([f"title: Walk {self.name}{self.made}", *rest]))
        self.did.append("heading")

    def choose(self) -> None:
        """Answer a cell that asks which of two values counts."""
        buttons = self.page.locator(".asks button")
        if buttons.count():
            button = buttons.nth(self.chance.randrange(buttons.count()))
            # At once: what the cell asks may change under the hand.
            button.evaluate("one => one.click()")
            self.did.append("choose")

    def go_off_or_on(self) -> None:
        """Lose the network, or find it again."""
        self.is_offline = not self.is_offline
        self.page.context.set_offline(self.is_offline)
        self.did.append("offline" if self.is_offline else "online")

    def reload(self) -> None:
        """Load the page anew, also while the desk is down: a browser's own worker has it."""
        if not self.is_offline:
            self.page.reload()
            self.did.append("no page" if self.is_lost else "reload")
            if not self.is_lost:
                self.page.wait_for_selector("#page .row")

    def come_home(self) -> None:
        """Find the network again, and leave the cell."""
        if self.is_offline:
            self.go_off_or_on()
        if self.is_lost:
            self.reload()
        self.page.evaluate("document.activeElement.blur()")

    def look_back(self) -> None:
        """Take from the page what it showed."""
        for one in self.page.evaluate(SAW):
            row, what, text = json.loads(one)
            self.saw.add((row, what, text))

    def state(self) -> dict[str, Any]:
        """All that the page shows of the log."""
        return dict(self.page.evaluate(STATE))

    def _row(self) -> Any:
        rows = self.page.locator("#page .row")
        many = rows.count() - 1
        return rows.nth(self.chance.randrange(many)) if many > 0 else None

    def _write(self, cell: Any) -> None:
        self.made += 1
        is_notes = "notes" in (cell.get_attribute("class") or "")
        text = (
            f"{self.name}{self.made}"
            if is_notes
            else f"{self.made % 360}.{self.made:04d}{'ab'.index(self.name)}"
        )
        cell.focus()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.did.append("type")

    def _keys(self, what: str, *keys: str) -> None:
        row = self._row()
        if row is None:
            return
        row.locator("." + self.chance.choice(CELLS)).focus()
        for key in keys:
            self.page.keyboard.press(key)
        self.did.append(what)


class Match:
    """Two typists on one log of a desk that is killed now and then."""

    def __init__(self, forks: Forks, pages: Sequence[Any], seed: int) -> None:
        self.forks, self.chance = forks, random.Random(seed)
        self.typists = [
            Typist(name, page, random.Random(seed + at))
            for at, (name, page) in enumerate(zip("ab", pages, strict=True), 1)
        ]
        self.is_up, self.kills, self.turns = True, 0, 0
        self.edits = KeptEdits(forks.folder)
        for page in pages:
            until(page, WORKER_HAS_IT, most_s=60.0)

    def turn(self) -> None:
        """Let one of the two do something; the desk dies, or comes back, by chance."""
        typist = self.chance.choice(self.typists)
        typist.act()
        self.turns += 1
        if not self.turns % LOOK_EVERY:
            self.edits.look()
        if self.chance.random() < 0.3:
            typist.page.wait_for_timeout(self.chance.choice([50, 400, 900]))
        if self.is_up and self.chance.random() < 0.03:
            self.forks.kill()
            self.is_up, self.kills = False, self.kills + 1
        elif not self.is_up and self.chance.random() < 0.2:
            self.forks.open()
            self.is_up = True

    def end(self, most_s: float = 40.0) -> None:
        """Bring everybody back, and wait until both say that all is saved."""
        if not self.is_up:
            self.forks.open()
            self.is_up = True
        for one in self.typists:
            one.come_home()
        for _ in range(2):
            # Twice: what the one sends last changes what the other shows.
            for one in self.typists:
                try:
                    until(one.page, SETTLED, most_s=most_s)
                except AssertionError:
                    shown = one.page.evaluate(
                        "['saved', 'trouble', 'rests'].map(one => document.getElementById(one).textContent)"
                    )
                    raise AssertionError(f"{one.name} does not settle: {shown}") from None
                one.page.wait_for_timeout(1600)
        for one in self.typists:
            one.look_back()

    def did(self) -> dict[str, int]:
        """How often each thing was done."""
        all_did = [what for one in self.typists for what in one.did]
        return {what: all_did.count(what) for what in sorted(set(all_did))}


class KeptEdits:
    """Every change that a desk kept; of a long log it lets go of the old ones, so one looks now and then."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._found: dict[str, dict[str, Any]] = {}

    def look(self) -> list[tuple[str, dict[str, Any]]]:
        """Key and content of every change so far, in order."""
        with sqlite3.connect(self.folder / "desk.sqlite3") as base:
            found = base.execute("SELECT key, change FROM desk_edit ORDER BY number").fetchall()
        base.close()
        for key, change in found:
            self._found.setdefault(key, json.loads(change))
        return list(self._found.items())
