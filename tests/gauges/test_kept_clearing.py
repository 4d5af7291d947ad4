"""A clearing time from the rows: learned, kept, and taken into the conditions as it was known."""

import math
from datetime import date, time

import pytest

from guiding.desk.chores import learn_clearings
from guiding.gauges.clearing import MOST_LOOKS, is_clearing_due, keep_clearing, kept_clearing
from guiding.gauges.conditions.values import Kind
from guiding.gauges.hydrology.clearing import Clearing
from guiding.gauges.models import BeatGauge, Fit
from guiding.gauges.outlook import conditions_for
from guiding.rivers.models import PartHours
from tests.factories import make_beat, make_gauge, make_readings
from tests.gauges.drawn import DAY, HOUR, NOW

pytestmark = pytest.mark.django_db

PERIOD_H = 12 * 24
CLEARS_IN_H = 20


def level(h):
    """Return the level at an hour before NOW: every twelve days a spate of half a metre."""
    since = (h % PERIOD_H) - 96
    if since < 0:
        return 0.3
    return 0.3 + (0.05 * since if since <= 10 else 0.5 * math.exp(-(since - 10) / 30))


def seen_cm(h):
    """Return how far one sees then: 2 m, a tenth of it at the crest, and quickly back."""
    since = (h % PERIOD_H) - 106
    return 200 if since < 0 else 200 * math.exp(-2.3 * math.exp(-since / CLEARS_IN_H))


def store_levels(gauge, days=120):
    hours = range(-24 * days, 1)
    make_readings(gauge, "level_m", [(NOW + h * HOUR, round(level(h), 3)) for h in hours])


def store_looks(gauge, hours):
    make_readings(gauge, "visibility_cm", [(NOW + h * HOUR, seen_cm(h)) for h in hours])


LOOKS = list(range(-24 * 90, -60, 24))


@pytest.fixture
def gauge():
    gauge = make_gauge(name="Alder Bridge")
    store_levels(gauge)
    return gauge


def test_the_guides_looks_are_learned_from_and_kept(gauge):
    store_looks(gauge, LOOKS)

    fit = keep_clearing(gauge, at=NOW)

    kept = kept_clearing(gauge, NOW)
    assert kept.is_fitted
    assert kept.spates >= 6
    assert kept.hours == pytest.approx(CLEARS_IN_H, rel=0.4)
    assert kept.clear_cm == pytest.approx(200, rel=0.15)
    assert (fit.data_count, fit.data_on_file) == (kept.notes, len(LOOKS))


def test_before_it_was_learned_it_was_not_known(gauge):
    store_looks(gauge, LOOKS)
    keep_clearing(gauge, at=NOW)

    assert kept_clearing(gauge, NOW - HOUR) == Clearing()


def test_the_fit_before_is_ended_and_kept(gauge):
    store_looks(gauge, LOOKS)
    keep_clearing(gauge, at=NOW)
    store_looks(gauge, [-50])

    assert is_clearing_due(gauge)
    keep_clearing(gauge, at=NOW + DAY)

    assert not is_clearing_due(gauge)
    assert Fit.objects.filter(gauge=gauge).count() == 2
    assert Fit.objects.in_force().get().fitted_at == NOW + DAY
    assert kept_clearing(gauge, NOW + HOUR).notes == len(LOOKS)


def test_a_look_of_the_future_is_not_learned_from(gauge):
    store_looks(gauge, LOOKS)

    fit = keep_clearing(gauge, at=NOW - 40 * DAY)

    assert fit.data_to <= NOW - 40 * DAY
    assert fit.data_count < len(LOOKS)


def test_a_gauge_without_looks_costs_a_pass_nothing(gauge):
    assert keep_clearing(gauge, at=NOW) is None
    assert learn_clearings(NOW).counts == {"clearings": 0}
    store_looks(gauge, LOOKS[:3])

    assert learn_clearings(NOW).counts == {"clearings": 1}
    assert learn_clearings(NOW).counts == {"clearings": 0}
    assert not kept_clearing(gauge, NOW).is_fitted


def test_more_looks_than_are_read_still_end(gauge):
    store_looks(gauge, [-h for h in range(1, MOST_LOOKS + 50)])

    fit = keep_clearing(gauge, at=NOW)

    assert fit.data_count <= MOST_LOOKS
    assert fit.data_on_file == MOST_LOOKS + 49
    assert not is_clearing_due(gauge)


def test_the_conditions_of_a_beat_take_what_was_learned(gauge):
    beat = make_beat()
    PartHours.objects.create(water=beat.water, part="morning", starts=time(9), ends=time(13))
    BeatGauge.objects.create(beat=beat, gauge=gauge)
    store_looks(gauge, LOOKS)
    day = date(2026, 5, 20)
    before = conditions_for(beat, day, "morning", at=NOW).visibility
    keep_clearing(gauge, at=NOW)

    after = conditions_for(beat, day, "morning", at=NOW).visibility

    assert before.kind is after.kind is Kind.INFERRED
    assert "by common practice" in before.source
    assert "learned from" in after.source
    assert after.high / after.low < before.high / before.low


def test_two_passes_at_once_keep_one_fit(gauge):
    store_looks(gauge, LOOKS)

    first, second = keep_clearing(gauge, at=NOW), keep_clearing(gauge, at=NOW + HOUR)

    assert first == second
    assert Fit.objects.count() == 1
