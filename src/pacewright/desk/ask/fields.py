"""Fields that the tool's own readers read, and the form that shows their complaints beside them."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar, Final

from django import forms

from pacewright.core.plausible import TYPED
from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.notebook.hidden_answers import shown_of
from pacewright.desk.notebook.keeping import UNTOUCHED
from pacewright.exceptions import Complaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.pace.walker import Walker

LONGEST: Final = 200
MISSING: Final = "Fill this in."
NOT_LISTED: Final = "This is not on the list. Choose from the list."
AN_AZIMUTH: Final = {"size": 7, "inputmode": "decimal"}
A_NUMBER: Final = {"size": 7, "inputmode": "decimal"}


class ReadField(forms.Field):
    """A text that a reader of the tool reads; empty gives None."""

    def __init__(self, label: str, read: Callable[[str], Any], hint: str = "", **more: Any) -> None:
        attrs = {"maxlength": LONGEST, "autocomplete": "off", **more.pop("attrs", {})}
        widget = more.pop("widget", forms.TextInput)(attrs=attrs)
        more.setdefault("required", False)
        messages = {"required": MISSING}
        super().__init__(label=label, help_text=hint, widget=widget, error_messages=messages, **more)
        self._read = read

    def to_python(self, value: Any) -> Any:
        """What the text stands for."""
        text = str(value or "").strip()
        if not text:
            return None
        try:
            return self._read(text[:LONGEST] if not isinstance(self.widget, forms.Textarea) else text)
        except Complaint as complaint:
            raise forms.ValidationError(complaint.sentence) from None


def number_field(label: str, hint: str = "", **more: Any) -> ReadField:
    """A number; a decimal comma is read as well."""
    return ReadField(label, read_number, hint, **{"attrs": A_NUMBER, **more})


def whole_field(label: str, hint: str = "", **more: Any) -> ReadField:
    """A whole number, 0 or more."""
    return ReadField(label, read_whole, hint, **{"attrs": A_NUMBER, **more})


def azimuth_field(label: str, hint: str = "", **more: Any) -> ReadField:
    """An azimuth in degrees."""
    return ReadField(label, _azimuth, hint, **{"attrs": AN_AZIMUTH, **more})


def date_field(label: str, hint: str = "", **more: Any) -> ReadField:
    """A day."""
    return ReadField(label, _date, hint, **{"attrs": {"type": "date"}, **more})


def text_field(label: str, hint: str = "", **more: Any) -> ReadField:
    """A text as it was typed."""
    return ReadField(label, str, hint, **more)


def lines_field(label: str, hint: str = "", rows: int = 3, **more: Any) -> ReadField:
    """A text of many lines as it was typed."""
    attrs = {"rows": rows, "maxlength": None, "spellcheck": "false"}
    return ReadField(label, str, hint, widget=forms.Textarea, attrs=attrs, **more)


def choice_field(label: str, choices: Any, hint: str = "") -> forms.ChoiceField:
    """One of a list; the first where nothing was chosen."""
    return forms.ChoiceField(
        label=label,
        choices=choices,
        help_text=hint,
        required=False,
        error_messages={"invalid_choice": NOT_LISTED},
    )


def read_number(text: str) -> float:
    """The number that a text holds.

    Raises
    ------
    ValueComplaint
        It holds none.
    """
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not TYPED.holds(value):
        raise ValueComplaint(f"{text[:40]} is not a number", "Write it in figures, such as 40")
    return value


def read_whole(text: str) -> int:
    """The whole number that a text holds, 0 or more.

    Raises
    ------
    ValueComplaint
        It holds none.
    """
    value = read_number(text)
    if value != round(value) or not 0 <= value < 2**53:
        raise ValueComplaint(f"{text[:40]} is not a whole number", "Write 0, 1, 2 or more")
    return int(value)


def _azimuth(text: str) -> float:
    from pacewright.core.compass import parse_azimuth

    return parse_azimuth(text)


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise ValueComplaint(
            f"{text[:40]} is not a date", "Write year-month-day, such as 2026-05-14"
        ) from None


class AskForm(forms.Form):
    """A form that asks one question; a field left empty keeps what it begins with.

    Attributes
    ----------
    few
        Names of the fields that few change: they stand folded.
    """

    few: ClassVar[frozenset[str]] = frozenset()
    begins: ClassVar[Mapping[str, str]] = {}

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, label_suffix="", initial=dict(self.begins), use_required_attribute=False)
        self.member = member

    def is_few(self, name: str) -> bool:
        """True for a field that few change."""
        return name in self.few

    @property
    def usual_fields(self) -> list[forms.BoundField]:
        """The fields that everybody fills in."""
        return [one for one in self if not self.is_few(one.name)]

    @property
    def few_fields(self) -> list[forms.BoundField]:
        """The fields that few change."""
        return [one for one in self if self.is_few(one.name)]

    @property
    def is_few_open(self) -> bool:
        """True where something is wrong among them, or was changed."""
        return any(
            one.errors or (self.is_bound and (one.value() or "") != self.begins.get(one.name, ""))
            for one in self.few_fields
        )

    def given(self, name: str) -> Any:
        """What a field holds; what it begins with where it was left empty."""
        found = self.cleaned_data.get(name)
        if found in (None, "") and name in self.begins:
            return self.fields[name].clean(self.begins[name])
        if found == "" and isinstance(self.fields[name], forms.ChoiceField):
            return self.fields[name].choices[0][0]
        return found

    def complain(self, complaint: Complaint, field: str | None = None) -> None:
        """Show a complaint beside the field it is about, or above the form."""
        name = field or complaint.where.column
        self.add_error(name if name in self.fields else None, complaint.sentence)


class WalkerForm(AskForm):
    """A form in which the walker is chosen among one's own."""

    walker = choice_field("walker", ())

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        own = KeptWalker.objects.filter(owner=member).order_by("name")
        names = [(str(one.pk), one.name) for one in own]
        self.fields["walker"].choices = [("", "nobody in particular (defaults)"), *names]
        # What belongs to a question comes before whose it is.
        self.order_fields([*(name for name in self.fields if name != "walker"), "walker"])

    def who(self) -> Walker:
        """The walker that was chosen.

        Raises
        ------
        Complaint
            The walker's file is none.
        """
        from pacewright.core.pace.walker import Walker
        from pacewright.desk.walkers.keeping import walker_in

        kept = self.kept_walker()
        return Walker() if kept is None else walker_in(kept)

    def kept_walker(self) -> KeptWalker | None:
        """The walker that was chosen as it is kept; None for nobody in particular."""
        chosen = self.cleaned_data.get("walker")
        return KeptWalker.objects.filter(owner=self.member, pk=chosen).first() if chosen else None


def logs_of(member: Member) -> list[tuple[str, str]]:
    """The logs that a form offers, the latest first; a card whose answers are hidden is none of them."""
    kept = (
        KeptLog.objects.filter(owner=member, thrown_at__isnull=True)
        .exclude(**UNTOUCHED)
        .only("pk", "title")[:50]
    )
    return [
        (str(one.pk), one.title or "A log without a title")
        for one in kept
        if shown_of(member, one.pk) == "all"
    ]
