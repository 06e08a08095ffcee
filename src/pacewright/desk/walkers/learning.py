"""What logs and recorded tracks tell of their walker, as the command learns it, and keeping that."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from django.core import signing
from django.db import transaction

from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.page_reading import known_of
from pacewright.desk.notebook.reading import whole_reading
from pacewright.desk.walkers.keeping import change_walker, walker_in
from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.learn.learning import Source
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker

SALT: Final = "what a walker learns"
CHANGED: Final = MissingComplaint(
    "the walker's figures were changed since this was shown",
    "Look at what would be learnt now, and choose again",
)


def learnt_of(walker: Walker, named: Sequence[tuple[str, Source]]) -> dict[str, Any]:
    """What logs tell of a walker: sentences, the figures before and after, the walker file then."""
    from pacewright.core.learn.learning import learn
    from pacewright.files.walker_toml import write_walker
    from pacewright.wording.adjustment import learnt_table, say_learnt

    learnt = learn(walker, *(source for _, source in named), names=[name for name, _ in named])
    return {
        "learn_said": say_learnt(learnt, walker),
        "learn_table": learnt_table(learnt) if learnt.changes else None,
        "learnt_toml": write_walker(learnt.walker).decode("utf-8") if learnt.changes else "",
    }


def source_of(kept: KeptLog, log: TravelLog, walker: Walker) -> Source:
    """A log as it is learnt from, or why it is not."""
    from pacewright.answers.closing import adjust_to_learn
    from pacewright.wording.left_out import find_left_out, find_other_left_out

    other = find_other_left_out(log, walker)
    if other is not None:
        return other
    known = known_of(kept, log, walker)
    return find_left_out(log, walker, known.frame, known.placed) or adjust_to_learn(log, walker, known)


def learnt_from_logs(whose: KeptWalker, kepts: Sequence[KeptLog]) -> dict[str, Any]:
    """What several kept logs of one walker tell, the oldest first."""
    from pacewright.core.learn.evidence import LeftOut

    walker = walker_in(whose)
    named: list[tuple[str, Source]] = []
    for kept in kepts:
        name = kept.title or "A log without a title"
        try:
            log, _ = whole_reading(kept)
            named.append((name, source_of(kept, log, walker)))
        except Complaint as complaint:
            named.append((name, LeftOut(f"is left out: {complaint.sentence}")))
    return learnt_of(walker, named)


def learnt_logs(walker: KeptWalker) -> frozenset[uuid.UUID]:
    """The logs that are in the figures as they stand; a state gone back to holds what it held then."""
    past = list(walker.past.order_by("at", "pk"))
    held: dict[str, frozenset[uuid.UUID]] = {}
    states = [*(one.toml for one in past), walker.toml]
    for change, after in zip(past, states[1:], strict=True):
        before = held.setdefault(change.toml, frozenset())
        logs = {uuid.UUID(one) for one in change.learnt_also}
        if change.learnt_from_id is not None:
            logs.add(change.learnt_from_id)
        if logs:
            held[after] = before | logs
        else:
            held.setdefault(after, before)
    return held.get(walker.toml, frozenset())


def offer(walker: KeptWalker, logs: Sequence[KeptLog], toml: str) -> str:
    """What a button holds that writes new figures: nobody can change it on its way."""
    told = {
        "walker": str(walker.pk),
        "was": _mark(walker.toml),
        "logs": [str(one.pk) for one in logs],
        "toml": toml,
    }
    return signing.dumps(told, salt=SALT, compress=True)


def take_offer(walker: KeptWalker, held: str) -> str:
    """Write offered figures into a walker, and say so.

    Raises
    ------
    MissingComplaint
        It is no offer of this walker, or the figures were changed since.
    """
    try:
        told = signing.loads(held, salt=SALT)
    except signing.BadSignature:
        raise CHANGED from None
    logs = KeptLog.objects.filter(owner=walker.owner, pk__in=told["logs"])
    with transaction.atomic():
        now = KeptWalker.objects.select_for_update().get(pk=walker.pk)
        if told["walker"] != str(now.pk) or told["was"] != _mark(now.toml):
            raise CHANGED
        titles = [one.title or "a log without a title" for one in logs]
        why = f"learnt from {', '.join(titles)}" if len(titles) < 4 else f"learnt from {len(titles)} logs"
        change_walker(now.pk, why, toml=told["toml"], learnt_from=list(logs))
    return f"Written into the figures of {walker.name}. How they stood before is kept."


def _mark(toml: str) -> str:
    return hashlib.sha256(toml.encode("utf-8")).hexdigest()[:32]
