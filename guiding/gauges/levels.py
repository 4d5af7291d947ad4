"""The record of a gauge as levels: read there, or worked out from flow through its rating."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from django.db.models import QuerySet

from guiding.gauges.hydrology.rating import Rating
from guiding.gauges.models import Gauge, Quantity, Reading


def levels_of(
    gauge: Gauge, since: datetime | None = None, until: datetime | None = None
) -> list[tuple[datetime, float]]:
    """Return moments and levels [m], oldest first, both ends included; suspect values left out.

    Where no level was ever measured, flow stands for it through the stated rating, and levels
    that somebody typed in stand beside it. Nothing worked out here is stored.
    """
    levels = _during(gauge, Quantity.LEVEL, since, until)
    if not has_levels_from_flow(gauge):
        return levels
    flows = _during(gauge, Quantity.FLOW, since, until)
    from_flow = rating_of(gauge).level_m(np.array([flow for _, flow in flows]))
    moments = (moment for moment, _ in flows)
    by_moment = dict(zip(moments, from_flow.tolist(), strict=True)) | dict(levels)
    return sorted(by_moment.items())


def newest_level(gauge: Gauge, until: datetime) -> list[tuple[datetime, float]]:
    """Return the newest level [m] up to a moment, alone in a list; an empty one without any."""
    moments = [
        row.observed_at
        for quantity in (Quantity.LEVEL, Quantity.FLOW)
        for row in _readings(gauge, quantity)
        .filter(observed_at__lte=until)
        .order_by("-observed_at")[:1]
    ]
    for moment in sorted(moments, reverse=True):
        if found := levels_of(gauge, moment, until):
            return found[-1:]
    return []


def has_levels_from_flow(gauge: Gauge) -> bool:
    """Say whether the levels of this gauge are worked out from flow."""
    if not gauge.has_rating:
        return False
    measured = _readings(gauge, Quantity.LEVEL).exclude(quality=Reading.Quality.TYPED)
    return not measured.exists() and _readings(gauge, Quantity.FLOW).exists()


def level_source_words(gauge: Gauge) -> str:
    """Return in words where the levels come from."""
    whose = gauge.source or f"gauge {gauge.name}"
    if has_levels_from_flow(gauge):
        return f"flow of {whose}, turned into level by a stated rating ({gauge.rating_source})"
    if _readings(gauge, Quantity.LEVEL).exists():
        return f"level read at {whose}"
    return f"no level on file for {gauge.name}"


def flow_to_level(gauge: Gauge, flow_m3s: float) -> float:
    """Return the level [m] at which the gauge's rating gives a flow [m3/s].

    Notes
    -----
    The rating is the gauge's own statement; beyond the flows it was made from it is a guess, which
    is why its source is always said.
    """
    return float(rating_of(gauge).level_m(np.array(flow_m3s)))


def rating_of(gauge: Gauge) -> Rating:
    """Return the rating that the gauge states; ValueError where it states none."""
    if gauge.rating_a is None or gauge.rating_b is None or gauge.rating_h0_m is None:
        raise ValueError(f"gauge {gauge.name} has no rating on file; flow cannot become level.")
    return Rating(a=gauge.rating_a, b=gauge.rating_b, h0_m=gauge.rating_h0_m)


def _readings(gauge: Gauge, quantity: str) -> QuerySet[Reading]:
    return Reading.objects.filter(series__gauge=gauge, series__quantity=quantity).exclude(
        quality=Reading.Quality.SUSPECT
    )


def _during(
    gauge: Gauge, quantity: str, since: datetime | None, until: datetime | None
) -> list[tuple[datetime, float]]:
    rows = _readings(gauge, quantity).order_by("observed_at")
    if since is not None:
        rows = rows.filter(observed_at__gte=since)
    if until is not None:
        rows = rows.filter(observed_at__lte=until)
    return list(rows.values_list("observed_at", "value"))


def last_at_or_above(gauge: Gauge, level_m: float) -> datetime | None:
    """Return when the record last stood at or above a level [m]; None: never on record."""
    moments = [
        _readings(gauge, Quantity.LEVEL).filter(value__gte=level_m).order_by("-observed_at").first()
    ]
    if has_levels_from_flow(gauge):
        flow_m3s = float(rating_of(gauge).flow_m3s(np.array(level_m)))
        moments.append(
            _readings(gauge, Quantity.FLOW)
            .filter(value__gte=flow_m3s)
            .order_by("-observed_at")
            .first()
        )
    return max((row.observed_at for row in moments if row), default=None)
