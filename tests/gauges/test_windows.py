"""For each beat the windows in its good range, from rows: marks, hours, delay, the unknown."""

from datetime import UTC, datetime, time, timedelta

import numpy as np
import pytest

from guiding.gauges.hydrology.record import ForecastRecord
from guiding.gauges.models import BeatGauge, Gauge, Mark
from guiding.gauges.windows import beat_windows
from guiding.regimes.models import Dam, DamBeat
from guiding.rivers.models import PartHours
from tests import factories

AT = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)  # Wednesday, 10:00 on the clock there
HOUR = timedelta(hours=1)


def forecast(paths):
    paths = np.asarray(paths, dtype=float)
    nothing = (None,) * paths.shape[1]
    return ForecastRecord(
        issued_at=AT,
        model="by hand",
        step_minutes=60,
        times=tuple(AT + (k + 1) * HOUR for k in range(paths.shape[1])),
        q10=nothing,
        q50=nothing,
        q90=nothing,
        paths=paths,
        inputs=(),
    )


@pytest.fixture
def gauge(db):
    beat = factories.make_beat(name="Upper Test")
    for part, starts, ends in [("morning", 8, 12), ("afternoon", 13, 17)]:
        PartHours.objects.create(water=beat.water, part=part, starts=time(starts), ends=time(ends))
    gauge = factories.make_gauge(beat, name="Alder Bridge")
    for kind, level_m in [("good", 0.4), ("high", 0.9)]:
        Mark.objects.create(gauge=gauge, kind=kind, level_m=level_m, seen=f"{kind} stone")
    return gauge


def windows(gauge, paths, *, levels=((AT, 0.5),), at=AT, not_known=""):
    record = None if paths is None else forecast(paths)
    fresh = Gauge.objects.get(pk=gauge.pk)
    return beat_windows(fresh, record, levels, at, not_known=not_known)


def rows(beat):
    return [(row.when, row.parts, row.chance) for row in beat.rows]


def test_the_hours_that_are_fished_are_joined_and_each_has_its_chance(gauge):
    paths = np.full((10, 120), 0.5)
    paths[:2, 24:] = 1.0  # two in ten leave the range on Thursday at 11:00 and stay out

    (beat,) = windows(gauge, paths)

    assert beat.beat == "Upper Test"
    assert beat.range_words == (
        "Good is from 0.40 m (good stone) to under 0.90 m (high stone) at the gauge."
    )
    assert rows(beat)[:2] == [
        ("Wednesday 20 May, now to 17:00", "morning and afternoon", "almost certain, over 95 %"),
        ("Thursday 21 May, 08:00 to 17:00", "morning and afternoon", "likely, about 80 %"),
    ]
    assert len(rows(beat)) == 5  # Wednesday to Sunday; Monday morning lies beyond five days
    assert beat.says == ()


def test_no_window_is_said_with_the_best_part_there_is(gauge):
    paths = np.full((10, 120), 1.2)
    paths[:3, 46:52] = 0.5  # Friday 09:00 to 14:00 on the clock: no whole part of a day
    paths[:3, 44:52] = 0.5  # and now all of Friday morning

    (beat,) = windows(gauge, paths)

    assert rows(beat) == []
    assert beat.says == (
        (
            "No window: no part of a day is as likely as not to stay within the range. The best "
            "is Friday 22 May, 08:00 to 12:00: unlikely, about 30 %."
        ),
    )


def test_beyond_the_forecast_it_is_not_known(gauge):
    paths = np.full((10, 120), 0.5)
    paths[:, 12:] = np.nan

    (beat,) = windows(gauge, paths)

    assert [row[0] for row in rows(beat)] == ["Wednesday 20 May, now to 17:00"]
    assert beat.says == (
        "Not known from Thursday 21 May, 08:00 on: the forecast does not reach there.",
    )


def test_the_water_takes_its_time_to_the_beat(gauge):
    BeatGauge.objects.update(delay_hours=6)
    paths = np.full((10, 120), 0.5)
    paths[:, 16:20] = 1.5  # at the gauge from 02:00 to 05:00 on Thursday, at the beat until 11:00

    (late,) = windows(gauge, paths, levels=[(AT + h * HOUR, 0.5) for h in range(-8, 1)])

    assert "Water at the gauge is here 6 h later" in late.range_words
    assert [row[0] for row in rows(late)][:2] == [
        "Wednesday 20 May, now to 17:00",
        "Thursday 21 May, 13:00 to 17:00",
    ]
    BeatGauge.objects.update(delay_hours=0)
    (at_once,) = windows(gauge, paths)
    assert [row[0] for row in rows(at_once)][1] == "Thursday 21 May, 08:00 to 17:00"


def test_water_on_its_way_that_nobody_measured_is_not_known(gauge):
    BeatGauge.objects.update(delay_hours=6)

    (beat,) = windows(gauge, np.full((10, 120), 0.5), levels=())

    assert beat.says == (
        (
            "Not known for Wednesday 20 May, 10:00 to 12:00; Wednesday 20 May, 13:00 to 17:00: "
            "the forecast does not reach there."
        ),
    )


def test_a_beats_own_marks_come_before_the_gauges(gauge):
    beat = gauge.beat_links.get().beat
    Mark.objects.create(gauge=gauge, beat=beat, kind="high", level_m=0.45, seen="its own")

    (told,) = windows(gauge, np.full((10, 120), 0.5))

    assert "to under 0.45 m (its own)" in told.range_words
    assert rows(told) == []
    other = factories.make_beat(name="Lower Test")
    BeatGauge.objects.create(beat=other, gauge=gauge)
    both = {one.beat: one.range_words for one in windows(gauge, np.full((10, 120), 0.5))}
    assert "to under 0.90 m (high stone)" in both["Lower Test"]


@pytest.mark.parametrize(
    ("regime", "why"),
    [
        ("regulated", "Not known: water is let out above it, and no gauge sees that coming."),
        ("tidal", "Not known: the tide moves it, and this forecast does not know the tide."),
    ],
)
def test_moved_water_is_not_known_whatever_the_gauge_says(gauge, regime, why):
    beat = gauge.beat_links.get().beat
    beat.regime = regime
    beat.save()

    (told,) = windows(gauge, np.full((10, 120), 0.5))

    assert (told.rows, told.says) == ((), (why,))


def test_a_beat_written_down_as_natural_below_a_dam_is_not_known_either(gauge):
    dam = Dam.objects.create(name="Test Dam", river=gauge.river)
    DamBeat.objects.create(dam=dam, beat=gauge.beat_links.get().beat, travel_hours=2)

    (told,) = windows(gauge, np.full((10, 120), 0.5))

    assert told.says[0].startswith("Not known: water is let out above it")


def test_without_a_forecast_the_reason_is_said(gauge):
    (silent,) = windows(gauge, None, not_known="the newest level is 4 days old")
    (ice,) = windows(gauge, None, not_known="ice is possible")
    (unasked,) = windows(gauge, None)

    assert silent.says == ("Not known: the newest level is 4 days old.",)
    assert ice.says == ("Not known: ice is possible.",)
    assert unasked.says == ("Not known: nothing is forecast.",)


def test_marks_that_give_no_range_or_hold_no_longer_give_no_window(gauge):
    Mark.objects.filter(kind="high").delete()
    (open_ended,) = windows(gauge, np.full((10, 120), 0.5))
    Gauge.objects.update(marks_suspended_since=AT, marks_suspended_why="the datum was moved")
    (suspended,) = windows(gauge, np.full((10, 120), 0.5))

    assert open_ended.says == ("Not known: no mark above good says where the good range ends.",)
    assert suspended.says == (
        "Not known: the marks are set aside since Wednesday 20 May, 10:00: the datum was moved.",
    )


def test_a_further_gauge_sends_to_the_first_one(gauge):
    other = factories.make_gauge(name="Lower Bridge", river=gauge.river)
    BeatGauge.objects.create(beat=gauge.beat_links.get().beat, gauge=other, order=2, ratio=0.8)

    (told,) = windows(other, np.full((10, 120), 0.5))

    assert told.says == ("Not known: this beat is read at Alder Bridge: look there.",)


def test_only_the_hours_on_file_are_fished_and_usual_ones_are_said_to_be_usual(gauge):
    PartHours.objects.filter(part="afternoon").delete()
    (mornings,) = windows(gauge, np.full((10, 120), 0.5))
    PartHours.objects.all().delete()
    (usual,) = windows(gauge, np.full((10, 120), 0.5))

    assert {row[1] for row in rows(mornings)} == {"morning"}
    assert "No hours are on file for this water: the usual ones are taken." in usual.says
    assert any("night" in row[1] for row in rows(usual))


def test_out_of_its_season_nothing_is_fished(gauge):
    PartHours.objects.update(first_month_day="09-01", last_month_day="10-31")

    (told,) = windows(gauge, np.full((10, 120), 0.5))

    assert told.says == ("No part of the next five days is down to be fished on this water.",)


def test_more_beats_ask_no_more_questions(gauge, django_assert_num_queries):
    def count():
        with django_assert_num_queries(9):
            windows(gauge, np.full((10, 120), 0.5))

    count()
    for number in range(4):
        beat = factories.make_beat(
            name=f"Beat {number} Test", water=gauge.beat_links.first().beat.water
        )
        BeatGauge.objects.create(beat=beat, gauge=gauge)
    count()
