"""What is on file, read as a whole: nothing invented, nothing raised, everything unknown said."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guiding.gauges.conditions.fishing_hours import read_conditions
from guiding.gauges.conditions.question import OnFile, Question
from guiding.gauges.conditions.values import Given, Kind, Phase
from guiding.gauges.hydrology.record import WaterAhead
from tests.gauges.drawn import DAY, HOUR, MARKS, NOW, hourly, measured, record, weather

LONDON = ZoneInfo("Europe/London")
QUESTION = Question(
    day=date(2026, 5, 21),
    part="morning",
    starts_at=NOW + 23 * HOUR,
    ends_at=NOW + 27 * HOUR,
    asked_at=NOW,
    latitude=57.5,
    longitude=-4.5,
    zone=LONDON,
)
WHOLE = OnFile(
    levels=measured(hourly(lambda h: 0.45, 14)),
    water=measured(hourly(lambda h: 11.0, 60)),
    air=measured(hourly(lambda h: 14.0, 3)),
    visibility=measured([(NOW - HOUR, 120.0)]),
    record=record([0.45] * 120, spread_m=0.005),
    marks=MARKS,
    run=weather(
        *[
            {
                "air_c": 15.0,
                "wind_ms": 4.0,
                "wind_from_deg": 240.0,
                "rain_mm": 0.1,
                "cloud_percent": 80.0,
            }
        ]
        * 120
    ),
)


def values(conditions):
    """Return what is known, by name."""
    return {c.what: c.value for c in conditions.all()}


def test_a_day_with_everything_on_file_is_known_throughout():
    seen = read_conditions(QUESTION, WHOLE)

    assert values(seen) == {
        "level": pytest.approx(0.45),
        "level class": "good",
        "phase": "settled",
        "rise": pytest.approx(0.0),
        "water": 11.0,
        "water two days ago": 11.0,
        "visibility": 120.0,
        "colour": "clear",
        "air": 15.0,
        "wind": 4.0,
        "wind from": 240.0,
        "sky": "cloud",
        "rain": pytest.approx(0.4),
    }
    assert seen.level.kind is Kind.FORECAST
    assert sum(chance for _, chance in seen.class_chances) == pytest.approx(1)
    assert not seen.rise_is_flagged
    assert seen.light.sunrise_at is not None
    assert seen.says == ()


def test_nothing_on_file_is_not_known_and_said():
    seen = read_conditions(QUESTION, OnFile())

    assert {c.kind for c in seen.all()} == {Kind.NOT_KNOWN}
    assert seen.class_chances == ()
    assert all(c.source for c in seen.all())
    assert seen.says == (
        "The gauge has no reading: the level is not known.",
        "What the level will be in the fishing hours is not known.",
        "No marks are on file for this gauge: what a level means here is not known.",
        "No weather forecast is on file: air, wind and rain are not known.",
    )


def test_a_beat_without_a_gauge_says_so():
    seen = read_conditions(QUESTION, OnFile(has_gauge=False))

    assert seen.says[0] == "No gauge speaks for this beat: the level is not known."
    assert seen.level.source == "no gauge speaks for this beat"


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_regulated_and_tidal_water_is_not_known_whatever_the_gauge_says(regime):
    seen = read_conditions(replace(QUESTION, regime=regime), WHOLE)

    assert {c.kind for c in (seen.level, seen.level_class, seen.phase, seen.rise)} == {
        Kind.NOT_KNOWN
    }
    assert seen.class_chances == ()
    assert seen.colour.kind is Kind.NOT_KNOWN
    assert seen.water.value == 11.0
    assert any("not known" in line for line in seen.says)


def test_water_cold_enough_for_ice_hides_the_level():
    cold = replace(WHOLE, water=measured(hourly(lambda h: 0.4, 60)))

    iced = read_conditions(replace(QUESTION, may_ice=True), cold)
    free = read_conditions(QUESTION, cold)

    assert iced.level.kind is Kind.NOT_KNOWN
    assert iced.has_ice is True
    assert any("cold enough for ice" in line for line in iced.says)
    assert free.level.kind is Kind.FORECAST


def test_a_river_that_can_ice_without_a_temperature_says_to_look():
    seen = read_conditions(replace(QUESTION, may_ice=True), replace(WHOLE, water=measured([])))

    assert seen.has_ice is None
    assert any("look before anybody wades" in line for line in seen.says)


def test_what_is_given_overrides_and_is_labelled():
    typed = Given(
        level_m=1.2,
        phase=Phase.RISING,
        water_c=4.0,
        water_c_two_days_ago=9.0,
        visibility_cm=20,
        air_c=1.0,
        wind_ms=12.0,
        wind_from_deg=10.0,
        sky="bright",
    )

    seen = read_conditions(QUESTION, WHOLE, typed)

    known = values(seen)
    assert (known["level"], known["level class"], known["phase"]) == (1.2, "big", "rising")
    assert (known["water"], known["water two days ago"], known["air"]) == (4.0, 9.0, 1.0)
    assert (known["visibility"], known["colour"]) == (20, "dirty")
    assert (known["wind"], known["wind from"], known["sky"]) == (12.0, 10.0, "bright")
    assert dict(seen.class_chances)["big"] == 1.0
    named = (seen.level, seen.level_class, seen.phase, seen.water, seen.visibility, seen.sky)
    assert {c.kind for c in named} == {Kind.GIVEN}
    assert (seen.level.at, seen.level.age_hours, seen.level.source) == (NOW, 0.0, "typed in")


def test_a_phase_given_as_not_known_is_not_known():
    seen = read_conditions(QUESTION, WHOLE, Given(phase=Phase.NOT_KNOWN))

    assert seen.phase.kind is Kind.NOT_KNOWN
    assert seen.colour.kind is Kind.NOT_KNOWN


def test_a_stale_gauge_says_since_when_and_has_no_phase():
    stale = replace(WHOLE, levels=measured(hourly(lambda h: 0.45, 14, until=NOW - 5 * HOUR)))

    seen = read_conditions(QUESTION, stale)

    assert "The level is not known since 05:00 on 20 May (5 h ago)." in seen.says
    assert seen.phase.kind is Kind.NOT_KNOWN
    assert seen.level.kind is Kind.FORECAST  # as it was issued, with its age


def test_a_forecast_of_two_days_ago_is_no_longer_used():
    old = replace(WHOLE, record=record([0.45] * 120, issued_at=NOW - 50 * HOUR))
    older = replace(WHOLE, record=record([0.45] * 120, issued_at=NOW - 30 * HOUR))

    assert read_conditions(QUESTION, old).level.kind is Kind.NOT_KNOWN
    assert "The river forecast is 50 h old and is not used." in read_conditions(QUESTION, old).says
    assert "The river forecast is 30 h old." in read_conditions(QUESTION, older).says
    assert read_conditions(QUESTION, older).level.age_hours == 30.0


def test_a_forecast_issued_after_the_asking_was_not_known():
    later = replace(WHOLE, record=record([0.45] * 120, issued_at=NOW + HOUR))

    assert read_conditions(QUESTION, later).level.kind is Kind.NOT_KNOWN


def test_what_the_forecast_says_is_passed_on():
    says = replace(WHOLE, record=record([0.45] * 120, says=("Rain is coming.",)))

    assert "Rain is coming." in read_conditions(QUESTION, says).says


def test_a_flagged_jump_is_said():
    jumped = replace(WHOLE, levels=measured(hourly(lambda h: 0.45 if h < -3 else 0.9, 14)))

    seen = read_conditions(QUESTION, jumped)

    assert seen.rise_is_flagged
    assert any("take the river as risen" in line for line in seen.says)


def test_the_waters_way_from_the_gauge_is_counted_in():
    rising = record([0.45 + 0.01 * i for i in range(120)], spread_m=0.0)
    near = read_conditions(QUESTION, replace(WHOLE, record=rising))
    far = read_conditions(replace(QUESTION, delay_hours=6.0), replace(WHOLE, record=rising))

    assert near.level.value - far.level.value == pytest.approx(0.06)
    assert "Water at the gauge is here about 6 h later; that is counted in." in far.says


def test_the_phase_of_hours_to_come_is_read_from_the_forecast():
    coming = [0.45] * 18 + [0.45 + 0.05 * i for i in range(102)]

    seen = read_conditions(QUESTION, replace(WHOLE, record=record(coming, spread_m=0.005)))

    assert (seen.phase.value, seen.phase.kind) == ("first_rise", Kind.FORECAST)
    assert seen.rise.value == pytest.approx(5.0)
    assert seen.colour.value in {"coloured", "dirty"}


def paths_of(**courses):
    """Return a forecast of so many paths of each course, its median the plain quantile."""
    rows = {
        "still": np.full(120, 0.45),
        "first_rise": 0.45 + 0.02 * np.maximum(np.arange(120) - 17, 0),
        "falling": 0.45 - 0.004 * np.arange(120),
        "flood": 0.45 + 0.03 * np.arange(120),
    }
    paths = np.vstack([np.tile(rows[name], (count, 1)) for name, count in courses.items()])
    whole = record(np.median(paths, axis=0).tolist())
    return replace(whole, paths=paths)


def test_the_phase_is_the_one_that_most_paths_are_in_with_its_share():
    seen = read_conditions(QUESTION, replace(WHOLE, record=paths_of(still=6, first_rise=4)))

    assert (seen.phase.value, seen.phase.kind) == ("settled", Kind.FORECAST)
    assert seen.phase.source.endswith("; more likely than not, about 60 % of the forecast's paths")
    assert seen.phase_chances == (("settled", 0.6), ("first_rise", 0.4))
    assert seen.risen == 0.4
    assert not any("no phase has most" in line for line in seen.says)


def test_where_no_phase_has_most_of_the_paths_it_is_not_known_and_that_is_said():
    split = paths_of(still=4, first_rise=3, falling=3)

    seen = read_conditions(QUESTION, replace(WHOLE, record=split))

    assert seen.phase.kind is Kind.NOT_KNOWN
    assert (
        "Whether the river will be rising, at its peak, falling or settled in the fishing hours is "
        "not known: no phase has most of the forecast's paths (settled about 40 %, first rise "
        "about 30 %, coloured falling about 30 %)." in seen.says
    )
    # half is no majority either
    half = read_conditions(QUESTION, replace(WHOLE, record=paths_of(still=5, first_rise=5)))
    assert half.phase.kind is Kind.NOT_KNOWN


def test_paths_over_the_good_range_count_as_risen_once_each():
    # marks of the drawn river: good from 0.40 m, high from 0.90 m; 26 h on the flood stands at 1.2
    seen = read_conditions(
        QUESTION, replace(WHOLE, record=paths_of(still=6, first_rise=2, flood=2))
    )

    assert dict(seen.phase_chances)["rising"] == 0.2
    assert seen.risen == pytest.approx(0.4)
    bare = replace(WHOLE, record=paths_of(still=6, first_rise=2, flood=2), marks=())
    assert read_conditions(QUESTION, bare).risen == pytest.approx(0.2)


def test_without_whole_paths_the_middle_speaks_and_its_chance_is_not_known():
    seen = read_conditions(QUESTION, replace(WHOLE, record=record([0.45] * 120, with_paths=False)))

    assert seen.phase.value == "settled"
    assert seen.phase.source.endswith(
        "; read from the middle of the forecast alone: how likely it is is not known"
    )
    assert (seen.phase_chances, seen.risen) == ((), None)


def test_what_is_given_goes_before_the_paths():
    whole = replace(WHOLE, record=paths_of(still=5, first_rise=5))

    typed = read_conditions(QUESTION, whole, Given(phase=Phase.SETTLED))
    both = read_conditions(QUESTION, whole, Given(phase=Phase.SETTLED, level_m=0.45))
    level = read_conditions(QUESTION, whole, Given(level_m=0.45))

    assert (typed.phase.value, typed.phase_chances, typed.risen) == ("settled", (), 0.0)
    assert both.risen is None
    assert level.risen == 0.5


def test_the_colour_is_that_of_a_path_in_the_phase_that_is_told():
    unseen = replace(WHOLE, visibility=measured([]))

    rising = read_conditions(QUESTION, replace(unseen, record=paths_of(still=3, flood=7)))
    calm = read_conditions(QUESTION, replace(unseen, record=paths_of(still=7, flood=3)))

    assert (rising.phase.value, rising.colour.value) == ("rising", "dirty")
    assert (calm.phase.value, calm.colour.value) == ("settled", "clear")


def test_hours_that_end_before_they_begin_are_refused():
    with pytest.raises(ValueError, match="they must begin before they end"):
        replace(QUESTION, ends_at=QUESTION.starts_at)


# On 25 October 2026 the clocks of Europe/London go back at 01:00 UTC: 01:30 comes twice.
def test_a_night_over_the_repeated_hour_sums_rain_by_real_hours():
    starts_at = datetime(2026, 10, 24, 21, 0, tzinfo=UTC)  # 22:00 by the clock
    ends_at = datetime(2026, 10, 25, 2, 0, tzinfo=UTC)  # 02:00 by the clock, five hours later
    asked_at = starts_at - 4 * HOUR
    question = replace(
        QUESTION,
        day=date(2026, 10, 24),
        part="night",
        starts_at=starts_at,
        ends_at=ends_at,
        asked_at=asked_at,
    )
    run = weather(*[{"rain_mm": 1.0}] * 12, issued_at=asked_at)

    seen = read_conditions(question, OnFile(run=run))

    assert seen.rain.value == pytest.approx(5.0)
    assert seen.sky.value == "dark"
    assert seen.light.sunset_at.astimezone(LONDON).date() == date(2026, 10, 24)


sample_lists = st.lists(
    st.tuples(st.integers(0, 400), st.floats(-1, 20, allow_nan=False)), max_size=60
).map(lambda rows: [(NOW - h * HOUR, v) for h, v in sorted(dict(rows).items(), reverse=True)])
medians = st.lists(st.none() | st.floats(-1, 20), max_size=120)
steps = st.lists(
    st.fixed_dictionaries(
        {
            "air_c": st.none() | st.floats(-40, 45),
            "rain_mm": st.none() | st.floats(0, 50),
            "wind_ms": st.none() | st.floats(0, 60),
            "wind_from_deg": st.none() | st.floats(0, 360),
            "cloud_percent": st.none() | st.floats(0, 100),
        }
    ),
    max_size=20,
)


@st.composite
def on_files(draw):
    """Return anything that may be on file: gaps, holes, old runs, suspects, no marks."""
    levels = draw(sample_lists)
    ahead = draw(st.none() | medians)
    issued_at = NOW - draw(st.integers(-2, 60)) * HOUR
    return OnFile(
        has_gauge=draw(st.booleans()),
        levels=measured(
            levels,
            step_hours=draw(st.sampled_from([0.25, 1.0, 24.0])),
            suspect_at=tuple(NOW - h * HOUR for h in draw(st.lists(st.integers(0, 50)))),
            typed_at=frozenset(moment for moment, _ in levels[::7]),
        ),
        water=measured(draw(sample_lists)),
        air=measured(draw(sample_lists)),
        visibility=measured(draw(sample_lists)),
        record=None
        if ahead is None
        else record(
            ahead,
            issued_at=issued_at,
            step_minutes=draw(st.sampled_from([60, 1440])),
            with_paths=draw(st.booleans()),
        ),
        marks=MARKS[: draw(st.integers(0, 5))],
        run=draw(
            st.none()
            | st.builds(
                lambda rows, h: weather(*rows, issued_at=NOW - h * HOUR), steps, st.integers(0, 60)
            )
        ),
    )


@given(
    on_file=on_files(),
    starts_in=st.integers(-48, 150),
    lasting=st.integers(1, 12),
    regime=st.sampled_from(["natural", "regulated", "tidal"]),
    may_ice=st.booleans(),
    delay=st.floats(-6, 24),
)
def test_nothing_breaks_the_reading_and_nothing_is_invented(
    on_file, starts_in, lasting, regime, may_ice, delay
):
    starts_at = NOW + starts_in * HOUR
    question = replace(
        QUESTION,
        day=starts_at.date(),
        starts_at=starts_at,
        ends_at=starts_at + timedelta(hours=lasting),
        regime=regime,
        may_ice=may_ice,
        delay_hours=delay,
    )

    seen = read_conditions(question, on_file)

    for condition in seen.all():
        assert (condition.value is None) == (condition.kind is Kind.NOT_KNOWN)
        assert condition.kind is not Kind.GIVEN
        assert condition.source
        if condition.value is None:
            assert (condition.low, condition.high, condition.at) == (None, None, None)
        if condition.kind in {Kind.OBSERVED, Kind.FORECAST}:
            assert condition.at is not None
            assert condition.age_hours is not None
        if None not in (condition.low, condition.high):
            assert condition.low <= condition.number + 1e-9 <= condition.high + 2e-9
    if regime != "natural" or not on_file.has_gauge:
        assert seen.level.kind is seen.phase.kind is seen.rise.kind is Kind.NOT_KNOWN
        assert seen.class_chances == ()
    if not on_file.levels.samples and on_file.record is None:
        assert seen.level.kind is Kind.NOT_KNOWN
    if on_file.run is None:
        assert seen.rain.kind is Kind.NOT_KNOWN
    if seen.level.kind is Kind.NOT_KNOWN and regime == "natural":
        assert any("not known" in line or "not used" in line for line in seen.says)
    assert not any("safe" in line.lower() for line in seen.says)
    if seen.class_chances:
        assert sum(chance for _, chance in seen.class_chances) == pytest.approx(1)


@given(days=st.integers(6, 60))
def test_a_day_beyond_the_forecast_never_shows_the_last_reading(days):
    starts_at = NOW + days * DAY
    question = replace(
        QUESTION, day=starts_at.date(), starts_at=starts_at, ends_at=starts_at + 4 * HOUR
    )

    seen = read_conditions(question, WHOLE)

    assert seen.level.kind is Kind.NOT_KNOWN
    assert seen.phase.kind is Kind.NOT_KNOWN
    assert seen.water.kind is Kind.NOT_KNOWN
    assert seen.rain.kind is Kind.NOT_KNOWN


def with_water(on_file, *says):
    """Return what is on file with 14 degrees of water forecast for five days."""
    river = on_file.record
    count = len(river.times)
    water = WaterAhead(
        model="drawn",
        times=river.times,
        q10=(13.0,) * count,
        q50=(14.0,) * count,
        q90=(15.0,) * count,
        says=says,
    )
    return replace(on_file, record=replace(river, water=water))


def test_water_that_is_forecast_is_taken_with_its_band_and_its_words():
    seen = read_conditions(QUESTION, with_water(WHOLE, "Made without the air."))

    assert (seen.water.kind, seen.water.value) == (Kind.FORECAST, 14.0)
    assert (seen.water.low, seen.water.high) == (13.0, 15.0)
    assert "Water temperature: Made without the air." in seen.says


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_what_air_and_rain_make_of_the_water_says_nothing_where_a_dam_or_the_tide_moves_it(regime):
    question = replace(QUESTION, regime=regime)

    seen = read_conditions(question, with_water(WHOLE, "Made without the air."))

    assert (seen.water.kind, seen.water.value) == (Kind.INFERRED, 11.0)
    assert not any(text.startswith("Water temperature") for text in seen.says)


def test_a_typed_temperature_goes_before_the_forecast():
    seen = read_conditions(QUESTION, with_water(WHOLE, "Made."), Given(water_c=9.0))

    assert (seen.water.kind, seen.water.value) == (Kind.GIVEN, 9.0)
    assert not any(text.startswith("Water temperature") for text in seen.says)


def test_a_look_goes_before_turbidity_and_turbidity_before_the_spate():
    bare = replace(WHOLE, visibility=measured([]))
    turbid = replace(bare, turbidity=measured([(NOW, 9.6)]))

    looked, ntu, spate = (
        read_conditions(QUESTION, one).visibility for one in (WHOLE, turbid, bare)
    )

    assert looked.value == 120.0
    assert (ntu.value, ntu.source) == (40, "from a turbidity of 9.6 NTU, not seen")
    assert (spate.kind, spate.value) == (Kind.INFERRED, 150)
    assert "not seen" in spate.source


def test_regulated_water_without_a_look_has_no_visibility():
    bare = replace(WHOLE, visibility=measured([]))

    seen = read_conditions(replace(QUESTION, regime="regulated"), bare)

    assert seen.visibility.kind is Kind.NOT_KNOWN
