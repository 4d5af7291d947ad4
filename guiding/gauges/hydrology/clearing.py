"""How far one sees into the water after a spate: it clears towards what it is when it is clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np

from guiding.gauges.hydrology.record import Array

# Common practice, no source: what a river without notes is taken to do. Clear water shows 1.5 m; a
# spate of 0.3 m leaves a quarter of that at its crest, and half of it is there two days later.
CLEAR_CM = 150.0
STIRRED = 3.27  # drop of ln(visibility) at the crest of a climb of 1 m; grows with its root
CLEARING_HOURS = 50.0  # e-folding time
SPREAD = 0.8  # of ln(visibility), one standard deviation

# What a fit may not leave (common practice, no source).
CLEAR_RANGE_CM = (30.0, 1000.0)
STIRRED_RANGE = (0.2, 8.0)
HOURS_RANGE = (6.0, 240.0)
LEAST_SPREAD = 0.25  # an eye at the water is no better than a quarter either way

# How far the notes must speak before they move a value from common practice: the spread of what
# rivers are taken to be, on the logarithm.
CLEAR_PRIOR, STIRRED_PRIOR, HOURS_PRIOR = 0.7, 0.6, 0.7
FEWEST_NOTES, FEWEST_SPATES = 8, 3  # fewer, and common practice stands

BEYOND_RISE = 1.5  # the band is so much wider for a climb bigger than any noted
BEYOND_HOURS = 1.25  # later after the crest than any note
CLIMBING = 1.5  # before the crest: what comes down is not on file
Z_80 = 1.2816  # an 80 % band in standard deviations of a normal law


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A look at the water: how far one saw [cm], so many hours after a crest that climbed so far.

    `spate` tells the spates apart. A river settled for days has climbed 0 m.
    """

    visibility_cm: float
    climbed_m: float
    hours: float
    spate: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Visibility [cm] inferred, with its 80 % band, from what, and what must be said besides."""

    low_cm: float
    middle_cm: float
    high_cm: float
    learned_from: str
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearing:
    """What a river does to its visibility; without notes, common practice.

    `spread` is the standard deviation of ln(visibility); `notes` and `spates` how many it was
    fitted on, `most_m` [m] and `most_hours` the largest climb and the longest time among them.
    """

    clear_cm: float = CLEAR_CM
    stirred: float = STIRRED
    hours: float = CLEARING_HOURS
    spread: float = SPREAD
    notes: int = 0
    spates: int = 0
    most_m: float = 0.0
    most_hours: float = 0.0

    @property
    def is_fitted(self) -> bool:
        """Say whether it was learned from notes, and is not common practice alone."""
        return self.notes >= FEWEST_NOTES and self.spates >= FEWEST_SPATES

    def as_json(self) -> dict[str, Any]:
        """Return what a row keeps."""
        return {name: getattr(self, name) for name in self.__slots__}

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        """Return what a row kept."""
        return cls(**kept)

    def seen(self, *, climbed_m: float, hours: float, is_climbing: bool = False) -> Seen:
        """Return how far one sees after a climb [m], so many hours after its crest.

        Notes
        -----
        ln V = ln V_clear - stirred x sqrt(climb) x exp(-hours / clearing hours). The band is that
        of the notes' own scatter, wider with few notes and beyond what they have seen.
        """
        drop = self.stirred * np.sqrt(max(climbed_m, 0.0)) * np.exp(-max(hours, 0.0) / self.hours)
        middle = self.clear_cm * float(np.exp(-drop))
        width, says = self._width(climbed_m, hours, is_climbing)
        factor = float(np.exp(Z_80 * width))
        return Seen(
            low_cm=middle / factor,
            middle_cm=middle,
            high_cm=middle * factor,
            learned_from=self._learned_from(),
            says=tuple(says),
        )

    def _learned_from(self) -> str:
        on_file = f"{self.notes} notes of visibility from {self.spates} spates"
        if self.is_fitted:
            return f"learned from {on_file}"
        needed = f"{FEWEST_NOTES} from {FEWEST_SPATES}"
        return f"by common practice: {on_file} are on file, and it takes {needed}"

    def _width(self, climbed_m: float, hours: float, is_climbing: bool) -> tuple[float, list[str]]:
        width, says = self.spread, []
        if self.is_fitted:
            width *= 1 + FEWEST_SPATES / self.notes
            if climbed_m > self.most_m:
                width *= BEYOND_RISE
                says.append(
                    f"The river climbed {climbed_m:.2f} m, more than in any spate with a note of "
                    f"visibility ({self.most_m:.2f} m): how clear it is, is a wider guess."
                )
            if hours > self.most_hours and climbed_m > 0:
                width *= BEYOND_HOURS
                says.append(
                    f"It is {hours:.0f} h since the crest, longer than any note of visibility "
                    f"({self.most_hours:.0f} h): how clear it is, is a wider guess."
                )
        if is_climbing:
            width *= CLIMBING
            says.append("The river still climbs: how clear it is, is a wider guess.")
        return width, says


def fit_clearing(notes: Sequence[Note]) -> Clearing:
    """Return what the guide's notes say of a river; common practice where they are too few.

    Notes
    -----
    For each clearing time on a grid within its bounds, clear water and stirring by least squares
    of ln(visibility), common practice counting as one more look at each of the three; looks far
    off (Huber's weights, 1.5 standard deviations) count less. The time with the least loss is
    taken.

    References
    ----------
    Huber 1964, Robust estimation of a location parameter, Ann. Math. Stat. 35:73 (from memory).
    """
    kept = [note for note in notes if note.visibility_cm > 0 and note.hours >= 0]
    spates = len({note.spate for note in kept if note.climbed_m > 0})
    found = Clearing(notes=len(kept), spates=spates)
    if not found.is_fitted:
        return found
    seen = np.log([note.visibility_cm for note in kept])
    root = np.sqrt([max(note.climbed_m, 0.0) for note in kept])
    hours = np.array([note.hours for note in kept])
    best = min(
        (_fitted_at(time, seen, root, hours) for time in np.geomspace(*HOURS_RANGE, 60)),
        key=lambda fit: fit[0],
    )
    _, clear, stirred, time, scatter = best
    return replace(
        found,
        clear_cm=float(np.exp(clear)),
        stirred=stirred,
        hours=time,
        spread=max(LEAST_SPREAD, scatter),
        most_m=max(note.climbed_m for note in kept),
        most_hours=max(note.hours for note in kept if note.climbed_m > 0),
    )


def _fitted_at(
    time: float, seen: Array, root: Array, hours: Array
) -> tuple[float, float, float, float, float]:
    """Return (loss, ln clear, stirred, time, scatter) for one clearing time [h]."""
    rows = np.column_stack([np.ones(seen.size), -root * np.exp(-hours / time)])
    prior = np.array([np.log(CLEAR_CM), STIRRED])
    sure = np.array([1 / CLEAR_PRIOR, 1 / (STIRRED_PRIOR * STIRRED)]) ** 2
    weights, scatter, answer = np.ones(seen.size), SPREAD, prior
    for _ in range(10):
        gram = (rows * weights[:, None]).T @ rows + scatter**2 * np.diag(sure)
        answer = np.linalg.solve(gram, rows.T @ (weights * seen) + scatter**2 * sure * prior)
        answer = np.clip(
            answer,
            [np.log(CLEAR_RANGE_CM[0]), STIRRED_RANGE[0]],
            [np.log(CLEAR_RANGE_CM[1]), STIRRED_RANGE[1]],
        )
        off = np.abs(seen - rows @ answer)
        scatter = max(LEAST_SPREAD, 1.4826 * float(np.median(off)))
        weights = np.minimum(1.0, 1.5 * scatter / np.maximum(off, 1e-9))
    loss = float((weights * off**2).sum()) / scatter**2 + 2 * seen.size * float(np.log(scatter))
    loss += (np.log(time / CLEARING_HOURS) / HOURS_PRIOR) ** 2
    loss += float((sure * (answer - prior) ** 2).sum())
    return loss, float(answer[0]), float(answer[1]), float(time), scatter
