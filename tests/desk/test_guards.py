"""The policy of content on every answer, and pages that keep to it; complaints become sentences."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from html.parser import HTMLParser
from unittest import mock

import pytest
from django.http import HttpResponse
from django.test import Client, override_settings

from pacewright.desk.models import Ground, KeptLog, Member
from pacewright.desk.notebook.beginning import empty_log, example_log
from pacewright.desk.serving.access import join_code, new_once_link
from pacewright.desk.serving.guards import POLICY
from pacewright.exceptions import ValueComplaint
from support.desk_addresses import addresses
from support.desk_setup import HOST

MakeLog = Callable[..., KeptLog]
OUTSIDE = ("http:", "https:", "//", "data:", "javascript:", "vbscript:")
FETCHED = (
    "src",
    "srcset",
    "href",
    "xlink:href",
    "action",
    "formaction",
    "poster",
    "data",
    "hx-get",
    "hx-post",
)


class Strict(HTMLParser):
    """Gathers what the policy of content would block, or what would leave the desk."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self._script = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag == "style" or (tag == "script" and not given.get("src")):
            self.wrong.append(f"<{tag}> in the page")
        self.wrong += [
            f"{tag} {name}" for name in given if name == "style" or name.startswith(("on", "hx-on"))
        ]
        for name in FETCHED:
            if given.get(name, "").strip().lower().startswith(OUTSIDE):
                self.wrong.append(f"{tag} {name}={given[name]}")
        if "url(" in "".join(given.values()).lower().replace("url(#", ""):
            self.wrong.append(f"{tag} fetches by url()")

    handle_startendtag = handle_starttag


def pages_of(client: Client, *logs: KeptLog) -> dict[str, HttpResponse]:
    """What a client is answered at every address, filled with what belongs to these logs."""
    about = [one for log in logs for one in (log.pk, log.walker_id, log.ground_id) if one is not None]
    found = {}
    with override_settings(IS_ON_NETWORK=True):
        for address in addresses():
            for path in address.paths(about, [1]):
                found[path] = client.get(path)
    return found


@pytest.fixture
def logs(owner_member: Member, make_log: MakeLog) -> list[KeptLog]:
    """An example with all that belongs to it, an empty log, and one with a row that is not understood."""
    join_code()
    example = example_log(owner_member)
    example.ground = Ground.objects.create(owner=owner_member, name="Cinder Fen")
    example.save()
    cells = [("305", "240", "<b onclick=x>&\"'"), ("400", "1", "<script>x</script>")]
    return [
        example,
        empty_log(owner_member),
        make_log(owner_member, cells, heading='title: "><script>x</script>'),
    ]


def test_every_answer_bears_the_policy_and_every_page_keeps_to_it(owner: Client, logs: list[KeptLog]) -> None:
    read = 0
    for path, answered in pages_of(owner, *logs).items():
        assert answered.headers["Content-Security-Policy"] == POLICY, path
        assert answered.headers["X-Frame-Options"] == "DENY", path
        assert answered.headers["X-Content-Type-Options"] == "nosniff", path
        assert answered.headers["Cache-Control"] == "no-store", path
        # A page that is handed out as a file opens elsewhere, under no policy of the desk.
        is_file = "attachment" in answered.headers.get("Content-Disposition", "")
        is_page = answered.headers.get("Content-Type", "").startswith("text/html") and not answered.streaming
        if is_page and not is_file:
            read += 1
            assert Strict(answered.content.decode()).wrong == [], path
    assert read > 10


def test_the_door_bears_the_policy_and_keeps_to_it(anonymous: Client, logs: list[KeptLog]) -> None:
    for path, answered in pages_of(anonymous, *logs).items():
        assert answered.headers["Content-Security-Policy"] == POLICY, path
        assert Strict(answered.content.decode()).wrong == [], path


def test_the_policy_lets_nothing_in_from_elsewhere_or_out_of_a_page() -> None:
    rules = dict(rule.strip().split(" ", 1) for rule in POLICY.split(";"))
    assert rules["default-src"] == "'none'"
    assert {value for name, value in rules.items() if name != "default-src"} <= {"'self'", "'none'"}


@pytest.mark.parametrize(
    "text",
    [
        "<script>x</script>",
        "<p style='x'>",
        "<svg><style>x</style></svg>",
        "<a onclick='x'>",
        "<img src='//x.invalid/a.png'>",
        "<a href=' javascript:x'>",
        "<rect fill='url(http://x.invalid)'/>",
    ],
)
def test_the_strict_reader_sees_what_the_policy_would_block(text: str) -> None:
    assert Strict(text).wrong


def test_what_is_not_there_has_a_page_with_the_way_on(owner: Client) -> None:
    for path in ("/nothing", f"/logs/{uuid.uuid4()}", "/logs/not-an-identity", "/static/nothing.js"):
        found = owner.get(path)
        assert found.status_code == 404
        assert "There is nothing at this address" in found.content.decode()
        assert found.headers["Content-Security-Policy"] == POLICY


def test_a_desk_asked_by_another_name_says_where_it_answers(owner: Client) -> None:
    found = owner.get("/", headers={"host": "elsewhere.invalid"})
    assert found.status_code == 400
    assert "the addresses that it printed when it was started" in found.content.decode()


def test_a_complaint_that_no_view_caught_is_one_sentence_on_a_page(owner: Client) -> None:
    wrong = ValueComplaint("the <thing> is wrong", "Set it right")
    with mock.patch("pacewright.desk.notebook.views_notebook.render", side_effect=wrong):
        found = owner.get("/")
    assert found.status_code == 422
    assert "The &lt;thing&gt; is wrong. Set it right." in found.content.decode()


def test_the_unexpected_is_a_sentence_and_not_a_traceback(owner_member: Member) -> None:
    client = Client(headers={"host": HOST}, raise_request_exception=False)
    client.post(f"/open/{new_once_link()}")
    with mock.patch(
        "pacewright.desk.notebook.views_notebook.render", side_effect=RuntimeError("secret inner matter")
    ):
        found = client.get("/")
    assert found.status_code == 500
    said = found.content.decode()
    assert "The desk met something it did not expect" in said
    assert "secret" not in said
    assert "Traceback" not in said
    assert found.headers["Content-Security-Policy"] == POLICY


def test_static_files_are_for_everybody_and_may_be_kept_for_a_while(anonymous: Client) -> None:
    found = anonymous.get("/static/desk/notebook.js")
    assert found.status_code == 200
    assert found.headers["Content-Type"].startswith("text/javascript")
    assert "max-age=3600" in found.headers["Cache-Control"]
    assert found.headers["Content-Security-Policy"] == POLICY
