"""What the page that plans asks: the ground, from where to where, what is known of the land, how sure."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from typing import Any, ClassVar, Final

from django import forms
from django.utils import timezone

from pacewright.desk.ask.fields import (
    NOT_LISTED,
    ReadField,
    WalkerForm,
    choice_field,
    date_field,
    logs_of,
    number_field,
    text_field,
)
from pacewright.desk.models import Ground, LandFeatures, Member
from pacewright.exceptions import ValueComplaint

PLACE_HINT: Final = "Latitude longitude, UTM, MGRS, or grid EAST NORTH; or set it on the map."
_MOST_ENDS: Final = 40

Ends = list[tuple[float, float, bool]]


def read_ends(text: str) -> Ends:
    """Where legs end, as the map writes them: east, north and whether a line is followed there.

    Raises
    ------
    ValueComplaint
        They cannot be read.
    """
    ends: Ends = []
    try:
        for one in text.split(";"):
            east, north, *follows = one.split(",")
            ends.append((float(east), float(north), follows == ["along"]))
    except ValueError:
        ends = []
    good = 0 < len(ends) <= _MOST_ENDS and all(abs(one[k]) < 1e8 for one in ends for k in (0, 1))
    if not good:
        raise ValueComplaint("the ends of the legs cannot be read", "Plan anew, and move them on the map")
    return ends


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _share(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = 0.0
    if not 0.1 <= value <= 60.0:
        raise ValueComplaint(
            f"{text[:40]} is no chance in a hundred", "Write a number from 0.1 to 60, such as 5"
        )
    return value


def _area(label: str, hint: str, example: str) -> ReadField:
    attrs = {"rows": 3, "maxlength": 4_000, "placeholder": example, "spellcheck": "false"}
    return ReadField(label, _lines, hint, widget=forms.Textarea, attrs=attrs)


class PlanForm(WalkerForm):
    """What is asked of a plan."""

    ground = choice_field("ground", (), "Handed in on the map page of a log.")
    start = text_field("from", PLACE_HINT)
    log = choice_field("from where this log stands", (), "With its doubt; leave “from” empty.")
    goal = text_field("to", PLACE_HINT)
    miss = ReadField("missing allowed, in 100", _share, attrs={"size": 7, "inputmode": "decimal"})
    leave = text_field("set out at", "Such as 08:30; says times and daylight.", attrs={"type": "time"})
    date = date_field("day", "Of the sun and of the declination; empty: today.")
    zone = text_field("clock", "Hours from universal time, such as +02:00.", attrs={"size": 7})
    features = forms.MultipleChoiceField(
        label="your lines and areas",
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 3}),
        help_text="Files that you handed in below.",
        error_messages={"invalid_choice": NOT_LISTED},
    )
    via = _area("through", "A place a line, in turn.", "11S 299600 4140400")
    known = _area(
        "known of the land",
        "A line each: track: PLACE; PLACE or hut = PLACE or keep off: PLACE; PLACE; PLACE.",
        "track: 11S 299000 4140000; 11S 300200 4140300",
    )
    north = choice_field(
        "azimuths by", (("", "magnetic north"), ("true", "true north"), ("grid", "grid north"))
    )
    steepest = number_field("steep from, degrees", "Steeper ground is crossed on a slant only.")
    within = number_field("within minutes", "Then the surest plan in that time.")
    ends = ReadField("ends of the legs", read_ends, widget=forms.HiddenInput)
    few: ClassVar[frozenset[str]] = frozenset(("via", "known", "north", "steepest", "within"))
    begins: ClassVar[Mapping[str, str]] = {"miss": "5", "steepest": "35"}
    field_order: ClassVar[tuple[str, ...]] = ("ground", "walker", "start", "log", "goal", "miss")

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        grounds = Ground.objects.filter(owner=member).order_by("made_at")
        self.fields["ground"].choices = [("", "choose one"), *((str(one.pk), one.name) for one in grounds)]
        kept = [(str(one.pk), one.name) for one in LandFeatures.objects.filter(owner=member)]
        self.fields["features"].choices = kept
        if not kept:
            del self.fields["features"]
        self.fields["log"].choices = [("", "no log: from the place"), *logs_of(member)]
        now = timezone.localtime()
        self.initial |= {"zone": f"{now:%z}"[:3] + ":" + f"{now:%z}"[3:]}
        self.order_fields(self.field_order)
        if self.is_bound:
            self.data = self._as_it_counts()

    def _as_it_counts(self) -> Any:
        """What was sent; a field not sent, or left empty where a default counts, holds what counts."""
        held: Any = copy(self.data)
        for name, was in self.initial.items():
            if name not in held or (name in self.begins and not held[name].strip()):
                held[name] = was
        return held

    @property
    def usual_fields(self) -> list[forms.BoundField]:
        """The fields that everybody fills in; the ends of the legs are the map's."""
        return [one for one in super().usual_fields if one.name != "ends"]
