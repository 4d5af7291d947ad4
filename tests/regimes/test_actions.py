"""What is kept: every revision, once, and nothing that lies ahead."""

from datetime import datetime, timedelta

import pytest

from guiding.history.models import Event
from guiding.regimes.actions import (
    LookRefused,
    compare_schedules,
    import_schedules,
    import_tide_tables,
    keep_look,
    keep_tide_table,
)
from guiding.regimes.models import IceLook, Schedule, TideTable
from tests import factories
from tests.regimes.schedules import (
    DAY,
    SAID,
    make_dam,
    make_tide,
    print_table,
    regulated_beat,
    release,
    say,
    turns,
)

LATER = SAID + timedelta(hours=3)
TIDES = ("high 01:40", "low 07:50", "high 14:10", "low 20:20")

pytestmark = pytest.mark.django_db


@pytest.fixture
def dam():
    return make_dam(regulated_beat())


def test_a_changed_schedule_is_a_new_revision_and_the_old_one_stays(dam):
    say(dam, DAY)
    say(dam, DAY, release("10:00", "14:00"), at=LATER)

    rows = list(dam.schedules.order_by("revision"))
    assert [row.revision for row in rows] == [1, 2]
    assert [row.as_value().words() for row in rows] == ["no release planned", "10:00 to 14:00"]
    event = Event.objects.filter(what="schedule kept").last()
    assert event.before == {"day": "2026-05-21", "said": "no release planned"}
    assert event.after["said"] == "10:00 to 14:00"


def test_the_same_said_again_by_the_same_at_the_same_moment_is_kept_once(dam):
    first = say(dam, DAY, release("10:00"))

    assert say(dam, DAY, release("10:00")) == first
    assert Schedule.objects.count() == 1


def test_the_same_said_again_later_is_a_fact_of_its_own(dam):
    say(dam, DAY)

    assert say(dam, DAY, at=LATER).revision == 2


def test_nothing_is_kept_that_was_said_ahead_or_by_nobody(dam):
    for changes in ({"said_at": LATER}, {"said_by": " "}, {"said_at": datetime(2026, 5, 1)}):  # noqa: DTZ001
        with pytest.raises(LookRefused):
            say(dam, DAY, **changes)
    assert not Schedule.objects.exists()
    assert not Event.objects.exists()


def test_a_file_is_compared_kept_and_a_second_time_changes_nothing(dam):
    say(dam, DAY)
    days = {
        DAY: (release("10:00"),),
        DAY + timedelta(days=1): (),
    }

    shown = compare_schedules(dam, days, at=LATER)
    done = import_schedules(dam, days, said_by="the board", at=LATER, name="week.csv")
    again = import_schedules(dam, days, said_by="the board", at=LATER, name="week.csv")

    assert done == shown
    assert done.words() == "2 days: 1 new, 1 changed, 0 as on file."
    assert (done.changed[0].before, done.changed[0].after) == (
        "no release planned",
        "10:00, end not known",
    )
    assert again.words() == "2 days: 0 new, 0 changed, 2 as on file."
    assert Schedule.objects.count() == 3
    assert Schedule.objects.get(day=DAY, revision=2).came_from == "week.csv"


def test_a_table_is_kept_by_revisions_and_only_whole():
    place = make_tide(factories.make_beat(regime="tidal"))
    print_table(place, DAY, *TIDES)
    print_table(place, DAY, *TIDES)
    days = {
        DAY: turns(*TIDES),
        DAY + timedelta(days=1): turns("low 02:00", "high 08:30", "low 15:00"),
    }

    done = import_tide_tables(place, days, said_by="Firth table 2026", at=LATER, name="t.csv")

    assert done.words() == "2 days: 1 new, 0 changed, 1 as on file."
    assert TideTable.objects.count() == 2
    with pytest.raises(LookRefused, match="2 tides stand there"):
        keep_tide_table(place, DAY, turns(*TIDES[:2]), said_by="x", said_at=SAID, at=SAID)


def test_a_look_is_a_row_of_its_own_and_of_its_own_river():
    beat, other = factories.make_beat(), factories.make_beat()
    river = beat.water.river
    keep = {"looked_at": SAID, "who_looked": "Ruan", "at": SAID}
    keep_look(river, beat=beat, seen="none", **keep)
    keep_look(river, beat=None, seen="cover", **keep)

    assert IceLook.objects.count() == 2
    with pytest.raises(LookRefused, match="not on"):
        keep_look(river, beat=other, seen="none", **keep)
    with pytest.raises(LookRefused, match="seen is 'slush'"):
        keep_look(river, beat=None, seen="slush", **keep)
    with pytest.raises(LookRefused, match="lies ahead"):
        keep_look(river, beat=None, seen="none", **{**keep, "looked_at": LATER})
    with pytest.raises(LookRefused, match=r"-0\.5 to 35"):
        keep_look(river, beat=None, seen="none", water_c=float("nan"), **keep)
    assert Event.objects.filter(what="ice looked at").count() == 2


def test_what_was_said_cannot_be_taken_back_through_the_records(admin_client):
    say(make_dam(regulated_beat()), DAY)
    row = Schedule.objects.get()

    address = f"/admin/regimes/schedule/{row.pk}/"
    assert admin_client.get(f"{address}change/").status_code == 200
    assert admin_client.post(f"{address}change/", {"said_by": "x"}).status_code == 403
    assert admin_client.post(f"{address}delete/", {"post": "yes"}).status_code == 403


def test_a_natural_beat_is_not_laid_below_a_dam_in_the_records(admin_client):
    beat = factories.make_beat(name="Free Beat")
    river = beat.water.river

    answer = admin_client.post(
        "/admin/regimes/dam/add/",
        {
            "river": river.pk,
            "name": "Alder Dam",
            "beat_links-TOTAL_FORMS": "1",
            "beat_links-INITIAL_FORMS": "0",
            "beat_links-0-beat": beat.pk,
            "beat_links-0-travel_hours": "3",
            "beat_links-0-margin_hours": "0.5",
        },
    )

    assert "Free Beat is written down as natural water" in answer.content.decode()
