"""Load the rules a house starts with, from the file they are kept in.

Read from the file, not frozen here: a new house starts with the rules of the day it is set up, and
no list is kept twice. A later change for houses that exist already is a migration of its own. What
the guide has edited is neither overwritten on the way in nor deleted on the way back.
"""

import tomllib
from pathlib import Path

from django.db import migrations

RULES = Path(__file__).parent.parent / "setups" / "starting_rules.toml"


def starting_rows():
    for table in tomllib.loads(RULES.read_text(encoding="utf-8"))["rule"]:
        yield {
            "name": table["name"],
            "rank": table["rank"],
            "order": table.get("order", 0),
            "when": table.get("when", {}),
            "asks": table.get("asks", {}),
            "says": table["says"],
            "label": table["label"],
            "source": table.get("source", ""),
        }


def load(apps, schema_editor):
    rules = apps.get_model("briefings", "SetUpRule").objects.using(schema_editor.connection.alias)
    for row in starting_rows():
        rules.get_or_create(name=row["name"], defaults=row)


def unload(apps, schema_editor):
    rules = apps.get_model("briefings", "SetUpRule").objects.using(schema_editor.connection.alias)
    for row in starting_rows():
        found = rules.filter(name=row["name"]).first()
        if found and all(getattr(found, name) == value for name, value in row.items()):
            found.delete()


class Migration(migrations.Migration):
    dependencies = [("briefings", "0001_start")]

    operations = [migrations.RunPython(load, unload)]
