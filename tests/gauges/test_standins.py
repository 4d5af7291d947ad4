"""A beat with two gauges, the first of which fails: through the rows to conditions and wading."""

from datetime import date, timedelta

import pytest

from briefings.gather import last_over_bank
from briefings.pools import wading_on
from guiding.gauges.conditions.values import Given, Kind
from guiding.gauges.models import BeatGauge, Forecast, Quantity, Series, Sounding
from guiding.gauges.outlook import outlook_for
from guiding.rivers.models import Pool
from tests.factories import make_gauge, make_person, make_readings
from tests.gauges.drawn import HOUR, NOW, hourly, record
from tests.gauges.test_outlook import TOMORROW, beat, store_marks  # noqa: F401

pytestmark = pytest.mark.django_db

TODAY = NOW.date()  # the morning's hours run from 08:00 UTC, so they have begun
SILENT_AT = NOW - 8 * HOUR
LEARNED = {
    "at": "2026-05-01T00:00:00+00:00",
    "hours": 5000.0,
    "r2": 0.9,
    "spread_m": [[1, 0.01], [6, 0.04], [24, 0.10], [72, 0.2]],
    "spread_share": 0.2,
    "lowest_m": 0.2,
    "highest_m": 3.0,
    "lag_hours": 2.0,
    "delay_hours": 2.0,
    "ratio": 0.5,
}


def before(h):
    """Return a river that stood at 0.80 m until four hours ago and is 2 cm an hour up since."""
    return 0.80 + 0.02 * max(0, h + 4)


def link_other(beat, level=before, *, days=10, **changes):  # noqa: F811
    other = make_gauge(river=beat.water.river, name="Brook Weir")
    make_readings(other, Quantity.LEVEL, hourly(level, days))
    fields = {"delay_hours": 2.0, "ratio": 0.5, "learned": LEARNED, **changes}
    return BeatGauge.objects.create(beat=beat, gauge=other, order=2, **fields)


@pytest.fixture
def silent(beat):  # noqa: F811
    """Return a beat whose first gauge fell silent eight hours ago at 0.45 m."""
    gauge = make_gauge(beat, name="Alder Bridge")
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 0.45, 10, until=SILENT_AT))
    make_readings(gauge, Quantity.WATER, hourly(lambda h: 11.0, 3))
    store_marks(gauge)
    return beat


def test_without_another_gauge_a_silent_one_is_not_known(silent):
    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert seen.worked_out == ()


def test_the_next_gauge_stands_in_inferred_and_with_its_spread(silent):
    link_other(silent)

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    # two hours later and half as much: 0.45 + 0.5 x 0.04 = 0.47 m (by hand); ten hours: 0.10 m
    level = seen.conditions.level
    assert level.kind is Kind.INFERRED
    assert (level.value, level.low, level.high) == pytest.approx((0.47, 0.37, 0.57))
    assert level.source == "worked out from Brook Weir, not measured"
    assert (seen.conditions.level_class.value, seen.conditions.level_class.kind) == (
        "good",
        Kind.INFERRED,
    )
    assert seen.conditions.rise.kind is Kind.INFERRED
    assert seen.conditions.rise.value == pytest.approx(1.0 + 2.0)  # and the grain, by hand
    assert seen.conditions.says[0].startswith("Alder Bridge is silent since 02:00 on 20 May. Its")
    assert not any("The level is not known" in line for line in seen.conditions.says)


def test_what_is_drawn_as_measured_was_measured(silent):
    link_other(silent)

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.levels[-1][0] == SILENT_AT
    assert seen.worked_out[-1] == (NOW, pytest.approx(0.47))


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_nothing_stands_in_where_a_dam_or_the_tide_moves_the_water(silent, regime):
    link_other(silent)
    silent.regime = regime
    silent.save()

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert seen.worked_out == ()


def test_nothing_stands_in_by_a_ratio_that_nobody_learned_or_typed(silent):
    link_other(silent, learned={}, ratio=1.0)

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert seen.conditions.says[0] == (
        "Brook Weir cannot stand in for Alder Bridge: how much the river rises there for a metre "
        "here was neither learned nor typed in."
    )


def test_a_typed_ratio_stands_in_wide_and_says_that_nobody_tried_it(silent):
    link_other(silent, learned={}, ratio=0.5)

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.value == pytest.approx(0.47)
    assert seen.conditions.level.high == pytest.approx(0.57)
    assert "which no record has tried" in seen.conditions.says[0]


def test_a_gauge_that_speaks_needs_no_other(silent):
    link_other(silent)
    make_readings(silent.gauge_links.first().gauge, Quantity.LEVEL, [(NOW, 0.45)])

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert (seen.conditions.level.kind, seen.conditions.level.value) == (Kind.OBSERVED, 0.45)
    assert seen.worked_out == ()


def test_a_stuck_gauge_is_followed_from_the_moment_it_stuck(beat):  # noqa: F811
    gauge = make_gauge(beat, name="Alder Bridge")
    # it moves until 60 hours ago, then stands still through 20 mm
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 0.45 - 0.001 * min(0, h + 60), 10))
    make_readings(gauge, Quantity.RAIN, hourly(lambda h: 1.0 if -40 < h <= -20 else 0.0, 10))
    store_marks(gauge)
    Forecast.from_record(record([0.45] * 120), gauge=gauge).save()
    link_other(beat, lambda h: 0.80 + 0.01 * max(0, h + 40))

    seen = outlook_for(beat, TODAY, "morning", at=NOW)

    # there 0.38 m up by 07:00, here half of that: 0.45 + 0.19 = 0.64 m (by hand)
    assert seen.conditions.level.kind is Kind.INFERRED
    assert seen.conditions.level.value == pytest.approx(0.64)
    assert "may be stuck. Its level is worked out from Brook Weir" in seen.conditions.says[0]
    assert seen.record is None  # it was made from levels that nobody believes


def test_a_gauge_marked_broken_is_not_believed_from_that_moment_on(silent):
    link_other(silent)
    gauge = silent.gauge_links.first().gauge
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 3.0, 0.25))
    Series.objects.filter(gauge=gauge, quantity=Quantity.LEVEL).update(
        trouble="the source sends another unit", trouble_since=SILENT_AT + HOUR
    )

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.value == pytest.approx(0.47)
    assert "Alder Bridge is marked broken since 03:00 on 20 May" in seen.conditions.says[0]


def test_a_second_gauge_that_cannot_is_passed_over_for_a_third_that_can(silent):
    link_other(silent, days=0, learned={})
    third = make_gauge(river=silent.water.river, name="Cross Weir")
    make_readings(third, Quantity.LEVEL, hourly(before, 10))
    BeatGauge.objects.create(
        beat=silent, gauge=third, order=3, delay_hours=2.0, ratio=0.5, learned=LEARNED
    )

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert "worked out from Cross Weir" in seen.conditions.says[0]


def test_a_gauge_whose_levels_became_others_does_not_stand_in(silent):
    link = link_other(silent)
    link.gauge.marks_suspended_since = NOW - 2 * HOUR
    link.gauge.save()

    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    assert seen.conditions.level.kind is Kind.NOT_KNOWN
    assert "nobody has confirmed what they mean" in seen.conditions.says[0]


def test_hours_ahead_keep_their_forecast_and_take_the_level_worked_out_into_its_high_end(silent):
    gauge = silent.gauge_links.first().gauge
    Forecast.from_record(record([0.45] * 120), gauge=gauge).save()
    link_other(silent, lambda h: 0.80 + 0.2 * max(0, h + 4))

    seen = outlook_for(silent, TOMORROW, "morning", at=NOW).conditions

    # 0.45 + 0.5 x 0.40 = 0.65 m now, and 0.10 m either way (by hand)
    assert (seen.level.kind, seen.level.value) == (Kind.FORECAST, pytest.approx(0.45))
    assert seen.level.high == pytest.approx(0.75)


def test_what_is_typed_in_stays(silent):
    link_other(silent)

    seen = outlook_for(silent, TODAY, "morning", at=NOW, given=Given(level_m=0.7)).conditions

    assert (seen.level.kind, seen.level.value) == (Kind.GIVEN, 0.7)


def test_wading_is_judged_at_the_high_side_of_what_was_worked_out(silent):
    link_other(silent)
    gauge = silent.gauge_links.first().gauge
    pool = Pool.objects.create(beat=silent, name="Mossy Run")
    for level_m, depth_m in ((0.40, 0.30), (0.80, 0.60)):
        Sounding.objects.create(
            pool=pool,
            gauge=gauge,
            level_m=level_m,
            depth_m=depth_m,
            speed_ms=0.3,
            measured_on=date(2026, 5, 1),
        )
    person = make_person(height_m=1.8, mass_kg=80, born_on=date(1980, 1, 1), wading="used")
    seen = outlook_for(silent, TODAY, "morning", at=NOW)

    (judged,) = wading_on(silent, [person], seen, TODAY)

    # at 0.57 m, not at 0.47 m: a depth of 0.30 + 0.17 m by the nearer sounding (by hand)
    assert judged.wading.depth_m == pytest.approx(0.47)


def test_a_flood_that_was_only_worked_out_voids_soundings_too(silent):
    link_other(silent)
    gauge = silent.gauge_links.first().gauge
    marks = outlook_for(silent, TODAY, "morning", at=NOW).marks

    assert last_over_bank(gauge, marks) is None
    assert last_over_bank(gauge, marks, [(NOW - 30 * HOUR, 2.5)]) == TODAY - timedelta(days=1)


def test_a_rise_upstream_warns_before_it_is_here(silent):
    gauge = silent.gauge_links.first().gauge
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 0.45, 0.25))
    link_other(silent, lambda h: 0.80 + 0.15 * max(0, h + 1), delay_hours=2.0)

    seen = outlook_for(silent, TODAY, "morning", at=NOW).conditions

    assert seen.level.kind is Kind.OBSERVED
    assert seen.says[0] == (
        "The river upstream has risen 15 cm since 09:00 (Brook Weir): "
        "it arrives here about 11:00, or sooner."
    )
    assert seen.rise.value == pytest.approx(7.5)  # half of 15 cm an hour


def test_a_gauge_whose_delay_nobody_knows_is_not_called_upstream(silent):
    link_other(silent, lambda h: 0.80 + 0.3 * max(0, h + 1), delay_hours=0.0, learned={})

    assert outlook_for(silent, TODAY, "morning", at=NOW).conditions.upstream == ()


def test_a_further_gauge_that_is_not_needed_costs_few_questions(
    silent,
    django_assert_max_num_queries,
):
    gauge = silent.gauge_links.first().gauge
    make_readings(gauge, Quantity.LEVEL, hourly(lambda h: 0.45, 0.25))
    link_other(silent)
    fresh = type(silent).objects.get(pk=silent.pk)

    with django_assert_max_num_queries(20):
        outlook_for(fresh, TODAY, "morning", at=NOW)
