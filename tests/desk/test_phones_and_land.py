"""Said before it is tried: how a phone of one's own comes in, and what land needs to be read."""

from __future__ import annotations

import html
import re
import sys

import pytest
from django.test import Client, override_settings

from pacewright.desk.models import Member
from pacewright.desk.notebook.beginning import example_log
from support.page_words import words_of

ON_NETWORK = {"IS_ON_NETWORK": True, "NETWORK_HOST": "192.0.2.7", "ALLOWED_HOSTS": ["*"]}


def test_on_the_network_ones_own_phone_gets_a_square_and_an_address_that_reach_the_desk(
    owner: Client, anonymous: Client
) -> None:
    with override_settings(**ON_NETWORK):
        response = owner.post("/devices", {"do": "link"}, SERVER_PORT="8731")
        page = response.content.decode()
        link = re.search(r"http://192\.0\.2\.7:\d+(/open/[\w-]+)", page)
        assert link is not None
        assert f'aria-label="Square for a camera: {link[0]}"' in page
        assert '<figure class="qr"' in page
        assert anonymous.post(link[1]).status_code == 302
        assert anonymous.get("/devices").status_code == 200


def test_on_this_machine_alone_no_square_is_shown_and_it_is_said_how_to_let_the_phone_in(
    owner: Client,
) -> None:
    page = owner.post("/devices", {"do": "link"}).content.decode()
    assert '<figure class="qr"' not in page
    said = words_of(owner.get("/devices"))
    assert "start it with pacewright desk --network ; then this page shows a square" in said


@pytest.mark.parametrize("is_there", [True, False])
def test_what_land_needs_is_said_before_a_file_is_chosen(
    owner: Client, owner_member: Member, monkeypatch: pytest.MonkeyPatch, is_there: bool
) -> None:
    monkeypatch.setattr("pacewright.files.elevation.can_read_terrain", lambda: is_there)
    log = example_log(owner_member)
    line = f'"{sys.executable}" -m pip install "pacewright[terrain]"'
    for address in (f"/logs/{log.pk}/map", f"/logs/{log.pk}/map/unknown-start", "/class/courses/new/posts"):
        page = html.unescape(owner.get(address).content.decode())
        assert (line in page) is not is_there, address
        if not is_there and 'type="file"' in page:
            assert page.index(line) < page.index('type="file"')
