"""The advise command, as typed."""

import json

import pytest

from briefings.management.commands.advise import Command
from tests.briefings.stored import AT, store_box
from tests.factories import make_beat, make_water

pytestmark = pytest.mark.django_db
SUMMER = (
    *("--date", "2026-07-10", "--level-m", "0.35", "--phase", "settled", "--water-c", "14"),
    *("--water-c-two-days-ago", "14", "--visibility-cm", "150", "--air-c", "16"),
    *("--wind-ms", "3", "--sky", "cloud", "--casting", "used", "--at", AT.isoformat()),
)


@pytest.fixture
def typed(capsys):
    def run(*words):
        code = 0
        try:
            Command().run_from_argv(["manage.py", "advise", *words])
        except SystemExit as end:
            code = end.code
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


@pytest.fixture
def beat():
    store_box()
    return make_beat(name="Upper Haugh")


def test_json_is_one_object_with_the_promised_keys(typed, beat):
    code, out, err = typed("upper haugh", *SUMMER, "--json")

    answer = json.loads(out)
    assert (code, err) == (0, "")
    assert list(answer) == [
        *("worth_going", "permitted", "why", "setup", "box", "alternatives", "overruled"),
        *("reasons", "conditions", "cautions"),
    ]
    assert set(answer["setup"]) == {
        *("line", "tip", "tip_sink_cm_s", "leader", "leader_m", "tippet_mm", "point", "dropper"),
        *("dropper_from_line_m", "hold_s", "how", "knots"),
    }
    fly = {*("pattern", "length_mm", "hook_size", "tube", "weight_g", "dressing", "colours")}
    assert set(answer["setup"]["point"]) == fly
    assert set(answer["box"]) == {"points", "droppers"}
    assert 4 <= len(answer["box"]["points"]) <= 5
    assert 2 <= len(answer["box"]["droppers"]) <= 3
    assert all(set(one) == fly for kind in answer["box"].values() for one in kind)
    assert all(set(one) == {"part", "length_m", "diameter_mm"} for one in answer["setup"]["leader"])
    assert all(
        set(one) == {"text", "because", "label", "source"}
        for one in (*answer["reasons"], *answer["cautions"])
    )
    assert all(
        tuple(one) == ("what", "value", "low", "high", "unit", "kind", "at", "age_hours", "source")
        for one in answer["conditions"]
    )
    assert answer["permitted"] == "not_known"


def test_a_beat_without_a_gauge_is_advised_with_what_was_given(typed, beat):
    code, out, _ = typed("Upper Haugh", *SUMMER, "--json")

    answer = json.loads(out)
    by_name = {one["what"]: one for one in answer["conditions"]}
    assert code == 0
    assert (by_name["level"]["value"], by_name["level"]["kind"]) == (0.35, "given")
    assert by_name["level class"]["value"] is None  # no mark says what 0.35 m is here
    assert answer["worth_going"] == "not_known"


@pytest.mark.parametrize(
    "words",
    [
        ("--date", "2028-07-10"),
        ("--date", "2026-07-10", "--part", "night"),
        ("--date", "2026-07-10", "--fish", "sea_trout", "--part", "night"),
        ("--date", "2200-12-31", "--part", "night"),
        ("--date", "1900-01-01"),
    ],
)
def test_a_day_of_which_nothing_is_known_still_carries_its_cautions(typed, beat, words):
    code, out, err = typed("Upper Haugh", *words, "--at", AT.isoformat(), "--json")

    answer = json.loads(out)
    assert (code, err) == (0, "")
    assert answer["worth_going"] == "not_known"
    assert len(answer["cautions"]) >= 15


def test_the_text_says_dangers_before_the_set_up(typed, beat):
    code, out, _ = typed("Upper Haugh", *SUMMER)

    assert code == 0
    assert out.index("Take care") < out.index("of leader")
    assert "Permitted: not known." in out


def test_the_list_names_natural_water_first_and_the_beat_first(typed):
    water = make_water()
    make_beat(water=water, name="A Dam Beat", regime="regulated")
    make_beat(water=water, name="B Beat")

    code, out, _ = typed("--list")

    assert code == 0
    assert [line.split("\t")[0] for line in out.splitlines()] == ["B Beat", "A Dam Beat"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Name a beat"),
        (("Nowhere", "--date", "2026-07-10"), "No beat is called 'Nowhere'. On file: Upper Haugh"),
        (("Upper Haugh",), "--date is missing"),
        (("Upper Haugh", "--date", "9999-12-31", "--part", "night"), "the years 1900 to 2200"),
        (("Upper Haugh", "--date", "0001-01-01"), "the years 1900 to 2200"),
        (("Upper Haugh", "--date", "10/07/2026"), "write it as 2026-05-21"),
        (("Upper Haugh", "--date", "2026-07-10", "--rods", "0"), "--rods is 0; allowed is 1 to 20"),
        (("Upper Haugh", "--date", "2026-07-10", "--rods", "x"), "--rods"),
        (("Upper Haugh", "--date", "2026-07-10", "--water-c", "40"), "-0.5 to 35 degrees C"),
        (("Upper Haugh", "--date", "2026-07-10", "--level-m", "-99"), "-1 to 20 m"),
        (("Upper Haugh", "--date", "2026-07-10", "--level-m", "nan"), "out of range"),
        (("Upper Haugh", "--date", "2026-07-10", "--air-c", "60"), "-40 to 45"),
        (("Upper Haugh", "--date", "2026-07-10", "--phase", "flood"), "phase"),
        (("Upper Haugh", "--date", "2026-07-10", "--part", "noon"), "part"),
        (("Upper Haugh", "--date", "2026-07-10", "--method", "worm"), "method"),
        (("Upper Haugh", "--date", "2026-07-10", "--at", "soon"), "is not a moment"),
    ],
)
def test_bad_input_is_refused_in_one_line(typed, beat, words, said):
    code, out, err = typed(*words)

    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert said in err


def test_several_rods_are_told_what_each_starts_with(typed, beat):
    _, one, _ = typed("Upper Haugh", *SUMMER)
    _, two, _ = typed("Upper Haugh", *SUMMER, "--rods", "2")

    assert "To start with" not in one
    assert "- rod 1: " in two
    assert "- rod 2: " in two
    starts = [line.split(": ", 1)[1] for line in two.splitlines() if line.startswith("- rod ")]
    assert len(set(starts)) == 2


def test_the_help_says_what_a_leader_holds_and_whose_clock_a_bare_moment_is_read_by(capsys):
    with pytest.raises(SystemExit):
        Command().create_parser("manage.py", "advise").parse_args(["--help"])

    said = " ".join(capsys.readouterr().out.split())
    assert "tag hangs beside it and is not counted in" in said
    assert "one without an offset is read as UTC" in said
