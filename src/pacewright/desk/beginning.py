"""What a first start offers: a finished example, and an empty notebook."""

from __future__ import annotations

from typing import Final

from django.db import transaction
from django.utils import timezone

from pacewright.desk.ground_keeping import demo_ground_of
from pacewright.desk.habits import habits_of
from pacewright.desk.keeping import UNTOUCHED, begin_anew, new_log, page_of
from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.page_changes import PageState
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from pacewright.files.log_csv import read_log
from pacewright.files.walker_toml import read_walker

DEMO_START: Final = "11N 295840 4137150"
"""Where the example begins on the land that ships with the tool."""
DEMO_START_SD_M: Final = 10.0


def empty_log(owner: Member) -> KeptLog:
    """Give an empty notebook, its heading ready to be filled in.

    One that was begun and never typed on is given again, so that beginning leaves no empty logs behind.
    """
    today = timezone.localdate().isoformat()
    units = habits_of(owner.habits)
    read = f"azimuth: magnetic {units.azimuth_unit}\ncount: {units.count_unit}"
    page = PageState(f"title: \ndate: {today}\n{read}\nstart: Start", ())
    begun = owner.logs.filter(thrown_at=None, **UNTOUCHED).first()
    return new_log(owner, page) if begun is None else begin_anew(begun, page)


def example_log(owner: Member) -> KeptLog:
    """Keep the finished example that comes with the tool, and its walker."""
    data = bundled(DEMO_LOG)
    toml = bundled(DEMO_WALKER)
    name = read_walker(toml).name
    with transaction.atomic():
        walker = KeptWalker.objects.filter(owner=owner, name=name).first()
        if walker is None:
            walker = KeptWalker.objects.create(owner=owner, name=name, toml=toml.decode("utf-8"))
        log = new_log(owner, page_of(read_log(data, DEMO_LOG)), walker, came_as=data)
        log.start_place, log.start_sd_m, log.ground = DEMO_START, DEMO_START_SD_M, demo_ground_of(owner)
        log.save(update_fields=["start_place", "start_sd_m", "ground"])
        return log
