"""Whole paths go when neither the newest forecast nor a pack needs them; what was said stays."""

from datetime import timedelta

import numpy as np
import pytest
from django.db.models import ProtectedError

from briefings.models import FurtherForecast
from guiding.desk.old_paths import STILL_WANTED, drop_paths
from guiding.gauges.hydrology.record import pack_paths
from guiding.gauges.models import Forecast
from tests.factories import make_briefing, make_gauge

pytestmark = pytest.mark.django_db

PATHS = pack_paths(np.full((3, 4), 0.5))


def issued(gauge, at, **changes):
    fields = {"model": "made for a test", "step_minutes": 60, "paths": PATHS, **changes}
    return Forecast.objects.create(gauge=gauge, issued_at=at, quantiles={"q50": [0.5]}, **fields)


def kept():
    return set(Forecast.objects.filter(paths__isnull=False).values_list("pk", flat=True))


def test_the_newest_of_each_gauge_and_those_of_the_last_two_days_keep_their_paths(moment):
    one, other = make_gauge(), make_gauge()
    old = issued(one, moment - timedelta(days=5))
    young = issued(one, moment - STILL_WANTED + timedelta(hours=1))
    newest = issued(one, moment)
    only = issued(other, moment - timedelta(days=90))

    dropped = drop_paths(moment)

    assert dropped == 1
    assert kept() == {young.pk, newest.pk, only.pk}
    old.refresh_from_db()
    assert old.quantiles == {"q50": [0.5]}
    assert drop_paths(moment) == 0


def test_a_forecast_that_a_pack_rests_on_keeps_them_for_good(moment):
    gauge = make_gauge()
    used, free = (issued(gauge, moment - timedelta(days=60, hours=k)) for k in range(2))
    issued(gauge, moment)
    briefing = make_briefing()
    briefing.forecast = used
    briefing.save()

    drop_paths(moment)

    assert used.pk in kept()
    assert free.pk not in kept()


def test_a_pack_of_a_day_on_two_gauges_keeps_both_and_neither_can_be_deleted(moment):
    one, other = make_gauge(), make_gauge()
    first, second = (issued(gauge, moment - timedelta(days=60)) for gauge in (one, other))
    for gauge in (one, other):
        issued(gauge, moment)
    briefing = make_briefing()
    briefing.forecast = first
    briefing.save()
    FurtherForecast.objects.create(briefing=briefing, forecast=second)

    assert drop_paths(moment) == 0

    assert {first.pk, second.pk} <= kept()
    with pytest.raises(ProtectedError):
        second.delete()
