"""What the tests of the desk share: members, their clients, logs, a live desk and a browser."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from support.chromium import open_chromium
from support.desk_server import DeskServer
from support.desk_setup import HOST, set_up_desk, wipe

set_up_desk()

from django.test import Client  # noqa: E402

from pacewright.desk.models import KeptLog, Member  # noqa: E402
from pacewright.desk.notebook.keeping import new_log  # noqa: E402
from pacewright.desk.notebook.page_changes import PageState, new_row  # noqa: E402
from pacewright.desk.serving.access import new_guest, the_owner  # noqa: E402

HEADING = "title: Crossing\nazimuth: magnetic degrees\ncount: paces\nstart: Gate"
LIVE = {"desk_server", "new_desk", "forks", "browser"}


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the live desks out where the tests are asked of another database: they bring their own."""
    if not os.environ.get("PACEWRIGHT_DATABASE"):
        return
    live = [item for item in items if LIVE & set(getattr(item, "fixturenames", ()))]
    config.hook.pytest_deselected(items=live)
    items[:] = [item for item in items if item not in set(live)]


@pytest.fixture(autouse=True)
def empty_desk() -> Iterator[None]:
    """Begin every test with nothing kept and nobody known."""
    wipe()
    yield


def client_of(member: Member | None = None, **more: Any) -> Client:
    """A client of the framework, signed in as a member or as nobody."""
    client = Client(headers={"host": HOST}, **more)
    if member is not None:
        session = client.session
        session["member"] = str(member.pk)
        session.save()
    return client


@pytest.fixture
def owner_member() -> Member:
    """The owner of the desk."""
    return the_owner()


@pytest.fixture
def guest_member() -> Member:
    """A guest who joined by code."""
    return new_guest("Tamsin Vale")


@pytest.fixture
def owner(owner_member: Member) -> Client:
    """A client signed in as owner."""
    return client_of(owner_member)


@pytest.fixture
def guest(guest_member: Member) -> Client:
    """A client signed in as a guest."""
    return client_of(guest_member)


@pytest.fixture
def anonymous() -> Client:
    """A client that nobody let in."""
    return client_of()


@pytest.fixture
def make_log() -> Callable[..., KeptLog]:
    """`make_log(member, rows, heading=...)`; a row is azimuth, count and notes, the last may be left away.

    Its rows bear the identities r0, r1, ...
    """

    def make(member: Member, rows: Sequence[Sequence[str]] = (), heading: str = HEADING) -> KeptLog:
        cells = [(*row, *("",) * (3 - len(row))) for row in rows]
        return new_log(member, PageState(heading, tuple(new_row(f"r{k}", c) for k, c in enumerate(cells))))

    return make


@pytest.fixture(scope="session")
def desk_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DeskServer]:
    """One live desk for the whole run, in a process of its own: `base`, and a fresh `link` at every look.

    Its data are its own: what a test makes by `owner` or `make_log` is not there.
    """
    server = DeskServer(tmp_path_factory.mktemp("desk"))
    yield server
    server.close()


@pytest.fixture
def new_desk(tmp_path: Path) -> Iterator[Callable[..., DeskServer]]:
    """`new_desk(**more)` starts a live desk for this test alone; the same data folder every time."""
    started: list[DeskServer] = []

    def start(**more: Any) -> DeskServer:
        started.append(DeskServer(tmp_path / "desk", **more))
        return started[-1]

    yield start
    for server in started:
        server.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A browser for the whole run."""
    with open_chromium() as opened:
        if opened is None:
            pytest.skip("no Chromium is installed")
        yield opened


@pytest.fixture
def browser_page(browser: Any, desk_server: DeskServer) -> Iterator[Callable[..., Any]]:
    """`browser_page(width, color_scheme="light", java_script_enabled=True, server=None)`: a page, signed in.

    It stands at the home page. A script's error, or anything that the policy of content refused, fails
    the test when it ends.
    """
    contexts: list[Any] = []
    wrong: list[str] = []

    def open_page(width: int = 1440, *, server: DeskServer | None = None, **more: Any) -> Any:
        at = server or desk_server
        height = 844 if width < 600 else 900
        context = browser.new_context(
            base_url=at.base,
            viewport={"width": width, "height": height},
            reduced_motion="reduce",
            **{"service_workers": "block", **more},
        )
        contexts.append(context)
        context.set_default_timeout(10_000)
        context.add_cookies(
            [{"name": name, "value": value, "url": at.base} for name, value in at.owner.cookies.items()]
        )
        context.on("weberror", lambda found: wrong.append(str(found.error)))
        context.on(
            "console", lambda said: wrong.append(said.text) if "Content Security" in said.text else None
        )
        page = context.new_page()
        page.goto("/")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not wrong, wrong


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page waits until its answer is there, so that a test sees the page that holds it."""
    monkeypatch.setattr("pacewright.desk.workers.asking.HOLD_S", 60.0)
