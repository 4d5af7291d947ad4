"""The demo's scene: the waters, the people, the bookings, the box, the record."""

import re
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction

from briefings.wading.judge import Circumstances, Sounding, Wader, judge_pool
from guiding.accounts.models import User
from guiding.bookings.models import Booking, PartyMember, Place, TripDay
from guiding.clients.models import Person
from guiding.desk.demo.build import load_season, valley
from guiding.desk.demo.database import anchor_on_file, stranger_in_database
from guiding.desk.demo.season import MEADOW_M
from guiding.gauges.conditions.values import Kind
from guiding.gauges.models import Gauge, Mark, Reading, WeatherRun
from guiding.gauges.outlook import conditions_for
from guiding.history.models import Event
from guiding.rivers.models import AccessPoint, Beat, Pool, River, Water
from guiding.tackle.models import Fly, FlyPattern, LeaderMaterial, Line, LoanItem, Tip

ANCHOR = datetime(2026, 11, 25, 8, tzinfo=UTC)
SIXTY_DAYS_H = 60 * 24
WORDS = {"guide": "aaaa-bbbb-cccc", "staff": "dddd-eeee-ffff"}
FIT = Wader(height_m=1.78, mass_kg=80, age=44, confidence="used")


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """Load the scene once for this file; it is rolled back at the end."""
    said = []
    with django_db_blocker.unblock(), transaction.atomic():
        load_season(anchor=ANCHOR, words=WORDS, say=said.append, hours=SIXTY_DAYS_H)
        yield said
        transaction.set_rollback(True)


@pytest.fixture
def scene(loaded, db):
    return loaded


def verdicts(document, level_m, wader=FIT):
    """Return the verdict on every pool of a valley's document for one person at one level."""
    return {
        pool["name"]: judge_pool(
            soundings=tuple(
                Sounding(
                    level_m=row["level_m"],
                    depth_m=row["depth_m"],
                    speed_ms=row["speed_ms"],
                    spot=row["spot"],
                    measured_on=row["measured_on"],
                )
                for row in pool["sounding"]
            ),
            level_m=level_m,
            ratio=1,
            over_bank_since=None,
            today=ANCHOR.date(),
            wader=wader,
            circumstances=Circumstances(),
            omitted_is_absent=True,
        ).verdict
        for water in document["water"]
        for beat in water["beat"]
        for pool in beat["pool"]
    }


def test_the_valley_has_two_waters_one_of_two_beats_and_one_below_a_dam(scene):
    beats = {
        water.name: [beat.regime for beat in water.beats.all()] for water in Water.objects.all()
    }

    assert sorted(beats.values()) == [["natural", "natural"], ["regulated"]]
    assert Pool.objects.count() >= 8
    assert not Pool.objects.filter(soundings__isnull=True).exists()
    assert not Pool.objects.filter(access_points__isnull=True).exists()
    assert Beat.objects.exclude(power_lines="").exists()
    river = River.objects.get()
    assert river.hospital
    assert river.no_signal_plan


def test_one_day_below_the_dam_has_a_schedule_and_another_has_none(scene):
    said = {}
    for days, part in ((1, "evening"), (4, "morning")):
        row = TripDay.objects.get(
            date=ANCHOR.date() + timedelta(days=days), part=part, beat__regime="regulated"
        )
        seen = conditions_for(row.beat, row.date, part, at=ANCHOR)
        assert seen.level.kind is Kind.NOT_KNOWN
        said[days] = (seen.moved.is_known, seen.out_by_words)

    # by hand: the evening begins at 15:45; at the dam from 16:45, a quarter of an hour on the way,
    # half an hour before
    assert said == {
        1: (True, "Out of the water, and back from its edge, by 16:30."),
        4: (False, ""),
    }


def test_the_gauge_has_the_marks_that_advice_is_checked_against(scene):
    marks = {mark.kind: mark.level_m for mark in Mark.objects.all()}

    assert marks == {"summer": 0.30, "good": 0.40, "high": 0.90, "big": 1.10, "over_bank": 2.40}
    assert all(mark.seen for mark in Mark.objects.all())
    assert marks["over_bank"] > MEADOW_M


def test_every_place_lies_in_the_sea_and_says_so(scene):
    points = AccessPoint.objects.all()

    # no land lies within thirty kilometres of 57.2 N 0.6 W (from memory)
    assert all(abs(p.latitude - 57.2) < 0.05 and abs(p.longitude + 0.6) < 0.05 for p in points)
    assert all("open sea" in water.fishery_rules for water in Water.objects.all())
    assert all("open sea" in p.directions for p in points.filter(is_meeting_point=True))


def test_most_runs_may_be_waded_at_summer_level_and_none_at_the_big_mark():
    document = valley(ANCHOR.date())

    low, big = verdicts(document, 0.30), verdicts(document, 1.10)

    open_pools = [name for name, verdict in low.items() if verdict == "no_stop_found"]
    assert len(open_pools) > len(low) / 2
    assert len(open_pools) < len(low)
    assert "no_stop_found" not in big.values()


def test_a_light_junior_novice_finds_fewer_runs_but_not_none():
    junior = Wader(height_m=1.52, mass_kg=43, age=13, confidence="novice")

    found = list(verdicts(valley(ANCHOR.date()), 0.30, junior).values())

    assert 0 < found.count("no_stop_found") < len(found) / 2


@pytest.mark.parametrize("day", [date(2026, 1, 1), date(2028, 2, 29), date(2027, 8, 5)], ids=str)
def test_soundings_are_behind_the_anchor_and_less_than_a_season_and_a_half_old(day):
    measured = [
        sounding["measured_on"]
        for water in valley(day)["water"]
        for beat in water["beat"]
        for pool in beat["pool"]
        for sounding in pool["sounding"]
    ]

    assert len(measured) > 15
    assert all(timedelta(days=7) <= day - on <= timedelta(days=374) for on in measured)


def test_ten_people_cover_the_cases_that_advice_must_tell_apart(scene):
    people = Person.objects.all()

    assert people.count() == 10
    assert set(people.values_list("casting", flat=True)) >= {"novice", "used", "strong"}
    assert set(people.values_list("hand", flat=True)) >= {"left", "right"}
    assert people.filter(mass_kg__lt=50, is_junior=False).exists()
    assert people.filter(is_nervous=True).exists()
    assert people.filter(units="imperial").exists()
    assert people.filter(mass_kg__isnull=True, height_m__isnull=True).count() >= 2
    roles = PartyMember.objects
    junior = roles.filter(role="shares").first()
    assert junior.person.age_on(ANCHOR.date()) < 16
    assert junior.shares_with.person.age_on(ANCHOR.date()) > 18
    assert roles.filter(role="guest").exists()
    assert roles.filter(role="payer").exists()


def test_nobody_can_be_written_to_or_rung(scene):
    numbers = [
        *Person.objects.values_list("phone", flat=True),
        *Person.objects.values_list("emergency_phone", flat=True),
        *User.objects.values_list("phone", flat=True),
        *Water.objects.values_list("fishery_phone", flat=True),
    ]
    addresses = [
        *Person.objects.values_list("email", flat=True),
        *User.objects.values_list("email", flat=True),
    ]

    assert all(re.fullmatch(r"01632 960\d{3}", number) for number in numbers if number)
    assert all(address.endswith(".invalid") for address in addresses)
    rules = " ".join(Water.objects.values_list("fishery_rules", flat=True))
    assert all(number.startswith("01632 960") for number in re.findall(r"0\d{4} \d{6}", rules))


def test_a_dozen_bookings_lie_around_the_anchor_and_use_every_beat(scene):
    today = ANCHOR.date()
    ahead = {(day.date - today).days for day in TripDay.objects.all()}

    assert Booking.objects.count() == 12
    assert {-7, -1, 0, 1, 8, 9, 32} <= ahead
    assert set(TripDay.objects.values_list("beat__name", flat=True)) == set(
        Beat.objects.values_list("name", flat=True)
    )
    assert {"evening", "night"} <= set(TripDay.objects.values_list("part", flat=True))
    assert set(Booking.objects.values_list("state", flat=True)) == {
        "fished",
        "accepted",
        "offered",
    }
    assert Place.objects.filter(state="sold").exists()
    assert Place.objects.filter(state="held").exists()


def test_the_one_guide_is_never_wanted_by_two_parties_at_once(scene):
    days = sorted(TripDay.objects.all(), key=lambda day: day.meets_at)

    for earlier, later in pairwise(days):
        assert later.meets_at >= earlier.ends_at


def test_the_box_holds_five_point_flies_and_three_droppers_in_many_sizes(scene):
    patterns = FlyPattern.objects.all()

    assert patterns.filter(role="point").count() == 5
    assert patterns.filter(role="dropper").count() == 3
    assert patterns.filter(is_surface_lure=True).count() == 1
    colours = {colour for pattern in patterns for colour in pattern.colours}
    assert {"red", "orange", "black", "yellow", "silver"} <= colours
    hooked, tubes = Fly.objects.filter(is_tube=False), Fly.objects.filter(is_tube=True)
    assert set(hooked.values_list("hook_size", flat=True)) == {6, 8, 10, 12, 14, 16}
    assert {25, 40, 60} <= set(tubes.values_list("length_mm", flat=True))
    assert set(Fly.objects.values_list("dressing", flat=True)) == {"full", "medium", "sparse"}
    assert not Fly.objects.filter(count=0).exists()


def test_lines_tips_spools_and_loan_kit_reach_from_slow_to_fast_and_small_to_large(scene):
    assert set(Line.objects.values_list("kind", flat=True)) == {
        "floating",
        "intermediate",
        "sinking",
    }
    assert {1.5, 3, 5, 7} <= set(Tip.objects.values_list("sink_ips", flat=True))
    assert Tip.objects.filter(is_sinking_leader=True).exists()
    for material in ("nylon", "fluorocarbon"):
        diameters = LeaderMaterial.objects.filter(material=material).values_list(
            "diameter_mm", flat=True
        )
        assert min(diameters) <= 0.23
        assert max(diameters) >= 0.35
    for kind in ("waders", "boots", "buoyancy"):
        assert LoanItem.objects.filter(kind=kind).count() >= 3


def test_the_record_is_all_there_and_nothing_of_it_was_refused(scene):
    gauge = Gauge.objects.get()

    counts = {s.quantity: s.readings.count() for s in gauge.series.all()}
    visibility = counts.pop("visibility_cm")
    assert counts == {
        "level_m": SIXTY_DAYS_H + 1,
        "rain_mm": SIXTY_DAYS_H,
        "air_c": SIXTY_DAYS_H + 1,
        "water_c": SIXTY_DAYS_H + 1,
    }
    assert 10 < visibility < 40
    assert not any(row.rejected for row in gauge.imports.all())
    newest = Reading.objects.filter(series__quantity="level_m").latest("observed_at")
    assert newest.observed_at == ANCHOR
    run = WeatherRun.objects.get()
    assert run.steps[0]["rain_mm"] == 0
    assert sum(step["rain_mm"] or 0 for step in run.steps) > 10


def test_the_anchor_is_kept_in_the_history_and_the_database_counts_as_the_demos(scene):
    assert anchor_on_file() == ANCHOR
    assert stranger_in_database() is None
    assert Event.objects.filter(what="demo loaded").count() == 1
    assert scene  # it told what it was doing


def test_the_two_of_the_house_can_sign_in_and_only_the_guide_gives_roles(scene):
    guide = authenticate(username="guide", password=WORDS["guide"])
    staff = authenticate(username="staff", password=WORDS["staff"])

    assert guide.is_guide
    assert guide.has_perm("accounts.change_user")
    assert staff.role == "staff"
    assert staff.has_perm("clients.change_person")
    assert not staff.has_perm("accounts.change_user")


def test_a_demo_of_another_moment_is_refused(scene):
    with pytest.raises(CommandError, match="season ends at 2026-11-25 08:00 UTC and stays there"):
        call_command("demo", "--no-server", "--at", "2026-12-01T09:00Z")
