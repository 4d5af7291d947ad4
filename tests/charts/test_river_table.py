"""The picture as a table: rain and light beside the level, nothing left out unsaid."""

from guiding.charts.river_table import river_table
from tests.charts.drawn import HOUR, START, iso, picture, rain


def rows(**changes):
    return river_table(picture(**changes))


def test_each_line_has_the_rain_until_the_next_and_says_how_it_is_known():
    steps = [(h, 1, 0.5, "measured") for h in range(12)]
    steps += [(48, 6, 9.0, "forecast"), (54, 1, 1.0, "forecast")]
    table = {row.when: row.rain for row in rows(rain=rain(*steps))}

    assert table["Wed 20 May, 00:00"] == "3.0 mm"
    assert table["Wed 20 May, 12:00"] == "not known"
    assert table["Fri 22 May, 00:00"] == "9.0 mm forecast"
    assert table["Fri 22 May, 06:00"] == "1.0 mm forecast, part not known"


def test_dry_is_said_only_where_all_of_it_is_known():
    part = rain(*[(h, 1, 0.0, "measured") for h in range(3)])
    whole = rain(*[(h, 1, 0.0, "measured") for h in range(6)])

    assert rows(rain=part)[0].rain == "not known"
    assert rows(rain=whole)[0].rain == "0.0 mm"


def test_each_line_says_whether_it_is_dark():
    table = {row.when: row.light for row in rows(nights=[(iso(21), iso(28))])}

    assert table["Wed 20 May, 18:00"] == "light"
    assert table["Thu 21 May, 00:00"] == "dark"
    assert table["Thu 21 May, 06:00"] == "light"
    assert {row.light for row in rows()} == {""}  # nobody looked for nights


def test_rain_is_told_where_no_level_is():
    table = rows(
        measured=[],
        forecast=[],
        rain=rain((0, 6, 2.0, "measured"), (6, 6, 3.0, "forecast")),
        shown_from=iso(0),
        shown_to=iso(24),
    )

    assert [(row.when, row.level, row.known_as, row.rain) for row in table] == [
        ("Wed 20 May, 00:00", "not known", "not known", "2.0 mm"),
        ("Wed 20 May, 06:00", "not known", "not known", "3.0 mm forecast"),
    ]


def test_a_daily_line_is_a_day_with_the_days_rain():
    measured = [((START + 24 * n * HOUR).isoformat(), 0.5) for n in range(2)]
    table = rows(
        measured=measured,
        forecast=[((START + 48 * HOUR).isoformat(), 0.4, 0.5, 0.6)],
        step_minutes=1440,
        level_words="worked out from flow",
        rain=rain((0, 24, 4.0, "measured"), (48, 6, 3.0, "forecast")),
    )

    assert [(row.when, row.known_as, row.rain, row.light) for row in table] == [
        ("Wed 20 May", "worked out from flow", "4.0 mm", ""),
        ("Thu 21 May", "worked out from flow", "not known", ""),
        ("Fri 22 May", "forecast", "3.0 mm forecast, part not known", ""),
    ]
