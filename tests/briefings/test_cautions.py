"""No caution is dropped because something is not known, and none can be switched off."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.cautions.day import Ground, always, danger_line, for_day
from guiding.gauges.conditions.further_gauges import with_upstream
from guiding.gauges.conditions.upstream import UpstreamRise
from guiding.gauges.conditions.values import Condition, Kind
from guiding.sources import Label
from tests.factories import make_condition, make_conditions, make_light

GROUND = Ground(
    regime="natural", power_lines=(), hazards=(), bottoms=("gravel",), people_on_the_bank=4
)
# what every list holds, by words of its own
STANDING = (
    *("wading belt", "only with your guide", "eye protection", "hat with a brim", "barbs"),
    *("fish in the water", "check, clean and dry", "fishery's own rules"),
)
UNKNOWN = make_conditions(
    **dict.fromkeys(("level", "level_class", "phase", "rise", "water", "air", "wind", "sky"))
)


def words(reasons):
    return "\n".join(reason.text.lower() for reason in reasons)


def holds(conditions, said, ground=GROUND):
    return said in words(for_day(conditions, ground))


@pytest.mark.parametrize("said", STANDING)
def test_what_always_stands_is_there_whatever_the_river_does(said):
    assert said in words(always())
    for conditions in (None, UNKNOWN, make_conditions(), make_conditions(water=25, air=30)):
        assert holds(conditions, said)


@pytest.mark.parametrize(
    "said",
    [
        *("cold water", "river can rise", "thunder", "power lines", "wind chill", "in frost"),
        *("heat:", "18 °c", "high water", "slippery", "never wade alone", "redds"),
    ],
)
def test_not_knowing_keeps_every_caution(said):
    assert holds(UNKNOWN, said)
    assert holds(None, said)


def test_the_dark_and_ice_stand_where_the_day_is_too_far_off():
    assert holds(None, "from dusk on")
    assert holds(None, "ice:")


# --- each by its own condition --------------------------------------------------------------------


@pytest.mark.parametrize(("water_c", "stands"), [(14.9, True), (15.0, False), (None, True)])
def test_cold_shock_is_possible_below_fifteen_degrees(water_c, stands):
    """RNLI, sources.md B1."""
    assert holds(make_conditions(water=water_c), "cold water takes") is stands


def test_the_cold_end_of_the_spread_counts():
    water = make_condition("water", 16.0, low=14.0, high=18.5)
    conditions = make_conditions(water=water)

    assert holds(conditions, "cold water takes")
    assert holds(conditions, "warm water")


@pytest.mark.parametrize(
    ("water_c", "said"),
    [
        (17.9, None),
        (18.0, "warm water: early and late only"),
        (19.9, "warm water: early and late only"),
        (20.0, "stop fishing: at 20"),
        (None, "measure the water"),
    ],
)
def test_fish_need_care_from_eighteen_and_rest_from_twenty(water_c, said):
    """Natural Resources Wales, sources.md D1."""
    everything = words(for_day(make_conditions(water=water_c), GROUND))

    for phrase in ("warm water: early", "stop fishing: at 20", "measure the water:"):
        if said is None:
            assert phrase not in everything
    assert said is None or said in everything


@pytest.mark.parametrize(
    ("air_c", "wind_ms", "stands"),
    [
        (10.1, 20, False),
        (8, 1, False),
        (5, 20 / 3.6, False),  # the official table: 1
        (0, 30 / 3.6, True),  # the official table: -6
        (-2, 0.5, True),
        (None, 5, True),
        (5, None, True),
        (12, None, False),
    ],
)
def test_wind_chill_is_said_where_it_feels_like_freezing_or_may(air_c, wind_ms, stands):
    assert holds(make_conditions(air=air_c, wind=wind_ms), "wind chill") is stands


def test_deep_wind_chill_covers_all_skin():
    """Environment Canada's bands, sources.md C5: from -25 skin may freeze."""
    assert holds(make_conditions(air=-20, wind=10 / 3.6), "bare skin can freeze")
    assert holds(make_conditions(air=None), "bare skin can freeze")
    assert not holds(make_conditions(air=-5, wind=10 / 3.6), "bare skin can freeze")


@pytest.mark.parametrize(("air_c", "stands"), [(0.1, False), (0, True), (-5, True), (None, True)])
def test_in_frost_no_fish_leaves_the_water(air_c, stands):
    assert holds(make_conditions(air=air_c), "in frost") is stands


@pytest.mark.parametrize(
    ("air_c", "sky", "stands"),
    [
        (26.6, "cloud", False),  # 80 degrees F is 26.67 degrees C
        (26.7, "cloud", True),
        (18.3, "bright", False),  # full sun adds up to 15 degrees F
        (18.4, "bright", True),
        (18.4, None, True),
        (None, "cloud", True),
    ],
)
def test_heat_counts_the_sun_where_it_may_shine(air_c, sky, stands):
    """US National Weather Service classes, sources.md C17."""
    assert holds(make_conditions(air=air_c, sky=sky), "heat:") is stands


def because(conditions, said, ground=GROUND):
    [reason] = [r for r in for_day(conditions, ground) if said in r.text.lower()]
    return reason.because


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"rise": 7.0}, "up to 7 cm an hour"),
        ({"rise": None}, "not known"),
        ({"rise_is_flagged": True}, "nobody has looked at"),
        ({"phase": "first_rise"}, "may come up"),
        ({}, "no rise is expected"),
    ],
)
def test_the_rise_says_what_is_behind_it(changes, said):
    assert said in because(make_conditions(**changes), "river can rise")


@pytest.mark.parametrize(
    ("regime", "said"), [("regulated", "from the dam"), ("tidal", "the tide lifts")]
)
def test_water_that_others_move_is_bank_only(regime, said):
    ground = replace(GROUND, regime=regime)

    assert holds(make_conditions(), said, ground)
    assert holds(make_conditions(regime=regime), said)
    assert holds(None, said, ground)
    assert not holds(make_conditions(), said)
    assert "bank only" in words(for_day(None, ground))


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({"may_ice": False, "water": 0}, False),
        ({"may_ice": True, "water": 3.1}, False),
        ({"may_ice": True, "water": 6.0, "air": -12.0}, True),
        ({"may_ice": True, "water": 3.0}, True),
        ({"may_ice": True, "water": None}, True),
    ],
)
def test_ice_stands_where_the_river_carries_it_and_the_water_is_cold_or_unknown(changes, stands):
    assert holds(make_conditions(**changes), "ice:") is stands


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"level_class": "big"}, "the river is big"),
        ({"level_class": "over_bank"}, "the river is over its bank"),
        ({"class_chances": (("good", 0.7), ("big", 0.2), ("over_bank", 0.1))}, "3 in 10"),
    ],
)
def test_a_big_river_comes_before_everything(changes, said):
    first = for_day(make_conditions(**changes), GROUND)[0]

    assert first.text.startswith("High water")
    assert said in first.because


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({"class_chances": (("good", 0.96), ("big", 0.04))}, False),
        ({"class_chances": (("good", 0.95), ("big", 0.05))}, True),
        ({"class_chances": ()}, True),
        ({"level_class": None, "class_chances": (("good", 1.0),)}, True),
    ],
)
def test_high_water_is_dropped_only_where_it_is_known_not_to_come(changes, stands):
    assert holds(make_conditions(**changes), "high water") is stands


def test_the_dark_stands_where_a_part_of_the_day_reaches_into_it():
    day = date(2026, 6, 24)
    light = make_light(day)

    def hours(start, end, **changes):
        start_at = datetime(2026, 6, 24, start, tzinfo=UTC)
        end_at = datetime(2026, 6, 24, tzinfo=UTC) + timedelta(hours=end)
        return make_conditions(day=day, starts_at=start_at, ends_at=end_at, light=light, **changes)

    assert not holds(hours(8, 20), "from dusk on")
    assert holds(hours(18, 21), "from dusk on")
    assert holds(hours(3, 8), "from dusk on")
    assert holds(hours(22, 26, part="night"), "from dusk on")


def test_a_northern_night_without_dusk_still_has_its_caution_at_night():
    light = make_light(sunset_at=None, civil_dusk_at=None, full_dark_at=None, sunrise_at=None)

    assert holds(make_conditions(light=light, part="night"), "from dusk on")
    assert not holds(make_conditions(light=light), "from dusk on")


def test_power_lines_and_hazards_of_the_beat_are_named_and_come_early():
    ground = replace(GROUND, power_lines=("over the tail",), hazards=("Undercut bank.",))
    reasons = for_day(make_conditions(), ground)

    assert "over the tail" in because(make_conditions(), "power lines", ground)
    assert [r.text for r in reasons[:2]][1] == "On this beat: Undercut bank."
    assert "proves nothing" in because(make_conditions(), "power lines")


def test_two_on_the_bank_are_few():
    few = for_day(make_conditions(), replace(GROUND, people_on_the_bank=2))
    many = for_day(make_conditions(), GROUND)

    def place(reasons):
        return next(i for i, r in enumerate(reasons) if "never wade alone" in r.text)

    assert place(few) < place(many)


@pytest.mark.parametrize(("month", "said"), [(11, "autumn to late spring"), (7, "at any season")])
def test_redds_stand_all_year(month, said):
    assert said in because(make_conditions(day=date(2026, month, 15)), "redds")


# --- how they read --------------------------------------------------------------------------------


def test_thunder_stops_at_the_first():
    """US National Weather Service, sources.md C11 and C12: 30 minutes after the last."""
    [reason] = [r for r in for_day(None, GROUND) if "thunder" in r.text]

    assert reason.text.startswith("At the first thunder stop")
    assert "30 minutes after the last" in reason.text
    assert reason.source.label is Label.PUBLISHED


def test_lines_are_thirty_metres_away():
    """Energy Networks Association, sources.md C14."""
    assert holds(None, "stay 30 m away")


def test_the_danger_line_is_one_line_worst_first_with_the_wading_last():
    conditions = make_conditions(rise=7.0, water=6.0)

    line = danger_line(conditions, GROUND, "bank only")

    assert line == (
        "The river rises fast, up to 7 cm an hour. Cold water, 6 °C (43 °F). Bank only."
    )
    assert danger_line(None, GROUND, "Bank only.\n").endswith(" Bank only.")
    assert danger_line(None, GROUND, "").startswith("The river may rise: how fast is not known.")


def test_the_danger_line_is_read_at_a_glance_and_leaves_mixed_wading_to_its_heading():
    hazards = (
        "The bank gives way without warning: stand a rod's length back from the edge of it.",
    )
    ground = replace(GROUND, hazards=hazards)

    line = danger_line(make_conditions(), ground, "To the knee, in Long Run only.")

    assert "Long Run" not in line
    assert len(line) <= len(hazards[0]) + 110


numbers = {
    "rise": st.floats(-20, 40),
    "water": st.floats(-0.5, 35),
    "air": st.floats(-40, 45),
    "wind": st.floats(0, 60),
    "level_class": st.sampled_from(["low", "summer", "good", "high", "big", "over_bank"]),
    "phase": st.sampled_from(["first_rise", "peak", "fining_down", "settled", "not_known"]),
    "sky": st.sampled_from(["bright", "cloud", "dark"]),
    "part": st.sampled_from(["morning", "evening", "night"]),
}
drawn = st.fixed_dictionaries(
    {name: values if name == "part" else st.none() | values for name, values in numbers.items()}
)
grounds = st.builds(
    Ground,
    regime=st.sampled_from(["natural", "regulated", "tidal"]),
    power_lines=st.sampled_from([(), ("by the bridge",)]),
    hazards=st.sampled_from([(), ("Weir below.", "Bull in the field.")]),
    bottoms=st.sampled_from([(), ("cobble", "gravel")]),
    people_on_the_bank=st.integers(0, 8),
)


@given(drawn, grounds, st.sampled_from(sorted(set(numbers) - {"part"})))
def test_knowing_less_drops_no_caution_that_could_still_hold(values, ground, forgotten):
    known = for_day(make_conditions(**values), ground)
    less = for_day(make_conditions(**{**values, forgotten: None}), ground)

    def kinds(reasons):
        # what is known of warmth or wind chill changes the wording of one and the same danger
        return {
            reason.source.title
            if reason.text.startswith(("Warm water", "Stop fishing", "Measure", "Wind chill"))
            else reason.text
            for reason in reasons
        }

    assert kinds(known) <= kinds(less)


@given(drawn, grounds)
def test_every_list_is_whole_and_promises_nothing(values, ground):
    reasons = for_day(make_conditions(**values), ground)
    line = danger_line(make_conditions(**values), ground, "bank only")

    everything = words(reasons)
    assert all(said in everything for said in STANDING)
    assert set(always()) <= set(reasons)
    assert len(set(reasons)) == len(reasons)
    assert all(reason.text and reason.because for reason in reasons)
    said = " ".join((everything, line, *(r.because for r in reasons))).lower()
    assert "safe" not in said
    assert "\n" not in line


@pytest.mark.parametrize(
    ("name", "said"), [("big", "The river was big"), ("over_bank", "The river was over its bank")]
)
def test_a_river_over_its_big_mark_now_is_said_where_its_hours_cannot_be_read(name, said):
    # from the sheet of a river at 2.6 m whose fishing hours no forecast reached
    now = Condition(
        what="level class now", value=name, kind=Kind.OBSERVED, age_hours=0.4, source="a gauge"
    )
    unread = make_conditions(level=None, level_class=None, class_now=now)

    assert danger_line(unread, GROUND, "").startswith(f"{said} when last read.")
    assert because(unread, "high water").startswith("within the last hour it stood")
    # of hours that can be read, the hours themselves speak
    read = make_conditions(class_chances=(("summer", 1.0),), class_now=now)
    assert not holds(read, "high water: stay out")


def test_a_river_that_was_not_big_when_last_read_leaves_the_height_not_known():
    now = Condition(what="level class now", value="good", kind=Kind.OBSERVED, source="a gauge")

    unread = make_conditions(level=None, level_class=None, class_now=now)

    assert "not known" in because(unread, "high water")


def test_a_rise_on_its_way_from_upstream_leads_and_says_when_it_comes():
    conditions = make_conditions()
    at = conditions.asked_at
    rise = UpstreamRise(
        gauge="Brook Weir",
        rise_m=0.36,
        since_at=at - timedelta(hours=2),
        arrives_at=at + timedelta(hours=3),
        rate_m_h=0.18,
        ratio=0.5,
    )
    told = with_upstream(conditions, [rise], ZoneInfo("UTC"))

    assert danger_line(told, GROUND, "").startswith("The river upstream has risen 36 cm.")
    assert holds(told, "arrives here about 22:00")
    assert not holds(conditions, "upstream has risen")
