"""Rows in, learned links out: what is kept, what a person typed, and what is refused."""

from datetime import timedelta

import numpy as np
import pytest

from guiding.gauges.hydrology.pairs import shifted
from guiding.gauges.models import BeatGauge, Quantity, Reading
from guiding.gauges.pairing import is_said, is_typed, lag_hours, learn_pairs, learned_words
from guiding.history.models import Event
from tests.factories import make_beat, make_gauge, make_readings
from tests.gauges.drawn import HOUR, NOW
from tests.gauges.inventedriver import invented_river

pytestmark = pytest.mark.django_db

DAYS = 90
THERE = invented_river(0.3, seed=3)[0][-DAYS * 24 - 1 :]


def store(gauge, levels, until=NOW):
    moments = [until + (k - levels.size + 1) * HOUR for k in range(levels.size)]
    make_readings(
        gauge,
        Quantity.LEVEL,
        [(t, float(v)) for t, v in zip(moments, levels, strict=True) if np.isfinite(v)],
    )


@pytest.fixture
def beat():
    return make_beat()


def make_pair(beat, **typed):
    """Return the links of a beat's first gauge, and of one whose water is there 3 h earlier."""
    first, other = make_gauge(beat, name="Alder Bridge"), make_gauge(name="Brook Weir")
    noise = np.random.default_rng(5).normal(0, 0.003, THERE.size)
    store(first, 0.3 + 0.6 * shifted(THERE, 3) + noise)
    store(other, THERE)
    here = beat.gauge_links.get()
    here.delay_hours = 0.5
    here.save()
    there = BeatGauge.objects.create(beat=beat, gauge=other, order=2, **typed)
    return here, there


def test_delay_and_ratio_are_kept_with_what_they_rest_on(beat):
    _, link = make_pair(beat)

    (learned,) = learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert link.delay_hours == 3.5  # 3 h to the first gauge, whose water is here half an hour later
    assert link.ratio == pytest.approx(0.6, rel=0.03)
    assert link.learned["at"] == NOW.isoformat()
    assert link.learned["r2"] > 0.9
    assert [row[0] for row in link.learned["spread_m"]] == [1, 3, 6, 12, 24, 48, 72, 120, 168]
    assert not is_typed(link, "ratio")
    assert is_said(link, "ratio")
    assert learned.says.startswith(f"Brook Weir for Alder Bridge, {beat}: 3.5 h to the beat")
    event = Event.objects.get()
    assert event.before == {"delay_hours": 0.0, "ratio": 1.0}
    assert event.after["gauge"] == "Brook Weir"


def test_a_gauge_is_asked_for_every_beat_it_speaks_for(beat):
    first, _ = make_pair(beat)
    second = make_beat(water=beat.water)
    BeatGauge.objects.create(beat=second, gauge=first.gauge)

    assert [row.beat for row in learn_pairs(first.gauge, at=NOW)] == [beat.name]
    assert learn_pairs(second, at=NOW) == ()


def test_learning_twice_changes_nothing(beat):
    _, link = make_pair(beat)
    learn_pairs(beat, at=NOW)
    link.refresh_from_db()
    kept = (link.delay_hours, link.ratio, link.learned)

    learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert (link.delay_hours, link.ratio, link.learned) == kept


@pytest.mark.parametrize("typed", [{"ratio": 0.8}, {"delay_hours": 2.5}])
def test_what_a_person_typed_is_kept_and_tried(beat, typed):
    _, link = make_pair(beat, **typed)

    learn_pairs(beat, at=NOW)
    learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    ((name, value),) = typed.items()
    assert getattr(link, name) == value
    assert is_typed(link, name)
    other = "ratio" if name == "delay_hours" else "delay_hours"
    assert not is_typed(link, other)
    assert is_said(link, other)
    assert link.learned["spread_m"]
    assert "typed in" in learned_words(link)


def test_a_value_typed_over_a_learned_one_stays_even_at_nought_and_one(beat):
    first, link = make_pair(beat)
    learn_pairs(beat, at=NOW)
    link.refresh_from_db()
    link.delay_hours, link.ratio = 0.0, 1.0
    link.save()

    learn_pairs(beat, at=NOW)
    learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert (link.delay_hours, link.ratio) == (0.0, 1.0)
    assert lag_hours(first, link) == -0.5


def test_nothing_measured_later_is_looked_at(beat):
    first, link = make_pair(beat)
    learn_pairs(beat, at=NOW)
    link.refresh_from_db()
    kept = link.learned
    later = 3 - THERE[:500]
    store(first.gauge, later, until=NOW + 500 * HOUR)
    store(link.gauge, later[::-1], until=NOW + 500 * HOUR)

    learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert link.learned == kept


def test_too_little_history_is_refused_in_words_and_nothing_is_written(beat):
    _, link = make_pair(beat)
    Reading.objects.filter(observed_at__lt=NOW - timedelta(days=20)).delete()

    (learned,) = learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert learned.pair is None
    assert "hours on file together, and 1440 are the least" in learned.says
    assert (link.delay_hours, link.ratio, link.learned) == (0.0, 1.0, {})
    assert not is_said(link, "ratio")
    assert not Event.objects.exists()


def test_a_refusal_leaves_what_was_learned_before(beat):
    _, link = make_pair(beat)
    learn_pairs(beat, at=NOW)
    link.refresh_from_db()
    kept = link.learned
    Reading.objects.filter(observed_at__lt=NOW - timedelta(days=20)).delete()

    (learned,) = learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert link.learned == kept
    assert learned.says.endswith("What is on file stays.")


def test_a_gauge_read_by_the_day_is_not_paired_with_one_read_by_the_hour(beat):
    make_pair(beat)
    daily = make_gauge(name="Daily Post", step_minutes=1440)
    BeatGauge.objects.create(beat=beat, gauge=daily, order=3)

    *_, learned = learn_pairs(beat, at=NOW)

    assert "one is read by the hour, the other by the day" in learned.says


def test_a_gauge_without_a_level_is_refused(beat):
    make_pair(beat)
    BeatGauge.objects.create(beat=beat, gauge=make_gauge(name="New Post"), order=3)

    *_, learned = learn_pairs(beat, at=NOW)

    assert "New Post has no level on file" in learned.says


def test_suspect_levels_are_not_learned_from(beat):
    _, link = make_pair(beat)
    learn_pairs(beat, at=NOW)
    link.refresh_from_db()
    kept = dict(link.learned)
    Reading.objects.create(
        series=link.gauge.series.get(),
        observed_at=NOW - 100 * HOUR - timedelta(minutes=7),
        value=9.0,
        quality=Reading.Quality.SUSPECT,
    )

    learn_pairs(beat, at=NOW)

    link.refresh_from_db()
    assert link.learned == kept


def test_the_records_show_what_was_learned(beat, admin_client):
    _, link = make_pair(beat)
    learn_pairs(beat, at=NOW)

    page = admin_client.get(f"/admin/gauges/gauge/{link.gauge.pk}/change/").content.decode()

    assert "3.5 h to the beat (learned), 0.60 m for a metre (learned); from " in page
