"""A client reads no class of the river, whoever worded the rule."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefings.pack.client_words import for_client
from briefings.pack.compose import compose
from briefings.setups.rules import Rule
from guiding.sources import COMMON_PRACTICE
from tests.briefings import groundworks
from tests.briefings.groundworks import make_groundwork, make_outlook, make_person_row
from tests.factories import make_conditions

# what no client may read, stated anew
FORBIDDEN = re.compile(
    r"\bclass(es)?\b|\blevel[ :=_-]+(low|summer|good|high|big)\b|summer[ _-]level"
    r"|\bover[_ ](the )?bank\b",
    re.IGNORECASE,
)
NAMES = ("low", "summer", "good", "high", "big", "over_bank", "over the bank")
SHAPES = (
    "In class {name} fish deep.",
    "When the class is {name}, go.",
    "Level class {name}: a tube.",
    'Class "{name}" asks for red.',
    "A {name}-class river.",
    "{name} class",
    "level: {name}",
    "level {name} (forecast) and falling",
    "height class of {name}",
    "two classes up from {name}",
    "Summer level or {name}.",
)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("name", NAMES)
def test_a_class_is_told_as_the_rivers_height(shape, name):
    said = for_client(shape.format(name=name))

    assert not FORBIDDEN.search(said), said
    assert "  " not in said


@pytest.mark.parametrize(
    ("met", "said"),
    [
        ("In class big fish deep.", "In this height of the river fish deep."),
        ("Level class high: a tube.", "This height of the river: a tube."),
        ("Cast well over the gorse on the high bank.", None),
        ("A good cast, a big fly, a low sun.", None),
        ("A first-rate pool.", None),
    ],
)
def test_other_words_stay_as_they_are(met, said):
    assert for_client(met) == (met if said is None else said)


@given(
    st.lists(
        st.sampled_from((*NAMES, "class", "level", "is", "the", "in", ":", "a", ",", "Big")),
        max_size=8,
    ).map(" ".join)
)
def test_however_the_words_fall_no_class_is_left(text):
    assert not FORBIDDEN.search(for_client(text)), for_client(text)


def test_a_rule_of_the_guides_own_reaches_a_client_without_its_class(monkeypatch):
    rule = Rule(
        name="My own",
        rank=30,
        when={"level_class": "summer"},
        asks={
            "how": "In class summer, swing it.",
            "also": "Summer level: keep low.",
            "point_knot": "the knot for class summer",
            "worth_going": "yes",
        },
        says="Class summer is what I wait for.",
        source=COMMON_PRACTICE,
    )
    monkeypatch.setattr(groundworks, "RULES", (rule, *groundworks.RULES))
    person = make_person_row(1, name="Ada Reed")
    ground = make_groundwork([make_outlook(make_conditions())], [(person, "rod")])

    client, guide = compose(ground, person), compose(ground, None)

    told = str(replace(client, sources=()))
    assert "My own" not in told
    assert not FORBIDDEN.search(told), FORBIDDEN.search(told)
    assert "In class summer, swing it." in guide.setup.how  # the guide reads what the guide wrote
