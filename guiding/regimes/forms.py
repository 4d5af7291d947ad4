"""What is typed on a phone: a day's schedule, a day's tides, a look at ice, or a file of days."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from guiding.regimes.linetable import MOST_BYTES, TableRefused, plain_text, text_of
from guiding.regimes.models import IceLook
from guiding.regimes.releases import Release
from guiding.regimes.schedulefile import LONGEST_FLOW
from guiding.regimes.tides import HIGHEST_TIDE_M, LOWEST_TIDE_M, Turn, turns_refusal
from guiding.rivers.clock_field import ClockField
from guiding.rivers.models import Beat, River

RELEASES_TYPED = 3  # more come as a file
TIDES_TYPED = 4
DAYS_BEHIND, DAYS_AHEAD = 31, 400
SAID_BEHIND_DAYS, LOOKED_BEHIND_DAYS = 400, 31  # common practice, no source
LONGEST_NAME = 120


def _moment(label: str, help_text: str = "by the clock at the river") -> ClockField:
    return ClockField(
        label=label,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        error_messages={
            "required": "Nothing was written. Write the moment as 2026-05-21 18:30.",
            "invalid": "This is no day and time. Write the moment as 2026-05-21 18:30.",
        },
        help_text=help_text,
    )


def _clock(label: str) -> forms.TimeField:
    return forms.TimeField(
        label=label,
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        input_formats=["%H:%M", "%H:%M:%S"],
        error_messages={"invalid": "This is no clock time. Write it as 07:30."},
    )


def _day(label: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={
            "required": "Nothing was written. Write the day as 2026-05-21.",
            "invalid": "This is no day. Write it as 2026-05-21.",
        },
    )


def _plain_name(text: str) -> None:
    """Refuse signs that cannot be seen: they turn a name round, or hide that there is none."""
    try:
        plain_text(text, "The name", LONGEST_NAME)
    except ValueError as refusal:
        raise ValidationError(f"{refusal}", code="signs") from refusal


def _check_when(moment: datetime, at: datetime, days: int) -> None:
    """Refuse a moment ahead, and one so long ago that the year must be wrong."""
    if not at.year - 5 <= moment.year <= at.year + 5 or moment < at - timedelta(days=days):
        raise ValidationError(
            f"{moment:%Y-%m-%d %H:%M} is more than {days} days ago or years ahead: is the year"
            " right?",
            code="long ago",
        )
    if moment > at:
        here = at.astimezone(moment.tzinfo)
        raise ValidationError(
            f"{moment:%Y-%m-%d %H:%M} lies ahead: at the river it is {here:%Y-%m-%d %H:%M}.",
            code="ahead",
        )


def _who(label: str, help_text: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=LONGEST_NAME,
        validators=[_plain_name],
        help_text=help_text,
        error_messages={"required": "Nothing was written. A name, or what they are, is enough."},
    )


class _SaidForm(forms.Form):
    """What both forms of a day share: which day, who said it, and when."""

    def __init__(self, *args: Any, at: datetime, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at
        self.today = today

    def clean_day(self) -> date:
        """Refuse a day that nobody has a schedule or a table of."""
        day: date = self.cleaned_data["day"]
        first = self.today - timedelta(days=DAYS_BEHIND)
        last = self.today + timedelta(days=DAYS_AHEAD)
        if not first <= day <= last:
            raise ValidationError(
                "%(day)s is not between %(first)s and %(last)s: is the year right?",
                code="day",
                params={"day": day, "first": first, "last": last},
            )
        return day

    def clean_said_at(self) -> datetime:
        """Refuse a moment ahead, or long ago."""
        said_at: datetime = self.cleaned_data["said_at"]
        _check_when(said_at, self.at, SAID_BEHIND_DAYS)
        return said_at


class ScheduleForm(_SaidForm):
    """One day at a dam: that none is planned, or from when to when water is let go."""

    NONE, PLANNED = "none", "planned"

    day = _day("Which day?")
    what = forms.ChoiceField(
        label="What was said?",
        choices=[(NONE, "No release is planned that day"), (PLANNED, "Water is let go, as below")],
        widget=forms.RadioSelect,
        error_messages={"required": "Nothing was chosen. Is a release planned that day or not?"},
    )
    said_by = _who("Who said so?", "a name, or what they are: the keeper of the dam")
    said_at = _moment("When was it said?")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, RELEASES_TYPED + 1):
            self.fields[f"starts_{number}"] = _clock(f"Release {number}: from")
            self.fields[f"ends_{number}"] = _clock(f"Release {number}: to")
            self.fields[f"flow_{number}"] = forms.CharField(
                label=f"Release {number}: how much",
                required=False,
                max_length=LONGEST_FLOW,
                help_text="as they said it, if they did",
            )

    def rows(self) -> list[tuple[forms.BoundField, ...]]:
        """Return the fields of each release."""
        return [
            tuple(self[f"{name}_{number}"] for name in ("starts", "ends", "flow"))
            for number in range(1, RELEASES_TYPED + 1)
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse a half-written release, and none beside one: one of the two is wrong."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        found, what = [], cleaned["what"]
        for number in range(1, RELEASES_TYPED + 1):
            starts, ends, flow = (cleaned.get(f"{n}_{number}") for n in ("starts", "ends", "flow"))
            if starts is None:
                if ends is not None or flow:
                    self.add_error(
                        f"starts_{number}", "From when is missing: write the time it begins."
                    )
                continue
            try:
                flow = plain_text((flow or "").strip(), "how much", LONGEST_FLOW)
                found.append(Release(starts=starts, ends=ends, flow=flow))
            except ValueError as error:
                self.add_error(f"ends_{number}", str(error))
        if what == self.NONE and found:
            self.add_error("what", "None is planned, and a release is written below: which is it?")
        if what == self.PLANNED and not found and not self.errors:
            self.add_error("starts_1", "From when? Write at least the time at which it begins.")
        if len(set(found)) < len(found):
            self.add_error("starts_2", "The same release is written twice.")
        cleaned["releases"] = tuple(sorted(found, key=lambda release: release.starts))
        return cleaned


class TideForm(_SaidForm):
    """The tides of one whole day, as the table prints them."""

    day = _day("Which day?")
    first = forms.ChoiceField(
        label="The first tide of that day is",
        choices=[("high", "high water"), ("low", "low water")],
        widget=forms.RadioSelect,
        help_text="after it they take turns",
        error_messages={"required": "Nothing was chosen. Is it high or low water?"},
    )
    said_by = _who("From which table?", "its name and year, or who read it out")
    said_at = _moment("When was it read?")

    def __init__(self, *args: Any, twice_a_day: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.twice_a_day = twice_a_day
        for number in range(1, TIDES_TYPED + 1):
            self.fields[f"clock_{number}"] = _clock(f"Tide {number}: time")
            self.fields[f"height_{number}"] = forms.FloatField(
                label=f"Tide {number}: height in metres",
                required=False,
                min_value=LOWEST_TIDE_M,
                max_value=HIGHEST_TIDE_M,
                widget=forms.TextInput(attrs={"inputmode": "decimal"}),
                help_text="if it is printed",
                error_messages={
                    "invalid": "That is no height. Write metres with a point, such as 4.8.",
                    "min_value": f"A tide's height is {LOWEST_TIDE_M:g} to {HIGHEST_TIDE_M:g} m.",
                    "max_value": f"A tide's height is {LOWEST_TIDE_M:g} to {HIGHEST_TIDE_M:g} m.",
                },
            )

    def rows(self) -> list[tuple[forms.BoundField, ...]]:
        """Return the fields of each tide."""
        return [
            (self[f"clock_{number}"], self[f"height_{number}"])
            for number in range(1, TIDES_TYPED + 1)
        ]

    def clean(self) -> dict[str, Any]:
        """Refuse a day that is not whole."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        turns, is_high = [], cleaned["first"] == "high"
        for number in range(1, TIDES_TYPED + 1):
            clock, height_m = cleaned.get(f"clock_{number}"), cleaned.get(f"height_{number}")
            if clock is None:
                if height_m is not None:
                    self.add_error(f"clock_{number}", "The time of this tide is missing.")
                continue
            turns.append(Turn(clock=clock, is_high=is_high, height_m=height_m))
            is_high = not is_high
        why = turns_refusal(tuple(turns), twice_a_day=self.twice_a_day)
        if why and not self.errors:
            self.add_error("clock_1", f"{why[:1].upper()}{why[1:]}.")
        cleaned["turns"] = tuple(turns)
        return cleaned


class LookForm(forms.Form):
    """What somebody sees of ice."""

    seen = forms.ChoiceField(
        label="What do you see?",
        choices=IceLook.Seen.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Nothing was chosen. No ice is an answer too."},
    )
    beat = forms.ModelChoiceField(
        label="Where did you look?",
        queryset=Beat.objects.none(),
        required=False,
        empty_label="the whole river",
    )
    looked_at = _moment("When?")
    water_c = forms.FloatField(
        label="Water temperature in degrees C",
        required=False,
        min_value=-0.5,
        max_value=35,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
        help_text="if you measured it",
        error_messages={
            "invalid": "That is no temperature. Write it with a point, such as 1.5.",
            "min_value": "A river's water here is -0.5 to 35 degrees C.",
            "max_value": "A river's water here is -0.5 to 35 degrees C.",
        },
    )
    who = _who("Who looked?", "a name, or what they are")

    def __init__(self, *args: Any, river: River, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at
        beats = Beat.objects.filter(water__river=river)
        self.fields["beat"].queryset = beats  # type: ignore[attr-defined]

    def clean_looked_at(self) -> datetime:
        """Refuse a moment ahead, or long ago."""
        looked_at: datetime = self.cleaned_data["looked_at"]
        _check_when(looked_at, self.at, LOOKED_BEHIND_DAYS)
        return looked_at


class FileForm(forms.Form):
    """A file of days: first shown for what it would change, then kept."""

    file_name = ""

    file = forms.FileField(
        label="A CSV file",
        error_messages={
            "required": "No file was chosen.",
            "empty": "The file is empty.",
        },
    )
    said_by = _who("Who said so?", "whose file it is")

    def clean_file(self) -> str:
        """Return the file's text; refuse what is none."""
        given = self.cleaned_data["file"]
        self.file_name = str(given.name)[:200]
        if given.size > MOST_BYTES:
            raise ValidationError(
                f"The file has more than {MOST_BYTES:,} bytes; send a shorter one."
            )
        try:
            return text_of(given.read())
        except TableRefused as refusal:
            raise ValidationError(f"{refusal}") from refusal
