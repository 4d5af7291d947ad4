"""Gauges with an invented river on file, and fits of them, for whoever tests what rests on them."""

from datetime import UTC, datetime, timedelta

from guiding.gauges.models import Fit
from tests.factories import make_gauge, make_readings, make_river
from tests.gauges.inventedriver import invented_river

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
LAST_DAY = datetime(2026, 5, 19, tzinfo=UTC)


def daily_gauge(years=1.0, *, last=LAST_DAY, seed=7, rain=True, **changes):
    """Return a gauge with a daily record in UTC that ends on a day, and its levels."""
    level, fell = invented_river(years, 1440, seed)
    gauge = make_gauge(river=make_river(zone="UTC"), step_minutes=1440, **changes)
    times = [last - DAY * k for k in range(len(level))][::-1]
    make_readings(gauge, "level_m", zip(times, level.tolist(), strict=True))
    if rain:
        make_readings(gauge, "rain_mm", zip(times, fell.tolist(), strict=True))
    return gauge


def days_on(gauge, since, count, *, years=1.0, seed=7, level=None):
    """Let more days of the same river come in, or the levels given."""
    levels, fell = invented_river(years + count / 365.25 + 0.1, 1440, seed)
    begins = len(invented_river(years, 1440, seed)[0])
    levels = levels[begins : begins + count] if level is None else level
    days = [since + DAY * k for k in range(count)]
    make_readings(gauge, "level_m", zip(days, [float(v) for v in levels], strict=True))
    make_readings(gauge, "rain_mm", zip(days, fell[begins : begins + count].tolist(), strict=True))


def make_fit(gauge, **changes):
    """Return a stored fit that nothing was learned for."""
    fields = {
        "gauge": gauge,
        "what": "level",
        "model": "made for a test",
        "step_minutes": gauge.step_minutes,
        "fitted_at": LAST_DAY,
        "fit_seconds": 1.0,
        "data_from": LAST_DAY - 365 * DAY,
        "data_to": LAST_DAY,
        "data_count": 365,
        "data_on_file": 730,
        "rain": "degraded",
        "learned": b"",
        "is_in_force": True,
        "began_at": LAST_DAY,
        "why": "made for a test",
        **changes,
    }
    return Fit.objects.create(**fields)
