"""A rise at a gauge upstream that has not all come here yet: how much, since when, about when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.measured import HOUR, Sample
from guiding.regimes.riverclock import clock_words, five_minutes_down

# Common practice, no source: so much within so long is sharp, and as fast as stops wading is too.
SHARP_M = 0.10
WITHIN = timedelta(hours=6)
SHARP_M_AN_HOUR = 0.05
TOLD_AFTER = timedelta(hours=3)  # a rise that comes this soon after the hours is told as well
SAME_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class UpstreamRise:
    """A sharp rise at a gauge upstream. `arrives_at`: when its foot is here, about.

    `rise_m` is what was measured there, `rate_m_h` its fastest step; `ratio` turns either into what
    is to be expected at the beat's first gauge, 1 where nobody has learned or typed another.
    """

    gauge: str
    rise_m: float
    since_at: datetime
    arrives_at: datetime
    rate_m_h: float
    ratio: float

    @property
    def rate_here_cm_h(self) -> float:
        """Return how fast it may rise here [cm an hour]."""
        return self.rate_m_h * self.ratio * 100

    def words(self, zone: ZoneInfo, asked_at: datetime) -> str:
        """Return what is said of it, by the river's clock."""
        today = asked_at.astimezone(zone).date()
        since = clock_words(self.since_at, zone, today)
        come = "it may be here already"
        if self.arrives_at > asked_at:
            clock = clock_words(five_minutes_down(self.arrives_at), zone, today)
            come = f"it arrives here about {clock}, or sooner"
        return (
            f"The river upstream has risen {self.rise_m * 100:.0f} cm since {since} "
            f"({self.gauge}): {come}."
        )


def read_upstream(
    gauge: str,
    samples: Sequence[Sample],
    *,
    delay: timedelta,
    ratio: float,
    step: timedelta,
    asked_at: datetime,
    ends_at: datetime,
) -> UpstreamRise | None:
    """Return the greatest sharp rise that is not all here yet when somebody asks, or None.

    Parameters
    ----------
    samples : sequence of (moment, level in m)
        Of the gauge upstream, oldest first, suspect values among them: they may be a real rise.
    delay : timedelta
        Water there now is at the beat so much later.
    step : timedelta
        Of its record. Steps over six hours are held against the step before alone.
    ends_at : datetime
        The end of the fishing hours; what comes over three hours later is not told.
    """
    within = max(WITHIN, step)
    known = [row for row in samples if asked_at - delay - within <= row[0] <= asked_at]
    best: tuple[float, datetime, float] | None = None
    for place, (moment, level_m) in enumerate(known):
        if moment + delay <= asked_at:
            continue  # that water is here, and the first gauge tells of it
        before = [row for row in known[:place] if moment - row[0] <= within]
        foot = min(reversed(before), key=lambda row: row[1], default=None)
        if foot is None:
            continue
        rise_m, rate = level_m - foot[1], _fastest(known, foot[0], moment, step)
        is_sharp = rise_m >= SHARP_M - SAME_M or (
            rate >= SHARP_M_AN_HOUR - SAME_M and rise_m >= SHARP_M_AN_HOUR - SAME_M
        )
        if is_sharp and (best is None or rise_m > best[0]):
            best = (rise_m, foot[0], rate)
    if best is None or best[1] + delay > ends_at + TOLD_AFTER:
        return None
    rise_m, since_at, rate = best
    return UpstreamRise(
        gauge=gauge,
        rise_m=rise_m,
        since_at=since_at,
        arrives_at=since_at + delay,
        rate_m_h=rate,
        ratio=ratio,
    )


def _fastest(known: Sequence[Sample], since: datetime, until: datetime, step: timedelta) -> float:
    """Return the fastest rise [m an hour] over a step, at least an hour, within a span."""
    apart = max(step, HOUR)
    rates = []
    for place, (moment, level_m) in enumerate(known):
        if not since < moment <= until:
            continue
        earlier = [row for row in known[:place] if since <= row[0] <= moment - apart] or [
            row for row in known[:place] if row[0] >= since
        ]
        if earlier:
            at, before_m = earlier[-1]
            rates.append((level_m - before_m) / max((moment - at) / HOUR, apart / HOUR))
    return max(rates, default=0.0)
