"""How good we have been: what is enough to speak of, what is poor, and that it is said."""

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from guiding.accounts.models import User
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.models import BeatGauge, ForecastScore, ScoredDay
from guiding.gauges.outlook import conditions_for
from guiding.gauges.record_page import record_page
from guiding.gauges.scored_days import add_score
from guiding.gauges.skill import NOT_YET_KNOWN, POOR, lead_words, record_remark, skill_of, summed
from tests.factories import make_beat, make_gauge
from tests.gauges.fitted import DAY, LAST_DAY, daily_gauge, make_fit

AT = LAST_DAY + DAY + timedelta(hours=9)


def scored_day(day=date(2026, 5, 1), lead_hours=24, **changes):
    """Return one day's sums of one forecast that was off by 4 cm where staying was off by 10."""
    fields = {
        "day": day,
        "lead_hours": lead_hours,
        "count": 2,
        "inside": 2,
        "error_m": 0.08,
        "stays_error_m": 0.2,
        "squares": 0.0032,
        "stays_squares": 0.02,
        "crps_count": 2,
        "crps_m": 0.06,
        "stays_crps_m": 0.15,
        **changes,
    }
    return ScoredDay(**fields)


def many(gauge, days=40, **changes):
    """Store as many days of a record, of which every sixth forecast fell outside the band."""
    for k in range(days):
        day = AT.date() - timedelta(days=k + 1)
        fields = {"inside": 1 if k % 3 == 0 else 2, **changes}
        for lead in (24, 120):
            row = scored_day(day=day, lead_hours=lead, **fields)
            row.gauge = gauge
            row.save()


def test_a_lead_is_the_mean_of_its_days():
    days = [scored_day(), scored_day(day=date(2026, 5, 2), inside=1, error_m=0.04, crps_m=0.03)]

    (lead,) = summed(days).leads

    assert (lead.count, lead.days) == (4, 2)
    assert lead.error_m == pytest.approx(0.03)
    assert lead.stays_error_m == pytest.approx(0.1)
    assert lead.inside == 0.75
    assert lead.skill == pytest.approx(1 - 0.09 / 0.30)  # by hand
    assert not lead.is_enough


def test_forecasts_of_a_few_days_are_not_enough_however_many():
    days = [scored_day(day=date(2026, 5, k + 1), count=24, inside=24) for k in range(19)]

    (lead,) = summed(days).leads

    assert lead.count == 456
    assert not lead.is_enough
    assert not lead.is_wrong_wide
    assert summed([*days, scored_day(day=date(2026, 5, 20))]).leads[0].is_enough


def test_a_score_is_added_to_its_day_with_the_chances_that_were_given():
    day = scored_day(count=0, inside=0, error_m=0.0, stays_error_m=0.0, crps_m=0.0)
    day.stays_crps_m, day.crps_count, day.chances = 0.0, 0, {}
    row = ForecastScore(
        lead_hours=24,
        observed_m=0.5,
        q50=0.53,
        stays_m=0.4,
        crps_m=0.02,
        stays_crps_m=0.05,
        is_inside=True,
        marks=[
            {"chance": 0.3, "happened": True},
            {"chance": 0.34, "happened": False},
            {"chance": 1.0, "happened": True},
            {"chance": 0.5, "happened": None},
        ],
    )

    add_score(day, row)

    assert (day.count, day.inside, day.crps_count) == (1, 1, 1)
    assert day.error_m == pytest.approx(0.03)
    assert day.stays_error_m == pytest.approx(0.1)
    assert day.chances == {"3": [2, pytest.approx(0.64), 1], "9": [1, 1.0, 1]}


@pytest.mark.parametrize(
    ("hours", "is_daily", "words"),
    [
        (6, False, "6 hours"),
        (24, False, "24 hours"),
        (24, True, "1 day"),
        (48, False, "2 days"),
        (120, True, "5 days"),
    ],
)
def test_leads_are_said_as_people_say_them(hours, is_daily, words):
    assert lead_words(hours, is_daily=is_daily) == words


@pytest.mark.django_db
class TestRemark:
    def test_without_a_record_it_is_not_yet_known(self):
        gauge = make_gauge()
        assert record_remark(gauge, AT) == NOT_YET_KNOWN
        many(gauge, days=19)
        assert record_remark(gauge, AT) == NOT_YET_KNOWN

    def test_a_fair_record_asks_for_no_word(self):
        gauge = make_gauge()
        many(gauge)

        assert record_remark(gauge, AT) == ""

    def test_no_better_than_it_stays_as_it_is_is_poor(self):
        gauge = make_gauge()
        many(gauge, crps_m=0.16)

        said = record_remark(gauge, AT)

        assert said.startswith("Our record on this gauge is poor. 24 hours and 5 days ahead, ")
        assert "“it stays as it is” did as well as we did or better" in said

    @pytest.mark.parametrize(
        ("inside", "words"), [(1, "held only 50% of what came"), (2, "wider than the river needed")]
    )
    def test_a_band_that_holds_far_fewer_or_far_more_than_it_should_is_poor(self, inside, words):
        gauge = make_gauge()
        many(gauge, inside=inside)

        assert words in record_remark(gauge, AT)

    def test_what_is_older_than_a_year_no_longer_counts(self):
        gauge = make_gauge()
        many(gauge, crps_m=0.2)

        assert "poor" in record_remark(gauge, AT)
        assert record_remark(gauge, AT + timedelta(days=400)) == NOT_YET_KNOWN

    def test_days_to_come_do_not_count_yet(self):
        gauge = make_gauge()
        many(gauge, crps_m=0.2)

        assert record_remark(gauge, AT - timedelta(days=30)) == NOT_YET_KNOWN

    def test_the_record_of_one_fit_is_told_apart(self):
        gauge = make_gauge()
        many(gauge)
        fit = make_fit(gauge)
        ScoredDay.objects.filter(lead_hours=24).update(fit=fit)

        assert [lead.lead_hours for lead in skill_of(gauge, AT, fit=fit.pk).leads] == [24]
        assert [lead.lead_hours for lead in skill_of(gauge, AT).leads] == [24, 120]

    def test_a_poor_record_is_said_in_the_forecast_itself(self):
        gauge = daily_gauge()
        many(gauge, inside=0)

        says = issue_forecast(gauge, at=AT).says

        assert [line for line in says if line.startswith("Our record on this gauge is poor.")]

    def test_a_poor_record_stands_on_the_outlook_and_in_the_conditions_once(self, client):
        beat = make_beat()
        gauge = daily_gauge()
        BeatGauge.objects.create(beat=beat, gauge=gauge)
        many(gauge, inside=0)
        issue_forecast(gauge, at=AT)

        told = conditions_for(beat, AT.date(), "afternoon", at=AT).says
        client.force_login(User.objects.create_user("guide", role="guide"))
        with time_machine.travel(AT, tick=False):
            page = client.get(reverse("gauges:river", args=[gauge.key])).content.decode()

        assert sum(line.startswith(POOR) for line in told) == 1
        assert page.count(POOR) == 1

    def test_no_forecast_is_issued_anew_because_our_record_has_moved(self):
        gauge = daily_gauge()
        many(gauge, inside=0)
        first = issue_forecast(gauge, at=AT)

        ScoredDay.objects.update(inside=1)

        assert issue_forecast(gauge, at=AT + timedelta(minutes=5)) == first

    def test_a_record_that_is_not_poor_or_not_known_is_not_said_in_it(self):
        gauge = daily_gauge()

        says = issue_forecast(gauge, at=AT).says

        assert not [line for line in says if "record on this gauge" in line]


@pytest.mark.django_db
class TestPage:
    @pytest.fixture
    def desk(self, client):
        client.force_login(User.objects.create_user("guide", role="guide"))
        return client

    def text(self, desk, gauge):
        with time_machine.travel(AT, tick=False):
            answer = desk.get(reverse("gauges:record", args=[gauge.key]))
        assert answer.status_code == 200
        return " ".join(answer.content.decode().split())

    def test_an_empty_record_says_that_it_is_not_yet_known_and_teaches(self, desk):
        text = self.text(desk, make_gauge())

        assert "How good our forecasts of this gauge are is not yet known." in text
        assert "manage.py tend" in text
        assert "<svg" not in text
        assert "No model of the level is fitted. None was tried yet." in text

    def test_a_record_is_told_by_lead_against_it_stays_as_it_is(self, desk):
        gauge = make_gauge()
        many(gauge, chances={"3": [4, 1.3, 1], "8": [20, 17.0, 18]})

        text = self.text(desk, gauge)

        assert "24 hours ahead our middle value was off by 4 cm on average" in text
        assert "“it stays as it is” by 10 cm" in text
        assert "much better: 60% less error, spread and all" in text
        assert "80 on 40 days" in text
        assert "82% lay in the band, of the 80 % it is made for" in text  # 66 of 80
        assert "80% to 90%" in text
        assert "90% of them" in text
        assert text.count("<svg") == 1
        assert 'style="' not in text

    def test_a_poor_record_comes_first(self, desk):
        gauge = make_gauge()
        many(gauge, crps_m=0.2)

        text = self.text(desk, gauge)

        assert '<h1 class="long">Our record on this gauge is poor.</h1>' in text
        assert "worse: 33% more error, spread and all" in text

    def test_fits_are_told_with_what_was_decided(self, desk):
        gauge = make_gauge()
        make_fit(gauge, why="Taken into force: there was none before.")

        text = self.text(desk, gauge)

        assert "Level, in force" in text
        assert "Taken into force: there was none before." in text
        assert "No model of the water temperature is fitted." in text

    def test_it_asks_for_the_same_few_queries_however_long_the_record(
        self, desk, django_assert_num_queries
    ):
        gauge = make_gauge()
        many(gauge, days=300)

        with django_assert_num_queries(3):
            page = record_page(gauge, AT)

        assert page.since == AT.date() - timedelta(days=300)

    def test_it_is_for_those_who_have_signed_in(self, client):
        answer = client.get(reverse("gauges:record", args=[make_gauge().key]))

        assert answer.status_code == 302
        assert "/account/sign-in/" in answer.url
