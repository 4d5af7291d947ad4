"""Fits kept with what they were made from, and none taken into force that is worse."""

import json
import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import IntegrityError, connection, transaction

from guiding.gauges import fit_kinds
from guiding.gauges.fit_turns import LEASE, claim
from guiding.gauges.fitting import TurnLost, TurnTaken, fit_due, fit_gauge
from guiding.gauges.forecasting import issue_forecast
from guiding.gauges.hydrology import level_model
from guiding.gauges.models import Fit, FitTurn, Forecast, Reading
from guiding.history.models import Event
from tests.factories import make_readings
from tests.gauges.fitted import DAY, LAST_DAY, daily_gauge, days_on, make_fit

pytestmark = pytest.mark.django_db

AT = LAST_DAY + DAY + timedelta(hours=9)
NEXT_DAY = LAST_DAY + DAY


@pytest.fixture
def gauge():
    return daily_gauge(1.0)


def fit(gauge, at=AT, what="level"):
    return fit_gauge(gauge, what, at=at)


def test_a_fit_is_kept_with_its_data_its_scores_and_the_codes_version(gauge):
    told = []

    outcome = fit_gauge(gauge, "level", at=AT, tell=lambda what, share: told.append((what, share)))

    row = Fit.objects.get()
    assert outcome.fit == row
    assert row.is_in_force
    assert row.why == "Taken into force: there was none before."
    assert row.model == level_model.MODEL
    assert (row.data_to, row.data_count) == (LAST_DAY, 365)
    assert row.data_from == LAST_DAY - 364 * DAY
    assert row.data_on_file == 730
    assert row.rain == "degraded"
    assert row.parameters["x1_mm"] > 0
    assert [score["lead"] for score in row.scores][:5] == [1, 2, 3, 4, 5]
    assert row.scores[0]["crpss"] > 0.2
    assert [share for _, share in told] == sorted(share for _, share in told)
    assert told[-1] == ("done", 1.0)
    assert Event.objects.filter(what="fit kept").count() == 1


def test_the_next_forecast_is_made_with_the_fit_in_force_and_earlier_moments_are_not(gauge):
    before = issue_forecast(gauge, at=AT)
    row = fit(gauge, AT + timedelta(minutes=1)).fit

    after = issue_forecast(gauge, at=AT + timedelta(minutes=2))
    as_of_before = issue_forecast(gauge, at=AT)

    assert before.fit is None
    assert (after.fit, after.model) == (row, level_model.MODEL)
    assert after.inputs[-1]["what"] == "river model"
    assert after.inputs[-1]["source"].startswith(level_model.MODEL)
    assert as_of_before == before  # a fit of later is no part of what was known then


def test_nothing_of_the_past_beyond_the_warm_up_is_read_for_a_forecast_with_a_fit():
    gauge = daily_gauge(0.6)
    fit(gauge)
    long_ago = [(LAST_DAY - DAY * k, 0.5) for k in range(300, 2000)]
    for quantity in ("level_m", "rain_mm"):
        make_readings(gauge, quantity, long_ago)
    asked = []

    def watch(execute, sql, params, many, context):
        if sql.startswith("SELECT") and '"gauges_reading"."value"' in sql:
            asked.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        issue_forecast(gauge, at=AT)

    with connection.cursor() as cursor:
        for sql, params in asked:
            cursor.execute(sql, params)
            assert len(cursor.fetchall()) <= 366
    assert len(asked) >= 2


def test_under_a_season_nothing_is_fitted_and_it_says_why():
    gauge = daily_gauge(0.2)

    outcome = fit(gauge)

    assert outcome.fit is None
    assert "less than a season" in outcome.why
    assert not Fit.objects.exists()
    turn = FitTurn.objects.get()
    assert turn.said == outcome.why
    assert turn.claimed_until is None
    assert (
        "like water in this river's own past stands in"
        in (issue_forecast(gauge, at=AT).inputs[-1]["source"])
    )


def test_with_nothing_on_file_nothing_is_fitted(gauge):
    outcome = fit(gauge, what="water")

    assert (outcome.fit, outcome.why) == (None, "No water temperature is on file.")


def test_a_record_that_ended_long_ago_is_not_called_none():
    gauge = daily_gauge(0.3)

    why = fit(gauge, AT + 366 * 61 * DAY).why

    assert why == "No level of the last 60 years is on file."


def test_the_same_readings_once_more_leave_the_fit_in_force_and_keep_the_other(gauge):
    first = fit(gauge).fit

    second = fit(gauge, AT + timedelta(hours=1)).fit

    assert list(Fit.objects.in_force()) == [first]
    assert not second.is_in_force
    assert "nothing is on file that the one in force had not seen" in second.why
    assert second.began_at is None


def test_a_grown_record_brings_a_fit_that_is_as_good_into_force_and_the_other_is_kept(gauge):
    first = fit(gauge).fit
    days_on(gauge, NEXT_DAY, 60)
    later = AT + 60 * DAY

    second = fit(gauge, later).fit

    first.refresh_from_db()
    assert second.is_in_force
    assert second.why.startswith("Taken into force: on days that neither had seen its error is ")
    assert (first.is_in_force, first.ended_at) == (False, later)
    assert first.learned
    blind, both = second.compared
    assert blind["n"] >= 20
    assert np.mean(blind["new"]) <= 1.02 * np.mean(blind["old"])
    assert both["where"] == "on days that both had learned from"


def test_a_fit_that_is_worse_on_days_that_neither_has_seen_is_not_taken(gauge, monkeypatch):
    first = fit(gauge).fit
    days_on(gauge, NEXT_DAY, 60)
    good = fit_kinds.fit_level

    def clumsy(history, **told):
        # a way of learning that has forgotten what rain does: its rain is another day's
        rolled = np.roll(history.rain_mm, 40)
        return good(replace(history, rain_mm=rolled), **told)

    monkeypatch.setattr(fit_kinds, "fit_level", clumsy)

    second = fit(gauge, AT + 60 * DAY).fit

    assert not second.is_in_force
    assert second.why.startswith("Not taken into force:")
    assert list(Fit.objects.in_force()) == [first]
    assert issue_forecast(gauge, at=AT + 60 * DAY).fit == first


def test_a_fit_that_has_learned_from_readings_gone_wrong_is_not_taken(gauge):
    first = fit(gauge).fit
    noise = np.random.default_rng(3)
    days_on(gauge, NEXT_DAY, 120, level=noise.uniform(0.2, 4.0, 120))

    second = fit(gauge, AT + 120 * DAY).fit

    assert not second.is_in_force
    assert list(Fit.objects.in_force()) == [first]


def test_years_that_come_in_later_bring_a_better_fit_into_force():
    gauge = daily_gauge(2.0)
    old = list(Reading.objects.filter(observed_at__lt=LAST_DAY - 200 * DAY))
    kept = [(row.series.quantity, row.observed_at, row.value) for row in old]
    Reading.objects.filter(pk__in=[row.pk for row in old]).delete()
    first = fit(gauge).fit
    for quantity in ("level_m", "rain_mm"):
        make_readings(
            gauge, quantity, [(at, value) for what, at, value in kept if what == quantity]
        )

    second = fit(gauge, AT + timedelta(hours=1)).fit

    assert first.data_count == 201
    assert second.data_count > 700
    assert second.is_in_force, second.why


def test_a_fit_no_better_than_it_stays_as_it_is_is_not_taken(gauge, monkeypatch):
    kept = fit_kinds.LevelKind.kept

    def useless(self, model):
        return replace(kept(self, model), is_of_use=False)

    monkeypatch.setattr(fit_kinds.LevelKind, "kept", useless)

    row = fit(gauge).fit

    assert not row.is_in_force
    assert "no better than “it stays as it is”" in row.why


def test_a_fit_by_another_version_gives_way_and_is_not_forecast_with(gauge):
    strange = make_fit(gauge, model="an older one, 0")

    forecast = issue_forecast(gauge, at=AT)
    row = fit(gauge).fit

    strange.refresh_from_db()
    assert forecast.fit is None
    assert "it was made by 'an older one, 0'" in forecast.inputs[-1]["source"]
    assert known(forecast) == 5
    assert row.is_in_force
    assert not strange.is_in_force
    assert "can no longer be used" in row.why


def known(forecast):
    return sum(level is not None for level in forecast.quantiles["q50"])


def test_where_the_fit_cannot_speak_the_rivers_own_past_does_and_both_are_said(gauge):
    fit(gauge)
    Reading.objects.filter(
        series__quantity="rain_mm", observed_at__gte=LAST_DAY - 10 * DAY
    ).delete()

    forecast = issue_forecast(gauge, at=AT)

    assert forecast.fit is None
    assert forecast.says[0].startswith("Not known by the river model:")
    assert "the one on file cannot speak now" in forecast.inputs[-1]["source"]
    assert known(forecast) > 0


def test_only_one_fit_of_a_gauge_can_be_in_force(gauge):
    make_fit(gauge)

    with pytest.raises(IntegrityError), transaction.atomic():
        make_fit(gauge)
    make_fit(gauge, what="water")


# --- turns ----------------------------------------------------------------------------------------


def test_two_at_once_do_not_both_work(gauge):
    assert claim(gauge, "level", AT) is not None

    with pytest.raises(TurnTaken):
        fit(gauge, AT + LEASE - timedelta(minutes=1))

    assert not Fit.objects.exists()


def test_a_turn_held_by_a_process_that_was_killed_ends_by_itself(gauge):
    claim(gauge, "level", AT)

    assert fit(gauge, AT + LEASE).fit.is_in_force


def test_who_has_lost_the_turn_keeps_nothing(gauge, monkeypatch):
    learn = fit_kinds.LevelKind.learn

    def slow(self, *told):
        FitTurn.objects.update(claimed_by=uuid.uuid4())  # another has taken over meanwhile
        return learn(self, *told)

    monkeypatch.setattr(fit_kinds.LevelKind, "learn", slow)

    with pytest.raises(TurnLost):
        fit(gauge)

    assert not Fit.objects.exists()
    assert not Event.objects.filter(what="fit kept").exists()


def test_a_fit_that_fails_gives_its_turn_back_and_says_so(gauge, monkeypatch):
    def stumble(self, *told):
        raise ZeroDivisionError("no water")

    monkeypatch.setattr(fit_kinds.LevelKind, "learn", stumble)

    done = fit_due(AT)

    assert done.failed == (f"fit of {gauge}: ZeroDivisionError: no water",)
    turn = FitTurn.objects.get()
    assert turn.claimed_until is None
    assert "no water" in turn.said
    assert fit_due(AT + timedelta(minutes=1)).failed == ()  # not over and over


def test_nothing_is_fitted_or_read_inside_a_transaction(gauge, monkeypatch):
    inside = []
    learn = fit_kinds.LevelKind.learn
    depth = len(connection.savepoint_ids)

    def watched(self, *told):
        inside.append(len(connection.savepoint_ids) - depth)
        return learn(self, *told)

    monkeypatch.setattr(fit_kinds.LevelKind, "learn", watched)

    fit(gauge)

    assert inside == [0]


# --- water temperature ----------------------------------------------------------------------------


def warm_river(gauge, days=400):
    """Give a gauge water that follows the air of a year, both invented."""
    draw = np.random.default_rng(5)
    when = [LAST_DAY - DAY * k for k in range(days)][::-1]
    season = np.array([np.sin(2 * np.pi * (at.timetuple().tm_yday - 110) / 365) for at in when])
    air = 9 + 8 * season + np.convolve(draw.normal(0, 3, days), np.ones(4) / 4, "same")
    water = 9 + 6 * season + np.convolve(air - 9 - 8 * season, np.ones(3) / 4, "same")
    water += draw.normal(0, 0.2, days)
    make_readings(gauge, "air_c", zip(when, air.tolist(), strict=True))
    make_readings(gauge, "water_c", zip(when, np.maximum(water, 0.1).tolist(), strict=True))


def test_water_temperature_is_fitted_and_forecast_beside_the_level(gauge):
    warm_river(gauge)

    outcome = fit(gauge, what="water")
    forecast = issue_forecast(gauge, at=AT)

    assert outcome.fit.is_in_force
    assert outcome.fit.data_count == 400
    water = forecast.as_record().water
    assert water.model == outcome.fit.model
    assert water.times == forecast.as_record().times
    assert None not in water.q50
    assert all(
        low < middle < high
        for low, middle, high in zip(water.q10, water.q50, water.q90, strict=True)
    )
    assert {given["what"] for given in forecast.inputs} >= {"water temperature", "air temperature"}


def test_without_a_fit_of_the_water_nothing_is_said_of_its_temperature(gauge):
    assert issue_forecast(gauge, at=AT).water == {}


def test_a_new_forecast_of_the_water_alone_is_issued(gauge):
    warm_river(gauge)
    first = issue_forecast(gauge, at=AT)
    fit(gauge, AT + timedelta(minutes=1), what="water")

    second = issue_forecast(gauge, at=AT + timedelta(minutes=2))

    assert second != first
    assert second.quantiles == first.quantiles
    assert Forecast.objects.count() == 2


# --- the command ----------------------------------------------------------------------------------


def run(capsys, *words):
    with time_machine.travel(AT, tick=False):
        call_command("calibrate", *words)
    return capsys.readouterr()


def test_calibrate_prints_one_object_and_tells_its_progress(gauge, capsys):
    printed = run(capsys, gauge.name, "--json")

    answer = json.loads(printed.out)
    assert answer["gauge"] == gauge.name
    level = answer["level"]
    assert (level["is_fitted"], level["is_in_force"]) == (True, True)
    assert level["data"]["n"] == 365
    assert level["scores"][0].keys() >= {"lead", "n", "rmse", "pi", "crps", "crpss", "cover80"}
    assert answer["water"] == {
        "is_fitted": False,
        "is_in_force": False,
        "why": "No water temperature is on file.",
    }
    assert "level: searching the stores" in printed.err


def test_calibrate_says_in_words_what_it_decided(gauge, capsys):
    out = run(capsys, gauge.name).out

    assert "Level: Taken into force: there was none before." in out
    assert "1 day ahead: off by 0.0" in out
    assert "Water temperature: nothing was fitted. No water temperature is on file." in out


def test_calibrate_under_a_season_says_so_and_ends_well(capsys):
    gauge = daily_gauge(0.2)

    assert "less than a season" in run(capsys, gauge.name).out


def test_calibrate_refuses_an_unknown_gauge_and_one_that_is_being_fitted(gauge, capsys):
    with pytest.raises(CommandError, match="No gauge is named 'Nowhere'"):
        run(capsys, "Nowhere")
    claim(gauge, "level", AT)
    with pytest.raises(CommandError, match="another process is fitting") as refused:
        run(capsys, gauge.name)
    assert refused.value.returncode == 2


def test_the_moment_of_a_fit_hides_what_came_later(gauge):
    days_on(gauge, NEXT_DAY, 30)

    row = fit(gauge, datetime(2026, 5, 20, 9, tzinfo=UTC)).fit

    assert row.data_to == LAST_DAY
