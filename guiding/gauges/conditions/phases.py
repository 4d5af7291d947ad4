"""Where the river stands in a spate, read from a run of levels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from guiding.gauges.conditions.measured import Sample, nearest
from guiding.gauges.conditions.values import Phase

# Every number here is common practice, no source.
SETTLED_M_DAY = 0.02  # a day is settled when its level changes by less than this
FRESHET_M = 0.05  # and when nothing this high came and went within it
SETTLED_DAYS = 3
STALE_DAYS = 10
TURN_M = 0.03  # the river has turned when it has moved this far the other way
TURN_SHARE = 0.10  # after a climb: and when it has lost this share of it
FIRST_RISE_HOURS = 12
CLIMB_HOURS, CLIMB_M = 6, 0.01  # still climbing: a centimetre more than six hours ago
COLOURED_HOURS = 24
COLOURED_SHARE = 0.5
COVERED_SHARE = 0.8  # of the last three days must be on file

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spate:
    """The phase with what it was read from; `why` says in words what decided."""

    phase: Phase
    why: str
    began_at: datetime | None = None  # the foot of the last climb
    crest_at: datetime | None = None
    climbed_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """The last movement: 1 up, -1 down, 0 none. `low`, `high` are places in the run of levels."""

    way: int
    low: int
    high: int
    foot: int | None  # where the last climb began


def last_leg(levels: Sequence[float]) -> Leg:
    """Follow a run of levels from turn to turn and return its last movement."""
    way = low = high = 0
    foot: int | None = None
    for i, level in enumerate(levels):
        if way >= 0 and level >= levels[high]:
            high = i
        if way <= 0 and level <= levels[low]:
            low = i
        climbed = levels[high] - levels[low] if way > 0 else 0.0
        if way >= 0 and levels[high] - level >= max(TURN_M, TURN_SHARE * climbed) - 1e-9:
            way, low = -1, i
        elif way <= 0 and level - levels[low] >= TURN_M - 1e-9:
            way, foot, high = 1, low, i
    return Leg(way=way, low=low, high=high, foot=foot)


def settled_days(samples: Sequence[Sample], at: datetime, step: timedelta) -> int:
    """Return how many whole days before a moment the level stayed where it was.

    A day counts when its ends differ by less than 2 cm, nothing in it stands 5 cm or more above
    its lowest, and at least 80 % of its samples are on file.
    """
    within = near(step)
    days = 0
    while days <= STALE_DAYS:
        end, start = at - days * DAY, at - (days + 1) * DAY
        last, first = nearest(samples, end, within), nearest(samples, start, within)
        inside = [level for moment, level in samples if start <= moment <= end]
        if last is None or first is None or len(inside) < COVERED_SHARE * (DAY / step):
            break
        if abs(last - first) >= SETTLED_M_DAY - 1e-9 or max(inside) - min(inside) >= FRESHET_M:
            break
        days += 1
    return days


def near(step: timedelta) -> timedelta:
    """Return how far a sample may lie from the moment it stands for."""
    return min(2 * step, 12 * HOUR)


def is_covered(moments: Sequence[datetime], at: datetime, step: timedelta) -> bool:
    """Say whether enough of the last three days is on file for a phase."""
    window = timedelta(days=SETTLED_DAYS)
    there = [moment for moment in moments if at - window - step < moment <= at]
    wanted = COVERED_SHARE * (window / step)
    return len(there) >= wanted and at - there[-1] <= 1.5 * step


def read_phase(
    samples: Sequence[Sample], at: datetime, step: timedelta, low_below_m: float | None
) -> Spate:
    """Return the phase of the river at a moment.

    Parameters
    ----------
    samples : moments (aware) and levels [m], the oldest first, measured and then forecast
    at : the moment asked about; samples after it are not looked at
    step : the record's own step
    low_below_m : [m] the lowest mark, below which the river is low; None: no marks on file

    Notes
    -----
    All numbers are common practice, no source. In this order:

    - `not_known`: less than 80 % of the last three days on file, or nothing within 1.5 steps.
    - `stale`: settled for more than 10 days, and below the lowest mark throughout.
    - `settled`: each of the last 3 days changed by less than 2 cm.
    - The river has turned when it moved 3 cm the other way (after a climb also a tenth of it).
      Going up, still within a centimetre of its highest and a centimetre above six hours ago:
      `first_rise` in the first 12 h of a climb that followed 3 settled days, else `rising`.
    - Going up but no longer climbing: `peak`, for 24 h.
    - Going down: `coloured_falling` within 24 h of the crest while at least half of the climb is
      still there (or its size is not on file), else `fining_down`.

    A daily record takes its own step where these hours are shorter.
    """
    run = [sample for sample in samples if sample[0] <= at]
    if not is_covered([moment for moment, _ in run], at, step):
        return Spate(
            phase=Phase.NOT_KNOWN, why="less than four fifths of the last three days are on file"
        )
    now_at = run[-1][0]
    days = settled_days(run, now_at, step)
    if days >= SETTLED_DAYS:
        return _settled(run, now_at, days, low_below_m)
    levels = [level for _, level in run]
    leg = last_leg(levels)
    if leg.way == 0 and now_at - run[0][0] < timedelta(days=SETTLED_DAYS) - step:
        return Spate(phase=Phase.NOT_KNOWN, why="the record is shorter than three days")
    if leg.way == 0:
        return Spate(phase=Phase.SETTLED, why="it has moved by less than 3 cm on this record")
    if leg.way > 0:
        return _going_up(run, leg, step)
    return _going_down(run, leg, step)


def _settled(
    run: Sequence[Sample], now_at: datetime, days: int, low_below_m: float | None
) -> Spate:
    lately = [level for moment, level in run if moment >= now_at - STALE_DAYS * DAY]
    if days > STALE_DAYS and low_below_m is not None and max(lately) < low_below_m:
        return Spate(phase=Phase.STALE, why=f"low, and settled for more than {STALE_DAYS} days")
    return Spate(
        phase=Phase.SETTLED,
        why=f"each of the last {min(days, STALE_DAYS)} days changed by less than 2 cm",
    )


def _going_up(run: Sequence[Sample], leg: Leg, step: timedelta) -> Spate:
    now_at, now = run[-1]
    foot_m, high_m = run[leg.low][1], run[leg.high][1]
    near_foot = foot_m + SETTLED_M_DAY - 2e-9  # the day up to it still counts as settled
    began = max(i for i in range(leg.low, leg.high + 1) if run[i][1] < near_foot)
    began_at = run[began][0]
    before = nearest(run, now_at - max(CLIMB_HOURS * HOUR, step), near(step))
    is_climbing = (
        high_m - now <= CLIMB_M + 1e-9 and before is not None and now - before >= CLIMB_M - 1e-9
    )
    climbed = f"it has climbed {(high_m - foot_m) * 100:.0f} cm"
    if is_climbing:
        was_settled = settled_days(run, began_at, step) >= SETTLED_DAYS
        is_first = was_settled and now_at - began_at <= max(FIRST_RISE_HOURS * HOUR, step)
        return Spate(
            phase=Phase.FIRST_RISE if is_first else Phase.RISING,
            why=f"{climbed} after three settled days" if is_first else climbed,
            began_at=began_at,
            climbed_m=high_m - foot_m,
        )
    crest_at = run[leg.high][0]
    is_peak = now_at - crest_at <= max(COLOURED_HOURS * HOUR, 1.5 * step)
    return Spate(
        phase=Phase.PEAK if is_peak else Phase.FINING_DOWN,
        why=f"{climbed} and climbs no further",
        began_at=began_at,
        crest_at=crest_at,
        climbed_m=high_m - foot_m,
    )


def _going_down(run: Sequence[Sample], leg: Leg, step: timedelta) -> Spate:
    now_at, now = run[-1]
    crest_at, crest_m = run[leg.high]
    climbed_m = None if leg.foot is None else crest_m - run[leg.foot][1]
    is_new = now_at - crest_at <= max(COLOURED_HOURS * HOUR, 1.5 * step)
    is_high = climbed_m is None or crest_m - now <= (1 - COLOURED_SHARE) * climbed_m + 1e-9
    hours = (now_at - crest_at) / HOUR
    return Spate(
        phase=Phase.COLOURED_FALLING if is_new and is_high else Phase.FINING_DOWN,
        why=f"it has fallen {(crest_m - now) * 100:.0f} cm in the {hours:.0f} h since its crest",
        began_at=None if leg.foot is None else run[leg.foot][0],
        crest_at=crest_at,
        climbed_m=climbed_m,
    )
