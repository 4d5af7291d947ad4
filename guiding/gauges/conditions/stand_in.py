"""A further gauge stands in for a beat's first one: worked out from its changes, never measured."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from guiding.gauges.conditions.measured import Measured, Sample, nearest

# Common practice, no source.
GRAIN_M = 0.02  # no level worked out is surer than two gauges that each read to a centimetre
COMMON_WITHIN = timedelta(days=3)  # how far back a last common level is looked for
TYPED_SPREADS_M = ((72.0, 0.10),)  # a typed ratio that no record has tried yet
TYPED_SHARE = 0.5
BEYOND_M = 0.05  # beyond the levels there that were learned from


@dataclass(frozen=True, slots=True, kw_only=True)
class Follows:
    """How the level at the first gauge follows a further one, as typed in or learned.

    `spreads_m`: (hours since both were last known, metres either way), rising; beyond the last
    nothing is worked out. `share`: the least spread as a share of the change. `lowest_m` and
    `highest_m`: the levels there that it was learned from; None: nobody learned it.
    """

    gauge: str
    lag_hours: float
    ratio: float
    spreads_m: tuple[tuple[float, float], ...] = TYPED_SPREADS_M
    share: float = TYPED_SHARE
    lowest_m: float | None = None
    highest_m: float | None = None

    @property
    def lag(self) -> timedelta:
        """Return how much later the water there is here."""
        return timedelta(hours=self.lag_hours)

    def spread_m(self, hours: float, change_m: float) -> float | None:
        """Return metres either way after so many hours and such a change; None: too long ago."""
        known = [spread for reach, spread in self.spreads_m if reach >= hours]
        return max(known[0], self.share * abs(change_m), GRAIN_M) if known else None

    def is_beyond(self, level_m: float) -> bool:
        """Say whether a level there lies beyond those that it was learned from."""
        if self.lowest_m is None or self.highest_m is None:
            return False
        return not self.lowest_m - BEYOND_M <= level_m <= self.highest_m + BEYOND_M


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """Levels at the first gauge that were worked out, after the last that both knew.

    `measured` holds the levels measured here and after them those worked out, so that it is read
    as a record is; `worked_out` are the latter alone. `spread_m` is either way of the newest,
    `step_spread_m` that of a change over one step. `is_forecast_sound`: what was forecast at the
    first gauge may still be asked; False where it was made from levels nobody believes.
    """

    measured: Measured
    worked_out: tuple[Sample, ...]
    spread_m: float
    step_spread_m: float
    source: str
    says: str
    is_forecast_sound: bool = True

    @property
    def newest_m(self) -> float:
        """Return the newest level worked out [m]."""
        return self.worked_out[-1][1]


def work_out(
    here: Measured,
    there: Measured,
    follows: Follows,
    *,
    name: str,
    why: str,
    until: datetime,
    zone: ZoneInfo,
) -> StandIn | str:
    """Return the levels worked out up to a moment, or why they cannot be.

    `here` are levels that are still believed; `why` says what is wrong with the first gauge, whose
    name is `name`. Level = last common level + ratio x change there since, so much later.
    """
    if here.step_hours != there.step_hours:
        return "one of the two is read by the hour, the other by the day"
    common = _last_common(here, there, follows.lag)
    if common is None:
        return f"the two were not both known within {COMMON_WITHIN.days} days of its last level"
    since, here_m, there_m = common
    last = here.samples[-1][0]
    new = [
        (moment + follows.lag, here_m + follows.ratio * (level_m - there_m), level_m)
        for moment, level_m in there.samples
        if last < moment + follows.lag <= until
    ]
    worked_out = tuple((moment, round(level_m, 3)) for moment, level_m, _ in new)
    whole = replace(here, samples=(*here.samples, *worked_out))
    if not new or not whole.is_fresh(until):
        return "its own newest level is too old, or comes too late, to tell"
    if any(follows.is_beyond(level_m) for _, _, level_m in new):
        return "it stands beyond the levels that it was learned from"
    hours = (worked_out[-1][0] - since) / timedelta(hours=1)
    spread_m = follows.spread_m(hours, max(abs(level_m - here_m) for _, level_m in worked_out))
    step_spread_m = follows.spread_m(here.step_hours, 0.0)
    if spread_m is None or step_spread_m is None:
        return f"the two were last known together {hours:.0f} h ago, too long to work out from"
    return StandIn(
        measured=whole,
        worked_out=worked_out,
        spread_m=spread_m,
        step_spread_m=step_spread_m,
        source=f"worked out from {follows.gauge}, not measured",
        says=_says(follows, name=name, why=why, since=since.astimezone(zone), spread_m=spread_m),
    )


def _last_common(
    here: Measured, there: Measured, lag: timedelta
) -> tuple[datetime, float, float] | None:
    """Return the newest moment at which both are known, with both levels [m]."""
    if not here.samples:
        return None
    half = timedelta(hours=here.step_hours / 2)
    first = bisect_left(here.samples, here.samples[-1][0] - COMMON_WITHIN, key=lambda s: s[0])
    for moment, here_m in reversed(here.samples[first:]):
        there_m = nearest(there.samples, moment - lag, half)
        if there_m is not None:
            return moment, here_m, there_m
    return None


def _says(follows: Follows, *, name: str, why: str, since: datetime, spread_m: float) -> str:
    later = "at the same time"
    if follows.lag_hours:
        later = f"{abs(follows.lag_hours):g} h {'later' if follows.lag_hours > 0 else 'earlier'}"
    tried = "" if follows.highest_m is not None else ", which no record has tried"
    return (
        f"{name} {why}. Its level is worked out from {follows.gauge}, and not measured: the last "
        f"level that both knew, of {since:%H:%M on %-d %B}, and {follows.ratio:.2f} m here, "
        f"{later}, for each metre there{tried}; "
        f"{spread_m * 100:.0f} cm or more off one time in ten."
    )
