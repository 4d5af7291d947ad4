"""The forecast of water temperature in words: likely tomorrow, warmest of the days ahead."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.hydrology.record import ForecastRecord, WaterAhead


def water_words(record: ForecastRecord | None, at: datetime, zone: ZoneInfo) -> tuple[str, ...]:
    """Return what the forecast says of the water's temperature, nothing where there is none.

    Each value stands with its band; that it is modelled is said with it.
    """
    water = record.water if record else None
    if record is None or water is None:
        return ()
    coming = [
        k
        for k, moment in enumerate(water.times)
        if moment > at and None not in (water.q10[k], water.q50[k], water.q90[k])
    ]
    if not coming:
        return ("How warm the water will be is not known.", *dict.fromkeys(water.says))
    tomorrow = min(coming, key=lambda k: abs(water.times[k] - (at + timedelta(days=1))))
    warmest = max(coming, key=lambda k: water.q50[k] or 0.0)
    first = f"Water: most likely {_value(water, tomorrow)} {_when(record, water, tomorrow, zone)}."
    lines = [first]
    if warmest != tomorrow:
        when = _when(record, water, warmest, zone)
        lines.append(f"Warmest of the days ahead: {_value(water, warmest)} {when}.")
    return (*lines, f"Modelled, not measured ({water.model}).", *dict.fromkeys(water.says))


def _value(water: WaterAhead, step: int) -> str:
    low, middle, high = water.q10[step], water.q50[step], water.q90[step]
    return f"{middle:.1f} degrees C (four times in five {low:.1f} to {high:.1f})"


def _when(record: ForecastRecord, water: WaterAhead, step: int, zone: ZoneInfo) -> str:
    local = water.times[step].astimezone(zone)
    return f"on {local:%A}" if record.is_daily else f"at {local:%H:%M} on {local:%A}"
