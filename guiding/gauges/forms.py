"""A reading typed in by somebody who looked."""

from __future__ import annotations

from typing import Any

from django import forms

from guiding.gauges.models import Quantity


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
    value = forms.FloatField(
        label="Value",
        error_messages={"invalid": "Write a number such as 0.79."},
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    observed_at = forms.DateTimeField(
        label="When?",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        error_messages={"invalid": "Write the moment as 2026-05-21 18:30."},
        help_text="by the clock at the river",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            told = [f"id_{name}_help"] if field.help_text else []
            if self.is_bound and name in self.errors:
                told.append(f"id_{name}_errors")
                field.widget.attrs["aria-invalid"] = "true"
            if told:
                field.widget.attrs["aria-describedby"] = " ".join(told)
