"""When a fit is due: a record that has grown, a skill that has slipped; told from counts alone."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from guiding.gauges import fit_turns
from guiding.gauges.actions import store_readings
from guiding.gauges.fit_turns import GROWN_BY, MODELS, claim, due_fits, give_back, on_file
from guiding.gauges.models import FitTurn, ScoredDay, Series
from tests.factories import make_gauge
from tests.gauges.fitted import DAY, HOUR, LAST_DAY, make_fit

pytestmark = pytest.mark.django_db

AT = LAST_DAY + DAY


@pytest.fixture
def gauge():
    gauge = make_gauge()
    for quantity, count in (("level_m", 1000), ("rain_mm", 1000)):
        Series.objects.create(gauge=gauge, quantity=quantity, on_file=count)
    return gauge


def tried(gauge, count=2000, at=AT, **changes):
    fields = {
        "tried_at": at,
        "tried_on_file": count,
        "tried_model": MODELS["level"],
        "said": "tried for a test",
        **changes,
    }
    FitTurn.objects.update_or_create(gauge=gauge, what="level", defaults=fields)


def due(at=AT + HOUR):
    return [(one.what, one.why) for one in due_fits(at)]


def grow(gauge, count):
    Series.objects.filter(gauge=gauge, quantity="level_m").update(on_file=1000 + count)


def test_a_gauge_with_levels_is_due_until_it_was_tried(gauge):
    assert due() == [("level", "none was tried yet")]
    tried(gauge)
    assert due() == []


def test_a_gauge_without_levels_is_not_tried_at_all():
    gauge = make_gauge()
    Series.objects.create(gauge=gauge, quantity="rain_mm", on_file=5000)

    assert due() == []


def test_water_temperature_is_fitted_where_it_is_on_file(gauge):
    tried(gauge)
    Series.objects.create(gauge=gauge, quantity="water_c", on_file=400)

    assert due() == [("water", "none was tried yet")]


def test_a_tenth_more_on_file_makes_it_due_and_a_little_less_does_not(gauge):
    tried(gauge)
    assert GROWN_BY == 0.1
    grow(gauge, 199)
    assert due() == []
    grow(gauge, 200)
    assert due() == [("level", "the record has grown from 2000 readings to 2200")]


def test_another_version_of_the_model_makes_it_due(gauge):
    tried(gauge, tried_model="an older one, 0")

    assert due() == [("level", f"the model is {MODELS['level']!r} now")]


def test_while_somebody_is_at_it_it_is_not_due(gauge):
    mine = claim(gauge, "level", AT)

    assert due(AT + HOUR / 2) == []
    assert due(AT + fit_turns.LEASE) == [("level", "none was tried yet")]
    assert give_back(gauge, "level", mine, at=AT, count=2000, said="done")
    assert due(AT + fit_turns.LEASE) == []


def test_a_turn_is_given_once(gauge):
    first, second = claim(gauge, "level", AT), claim(gauge, "level", AT + HOUR / 2)

    assert first is not None
    assert second is None
    later = claim(gauge, "level", AT + fit_turns.LEASE)
    assert later not in (None, first)
    assert not give_back(gauge, "level", first, at=AT, count=1, said="too late")
    assert FitTurn.objects.get().claimed_by == later


def test_what_another_has_done_since_is_not_claimed_again(gauge):
    (seen,) = due_fits(AT)
    other = claim(gauge, "level", AT, due=seen)
    give_back(gauge, "level", other, at=AT, count=2000, said="done")

    assert claim(gauge, "level", AT, due=seen) is None
    grow(gauge, 300)
    (again,) = due_fits(AT + HOUR)
    assert claim(gauge, "level", AT + HOUR, due=again) is not None


# --- skill that has slipped -----------------------------------------------------------------------

SCORES = [
    {"lead": lead, "crpss": 0.5, "cover80": 0.8, "rmse": 0.1, "pi": 0.6} for lead in (6, 24, 48, 72)
]


def record(fit, *, days=30, skill=0.5, inside=0.8, leads=(6, 24, 48, 72), until=AT):
    """Give a fit a record of its own: ten forecasts a day."""
    for k in range(days):
        for lead in leads:
            ScoredDay.objects.create(
                gauge=fit.gauge,
                fit=fit,
                lead_hours=lead,
                day=(until - DAY * (k + 1)).date(),
                count=10,
                inside=round(10 * inside),
                crps_count=10,
                crps_m=(1 - skill) * 1.0,
                stays_crps_m=1.0,
            )


@pytest.fixture
def in_force(gauge):
    tried(gauge, at=AT - 90 * DAY)
    return make_fit(gauge, scores=SCORES, model=MODELS["level"])


def test_a_skill_as_it_was_when_fitted_asks_for_nothing(in_force):
    record(in_force, skill=0.4)

    assert due() == []


def test_a_skill_clearly_below_that_of_its_own_trials_makes_it_due(in_force):
    record(in_force, skill=0.2)

    ((what, why),) = due()

    assert what == "level"
    assert why.startswith("skill has slipped: at 6 h the skill is 0.20, and it was 0.50 when")


def test_a_band_that_no_longer_holds_makes_it_due(in_force):
    record(in_force, inside=0.5)

    assert "50% of what came lay in the band of 80 %" in due()[0][1]


@pytest.mark.parametrize("few", [{"days": 10}, {"leads": (24,)}, {"until": AT - 70 * DAY}], ids=str)
def test_too_few_forecasts_a_single_lead_and_old_ones_are_no_slip(in_force, few):
    record(in_force, skill=-0.5, **few)

    assert due() == []


def test_after_a_try_in_vain_a_slip_is_left_alone_for_a_week(in_force):
    record(in_force, skill=-0.5)
    tried(in_force.gauge, at=AT - 3 * DAY)

    assert due() == []
    assert due(AT + 5 * DAY)


def test_the_record_of_an_earlier_fit_is_not_held_against_the_one_in_force(in_force):
    record(make_fit(in_force.gauge, is_in_force=False), skill=-0.5)

    assert due() == []


# --- what it costs --------------------------------------------------------------------------------


def test_it_asks_the_same_four_questions_and_none_of_the_readings(gauge):
    make_gauge()
    tried(gauge)
    fit = make_fit(gauge, scores=SCORES)
    record(fit)

    with CaptureQueriesContext(
        connection,
    ) as asked:
        due()

    assert len(asked) == 5
    assert not [q["sql"] for q in asked if '"gauges_reading"' in q["sql"]]


def test_readings_are_counted_as_they_are_written_and_a_repeated_one_is_not():
    gauge = make_gauge()
    rows = [(AT - HOUR * k, 0.5) for k in range(10)]

    store_readings(gauge, "level_m", rows, at=AT, name="a file")
    store_readings(gauge, "level_m", rows, at=AT, name="the same file")
    store_readings(gauge, "level_m", [(AT - HOUR, 0.6)], at=AT, name="a revised one")
    store_readings(gauge, "rain_mm", [(AT - timedelta(hours=2), 1.0)], at=AT, name="rain")
    store_readings(gauge, "visibility_cm", [(AT - HOUR, 80.0)], at=AT, name="a look")

    assert on_file(gauge, "level") == 11
    assert gauge.series.get(quantity="level_m").on_file == 10
