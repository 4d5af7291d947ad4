"""Whether a database is the demo's own: the event that says so, and whatever else is in it."""

from __future__ import annotations

from datetime import UTC, datetime

from django.apps import apps
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from briefings.models import SetUpRule
from guiding.history.models import Event

LOADED = "demo loaded"
ABOUT = "demo"
OUR_PACKAGES = ("guiding.", "briefings")


def anchor_on_file() -> datetime | None:
    """Return the moment at which the demo's season ends, or None where no demo is loaded."""
    if Event._meta.db_table not in connection.introspection.table_names():
        return None
    event = Event.objects.filter(what=LOADED, about=ABOUT).order_by("pk").first()
    if event is None:
        return None
    return datetime.fromisoformat(event.after["anchor"]).astimezone(UTC)


def stranger_in_database() -> str | None:
    """Say what a database holds that is not the demo's, or None. Nothing is changed by looking.

    It works before any migration: an empty database is nobody's.
    """
    if anchor_on_file() is not None:
        return None
    tables = set(connection.introspection.table_names())
    models = apps.get_models(include_auto_created=True)
    known = {model._meta.db_table for model in models}
    others = sorted(tables - known - {MigrationRecorder.Migration._meta.db_table})
    if others:
        return f"a table that is not Spatebook's ({others[0]})"
    for model in models:
        # the starting rules come with the tables; whoever edits them is a user, and that shows
        is_ours = model.__module__.startswith(OUR_PACKAGES) and model is not SetUpRule
        if is_ours and model._meta.db_table in tables and model._base_manager.exists():
            return str(model._meta.verbose_name_plural)
    return None
