"""Who may see and do what: nobody anything, until a link or a code let them in.

Every address is closed unless its view says otherwise; what belongs to another member does not exist.
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from typing import Any, Final, TypeVar

from django.conf import settings
from django.db import models, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from pacewright.desk.models import GUEST, OWNER, Entry, KeptLog, Member, OnceLink, Setting
from pacewright.desk.serving.lines import KNOWN_BROWSERS
from pacewright.exceptions import ValueComplaint

View = TypeVar("View", bound=Callable[..., HttpResponse])
LINK_HOURS: Final = 24
CODE_LETTERS: Final = "ABCDEFGHJKLMNPQRTUVWXY346789"
"""Letters and figures that cannot be taken for one another when read from a board."""
CODE_LENGTH: Final = 6
PHONE_CODE_LENGTH: Final = 10
"""A link for a learner's new phone is short enough to be typed; the tries are counted at the door."""
MOST_GUESTS: Final = 300
M = TypeVar("M", bound=models.Model)


def open_to_all(view: View) -> View:
    """Mark a view that needs nobody known: the door itself."""
    view.is_open_to_all = True  # type: ignore[attr-defined]
    return view


def owner_only(view: View) -> View:
    """Let only the owner of the desk see a view; for all others it does not exist."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.member.is_owner:
            raise Http404
        return view(request, *args, **kwargs)

    return guarded  # type: ignore[return-value]


class AccessMiddleware:
    """Find who is here, and keep all others at the door."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Put the member, or None, on the request."""
        request.member = member_of(request)
        if request.member is not None:
            member = request.member
            KNOWN_BROWSERS.see(request.session.session_key, member.pk, is_owner=member.is_owner)
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Show the door to whoever is not known."""
        if request.member is None and not getattr(view, "is_open_to_all", False):
            if settings.IS_ON_NETWORK and request.path == "/":
                # The address on the board is typed bare: it leads where a guest comes in.
                return redirect("join")
            return render(request, "desk/door.html", status=403)
        return None


def member_of(request: HttpRequest) -> Member | None:
    """The member that the session belongs to."""
    identity = request.session.get("member")
    if identity is None:
        return None
    return Member.objects.filter(pk=identity).first()


def who_is_here(request: HttpRequest) -> dict[str, Any]:
    """The member who is here, for templates."""
    return {"member": getattr(request, "member", None)}


def sign_in(request: HttpRequest, member: Member) -> None:
    """Begin a session of a member, under a new session key."""
    request.session.cycle_key()
    request.session["member"] = str(member.pk)


def the_owner() -> Member:
    """The owner of the desk, made at the first start."""
    with transaction.atomic():
        found = Member.objects.filter(role=OWNER).order_by("joined_at").first()
        return found or Member.objects.create(name="Owner", role=OWNER)


def new_once_link() -> str:
    """The token of a link that lets its bearer in as owner, once, within a day."""
    token = secrets.token_urlsafe(24)
    OnceLink.objects.create(fingerprint=_fingerprint(token))
    return token


def new_phone_link(member: Member) -> str:
    """The token of a link that lets its bearer in as this member, once; an earlier one ends."""
    token = _new_code(PHONE_CODE_LENGTH)
    with transaction.atomic():
        OnceLink.objects.filter(member=member, used_at__isnull=True).delete()
        OnceLink.objects.create(fingerprint=_fingerprint(token), member=member)
    return token


def use_once_link(token: str) -> Member | None:
    """The member that a token still lets in, and spend it."""
    fresh = timezone.now() - timedelta(hours=LINK_HOURS)
    open_links = OnceLink.objects.filter(
        fingerprint=_fingerprint(token), used_at__isnull=True, made_at__gte=fresh
    )
    link = open_links.select_related("member").first()
    if link is None or open_links.update(used_at=timezone.now()) != 1:
        return None
    return link.member or the_owner()


def _fingerprint(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8")).hexdigest()


def join_code() -> str:
    """The code that lets guests in, made when first asked for."""
    found, _ = Setting.objects.get_or_create(key="join_code", defaults={"value": _new_code()})
    return str(found.value)


def renew_join_code() -> str:
    """Make a new join code; the old one opens nothing any more."""
    code = _new_code()
    Setting.objects.update_or_create(key="join_code", defaults={"value": code})
    return code


def is_join_code(typed: str) -> bool:
    """Whether what was typed is the join code; case and blanks do not matter."""
    bare = "".join(typed.split()).upper()
    return secrets.compare_digest(bare.encode("utf-8"), join_code().encode("utf-8"))


def _new_code(length: int = CODE_LENGTH) -> str:
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(length))


def new_guest(name: str) -> Member:
    """A new guest of this name.

    Raises
    ------
    ValueComplaint
        There are too many guests.
    """
    with transaction.atomic():
        if Member.objects.filter(role=GUEST).count() >= MOST_GUESTS:
            raise ValueComplaint(
                f"{MOST_GUESTS} people have joined this desk and it takes no more",
                "Let the instructor delete learners who are done",
            )
        return Member.objects.create(name=name, role=GUEST)


def forget_if_empty(member: Member) -> None:
    """Delete a guest who joined twice and typed nothing the second time."""
    if not member.is_owner and not member.logs.exists() and not member.entries.exists():
        member.delete()


def own_log(member: Member, identity: uuid.UUID) -> KeptLog:
    """A log that a member may see: their own, or one written in an exercise of theirs.

    Raises
    ------
    Http404
        There is none; nobody learns whether another has one.
    """
    found = _logs_of(member).filter(pk=identity).first()
    if found is None:
        raise Http404
    return found


def check_own_log(member: Member, identity: uuid.UUID) -> None:
    """Refuse a log that `own_log` would not give, without fetching its rows.

    Raises
    ------
    Http404
        There is none.
    """
    if not _logs_of(member).filter(pk=identity).exists():
        raise Http404


def _logs_of(member: Member) -> models.QuerySet[KeptLog]:
    mine = models.Q(owner=member)
    if member.is_owner:
        mine |= models.Q(entries__exercise__owner=member)
    return KeptLog.objects.filter(mine)


def own_entry(member: Member, identity: uuid.UUID) -> Entry:
    """An entry that a member may see: their own, or one of an exercise of theirs.

    Raises
    ------
    Http404
        There is none.
    """
    mine = models.Q(member=member)
    if member.is_owner:
        mine |= models.Q(exercise__owner=member)
    entries = Entry.objects.select_related("exercise__course", "member", "log")
    found = entries.filter(mine, pk=identity).first()
    if found is None:
        raise Http404
    return found


def own(model: type[M], member: Member, identity: uuid.UUID) -> M:
    """A member's own record of a kind.

    Raises
    ------
    Http404
        There is none of theirs.
    """
    found = model.objects.filter(pk=identity, owner=member).first()
    if found is None:
        raise Http404
    return found


def fresh_log(identity: uuid.UUID) -> KeptLog:
    """A log as it stands now; that it may be seen was asked before."""
    return KeptLog.objects.get(pk=identity)
