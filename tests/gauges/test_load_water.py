import copy
import json
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from guiding.gauges.models import BeatGauge, Gauge, Mark, PoolGauge, Sounding
from guiding.gauges.pairing import is_said, is_typed
from guiding.gauges.waterfile.form import TABLES, Table, form_words
from guiding.gauges.waterfile.loading import load_water
from guiding.gauges.waterfile.reading import WaterFileRefused, read_water_file
from guiding.history.models import Event
from guiding.regimes.models import Dam, DamBeat, TideBeat, TidePlace
from guiding.rivers.models import AccessPoint, Beat, PartHours, Pool, River, Water
from tests.factories import make_gauge

WITHY = Path(__file__).parents[1] / "data" / "water" / "withy.toml"
AT = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
MODELS = (
    *(River, Water, PartHours, AccessPoint, Beat, Pool),
    *(Gauge, BeatGauge, PoolGauge, Mark, Sounding),
)
ROWS = {
    "river": River,
    "water": Water,
    "water.part_hours": PartHours,
    "water.access_point": AccessPoint,
    "water.beat": Beat,
    "water.beat.gauge": BeatGauge,
    "water.beat.pool": Pool,
    "water.beat.pool.sounding": Sounding,
    "water.beat.pool.access_point": AccessPoint,
    "gauge": Gauge,
    "gauge.mark": Mark,
    "dam": Dam,
    "dam.beat": DamBeat,
    "tide_place": TidePlace,
    "tide_place.beat": TideBeat,
}


@pytest.fixture
def withy():
    return tomllib.loads(WITHY.read_text())


def everything():
    return {model.__name__: list(model.objects.order_by("pk").values()) for model in MODELS}


def first_sounding(document):
    return document["water"][0]["beat"][0]["pool"][0]["sounding"][0]


@pytest.mark.django_db
def test_a_file_becomes_rows_with_what_it_says(withy):
    loaded = load_water(withy, at=AT)

    beat = Beat.objects.get()
    sounding = Sounding.objects.get(measured_on=date(2025, 7, 2))
    assert loaded.added["sounding"] == 2
    assert loaded.river.is_peaty
    assert beat.gauge_links.get().delay_hours == 0.5
    assert (sounding.depth_m, sounding.speed_ms, sounding.level_m) == (0.38, 0.45, 0.32)
    assert sounding.pool.gauge_ratios.get().ratio == 0.9
    assert [mark.kind for mark in Mark.objects.all()] == [
        *("summer", "good", "high", "big", "over_bank")
    ]
    assert AccessPoint.objects.get(name="Mossy stile").pool == sounding.pool
    assert AccessPoint.objects.get(is_meeting_point=True).pool is None
    assert PartHours.objects.get(part="night").ends.hour == 2


@pytest.mark.django_db
def test_a_second_run_doubles_and_changes_nothing(withy):
    load_water(withy, at=AT)
    before = everything()

    again = load_water(withy, at=AT)

    assert everything() == before
    assert not again.added
    assert not again.changed
    assert Event.objects.count() == 1


@pytest.mark.django_db
def test_a_second_run_brings_rows_up_to_date_and_keeps_what_the_file_leaves_out(withy):
    load_water(withy, at=AT)
    Pool.objects.filter(name="Mossy Run").update(notes="typed by the guide")
    withy["gauge"][0]["mark"][1]["level_m"] = 0.5
    del withy["water"][0]["beat"][0]["pool"][1]

    again = load_water(withy, at=AT)

    assert again.changed == {"mark": 1}
    assert Mark.objects.get(kind="good").level_m == 0.5
    assert Pool.objects.get(name="Mossy Run").notes == "typed by the guide"
    assert Pool.objects.filter(name="Alder Pot").exists()


@pytest.mark.django_db
def test_a_row_is_found_by_name_whatever_its_case(withy):
    load_water(withy, at=AT)
    withy["water"][0]["name"] = "WITHY LOWER"

    load_water(withy, at=AT)

    assert Water.objects.get().name == "WITHY LOWER"


def set_in(document, path, value):
    *way, last = path
    for step in way:
        document = document[step]
    document[last] = value


BEAT_1 = ("water", 0, "beat", 0)
POOL_1 = (*BEAT_1, "pool", 0)
SOUNDING_1 = (*POOL_1, "sounding", 0)
SOUNDING_PLACE = "water 1 'Withy Lower', beat 1 'Withy Home Beat', pool 1 'Mossy Run', sounding 1: "


@pytest.mark.parametrize(
    ("path", "value", "problem"),
    [
        (
            (*SOUNDING_1, "depth_m"),
            -0.4,
            SOUNDING_PLACE + "depth_m is -0.4; allowed is above 0 and at most 10 m",
        ),
        ((*SOUNDING_1, "depth_m"), 0, "depth_m is 0; allowed is above 0"),
        ((*SOUNDING_1, "depth_m"), "0,4", "depth_m is '0,4'; allowed is above 0"),
        ((*SOUNDING_1, "depth_m"), True, "depth_m is True"),
        ((*SOUNDING_1, "depth_m"), float("nan"), "depth_m is nan"),
        ((*SOUNDING_1, "depth_m"), float("inf"), "depth_m is inf"),
        ((*SOUNDING_1, "speed_ms"), 10**400, "speed_ms is 1000"),
        ((*SOUNDING_1, "level_m"), -99, "level_m is -99; allowed is -1 to 20 m"),
        ((*SOUNDING_1, "level_m"), 6, "level_m is 6; gauge Withy Bridge reads 0 to 5 m"),
        ((*SOUNDING_1, "measured_on"), "next week", "allowed is a day such as 2026-05-20"),
        ((*SOUNDING_1, "measured_on"), date(2027, 1, 1), "2027-01-01; today is 2026-05-20"),
        ((*SOUNDING_1, "measured_on"), AT, "allowed is a day such as 2026-05-20"),
        ((*SOUNDING_1, "gauge"), "Elsewhere", "no gauge is called 'Elsewhere'; known are: Withy"),
        ((*SOUNDING_1, "deph_m"), 1, "'deph_m' is not known; allowed are gauge, spot, level_m"),
        ((*POOL_1, "bottom"), "mud", "bottom is 'mud'; allowed is one of gravel, cobble"),
        ((*POOL_1, "name"), "  ", "name is empty; it must say something"),
        ((*POOL_1, "name"), "x" * 81, "name has 81 characters; at most 80 are allowed"),
        ((*POOL_1, "name"), "a\x00b", "name holds a control character"),
        ((*POOL_1, "name"), "Alder Pot", "name Alder Pot stands already at"),
        ((*POOL_1, "sounding"), "none", "sounding is 'none'; it is a table"),
        ((*BEAT_1, "regime"), "dammed", "allowed is one of natural, regulated, tidal"),
        ((*BEAT_1, "gauge", 0, "name"), "Elsewhere", "no gauge is called 'Elsewhere'"),
        (("river", "zone"), "Mars/North", "zone is 'Mars/North'; allowed is a zone such as"),
        (("river", "zone"), "../../etc/passwd", "allowed is a zone such as Europe/London"),
        (("river", "latitude"), 95, "latitude is 95; allowed is -90 to 90 degrees"),
        (("rivver",), {}, "the file: 'rivver' is not known; allowed are river, water, gauge"),
        (("water", 0, "rods_a_day"), 2.5, "rods_a_day is 2.5; allowed is 1 to 100"),
        (("water", 0, "part_hours", 0, "ends"), "25:00", "allowed is a clock time such as 09:00"),
        (("water", 0, "part_hours", 0, "ends"), "09:00", "starts and ends are both 09:00"),
        (("water", 0, "part_hours", 1, "last_month_day"), "02-30", "a month and day such as"),
        (("water", 0, "access_point", 0, "longitude"), 12.0, "outside the Ordnance Survey"),
        (("gauge", 0, "lowest_m"), 5, "the lowest must be below the highest"),
        (("gauge", 0, "step_minutes"), 15, "allowed is one of 60, 1440"),
        (("gauge", 0, "rating_a"), 12.0, "a rating needs all of rating_a, rating_b, rating_h0_m"),
        (("gauge", 0, "page_url"), "javascript:alert(1)", "an address that begins with https://"),
        (("gauge", 0, "mark", 1, "level_m"), 1.5, "high is at 0.95 m; it must be above good"),
        (("gauge", 0, "mark", 4, "level_m"), 6, "level_m is 6; gauge Withy Bridge reads 0 to 5 m"),
        (("gauge", 0, "mark", 0, "beat"), "Nowhere", "no beat is called 'Nowhere'"),
    ],
)
@pytest.mark.django_db
def test_a_wrong_value_is_named_with_its_place_and_nothing_is_stored(withy, path, value, problem):
    set_in(withy, path, value)

    with pytest.raises(WaterFileRefused) as refused:
        load_water(withy, at=AT)

    assert problem in " | ".join(refused.value.problems)
    assert not any(model.objects.exists() for model in MODELS)


def test_every_problem_is_collected(withy):
    first_sounding(withy)["depth_m"] = -0.4
    del withy["gauge"][0]["name"]
    withy["river"]["grid"] = "own"

    with pytest.raises(WaterFileRefused) as refused:
        read_water_file(withy)

    assert len(refused.value.problems) == 3
    assert str(refused.value).endswith("(and 2 more problems)")
    assert "name is missing; text of at most 80 characters is needed" in " ".join(
        refused.value.problems
    )


@pytest.mark.parametrize("document", [{}, {"river": []}, {"river": [{}, {}]}, {"river": 3}])
def test_a_document_without_one_river_is_refused(document):
    with pytest.raises(WaterFileRefused):
        read_water_file(document)


@pytest.mark.django_db
def test_a_beat_that_another_water_has_is_not_taken_from_it(withy):
    load_water(withy, at=AT)
    other = copy.deepcopy(withy)
    other["water"][0]["name"] = "Withy Upper"
    other["water"][0]["access_point"][0]["name"] = "Other gate"

    with pytest.raises(WaterFileRefused, match="the water Withy Lower has one of that name"):
        load_water(other, at=AT)

    assert Water.objects.count() == 1


@pytest.mark.django_db
def test_a_narrower_gauge_on_file_still_bounds_a_mark(withy):
    load_water(withy, at=AT)
    gauge = withy["gauge"][0]
    del gauge["highest_m"]
    gauge["mark"][4]["level_m"] = 7

    with pytest.raises(WaterFileRefused, match="gauge Withy Bridge reads 0 to 5 m"):
        load_water(withy, at=AT)


@pytest.mark.django_db
def test_what_is_still_missing_is_said(withy):
    withy["water"][0]["access_point"][0]["is_meeting_point"] = False
    withy["water"][0]["beat"].append({"name": "Withy Dam Beat", "regime": "regulated"})

    loaded = load_water(withy, at=AT)

    assert loaded.says == (
        "Withy Lower: no meeting point yet",
        "Withy Dam Beat: no dam or tide place is on file, so bank only",
        "Withy Dam Beat: no sounding yet, so wading there is not known",
    )
    assert Beat.objects.get(name="Withy Dam Beat").gauge_links.get().gauge.name == "Withy Bridge"


def dammed(withy, regime="regulated", **changes):
    """Return the water file with a beat that a dam and a tide reach."""
    withy["water"][0]["beat"].append({"name": "Withy Dam Beat", "regime": regime})
    withy["dam"] = [
        {
            "name": "Withy Dam",
            "phone": "01632 960190",
            "beat": [{"name": "withy dam beat", "travel_hours": 2.5, **changes}],
        }
    ]
    withy["tide_place"] = [
        {
            "name": "Withy Mouth",
            "zone": "UTC",
            "beat": [{"name": "Withy Dam Beat", "lag_hours": 1, "flood_hours": 2, "ebb_hours": 3}],
        }
    ]
    return withy


@pytest.mark.django_db
def test_dams_and_tides_are_loaded_with_the_beats_they_reach_and_a_second_time_changes_nothing(
    withy,
):
    loaded = load_water(dammed(withy), at=AT)
    again = load_water(withy, at=AT)

    link = DamBeat.objects.get()
    assert (link.beat.name, link.dam.name) == ("Withy Dam Beat", "Withy Dam")
    assert (link.travel_hours, link.margin_hours, link.gauge_is_below) == (2.5, 0.5, False)
    assert TideBeat.objects.get().place.zone == "UTC"
    assert not any("bank only" in line for line in loaded.says)
    assert (again.added, again.changed) == ({}, {})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"regime": "natural"}, "Withy Dam Beat has the regime natural"),
        ({"travel_hours": -1}, "travel_hours is -1; allowed is 0 to 96 h"),
        ({"margin_hours": 13}, "margin_hours is 13; allowed is 0 to 12 h"),
        ({"name": "No Such Beat"}, "no beat is called 'No Such Beat'"),
    ],
)
@pytest.mark.django_db
def test_a_dam_that_cannot_be_is_refused_with_its_place(withy, changes, said):
    with pytest.raises(WaterFileRefused, match=said):
        load_water(dammed(withy, **changes), at=AT)

    assert not Dam.objects.exists()


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_the_form_says_what_the_rows_allow(table: Table):
    for path, part in walk(table, table.name):
        row = ROWS[path]
        for key in part.keys:
            if (path, key.name) in {
                ("water.beat.gauge", "name"),  # the linked gauge's
                ("dam.beat", "name"),  # the linked beat's
                ("tide_place.beat", "name"),
                ("water.beat.pool", "ratio"),  # a row of its own
            }:
                continue
            field = row._meta.get_field(key.name)
            if field.choices:
                assert list(key.choices) == [value for value, _ in field.choices], key
            elif field.get_internal_type() == "CharField" and not key.choices:
                assert (key.longest or 80) <= field.max_length or key.kind != "text", key
            assert key.name in form_words()


def walk(table, path):
    yield path, table
    for part in table.parts:
        yield from walk(part, f"{path}.{part.name}")


@pytest.mark.django_db
def test_the_command_loads_and_tells(capsys):
    call_command("load_water", str(WITHY), "--json", "--at", "2026-05-20T09:00Z")

    told = json.loads(capsys.readouterr().out)
    assert told["river"] == "Withy Water"
    assert told["added"]["pool"] == 2
    assert told["says"] == []


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"\x00\xff\xfe\x80", "is not text in UTF-8"),
        (b"river = [[[", "is not TOML"),
        (b"a = " + b"[" * 50_000, "is not TOML"),
        (b"", "[river] is missing"),
        (b"#" * 5_000_001, "has more than 5,000,000 bytes"),
    ],
)
@pytest.mark.django_db
def test_a_file_that_is_no_water_file_is_refused_in_one_line(tmp_path, content, why):
    path = tmp_path / "water.toml"
    path.write_bytes(content)

    with pytest.raises(CommandError) as refused:
        call_command("load_water", str(path))

    assert why in str(refused.value)
    assert "\n" not in str(refused.value)
    assert refused.value.returncode == 2


@pytest.mark.django_db
def test_a_folder_and_an_absent_file_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "none.toml"):
        with pytest.raises(CommandError, match=r"is not a file|does not exist"):
            call_command("load_water", str(path))


@pytest.mark.django_db
def test_a_delay_or_ratio_that_the_file_gives_is_a_persons_even_at_nought_and_one(withy):
    make_gauge(name="Withy Weir")
    withy["water"][0]["beat"][0]["gauge"].append({"name": "Withy Weir", "order": 2, "ratio": 1.0})

    load_water(withy, at=AT)
    again = load_water(withy, at=AT)

    link = BeatGauge.objects.get(gauge__name="Withy Weir")
    assert is_typed(link, "ratio")
    assert not is_said(link, "delay_hours")
    assert (again.added, again.changed) == ({}, {})
