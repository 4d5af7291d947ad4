"""A source typed in: which gauge, what, and where an agency keeps it."""

from __future__ import annotations

from typing import Any

from django import forms

from guiding.feeds.models import quantity_words
from guiding.gauges.models import Gauge
from guiding.gauges.providers.agencies import AGENCIES


def _quantities() -> list[tuple[str, str]]:
    told = dict.fromkeys(quantity for agency in AGENCIES for quantity in agency.quantities)
    return [(quantity, quantity_words(quantity)) for quantity in told]


class SourceForm(forms.Form):
    """What add_feed wants; whether it fits together is for the action to say."""

    gauge = forms.ModelChoiceField(Gauge.objects.all(), label="Which gauge?")
    quantity = forms.ChoiceField(label="What does it tell?", choices=_quantities)
    agency = forms.ChoiceField(
        label="Who tells it?", choices=[(agency.code, agency.name) for agency in AGENCIES]
    )
    station = forms.CharField(
        label="Station",
        required=False,
        max_length=60,
        help_text="as the agency writes it; empty for SEPA, KiWIS and the weather",
    )
    series = forms.CharField(
        label="Series",
        required=False,
        max_length=140,
        help_text="measure, ts_id or sensor, as the agency writes it; empty for the weather",
    )
    base_url = forms.CharField(
        label="Address of the server",
        required=False,
        max_length=200,
        help_text="only for a KiWIS server of somebody else, such as https://data.agency.org/KiWIS",
    )
    credit = forms.CharField(
        label="Whom to credit",
        required=False,
        max_length=200,
        help_text="only for such a server, in its owner's words",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.error_messages["required"] = "Nothing was written or chosen here."
