"""A reading typed in by somebody who looked."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from guiding.gauges.intake.limits import moment_refusal
from guiding.gauges.models import Quantity
from guiding.rivers.clock_field import ClockField


class NumberField(forms.FloatField):
    """A number with a point; what was met is said, and what is allowed."""

    default_error_messages = {"invalid": "That is no number a river has. Write one such as 0.79."}

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError as error:
            met = str(value).strip()
            better = met.replace(",", ".") if met.count(",") == 1 and "." not in met else "0.79"
            raise ValidationError(
                "%(met)s is no number here. Write it with a point, such as %(better)s.",
                code="invalid",
                params={"met": met, "better": better},
            ) from error


class TypedReadingForm(forms.Form):
    """One value at one moment, in the river's own clock."""

    quantity = forms.ChoiceField(
        label="What did you read?",
        choices=[
            (Quantity.LEVEL, "level, in metres"),
            (Quantity.WATER, "water temperature, in degrees C"),
            (Quantity.VISIBILITY, "visibility, in cm"),
            (Quantity.AIR, "air temperature, in degrees C"),
        ],
    )
    value = NumberField(
        label="How much?",
        error_messages={"required": "Nothing was written. Write a number such as 0.79."},
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    observed_at = ClockField(
        label="When?",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        error_messages={
            "required": "Nothing was written. Write the moment as 2026-05-21 18:30.",
            "invalid": "This is no day and time. Write the moment as 2026-05-21 18:30.",
        },
        help_text="by the clock at the river",
    )

    def __init__(self, *args: Any, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at

    def clean_observed_at(self) -> datetime:
        """Refuse a moment ahead, in the clock in which it was typed."""
        observed_at: datetime = self.cleaned_data["observed_at"]
        if moment_refusal(observed_at, self.at):
            here = self.at.astimezone(observed_at.tzinfo)
            raise ValidationError(
                f"{observed_at:%Y-%m-%d %H:%M} lies ahead: at the river it is "
                f"{here:%Y-%m-%d %H:%M}.",
                code="ahead",
            )
        return observed_at
