"""Give houses that exist already the rule for low clear water of unknown temperature.

Read from the file of starting rules, as 0002 reads them all. A rule of that name that the guide
wrote stays as it is.
"""

import tomllib
from pathlib import Path

from django.db import migrations

RULES = Path(__file__).parent.parent / "setups" / "starting_rules.toml"
NAME = "Low and clear, temperature not known"


def add(apps, schema_editor):
    rules = apps.get_model("briefings", "SetUpRule").objects.using(schema_editor.connection.alias)
    for table in tomllib.loads(RULES.read_text(encoding="utf-8"))["rule"]:
        if table["name"] == NAME:
            defaults = {key: value for key, value in table.items() if key != "name"}
            rules.get_or_create(name=NAME, defaults=defaults)


class Migration(migrations.Migration):
    dependencies = [("briefings", "0003_forecasts_of_further_gauges")]

    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
