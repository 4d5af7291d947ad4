"""A moment as somebody types it in by the clock at the river."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError


class ClockField(forms.DateTimeField):
    """A moment by the clock at the river; one that the clocks skip or repeat is refused."""

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError as error:
            if error.code != "ambiguous_timezone":
                raise
            raise ValidationError(
                "%(met)s does not say one moment: the clocks change in that hour, so it comes "
                "twice or not at all. Write a moment before or after that hour.",
                code="ambiguous_timezone",
                params={"met": str(value).replace("T", " ")},
            ) from error
