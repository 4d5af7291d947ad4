"""The rules as rows: loaded by the migration, checked when edited, never lost on the way back."""

from importlib import import_module

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection

from briefings.models import SetUpRule
from tests.briefings.boxes import RULES

pytestmark = pytest.mark.django_db
migration = import_module("briefings.migrations.0002_starting_rules")


class Editor:
    """Stands in for the schema editor: the migration only asks it which database."""

    connection = connection


def test_a_new_house_holds_the_starting_rules_and_reads_them_back_unchanged():
    rows = SetUpRule.objects.all()

    assert {row.as_rule().name: row.as_rule() for row in rows} == {r.name: r for r in RULES}
    for row in rows:
        row.full_clean()


def test_going_back_and_forth_loses_nothing_that_the_guide_wrote():
    edited = SetUpRule.objects.get(name="Back end: red")
    edited.asks = {"colours": ["orange"]}
    edited.save()
    SetUpRule.objects.create(name="My own", rank=30, asks={"note": True}, says="Mine.")

    migration.unload(apps, Editor)
    left = set(SetUpRule.objects.values_list("name", flat=True))
    migration.load(apps, Editor)
    migration.load(apps, Editor)

    assert left == {"Back end: red", "My own"}
    assert SetUpRule.objects.get(name="Back end: red").asks == {"colours": ["orange"]}
    assert SetUpRule.objects.count() == len(RULES) + 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"when": {"water": 5}}, "no such fact"),
        ({"asks": {"leader_m": "long"}}, "it must be a number"),
        ({"label": "published source"}, "needs its title"),
        ({"says": "It is safe here."}, "not a word for advice"),
    ],
)
def test_an_edit_that_cannot_be_read_is_refused_in_words(changes, words):
    row = SetUpRule(name="Edited", rank=30, asks={"note": True}, says="As it is.")
    for name, value in changes.items():
        setattr(row, name, value)

    with pytest.raises(ValidationError) as caught:
        row.full_clean()

    assert words in " ".join(caught.value.messages)


def test_a_house_that_exists_already_gets_the_rule_for_unmeasured_low_water_once():
    later = import_module("briefings.migrations.0004_low_and_clear_unmeasured")
    SetUpRule.objects.filter(name=later.NAME).delete()

    later.add(apps, Editor)
    later.add(apps, Editor)

    row = SetUpRule.objects.get(name=later.NAME)
    assert row.as_rule() in RULES
    SetUpRule.objects.filter(pk=row.pk).update(says="My own words.")
    later.add(apps, Editor)
    assert SetUpRule.objects.get(name=later.NAME).says == "My own words."
