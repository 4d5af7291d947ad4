"""The wading command, as typed."""

import json

import pytest
from django.core.management import CommandError, call_command

from briefings.management.commands.wading import Command

FIT = ["--height-m", "1.80", "--mass-kg", "80", "--wading", "used"]


@pytest.fixture
def typed(capsys):
    def run(*words):
        code = 0
        try:
            Command().run_from_argv(["manage.py", "wading", *words])
        except SystemExit as end:
            code = end.code
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


def test_json_is_one_object_with_the_promised_keys(typed):
    code, out, err = typed("--depth-m", "0.6", "--speed-ms", "0.6", *FIT, "--json")

    answer = json.loads(out)
    assert (code, err) == (0, "")
    assert list(answer) == [
        *("depth_m", "speed_ms", "criteria", "decider", "verdict", "stop_level_m"),
        *("unchecked", "text", "client_text"),
    ]
    assert {tuple(row) for row in answer["criteria"]} == {
        ("name", "value", "limit", "unit", "decides", "verdict", "label", "source")
    }
    assert answer["verdict"] == "no_stop_found"
    assert answer["stop_level_m"] is None
    assert answer["unchecked"] == ["rise", "colour", "visibility", "ice", "light"]


def test_soundings_give_depth_speed_and_the_stop_level(typed):
    """The hand calculation of test_wading_pool: 0.30 + sqrt(0.45) - 0.45 = 0.52082 m."""
    _, out, _ = typed("--sounding", "0.30,0.45,0.60", "--level-m", "0.40", *FIT, "--json")

    answer = json.loads(out)
    assert answer["depth_m"] == pytest.approx(0.55)
    assert answer["speed_ms"] == pytest.approx(0.60 * 0.55 / 0.45)
    assert answer["stop_level_m"] == pytest.approx(0.52082, abs=1e-5)


def test_two_soundings_fit_the_exponent(typed):
    """m = ln(0.55/0.50) / ln(0.60/0.54), see test_wading_pool."""
    pair = ["--sounding", "0.7,0.54,0.5", "--sounding", "0.9,0.60,0.55"]
    _, out, _ = typed(*pair, "--level-m", "0.75", *FIT, "--json")

    assert json.loads(out)["speed_ms"] == pytest.approx(0.5 * (0.59 / 0.54) ** 0.90460, abs=1e-5)


def test_a_sounding_may_lie_below_the_gauges_zero(typed):
    code, out, _ = typed("--sounding", "-0.2,0.45,0.3", "--level-m", "-0.2", *FIT, "--json")

    assert code == 0
    assert json.loads(out)["depth_m"] == pytest.approx(0.45)


def test_the_last_word_is_the_banks_in_the_readable_answer(typed):
    code, out, err = typed("--depth-m", "0.9", "--speed-ms", "1", *FIT)

    assert (code, err) == (0, "")
    assert out.startswith("Stop: AIDR class H4 or above, depth x speed 0.9, limit 0.6 m2/s")
    assert "To the client: bank only." in out
    assert "Not checked: rise, colour, visibility, ice, light." in out
    assert "decide, not this list." in out
    assert "safe" not in out.lower()


@pytest.mark.parametrize(
    ("words", "client"),
    [
        (FIT, "your guide decides at the water"),
        ([*FIT[:4], "--wading", "novice"], "to the knee, with your guide"),
        (FIT[:4], "to the knee, with your guide"),
        ([*FIT, "--age", "15"], "to the knee, with your guide"),
        ([*FIT, "--frail"], "bank only"),
        ([*FIT, "--rise-cm-h", "6"], "bank only"),
        ([*FIT[:4], "--visibility-cm", "20"], "bank only"),
        (["--mass-kg", "80", "--wading", "used"], "bank only"),
        (["--height-m", "1.8", "--wading", "used"], "to the knee, with your guide"),
    ],
)
def test_the_client_reads_one_of_three_sentences(typed, words, client):
    code, out, _ = typed("--depth-m", "0.3", "--speed-ms", "0.3", *words, "--json")

    assert code == 0
    assert json.loads(out)["client_text"] == client


def test_colour_makes_the_hazard_rating_decide(typed):
    strong = ["--height-m", "1.9", "--mass-kg", "90", "--wading", "strong", "--json"]
    water = ["--depth-m", "0.9", "--speed-ms", "0.6"]

    clear = json.loads(typed(*water, *strong)[1])
    coloured = json.loads(typed(*water, *strong, "--coloured")[1])
    rising = json.loads(typed(*water, *strong, "--rise-cm-h", "1")[1])

    assert clear["verdict"] == "no_stop_found"
    assert (coloured["verdict"], coloured["decider"]) == ("stop", "flood hazard rating")
    assert (rising["verdict"], rising["decider"]) == ("stop", "flood hazard rating")
    assert coloured["unchecked"] == ["rise", "visibility", "ice", "light"]


BAD = [
    ([], "Give --depth-m and --speed-ms, or --sounding and --level-m; met was none."),
    (["--depth-m", "1"], "met was --depth-m."),
    (["--level-m", "1"], "met was --level-m."),
    (["--depth-m", "1", "--speed-ms", "1", "--level-m", "1"], "--depth-m, --level-m, --speed-ms."),
    (["--depth-m", "-1", "--speed-ms", "1"], "depth_m is -1.0; a depth is above 0 and at most 10"),
    (["--depth-m", "1", "--speed-ms", "nan"], "speed_ms is nan; a speed is 0 to 6 m/s."),
    (["--depth-m", "inf", "--speed-ms", "1"], "depth_m is inf"),
    (["--depth-m", "0,5", "--speed-ms", "1"], "'0,5' is not a number"),
    (["--sounding", "0.3,0.5,0.5", "--level-m", "-99"], "level_m is -99.0; a level is -1 to 20 m."),
    (["--sounding", "-99,0.5,0.5", "--level-m", "0"], "level_m is -99.0; a level is -1 to 20 m."),
    (["--sounding", "0.3,0.5", "--level-m", "0"], "has 2 parts; write LEVEL,DEPTH,SPEED"),
    (["--sounding", "0.3,x,0.5", "--level-m", "0"], "'x' is not a number"),
    (["--sounding"], "--sounding"),
    (["--depth-m", "1", "--speed-ms", "1", "--height-m", "3"], "height_m is 3.0"),
    (["--depth-m", "1", "--speed-ms", "1", "--mass-kg", "5"], "mass_kg is 5.0"),
    (["--depth-m", "1", "--speed-ms", "1", "--age", "-3"], "age is -3"),
    (["--depth-m", "1", "--speed-ms", "1", "--wading", "brave"], "brave"),
    (["--depth-m", "1", "--speed-ms", "1", "--visibility-cm", "-5"], "visibility_cm is -5.0"),
    (["--depth-m", "1", "--speed-ms", "1", "--nonsense"], "--nonsense"),
]


@pytest.mark.parametrize(("words", "said"), BAD)
def test_bad_input_ends_in_one_plain_line_and_code_two(typed, words, said):
    code, out, err = typed(*words, "--json")

    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
    assert "Error" not in err


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_water_that_a_dam_or_the_tide_moves_is_not_known_and_bank_only(typed, regime):
    _, out, _ = typed("--depth-m", "0.3", "--speed-ms", "0.3", *FIT, "--regime", regime, "--json")

    answer = json.loads(out)
    assert (answer["verdict"], answer["client_text"]) == ("not_known", "bank only")
    assert answer["text"] == f"not known: {regime} water, and no schedule or table was asked"
    assert answer["stop_level_m"] is None


@pytest.mark.parametrize("regime", ["regulated", "tidal"])
def test_a_stop_stays_a_stop_on_moved_water(typed, regime):
    _, out, _ = typed("--depth-m", "1.5", "--speed-ms", "2", *FIT, "--regime", regime, "--json")

    assert json.loads(out)["verdict"] == "stop"


def test_a_sounding_below_nought_is_read_from_code_as_well_as_typed(typed, capsys):
    words = ("--sounding", "-0.2,0.45,0.60", "--level-m", "-0.1", "--json")

    call_command("wading", *words)

    assert json.loads(capsys.readouterr().out) == json.loads(typed(*words)[1])


def test_a_sounding_left_out_is_refused_from_code_in_one_line():
    with pytest.raises(CommandError, match="expected one argument"):
        call_command("wading", "--sounding")
