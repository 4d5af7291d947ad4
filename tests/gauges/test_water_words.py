"""The water's temperature in words: with its band, as modelled, and not known where it is not."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.hydrology.record import WaterAhead
from guiding.gauges.water_words import water_words
from tests.gauges.drawn import HOUR, NOW, record

LONDON = ZoneInfo("Europe/London")


def forecast(middle, says=()):
    times = tuple(NOW + (k + 1) * HOUR for k in range(len(middle)))

    def edge(by):
        return tuple(None if value is None else value + by for value in middle)

    water = WaterAhead(
        model="season and air, 1",
        times=times,
        q10=edge(-1),
        q50=tuple(middle),
        q90=edge(1.5),
        says=tuple(says),
    )
    return replace(record([0.5] * 120), water=water)


def test_tomorrow_and_the_warmest_hour_are_told_with_their_bands():
    degrees = [12.0] * 120
    degrees[53] = 16.2  # 54 h on: Friday 16:00 on the clock

    lines = water_words(forecast(degrees, says=["Air beyond the run is a mean."] * 2), NOW, LONDON)

    assert lines == (
        "Water: most likely 12.0 degrees C (four times in five 11.0 to 13.5) at 10:00 on Thursday.",
        (
            "Warmest of the days ahead: 16.2 degrees C (four times in five 15.2 to 17.7) at 16:00 "
            "on Friday."
        ),
        "Modelled, not measured (season and air, 1).",
        "Air beyond the run is a mean.",
    )


def test_where_the_model_does_not_know_nothing_is_made_up():
    assert water_words(None, NOW, LONDON) == ()
    assert water_words(record([0.5] * 120), NOW, LONDON) == ()
    lines = water_words(forecast([None] * 120, says=["No air is on file."]), NOW, LONDON)
    assert lines == ("How warm the water will be is not known.", "No air is on file.")
    late = NOW + timedelta(days=9)
    assert water_words(forecast([12.0] * 120), late, LONDON)[0].endswith("is not known.")
