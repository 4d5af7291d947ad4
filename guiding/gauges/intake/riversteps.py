"""Rows of a river's file laid on whole hours or days; finer rows are brought to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.riverfile import RiverRows

Array = NDArray[np.float64]

STEP_WORDS = {60: "hour", 1440: "day"}
SUMS = ("P", "E")  # what adds up over a step; all else is a mean
HALF_ON_FILE = 0.5  # of a step's rows make a mean; a sum takes all of them
MOST_STEPS = 1_000_000  # 114 years of hours
YEAR_S = 365.2425 * 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverSteps:
    """A river's columns on its own step, gaps NaN, every array of shape (steps,).

    `first_s` is the beginning of the first step, in seconds since 1970: in UTC for hours, by the
    file's own clock for days. Hours are named by the moment they stand beside in the file.
    """

    step_minutes: int
    first_s: int
    values: dict[str, Array]
    says: tuple[str, ...]

    @property
    def count(self) -> int:
        """Return how many steps there are."""
        return len(next(iter(self.values.values())))

    @property
    def year_share(self) -> Array:
        """Return where in the year each step lies, from 0 to 1."""
        step_s = self.step_minutes * 60
        return np.asarray((self.first_s + step_s * np.arange(self.count)) % YEAR_S / YEAR_S)

    def moment(self, step: int) -> datetime:
        """Return the beginning of a step, as an aware moment."""
        return datetime.fromtimestamp(self.first_s, UTC) + step * timedelta(
            minutes=self.step_minutes
        )

    def words(self, step: int) -> str:
        """Return a step as it is written: a date, or a moment in UTC."""
        moment = self.moment(step)
        return f"{moment:%Y-%m-%d}" if self.step_minutes == 1440 else moment.isoformat()

    def over_by(self, moment: datetime) -> int:
        """Return the position of the first step that was not over at a moment, maybe outside."""
        since = int(moment.timestamp()) - self.first_s
        return since // (self.step_minutes * 60)


def laid_on_steps(rows: RiverRows, step_minutes: int) -> RiverSteps:
    """Return rows on steps of 60 or 1440 minutes.

    Raises
    ------
    FileRefused
        The rows lie further apart than a step, do not fill whole steps, or stand beside them.
    """
    step_s, word = step_minutes * 60, STEP_WORDS[step_minutes]
    at_s = rows.written_s if step_minutes == 1440 else rows.seconds
    apart_s = _apart(at_s)
    if apart_s > step_s or step_s % apart_s:
        raise FileRefused(
            f"rows lie {_span(apart_s)} apart; --step {word} takes rows {_span(step_s)} apart, or "
            f"a whole number of rows to the {word}."
        )
    says = list(rows.says)
    if apart_s == step_s:
        first_s = int(at_s[0])
        beside = np.flatnonzero((at_s - first_s) % step_s)
        if beside.size:
            raise FileRefused(_beside(rows, at_s, int(beside[0]), word))
    else:
        first_s = int(at_s[0]) // step_s * step_s
        says.append(
            f"Rows {_span(apart_s)} apart were brought to {word}s: sums of P and E, means of the "
            f"rest. A sum with a row missing is unknown, and a mean with over half of them missing."
        )
    places = (at_s - first_s) // step_s
    count = int(places.max()) + 1
    if count > MOST_STEPS:
        raise FileRefused(
            f"the file spans {count:,} {word}s; {MOST_STEPS:,} are the most that are read."
        )
    if apart_s == step_s and np.unique(places).size < places.size:
        raise FileRefused(f"two rows stand in one {word}; one row a {word} is right.")
    values = {
        name: _brought(column, places, count, step_s // apart_s, is_sum=name in SUMS)
        for name, column in rows.values.items()
    }
    return RiverSteps(step_minutes=step_minutes, first_s=first_s, values=values, says=tuple(says))


def _brought(
    column: Array, places: NDArray[np.int64], count: int, rows_a_step: int, *, is_sum: bool
) -> Array:
    known = np.isfinite(column)
    held = np.bincount(places[known], minlength=count)
    total = np.bincount(places[known], weights=column[known], minlength=count)
    enough = held >= (rows_a_step if is_sum else max(1, HALF_ON_FILE * rows_a_step))
    return np.where(enough, total if is_sum else total / np.maximum(held, 1), np.nan)


def _apart(at_s: NDArray[np.int64]) -> int:
    """Return the seconds between most rows and the next."""
    gaps = np.diff(at_s)
    if not gaps.size:
        raise FileRefused("the file has one row; a record takes many.")
    found, counts = np.unique(gaps, return_counts=True)
    return int(found[counts.argmax()])


def _beside(rows: RiverRows, at_s: NDArray[np.int64], row: int, word: str) -> str:
    odd, usual = (datetime.fromtimestamp(int(at_s[k]), UTC) for k in (row, 0))
    return (
        f"line {rows.lines[row]}: {odd:%Y-%m-%d %H:%M} does not lie a whole number of {word}s "
        f"after the first row, {usual:%Y-%m-%d %H:%M}."
    )


def _span(seconds: int) -> str:
    minutes = seconds / 60
    if minutes >= 1440 and minutes % 1440 == 0:
        return f"{minutes / 1440:g} d"
    return f"{minutes / 60:g} h" if minutes >= 60 else f"{minutes:g} min"
