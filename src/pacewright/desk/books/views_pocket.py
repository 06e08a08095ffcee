"""The pocket page handed to a phone with a log inside, and the log taken back in from it: no row twice."""

from __future__ import annotations

import re
import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.books.importing import check_page, take_in
from pacewright.desk.models import Edit, KeptLog, Member
from pacewright.desk.notebook.keeping import keep_change, page_of
from pacewright.desk.notebook.log_files import log_csv
from pacewright.desk.notebook.page_changes import CELLS, PageState
from pacewright.desk.notebook.reading import read_kept
from pacewright.desk.serving.access import new_once_link, new_phone_link, own_log
from pacewright.desk.serving.file_names import handed_out
from pacewright.desk.serving.phone_addresses import network_base, qr_of
from pacewright.exceptions import Complaint, FormatComplaint
from pacewright.files.log_csv import read_log

_PHONE_ID: Final = re.compile(r"[A-Za-z0-9]{6,32}")
LONGEST_TEXT: Final = 200_000


@require_GET
def pocket_page(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Hand out the pocket page with a log and its walker inside; it knows this desk's address."""
    from pacewright.pocket.carried import carry
    from pacewright.pocket.page_text import page_text

    log = own_log(request.member, log_id)
    desk = network_base(request) or request.build_absolute_uri("/").rstrip("/")
    carried = carry(read_kept(log).walker, [log_csv(log).decode("utf-8-sig")], desk=desk)
    # By this the log is known again when it comes back.
    carried["logs"][0]["id"] = log.pk.hex
    return handed_out(page_text(carried).encode("utf-8"), log.title, ".html", otherwise="pocket")


@require_POST
def pocket_phone(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the square by which a phone gets the pocket page of a log: it lets the phone in, once."""
    log = own_log(request.member, log_id)
    base = network_base(request)
    if not base:
        return render(request, "desk/pocket_phone.html", {"log": log})
    token = new_once_link() if request.member.is_owner else new_phone_link(request.member)
    to = reverse("pocket_page", kwargs={"log_id": log.pk})
    link = f"{base}{reverse('open', kwargs={'token': token})}?to={to}"
    return render(request, "desk/pocket_phone.html", {"log": log, "link": link, "qr": qr_of(link)})


@require_http_methods(["GET", "POST"])
def from_phone(request: HttpRequest) -> HttpResponse:
    """Take a log in from a pocket page: its text comes in the address, and is kept when somebody says so."""
    if request.method == "GET":
        return render(request, "desk/from_phone.html")
    text, phone_id = request.POST.get("text", "")[:LONGEST_TEXT], request.POST.get("phone_id", "")
    try:
        log, said = take_from_phone(request.member, phone_id, text)
    except Complaint as complaint:
        return render(
            request, "desk/from_phone.html", {"refused": complaint.sentence, "text": text}, status=422
        )
    messages.success(request, said)
    return redirect("notebook", log_id=log.pk)


def take_from_phone(owner: Member, phone_id: str, text: str) -> tuple[KeptLog, str]:
    """Keep a phone's log, or what is new of it, and say which.

    Parameters
    ----------
    owner
        Whose log it becomes.
    phone_id
        What the phone calls it: the same log handed over again goes on where it ended.
    text
        The log as a file.

    Raises
    ------
    Complaint
        It is no log, or larger than a page.
    """
    if not _PHONE_ID.fullmatch(phone_id):
        raise FormatComplaint("this came from no pocket page", "Take the log in as a file, on the books page")
    data = text.encode("utf-8")
    page = page_of(read_log(data))
    check_page(page)
    known = _known(owner, phone_id)
    if known is not None and _cells(known.rows) == _cells(page.rows)[: len(known.rows)]:
        return known, _go_on(known, page, phone_id)
    log = take_in(owner, data)
    keep_change(log.pk, f"phone-{phone_id}", _all_of(page), owner.name)
    beside = " The one that came before was changed here, and stays beside it." if known is not None else ""
    return log, f"Taken in: {len(page.rows)} rows.{beside}"


def _go_on(known: KeptLog, page: PageState, phone_id: str) -> str:
    """Put in the rows that a log has more than the desk knows of it; give what was done."""
    fresh = [{**row, "id": f"p{phone_id[-6:]}{at}"} for at, row in enumerate(page.rows)][len(known.rows) :]
    if not fresh:
        return "It is here already, row for row."
    after = {"after": known.rows[-1]["id"]} if known.rows else {}
    change = {"kind": "paste", "rows": fresh, **after}
    keep_change(known.pk, f"phone-{phone_id}-{len(page.rows)}", change, known.owner.name)
    return f"{len(fresh)} new row{'s' if len(fresh) > 1 else ''} taken in; the others were here already."


def _known(owner: Member, phone_id: str) -> KeptLog | None:
    """The log that went to the phone or came from it before; one in the bin counts for none."""
    if len(phone_id) == 32 and set(phone_id) <= set("0123456789abcdef"):
        log = KeptLog.objects.filter(owner=owner, thrown_at=None, pk=uuid.UUID(hex=phone_id)).first()
        if log is not None:
            return log
    edits = Edit.objects.filter(log__owner=owner, log__thrown_at=None, key=f"phone-{phone_id}")
    edit = edits.select_related("log").order_by("-at").first()
    return None if edit is None else edit.log


def _cells(rows: Any) -> list[tuple[str, ...]]:
    return [(*(row[name] for name in CELLS), str(bool(row["struck"]))) for row in rows]


def _all_of(page: PageState) -> dict[str, Any]:
    return {"kind": "replace", "heading": page.heading, "rows": [dict(row) for row in page.rows]}
