"""The series that the river is drawn from: five days, whole numbers, nights, days for days."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from guiding.charts.series import read_picture
from guiding.gauges.outlook_words import last_words
from guiding.gauges.picture import river_picture
from guiding.gauges.rain_shown import rain_shown
from tests.gauges.drawn import DAY, HOUR, MARKS, NOW, hourly, record

LONDON = ZoneInfo("Europe/London")


def picture(**changes):
    fields = {
        "levels": hourly(lambda h: 0.5, days=5),
        "record": record([0.5] * 120),
        "marks": MARKS,
        "zone": LONDON,
        "at": NOW,
    }
    return river_picture(**{**fields, **changes})


def test_the_outlook_goes_from_three_days_back_to_five_ahead():
    drawn = read_picture(picture(ahead=timedelta(days=5)))

    start, end = drawn.time_span()
    assert (start * 3600, end * 3600) == (
        (NOW - 3 * DAY).timestamp(),
        (NOW + 5 * DAY).timestamp(),
    )
    assert len(drawn.forecast) == 120


def test_a_silent_gauge_still_has_its_five_days_to_say_not_known_in():
    drawn = read_picture(picture(levels=[], record=None, ahead=timedelta(days=5)))

    assert drawn.time_span()[1] - drawn.time_span()[0] == 8 * 24


@pytest.mark.parametrize("level_m", [0.8049, 0.805, 0.8051, 0.80499999, 1.0 / 3, -0.0049])
def test_what_is_written_beside_the_line_is_what_the_words_say(level_m):
    drawn = read_picture(picture(levels=[(NOW, level_m)]))

    words = last_words([(NOW, level_m)], LONDON, is_daily=False)
    assert f"{drawn.last_measured()[1]:.2f} m" in words


def test_rain_that_reaches_into_the_picture_is_in_it_and_none_beyond():
    rain = rain_shown(
        [(NOW - 4 * DAY, NOW - 4 * DAY + HOUR, 1.0), (NOW - HOUR, NOW, 2.0)],
        [(NOW + h * HOUR, NOW + (h + 6) * HOUR, 3.0) for h in range(0, 240, 6)],
        at=NOW,
    )
    shown = picture(rain=rain, ahead=timedelta(hours=45))["rain"]

    assert shown[0][2:] == (2.0, "measured")
    assert len(shown) == 1 + 8  # seven six-hour steps and a half fill 45 hours


def test_nights_are_drawn_for_hours_and_not_for_days_means():
    where = (57.2, -0.6)

    assert len(picture(place=where)["nights"]) == 5
    assert "nights" not in picture(place=where, step_minutes=1440)
    assert picture(place=(70.0, 20.0))["nights"] == ()  # in May the sun does not go down there
    polar = picture(place=(80.0, 15.0), at=datetime(2026, 12, 20, 12, tzinfo=UTC), levels=[])
    assert polar["nights"] == ((polar["shown_from"], polar["shown_to"]),)


def test_a_days_mean_stands_in_the_middle_of_its_day():
    start = datetime(2026, 5, 18, tzinfo=LONDON)
    drawn = read_picture(picture(levels=[(start, 0.5)], record=None, step_minutes=1440))

    assert drawn.clock(drawn.last_measured()[0]).hour == 12
