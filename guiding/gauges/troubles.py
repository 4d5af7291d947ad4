"""What is wrong with where a gauge's values come from, one plain line each."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from guiding.gauges.models import Gauge


def troubles_of(gauge: Gauge) -> tuple[str, ...]:
    """Return a line for each broken source and for marks that no longer hold; mostly none."""
    zone = gauge.river.zoneinfo
    lines = [
        _line(series.get_quantity_display(), series.trouble, series.trouble_since, zone)
        for series in gauge.series.all()
        if series.trouble
    ]
    if gauge.weather_trouble:
        since = gauge.weather_trouble_since
        lines.append(_line("weather forecast", gauge.weather_trouble, since, zone))
    if gauge.marks_suspended_since is not None:
        lines.append(marks_suspended_words(gauge))
    return tuple(dict.fromkeys(lines))


def marks_suspended_words(gauge: Gauge) -> str:
    """Return why the marks of a gauge hold no longer, or an empty text."""
    if gauge.marks_suspended_since is None:
        return ""
    since = _moment_words(gauge.marks_suspended_since, gauge.river.zoneinfo)
    why = f": {gauge.marks_suspended_why.rstrip('.')}" if gauge.marks_suspended_why else ""
    return f"The marks are set aside since {since}{why}."


def _line(what: str, why: str, since: datetime | None, zone: ZoneInfo) -> str:
    when = f" not heard from as it should be since {_moment_words(since, zone)}" if since else ""
    return f"{what[:1].upper()}{what[1:]}:{when or ' something is wrong'}. {why.rstrip('.')}."


def _moment_words(moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{local:%A} {local.day} {local:%B}, {local:%H:%M}"
