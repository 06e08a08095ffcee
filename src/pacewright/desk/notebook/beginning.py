"""What a first start offers: a finished example, and an empty notebook."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from django.db import transaction
from django.utils import timezone

from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.notebook.ground_keeping import demo_ground_of
from pacewright.desk.notebook.keeping import UNTOUCHED, new_log, page_of
from pacewright.desk.notebook.page_changes import PageState
from pacewright.desk.serving.habits import habits_of
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from pacewright.files.log_csv import read_log
from pacewright.files.walker_toml import read_walker

DEMO_START: Final = "11N 295840 4137150"
"""Where the example begins on the land that ships with the tool."""
DEMO_START_SD_M: Final = 10.0
KEPT_EMPTY: Final = timedelta(days=1)
"""So long a page that was begun may still be open in a browser, and is typed on."""


def empty_log(owner: Member) -> KeptLog:
    """Keep an empty notebook, its heading ready to be filled in.

    Those that were begun on earlier days and never typed on are deleted: beginning leaves nothing behind.
    """
    now = timezone.localtime()
    owner.logs.filter(made_at__lt=now - KEPT_EMPTY, **UNTOUCHED).delete()
    units = habits_of(owner.habits)
    read = f"azimuth: magnetic {units.azimuth_unit}\ncount: {units.count_unit}"
    return new_log(owner, PageState(f"title: \ndate: {now.date().isoformat()}\n{read}\nstart: Start", ()))


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
