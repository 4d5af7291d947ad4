"""A booking typed in: one day on one water, and who comes."""

from __future__ import annotations

from datetime import datetime, time
from typing import Any

from django import forms

from guiding.bookings.models import FISH, PartyMember
from guiding.bookings.wanted import DayWanted, PartyWanted
from guiding.clients.models import Person
from guiding.gauges.outlook import hours_of
from guiding.rivers.models import AccessPoint, Beat, Part, Water

PARTY_ROWS = 6


class BookingForm(forms.Form):
    """One day of one water; further days are further bookings."""

    payer = forms.ModelChoiceField(Person.objects.all(), label="Who pays?")
    fish = forms.ChoiceField(label="Which fish?", choices=FISH)
    date = forms.DateField(
        label="Which day?",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "Write the day as 2026-05-21."},
    )
    parts = forms.MultipleChoiceField(
        label="Which parts of the day?", choices=Part.choices, widget=forms.CheckboxSelectMultiple
    )
    beat = forms.ModelChoiceField(Beat.objects.none(), label="Which beat?")
    meeting_point = forms.ModelChoiceField(AccessPoint.objects.none(), label="Meet where?")
    meets_at = forms.TimeField(
        label="Meet when?",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": "Write the time as 08:30."},
        help_text="by the clock at the river; empty: when the first part begins",
    )

    def __init__(self, *args: Any, water: Water, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.water = water
        for field in self.fields.values():
            field.error_messages["required"] = "Nothing was written or chosen here."
        beat, meeting_point = self.fields["beat"], self.fields["meeting_point"]
        assert isinstance(beat, forms.ModelChoiceField)  # noqa: S101 (tells the type checker)
        assert isinstance(meeting_point, forms.ModelChoiceField)  # noqa: S101
        beat.queryset = water.beats.all()
        meeting_point.queryset = water.access_points.filter(is_meeting_point=True)

    def days_wanted(self) -> tuple[DayWanted, ...]:
        """Return one wanted day a part, in the order of the day, the first from the meeting."""
        typed = self.cleaned_data
        wanted: list[DayWanted] = []
        for part in (name for name in Part.values if name in typed["parts"]):
            starts_at, ends_at = hours_of(self.water, typed["date"], part)
            meets_at = starts_at
            if not wanted and typed["meets_at"]:
                meets_at = self._meeting(typed["meets_at"], starts_at)
            wanted.append(
                DayWanted(
                    date=typed["date"],
                    part=part,
                    beat=typed["beat"],
                    meeting_point=typed["meeting_point"],
                    meets_at=meets_at,
                    ends_at=ends_at,
                )
            )
        return tuple(wanted)

    def _meeting(self, clock: time, starts_at: datetime) -> datetime:
        """Return the meeting by the river's clock, on the day on which the part begins."""
        river = self.water.river
        return river.moment(river.day_of(starts_at), clock)


class PartyRowForm(forms.Form):
    """One person of the party; an empty row is nobody."""

    person = forms.ModelChoiceField(Person.objects.all(), label="Who?", required=False)
    role = forms.ChoiceField(
        label="As what?", choices=PartyMember.Role.choices, required=False, initial="rod"
    )
    shares_with = forms.ModelChoiceField(
        Person.objects.all(), label="Shares the rod of", required=False
    )


PartyFormSet = forms.formset_factory(PartyRowForm, extra=PARTY_ROWS, max_num=PARTY_ROWS)


def party_wanted(rows: Any) -> tuple[PartyWanted, ...]:
    """Return the party from a valid formset."""
    return tuple(
        PartyWanted(
            person=row["person"],
            role=row["role"] or PartyMember.Role.ROD,
            shares_with=row["shares_with"] if row["role"] == PartyMember.Role.SHARES else None,
        )
        for row in (form.cleaned_data for form in rows)
        if row.get("person")
    )
