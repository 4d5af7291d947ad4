"""A place cannot be sold twice, on either database: real processes, a real server."""

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.races import Field

BUYERS = 8
FIRST = date(2026, 6, 1)
AT = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)


@pytest.fixture(params=["sqlite_url", "postgres_url"])
def buyers(request):
    """Start eight buyers on a database of their own, a file or a real server."""
    url = request.getfixturevalue(request.param)
    with Field("tests.journeys.buyers", url=url, racers=BUYERS) as field:
        yield field


def lay_out(buyers, *, days, rods_a_day):
    return buyers.ask(
        "lay_out",
        first=FIRST.isoformat(),
        days=days,
        rods_a_day=rods_a_day,
        buyers=BUYERS,
        at=AT.isoformat(),
    )


def on(number):
    return (FIRST + timedelta(days=number)).isoformat()


def test_of_eight_buyers_of_one_place_exactly_one_wins(buyers, rounds):
    one_rod, five_rods = rounds(6, 200), rounds(3, 60)
    water = lay_out(buyers, days=one_rod + 2, rods_a_day=1)
    hold_ends = AT + timedelta(hours=1)

    def buy(name, day, at=AT, **others):
        told = {"water": water, "rods": 1, "at": at.isoformat(), **others}
        return buyers.ask("buy", round=name, days=[on(day)], **told)

    sales = [buy(f"sale{day}", day) for day in range(one_rod)]
    offers = buy("offer", one_rod, held_until=hold_ends.isoformat())
    held = buy("held", one_rod)
    lapsed = buy("lapsed", one_rod, at=hold_ends)

    for answers in (*sales, offers, lapsed):
        assert sorted(a["result"] for a in answers) == ["bought"] + ["taken"] * (BUYERS - 1)
        assert {a["free"] for a in answers if a["result"] == "taken"} == {0}
    assert {a["result"] for a in held} == {"taken"}
    assert buyers.ask("look", water=water) == {
        "states": {"sold": one_rod + 1, "free": 1},
        "bookings": one_rod + 2,
        "rods_match": True,
    }
    assert buyers.ask("sell_by_hand", water=water) == "refused by the database"

    # parties of two over three days, on five seats a day: two parties whole, the fifth seat free
    water = lay_out(buyers, days=five_rods * 3, rods_a_day=5)
    for week in range(five_rods):
        # asked for in another order than the days run, so that claims would cross if they could
        days = [on(week * 3 + n) for n in (2, 0, 1)]
        answers = buyers.ask(
            "buy", round=f"week{week}", water=water, rods=2, days=days, at=AT.isoformat()
        )
        assert sorted(a["result"] for a in answers) == ["bought"] * 2 + ["taken"] * 6
    assert buyers.ask("look", water=water) == {
        "states": {"sold": five_rods * 3 * 4, "free": five_rods * 3},
        "bookings": five_rods * 2,
        "rods_match": True,
    }
