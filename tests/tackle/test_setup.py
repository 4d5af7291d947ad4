"""The set-up as plain JSON values."""

import json

from guiding.tackle.setup import setup_as_json
from tests.briefings.boxes import advise


def test_a_set_up_carries_exactly_the_promised_keys():
    said = setup_as_json(advise().setup)

    assert list(said) == [
        *("line", "tip", "tip_sink_cm_s", "leader", "leader_m", "tippet_mm", "point", "dropper"),
        *("dropper_from_line_m", "hold_s", "how", "knots"),
    ]
    assert list(said["leader"][0]) == ["part", "length_m", "diameter_mm"]
    assert list(said["point"]) == [
        *("pattern", "length_mm", "hook_size", "tube", "weight_g", "dressing", "colours"),
    ]
    assert json.loads(json.dumps(said, allow_nan=False)) == said


def test_a_line_says_what_it_does_even_where_its_name_does_not():
    assert "intermediate" in setup_as_json(advise(water=7.0).setup)["line"].lower()
    assert "floating" in setup_as_json(advise().setup)["line"].lower()
