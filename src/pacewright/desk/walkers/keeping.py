"""Keep walkers: a new state never writes over an old one, and every old one can be gone back to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from django.db import transaction
from django.http import Http404

from pacewright.core.pace.walker import Walker
from pacewright.core.plain_text import clean_line
from pacewright.desk.clean_fields import short_name
from pacewright.desk.models import LONGEST_NAME, KeptLog, KeptWalker, Member, WalkerPast
from pacewright.desk.notebook.kept_bytes import SHARES
from pacewright.exceptions import OutputComplaint
from pacewright.files.walker_toml import read_walker, write_walker

MOST_GUEST_WALKERS: Final = 50
NO_NAME: Final = "Walker without a name"


def new_walker(owner: Member, toml: str, trials_csv: str = "") -> KeptWalker:
    """Keep a new walker from the text of a walker file.

    Raises
    ------
    Complaint
        The text is no walker file, or a guest keeps as many walkers as a guest may.
    """
    if not owner.is_owner and owner.walkers.count() >= MOST_GUEST_WALKERS:
        raise OutputComplaint(
            f"a guest of this desk keeps at most {MOST_GUEST_WALKERS} walkers", "Change one of them instead"
        )
    name = shown_name(read_walker(toml.encode("utf-8")))
    SHARES.spend(owner, len(toml) + len(trials_csv))
    return KeptWalker.objects.create(owner=owner, name=name, toml=toml, trials_csv=trials_csv)


def named_walker(owner: Member, name: str) -> KeptWalker:
    """Keep a new walker of the defaults.

    Raises
    ------
    Complaint
        There is no name, or it is too long.
    """
    walker = Walker(name=name_of_walker(name))
    return new_walker(owner, write_walker(walker).decode("utf-8"))


def name_of_walker(typed: str) -> str:
    """The name of a walker.

    Raises
    ------
    ValueComplaint
        There is none, or it is too long.
    """
    return short_name(typed, LONGEST_NAME, "the walker has no name")


def shown_name(walker: Walker) -> str:
    """The name a walker stands under."""
    return (clean_line(walker.name) or NO_NAME)[:LONGEST_NAME]


def walker_in(kept: KeptWalker) -> Walker:
    """The walker of a kept walker file.

    Raises
    ------
    Complaint
        The file is none.
    """
    return read_walker(kept.toml.encode("utf-8"), kept.name) if kept.toml else Walker(name=kept.name)


def change_walker(
    walker_id: Any,
    why: str,
    *,
    toml: str,
    trials_csv: str | None = None,
    learnt_from: Sequence[KeptLog] = (),
) -> bool:
    """Put a new state in the place of a walker's present one, which is kept; tell whether anything changed.

    Parameters
    ----------
    walker_id
        The walker's identity; that its owner asks is the caller's matter.
    why
        What was done, in a few words: `pace trials typed`.
    toml
        The walker file.
    trials_csv
        The pace trials; None where they stay.
    learnt_from
        The logs whose walking is in the new state.

    Raises
    ------
    Complaint
        The text is no walker file.
    """
    name = shown_name(read_walker(toml.encode("utf-8")))
    with transaction.atomic():
        kept = KeptWalker.objects.select_for_update().get(pk=walker_id)
        trials = kept.trials_csv if trials_csv is None else trials_csv
        if (toml, trials) == (kept.toml, kept.trials_csv):
            return False
        SHARES.spend(kept.owner, len(toml) + len(trials) + len(kept.toml) + len(kept.trials_csv))
        WalkerPast.objects.create(
            walker=kept,
            toml=kept.toml,
            trials_csv=kept.trials_csv,
            why=why[:200],
            learnt_from=learnt_from[0] if learnt_from else None,
            learnt_also=[str(one.pk) for one in learnt_from[1:]],
        )
        kept.name, kept.toml, kept.trials_csv = name, toml, trials
        kept.save()
    return True


def go_back(walker_id: Any, past_id: int) -> bool:
    """Put an earlier state of a walker in the place of the present one, which is kept as well.

    Raises
    ------
    Http404
        The walker has no such state.
    """
    past = WalkerPast.objects.filter(pk=past_id, walker_id=walker_id).first()
    if past is None:
        raise Http404
    why = f"gone back to the state before {past.at:%Y-%m-%d %H:%M} ({past.why})"
    return change_walker(walker_id, why, toml=past.toml, trials_csv=past.trials_csv)
