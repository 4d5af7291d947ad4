"""Schedule, table and look in the advice: wading, cautions, the pack, the letter, the command."""

import json
from datetime import timedelta

import pytest

from briefings.actions import issue_briefing
from briefings.cautions import day as cautions
from briefings.cautions.shape import Ground
from briefings.gather import circumstances_of
from briefings.groundwork import lay_groundwork
from briefings.letters import day_sheet_html, day_sheet_text
from briefings.management.commands.advise import Command
from briefings.pools import client_words
from guiding.gauges.models import BeatGauge
from guiding.regimes.actions import keep_look
from guiding.regimes.models import DamBeat
from tests.briefings.stored import AT, DAY, store_trip
from tests.factories import make_conditions, make_readings
from tests.gauges.test_moved import moved, wave
from tests.regimes.schedules import make_dam, make_tide, print_table, release, say

ON_THE_BANK = AT + timedelta(hours=15, minutes=30)  # 09:30 by the river's clock, hours from 09:00
OUT_BY = "Out of the water, and back from its edge, by 12:30."


@pytest.fixture
def trip(db):
    """Return a trip on a beat three hours below a dam, with steady readings into the morning."""
    trip = store_trip()
    trip.beat.regime = "regulated"
    trip.beat.save()
    hours = [AT + timedelta(hours=n) for n in range(16)]
    make_readings(trip.gauge, "level_m", [(moment, 0.35) for moment in hours])
    make_readings(trip.gauge, "water_c", [(moment, 12.0) for moment in hours])
    return trip


@pytest.fixture
def dam(trip):
    return make_dam(trip.beat)


def part_of(trip, at=ON_THE_BANK):
    (part,) = lay_groundwork(trip.booking, issue="final", at=at).parts
    return part


def words_of(trip, at=ON_THE_BANK):
    return client_words(part_of(trip, at).wading, comes_to_fish=True)


def content_of(trip, at=AT, person=True):
    return issue_briefing(trip.booking, trip.ada if person else None, issue="final", at=at).content


# --- wading --------------------------------------------------------------------------------------


def test_without_that_days_schedule_it_is_not_known_and_bank_only(trip, dam):
    (row, _) = part_of(trip).wading

    assert words_of(trip) == "Bank only."
    assert row.wading.verdict == "not_known"
    assert row.wading.text == "not known: no schedule of Alder Dam for Thursday 28 May is on file"
    assert row.wading.stop_level_m is None
    assert row.wading.client_text == "bank only"


def test_without_any_dam_on_file_it_is_not_known_and_bank_only(trip):
    (row, _) = part_of(trip).wading

    assert row.wading.text == "not known: no dam is on file above this beat"
    assert words_of(trip) == "Bank only."


def test_with_schedule_soundings_and_the_level_measured_now_the_guide_decides(trip, dam):
    say(dam, DAY, release("10:00", "12:00"), at=AT)

    part = part_of(trip)

    assert words_of(trip) == "Your guide decides at the water."
    assert part.advice.conditions.out_by_words == OUT_BY
    assert all(row.wading.stop_level_m is not None for row in part.wading)
    assert all(row.chance is None for row in part.wading)  # rain's forecast says nothing here


def test_a_schedule_alone_clears_nobody(trip, dam):
    say(dam, DAY, at=AT)

    assert words_of(trip, AT) == "Bank only."  # the evening before
    DamBeat.objects.update(gauge_is_below=False)
    assert words_of(trip) == "Bank only."
    (row, _) = part_of(trip).wading
    assert row.wading.text == "not known: no gauge on file feels what moves this water"
    assert row.wading.stop_level_m is None  # what that gauge reads is another water's level
    DamBeat.objects.update(gauge_is_below=True)
    trip.beat.pools.first().soundings.all().delete()
    trip.beat.pools.last().soundings.all().delete()
    assert words_of(trip) == "Bank only."
    BeatGauge.objects.all().delete()
    assert words_of(trip) == "Bank only."


def test_while_a_wave_is_here_or_due_wading_stops(trip, dam):
    say(dam, DAY, release("06:45", "07:30"), at=AT)  # here from 09:45, out by 09:15

    (row, _) = part_of(trip).wading

    assert row.wading.verdict == "stop"
    assert row.wading.decider == "regulated or tidal water"
    assert words_of(trip) == "Bank only."


def test_tidal_water_is_told_the_same_way(trip):
    trip.beat.regime = "tidal"
    trip.beat.save()
    place = make_tide(trip.beat, gauge_is_here=True)
    (row, _) = part_of(trip).wading
    assert row.wading.text == (
        "not known: no tide table of Firth Mouth for Thursday 28 May is on file"
    )

    # by hand: high water 13:30 there, 14:30 here, felt from 12:30, half an hour before
    print_table(place, DAY, "high 01:00", "low 07:10", "high 13:30", "low 19:40", at=AT)

    part = part_of(trip)
    assert part.advice.conditions.out_by_words.endswith("by 12:00.")
    assert words_of(trip) == "Your guide decides at the water."
    assert words_of(trip, ON_THE_BANK - timedelta(hours=1)) == "Bank only."  # not begun


def test_the_level_of_other_water_is_judged_as_before():
    natural = circumstances_of(make_conditions())
    unknown = circumstances_of(make_conditions(regime="tidal"))

    assert natural.is_moved is False
    assert unknown.is_moved is None
    assert unknown.why_moved == "no schedule or table is on file"


def test_ice_that_was_seen_stops_wading_on_water_that_is_not_cold(trip):
    trip.beat.regime = "natural"
    trip.beat.save()
    river = trip.beat.water.river
    keep_look(
        river, beat=None, seen="floating", looked_at=ON_THE_BANK, who_looked="R", at=ON_THE_BANK
    )

    (row, _) = part_of(trip).wading

    assert row.wading.decider == "ice"
    assert words_of(trip) == "Bank only."


# --- cautions ------------------------------------------------------------------------------------

GROUND = Ground(regime="regulated", power_lines=(), hazards=(), bottoms=(), people_on_the_bank=2)


def conditions_with(*waves, **changes):
    water = moved(*waves)
    return make_conditions(
        regime="regulated",
        moved=water,
        starts_at=water.starts_at,
        day=water.day,
        asked_at=water.starts_at,
        **changes,
    )


def test_the_time_to_be_out_leads_the_black_bar_and_the_standing_caution_follows():
    bar = cautions.danger_line(conditions_with(wave(2.5)), GROUND, "Your guide decides.")

    assert bar == (
        "Out of the water, and back from its edge, by 12:00. "
        "Water may be let go from the dam at any time."
    )


def test_no_schedule_takes_a_caution_away():
    without = {r.text for r in cautions.for_day(make_conditions(regime="regulated"), GROUND)}
    none_planned = {r.text for r in cautions.for_day(conditions_with(), GROUND)}
    planned = {r.text for r in cautions.for_day(conditions_with(wave(2.5)), GROUND)}

    assert without <= none_planned
    assert without < planned


# --- the pack ------------------------------------------------------------------------------------


def test_the_day_sheet_and_the_letter_say_when_to_be_out(trip, dam):
    say(dam, DAY, release("10:00", "12:00", "10 m3/s"), at=AT)

    content = content_of(trip)

    assert content["parts"][0]["out_by"] == OUT_BY
    assert content["danger"].startswith(OUT_BY)
    assert "Bank only." in content["danger"]
    assert content["wading"] == "Bank only."
    assert content["river"]["sentence"] == ("Water let go at Alder Dam may be here from 13:00 on.")
    assert "a plan and not a promise" in content["river"]["detail"]
    for sheet in (day_sheet_text(content), day_sheet_html(content)):
        assert sheet.count(OUT_BY) >= 3
    (source,) = [row for row in content["sources"] if row["what"].startswith("releases at")]
    assert source["value"] == "10:00 to 12:00 (10 m3/s)"
    assert source["source"] == "said by the keeper"


def test_a_day_without_a_schedule_says_so_in_the_pack(trip, dam):
    content = content_of(trip)

    assert content["wading"] == "Bank only."
    assert content["parts"][0]["out_by"] == ""
    assert "Not known, bank only: no schedule of Alder Dam" in content["river"]["detail"]
    assert content["river"]["sentence"].startswith("What this water will do is not known")


def test_a_schedule_changed_after_the_pack_makes_a_new_issue_that_says_so_first(trip, dam):
    say(dam, DAY, release("10:00", "12:00"), at=AT)
    first = content_of(trip)
    later = AT + timedelta(hours=2)
    say(dam, DAY, release("08:30", "12:00"), at=later)

    second = content_of(trip, at=later)

    assert second["number"] == first["number"] + 1
    assert second["parts"][0]["out_by"].endswith("by 11:00.")
    assert (
        "Thursday 28 May, morning: Out of the water, and back from its edge, by 11:00. "
        f"It said: {OUT_BY}"
    ) in second["changes"]
    assert second["changes"][0].startswith("the danger line, which said: Out of the water")


def test_a_release_called_off_after_the_pack_is_said_too(trip, dam):
    say(dam, DAY, release("10:00", "12:00"), at=AT)
    content_of(trip)
    later = AT + timedelta(hours=2)
    say(dam, DAY, at=later)

    changes = content_of(trip, at=later)["changes"]

    assert any("no time to be out is on record any more" in line for line in changes)


def test_an_old_pack_that_knows_of_no_such_time_is_still_compared(trip, dam):
    briefing = issue_briefing(trip.booking, trip.ada, issue="final", at=AT)
    for part in briefing.content["parts"]:
        del part["out_by"]
    briefing.save()
    say(dam, DAY, release("10:00"), at=AT)

    assert f"Thursday 28 May, morning: {OUT_BY}" in content_of(trip)["changes"]


def test_the_guides_copy_carries_the_time_and_the_reason(trip, dam):
    content = content_of(trip, person=False)

    assert "no schedule of Alder Dam for Thursday 28 May" in content["guide"]["stops"][0]["text"]


# --- the command ---------------------------------------------------------------------------------


def advised(capsys, trip, at):
    Command().run_from_argv(
        [
            "manage.py",
            "advise",
            trip.beat.name,
            "--date",
            str(DAY),
            "--at",
            at.isoformat(),
            "--json",
        ]
    )
    return json.loads(capsys.readouterr().out)


def test_advise_prints_the_reason_under_the_keys_it_always_had(trip, dam, capsys):
    answer = advised(capsys, trip, ON_THE_BANK)

    level = answer["conditions"][0]
    assert (level["what"], level["value"], level["kind"]) == ("level", None, "not_known")
    assert level["source"] == (
        "regulated water: no schedule of Alder Dam for Thursday 28 May is on file"
    )
    assert any(line.startswith("Not known, bank only:") for line in answer["why"])
    assert any("from the dam at any time" in said["text"] for said in answer["cautions"])


def test_advise_says_the_time_to_be_out_first_among_the_cautions(trip, dam, capsys):
    say(dam, DAY, release("10:00", "12:00"), at=AT)

    answer = advised(capsys, trip, ON_THE_BANK)

    assert answer["conditions"][0]["kind"] == "observed"
    assert answer["cautions"][0]["text"].startswith(OUT_BY)
    assert answer["cautions"][0]["because"] == "water let go at Alder Dam may be here from 13:00 on"
