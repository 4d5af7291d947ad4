"""One issue's content from a groundwork in memory: what of each part of the day is in it."""

from dataclasses import replace
from datetime import date

import pytest

from briefings.cautions import day as cautions
from briefings.letters import day_sheet_html, day_sheet_text
from briefings.pack.changes import what_changed
from briefings.pack.compose import compose
from briefings.trips import NothingToBrief, valid_until
from briefings.wading.judge import Sounding
from guiding.gauges.models import Gauge
from guiding.tackle.setup import TackleBox
from tests.briefings.groundworks import (
    DAY,
    hours_from,
    make_groundwork,
    make_outlook,
    make_person_row,
)
from tests.factories import make_condition, make_conditions, make_light

FIT = {
    "height_m": 1.80,
    "mass_kg": 80.0,
    "born_on": date(1980, 1, 1),
    "wading": "used",
    "casting": "used",
}
RUN = Sounding(level_m=0.35, depth_m=0.35, speed_ms=0.5, measured_on=date(2026, 6, 1))


def morning(**changes):
    return make_outlook(make_conditions(**changes))


def evening(**changes):
    fields = {"part": "evening", "starts_at": hours_from(DAY, 16), "light": make_light(DAY)}
    return make_outlook(make_conditions(**{**fields, **changes}))


def ada(**changes):
    return make_person_row(1, **{**FIT, "name": "Ada Reed", **changes})


def one(*outlooks, person=None, **changes):
    person = person or ada()
    changes.setdefault("soundings", ((RUN,),))
    return compose(make_groundwork(outlooks or (morning(),), [(person, "rod")], **changes), person)


def guides(*outlooks, **changes):
    changes.setdefault("soundings", ((RUN,),))
    return compose(make_groundwork(outlooks, [(ada(), "rod")], **changes), None)


def test_the_black_bar_carries_the_worst_of_all_parts():
    content = one(morning(), evening(level_class="big", level=1.2))

    assert content.danger.startswith("The river is big.")
    assert any(said.text.startswith("High water") for said in content.cautions)


def test_a_caution_of_two_parts_is_said_once_as_the_worse_part_asks_for_it():
    content = one(morning(), evening(rise=8.0))

    rises = [said for said in content.cautions if said.text.startswith("The river can rise")]
    assert [said.because for said in rises] == ["a rise of up to 8 cm an hour"]


def test_dam_and_tide_on_one_day_are_both_said():
    content = one(morning(regime="regulated"), evening(regime="tidal"))

    texts = [said.text for said in content.cautions]
    assert any(text.startswith("Water may be let go from the dam") for text in texts)
    assert any(text.startswith("The tide lifts this water") for text in texts)


@pytest.mark.parametrize(("regime", "text"), [("regulated", "dam"), ("tidal", "tide")])
def test_a_first_issue_names_dam_and_tide_too(regime, text):
    content = one(morning(), evening(regime=regime), issue="first")

    assert text in content.cautions[0].text
    assert {reason.text for reason in cautions.always()} <= {s.text for s in content.cautions}


def test_where_parts_differ_in_wading_each_is_told_by_name():
    content = one(morning(), evening(rise=8.0))

    assert content.wading == (
        "Morning, Beat 1: Your guide decides at the water. Evening, Beat 2: Bank only."
    )


def test_where_parts_agree_in_wading_it_is_told_once():
    assert one(morning(), evening()).wading == "Your guide decides at the water."


def test_a_part_below_a_dam_is_told_beside_the_natural_one():
    content = one(morning(), evening(regime="regulated"))

    sentence = content.river.sentence
    assert "Morning: " not in sentence
    assert "Morning, Beat 1: What the river will do on Wednesday is not known" in sentence
    assert "Evening, Beat 2: What this water will do is not known: water is let out" in sentence


def test_parts_with_gauges_of_their_own_are_told_one_by_one():
    other = replace(evening(), gauge=Gauge(pk=2, name="Birk Foot", step_minutes=60))

    content = one(morning(), other)

    assert "Morning, Beat 1: " in content.river.sentence
    assert "Evening, Beat 2: " in content.river.sentence


def test_worth_going_is_answered_for_each_part():
    worth = one(morning(), evening(water=21.0)).worth.worth_going

    assert "Morning, Beat 1: Worth going as the river looks now." in worth
    assert "Evening, Beat 2: Not worth going as the river looks now." in worth


def test_a_set_up_of_one_part_alone_says_for_which():
    content = one(morning(water=21.0), evening())

    assert content.setup.sentence.startswith("Evening, Beat 2: ")
    assert content.setup.when == "evening, Beat 2"
    assert content.later_setups == ()


def test_two_set_ups_each_say_for_which_part():
    content = one(morning(water=4.0, water_two_days_ago=4.0), evening(water=15.0))

    assert content.setup.sentence.startswith("Morning, Beat 1: ")
    assert [page.when for page in content.later_setups] == ["evening, Beat 2"]


def test_one_set_up_for_the_whole_day_names_no_part():
    content = one(morning(), evening())

    assert content.setup.when == ""
    assert content.later_setups == ()


def test_without_flies_the_pack_says_why_there_is_no_set_up():
    content = one(morning(), box=TackleBox())

    assert content.setup is None
    assert "box has no" in content.setup_says
    assert content.cautions


def test_sources_of_a_later_part_are_listed_where_they_differ():
    rows = one(morning(water=12.0), evening(water=15.0)).sources

    whats = [row.what for row in rows]
    assert whats.count("water temperature") == 1
    assert "evening, Beat 2: water temperature" in whats
    assert "evening, Beat 2: air temperature" not in whats


def test_the_class_of_the_level_is_on_the_guides_copy_only():
    assert "height" not in [row.what for row in one(morning()).sources]
    assert "height" in [row.what for row in guides(morning()).sources]


def test_a_mark_nobody_described_is_drawn_without_its_class():
    marks = dict(one(morning()).river.picture.marks)

    assert marks[0.40] == "flat stone covered"
    assert marks[0.90] == "your guide's mark"


def test_no_alternative_repeats_the_chosen_set_up():
    content = guides(morning(), evening(water=5.0, water_two_days_ago=5.0))

    chosen = {content.setup.sentence, *(page.sentence for page in content.later_setups)}
    told = {sentence.split(": ", 1)[-1] for sentence in chosen}
    assert content.guide.alternatives
    assert all(not any(line.endswith(s) for s in told) for line in content.guide.alternatives)


def test_the_guides_copy_has_every_part_by_name():
    content = guides(morning(), evening(class_chances=(("low", 0.25), ("good", 0.75))))

    assert [row.pool for row in content.guide.stops] == [
        "Pool 1 (morning, Beat 1; evening, Beat 2)"
    ]
    assert [name for name, _ in content.guide.class_chances] == [
        "evening, Beat 2: low, below 0.30 m",
        "evening, Beat 2: good, from 0.40 m",
    ]


def test_lengths_are_in_the_readers_units():
    metric = one(morning(), person=ada(units="metric")).setup
    imperial = one(morning(), person=ada(units="imperial")).setup

    assert " m (" in metric.leader.leader_words
    assert imperial.leader.leader_words.split(" (")[0].endswith(("ft", "in"))
    assert " in (" in imperial.flies[0].words
    assert all("in (0." in words for part, _, words in imperial.leader.sections if "mm" in words)


def test_a_first_issue_tells_no_river_and_no_source():
    content = one(morning(), issue="first")

    assert content.wading == "Bank only until your guide has told you at the water."
    assert (content.sources, content.setup) == ((), None)
    assert content.river.usual == "About 0.40 m."
    assert content.worth.worth_going == "Not known yet: it is too early to read the river."


def test_an_unknown_temperature_is_no_yes():
    worth = one(morning(water=make_condition("water", None))).worth

    assert "Whether it is worth going is not known." in worth.worth_going
    assert worth.permitted == "No rule on file: ask the fishery before anybody fishes."


def test_who_only_pays_and_who_is_a_stranger_get_no_pack():
    payer = make_person_row(2, name="Cleo Banks")
    ground = make_groundwork([morning()], [(ada(), "rod"), (payer, "payer")])

    with pytest.raises(NothingToBrief, match="only pays"):
        compose(ground, payer)
    with pytest.raises(NothingToBrief, match="does not come"):
        compose(ground, make_person_row(9))


def test_company_is_told_as_it_is():
    shared = [(ada(), "rod"), (make_person_row(2, name="Tom Hill"), "shares")]
    with_guest = [(ada(), "rod"), (make_person_row(2, name="Tom Hill"), "guest")]

    ground = make_groundwork([morning()], shared)
    assert compose(ground, ada()).reader_line == "One rod. You share one with Tom."
    assert compose(ground, shared[1][0]).reader_line == "One rod. You share one with Ada."
    ground = make_groundwork([morning()], with_guest)
    assert compose(ground, with_guest[1][0]).reader_line == "You come to watch, with Ada."
    assert compose(ground, ada()).reader_line == "One rod, with Tom."


def test_one_whose_casting_is_not_known_makes_the_partys_not_known():
    ground = make_groundwork(
        [morning()], [(ada(), "rod"), (make_person_row(2, **{**FIT, "casting": ""}), "rod")]
    )

    assert ground.trip.least_casting is None
    assert make_groundwork([morning()], [(ada(), "rod")]).trip.least_casting == "used"


def test_a_final_issue_holds_until_you_meet_and_a_first_until_the_evening_before():
    trip = make_groundwork([morning()], [(ada(), "rod")]).trip
    meets_at = trip.days[0].meets_at

    assert valid_until(trip, issue="final", at=hours_from(date(2026, 6, 23), 18)) == meets_at
    first = valid_until(trip, issue="first", at=hours_from(date(2026, 6, 15), 12))
    assert first.isoformat() == "2026-06-23T18:00:00+01:00"


# --- a junior in somebody's charge ----------------------------------------------------------------


def tom(**changes):
    fields = {**FIT, "name": "Tom Reed", "born_on": date(2014, 1, 1), "height_m": 1.45}
    return make_person_row(2, **{**fields, "mass_kg": 40.0, "wading": "novice", **changes})


def family(*outlooks, others=(), role="shares", payer=None, **changes):
    changes.setdefault("soundings", ((RUN,),))
    people = [(ada(), "rod"), (tom(), role), *others]
    ground = make_groundwork(outlooks or (morning(),), people, **changes)
    ground.trip.booking.payer_id = payer
    return ground


def test_a_parents_sheet_carries_the_juniors_words():
    ground = family(others=[(make_person_row(3, **{**FIT, "name": "Ida Moss"}), "rod")])

    parents, juniors, strangers = (compose(ground, m.person) for m in ground.trip.coming)

    assert [junior.name for junior in parents.in_charge] == ["Tom"]
    assert parents.in_charge[0].wading == juniors.wading != parents.wading
    assert parents.in_charge[0].kit == juniors.kit
    assert "for Tom Reed: " in parents.emergency.contact
    assert juniors.in_charge == strangers.in_charge == ()


@pytest.mark.parametrize(("payer", "told"), [(3, [3]), (None, [1, 3])])
def test_where_no_rod_is_shared_the_payer_answers_for_a_junior_or_else_every_grown_up(payer, told):
    ida = make_person_row(3, **{**FIT, "name": "Ida Moss"})
    ground = family(role="rod", others=[(ida, "guest")], payer=payer)

    found = [m.person.pk for m in ground.trip.coming if compose(ground, m.person).in_charge]

    assert found == told


def test_a_changed_word_for_the_junior_is_told_first_on_a_re_issue():
    old = compose(family(), ada()).as_json()
    new = compose(family(morning(rise=8.0)), ada()).as_json()

    assert any(
        "wading for Tom, in your charge: Bank only." in line for line in what_changed(old, new)
    )
    before = {key: value for key, value in old.items() if key != "in_charge"}
    assert what_changed(before, new)  # a content kept before there was such a thing


def test_the_letter_of_a_parent_carries_the_juniors_words():
    content = compose(family(), ada()).as_json()
    said = content["in_charge"][0]["wading"]

    for letter in (day_sheet_text(content), day_sheet_html(content)):
        assert f"Tom, in your charge: {said}" in letter


# --- who watches, and the guide's first page ------------------------------------------------------


def test_whoever_watches_gets_no_set_up_page():
    ida = make_person_row(3, name="Ida Moss")
    ground = make_groundwork([morning()], [(ada(), "rod"), (ida, "guest")], soundings=((RUN,),))

    watching = compose(ground, ida)

    assert (watching.setup, watching.later_setups) == (None, ())
    assert watching.setup_says == "You come to watch: there is nothing for you to tie on."
    assert compose(ground, ada()).setup is not None


def test_whoever_watches_over_a_junior_who_fishes_sees_the_juniors_set_up():
    ida = make_person_row(3, **{**FIT, "name": "Ida Moss"})
    ground = make_groundwork([morning()], [(tom(), "rod"), (ida, "guest")], soundings=((RUN,),))

    assert compose(ground, ida).setup is not None


def test_the_guides_first_page_says_each_ones_wading():
    ground = family()

    guide = compose(ground, None)
    words = {m.person.called: compose(ground, m.person).wading for m in ground.trip.coming}

    assert words["Ada"] != words["Tom"]
    assert guide.wading == f"Ada: {words['Ada']} Tom: {words['Tom']}"
    assert guide.in_charge == ()


def test_where_all_are_told_the_same_the_guides_first_page_says_it_once():
    assert guides(morning(rise=8.0)).wading == "Bank only."
    assert "Bank only" in guides(morning(rise=8.0)).danger
