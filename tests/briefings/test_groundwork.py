"""What one issue is written from, read from the rows of a trip."""

from datetime import UTC, date, datetime

import pytest

from briefings.groundwork import lay_groundwork
from guiding.bookings.models import TripDay
from tests.briefings.stored import store_trip

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("day", "gloves", "cream"),
    [(date(2026, 11, 20), True, False), (date(2026, 6, 24), False, True)],
)
def test_the_first_issue_asks_for_the_clothes_of_its_season(day, gloves, cream):
    trip = store_trip()
    TripDay.objects.filter(booking=trip.booking).update(
        date=day,
        meets_at=datetime(day.year, day.month, day.day, 9, 30, tzinfo=UTC),
        ends_at=datetime(day.year, day.month, day.day, 14, tzinfo=UTC),
    )

    ground = lay_groundwork(trip.booking, issue="first", at=datetime(2026, 5, 1, tzinfo=UTC))

    (kit,) = ground.kits.values()
    assert ("Gloves and a warm hat" in kit.bring) == gloves
    assert ("Sun cream" in kit.bring) == cream
    assert "Hat with a brim" in kit.bring
    everything = " ".join((*kit.bring, *kit.lent, *kit.buy))
    assert "Eye protection" in everything
