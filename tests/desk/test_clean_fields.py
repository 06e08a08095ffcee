"""What nobody can see or type never reaches storage, whichever way it comes in."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from django.core.management import call_command
from django.test import Client, override_settings
from hypothesis import given
from hypothesis import strategies as st

from pacewright.core.plain_text import clean_line, clean_text
from pacewright.desk.clean_fields import clean_json, short_name
from pacewright.desk.models import GUEST, Entry, KeptLog, KeptWalker, Member, Setting
from pacewright.desk.notebook.keeping import new_log
from pacewright.desk.notebook.page_changes import PageState, new_row
from pacewright.desk.serving.access import join_code, new_guest

UNSEEN = "\x00\x07\x1b\x7f\x9b\u202e\u2066\ud800"


@given(st.text(st.characters(codec=None)))
def test_a_clean_text_is_clean_and_can_be_kept(text: str) -> None:
    clean = clean_text(text)
    clean.encode("utf-8")
    assert not set(clean) & set(UNSEEN)
    assert clean_text(clean) == clean


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"], codec="utf-8")))
def test_what_can_be_written_stays_to_the_letter(text: str) -> None:
    assert clean_text(text) == text


def test_marks_that_hebrew_and_arabic_need_stay() -> None:
    assert clean_text("\u200fשלום\u200e 12\u200d") == "\u200fשלום\u200e 12\u200d"


@pytest.mark.parametrize("clean", [clean_line, lambda t: short_name(t, 20, "it has no name")])
def test_every_name_passes_the_same_door(clean: Callable[[str], str]) -> None:
    assert clean(f" Tam{UNSEEN}sin\n Vale ") == "Tam\ufffdsin Vale"


def test_a_model_keeps_no_character_that_nobody_sees(owner_member: Member) -> None:
    Member.objects.create(name=f"a{UNSEEN}b")
    assert Member.objects.filter(role=GUEST).get().name == "a\ufffdb"
    walker = KeptWalker.objects.create(owner=owner_member, name="x", toml="a\x07\n\tb")
    KeptWalker.objects.filter(pk=walker.pk).update(name="n\u202em")
    walker.refresh_from_db()
    assert (walker.name, walker.toml) == ("nm", "a\n\tb")
    log = new_log(owner_member, PageState("title: a\x1bb", (new_row("r0", ("3\x07", "5", "n\0\u2069")),)))
    log.refresh_from_db()
    assert (log.title, log.rows[0]["azimuth"], log.rows[0]["notes"]) == ("ab", "3", "n")
    KeptLog.objects.bulk_create([KeptLog(owner=owner_member, title="b\x9bc")])
    assert KeptLog.objects.filter(title="bc").exists()
    assert clean_json({"a\0": ["b\x07", 3, None, {"c": "d\u202a"}]}) == {"a": ["b", 3, None, {"c": "d"}]}
    assert Entry._meta.get_field("words").get_prep_value({"7": "her\x07on"}) == {"7": "heron"}


@override_settings(IS_ON_NETWORK=True)
@pytest.mark.parametrize(("typed", "kept"), [("Tam\0sin\u202e Vale", ["Tamsin Vale"]), ("\0\u202e", [])])
def test_a_guest_joins_under_a_clean_name(anonymous: Client, typed: str, kept: list[str]) -> None:
    anonymous.post("/join", {"name": typed, "code": join_code()})
    assert [guest.name for guest in Member.objects.filter(role=GUEST)] == kept


def test_a_setting_and_a_guest_are_cleaned_alike(owner_member: Member) -> None:
    Setting.objects.create(key="k", value="v\x00w")
    assert Setting.objects.get(key="k").value == "vw"
    assert new_guest("n\0m").pk and Member.objects.filter(name="nm").exists()


def test_no_migration_is_wanted_for_it() -> None:
    said = io.StringIO()
    call_command("makemigrations", check=True, dry_run=True, stdout=said)
    assert "No changes" in said.getvalue()
