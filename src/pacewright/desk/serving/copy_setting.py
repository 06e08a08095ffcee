"""How many dated copies the desk keeps and for how long: a setting of the desk itself."""

from __future__ import annotations

from django.conf import settings

from pacewright.desk.models import Setting
from pacewright.desk.serving.dated_copies import USUAL_DAYS, USUAL_KEPT, asked_setting, copies_in, time_of
from pacewright.exceptions import Complaint

_KEY = "dated_copies"


def kept_setting() -> tuple[int, int]:
    """How many copies are kept, and for how many days."""
    found = Setting.objects.filter(key=_KEY).first()
    try:
        return asked_setting(*found.value.split()) if found is not None else (USUAL_KEPT, USUAL_DAYS)
    except (Complaint, TypeError):
        return USUAL_KEPT, USUAL_DAYS


def keep_setting(kept: str, days: str) -> None:
    """Keep a new setting.

    Raises
    ------
    ValueComplaint
        One of the numbers is none.
    """
    value = " ".join(map(str, asked_setting(kept, days)))
    Setting.objects.update_or_create(key=_KEY, defaults={"value": value})


def say_copies() -> str:
    """Say how many copies there are, of when the latest is, and where they lie."""
    copies = copies_in(settings.DATA)
    if not copies:
        return "There is none yet."
    made = time_of(copies[-1])
    many = "one copy" if len(copies) == 1 else f"{len(copies)} copies"
    return f"There {'is' if len(copies) == 1 else 'are'} {many}, the latest of {made:%Y-%m-%d %H:%M}."
