"""A trip with a pack in a database of its own, and a link to it as a letter would carry it."""

from typing import Any

import django

django.setup()

from django.utils import timezone  # noqa: E402

from guiding.visits.actions import make_link  # noqa: E402
from guiding.visits.models import Visit  # noqa: E402
from tests.factories import make_booking, make_briefing  # noqa: E402
from tests.races import serve  # noqa: E402


def link(told: dict[str, Any]) -> str:
    """Write a booking with a pack and return the address of its private page."""
    now = timezone.now()
    booking = make_booking(at=now, day=now.date())
    make_briefing(booking=booking, issued_at=now, valid_until=booking.days.get().ends_at)
    return make_link(f"{booking.key}:{booking.payer.key}", at=now)


def visits(told: dict[str, Any]) -> list[str]:
    """Return what was noted as opened."""
    return list(Visit.objects.values_list("what", flat=True))


if __name__ == "__main__":
    serve(together={}, alone={"link": link, "visits": visits})
