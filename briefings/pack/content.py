"""What a pack says, as plain values: template, letter and page are made from this alone.

`as_json` gives the dict that a Briefing stores. Every moment is already in the river's zone and in
words, every length in the reader's units, so that the same content always gives the same pages.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from typing import Any

FORMAT = 1  # raised when a stored content would no longer fit the template


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One caution or reason as printed."""

    text: str
    because: str
    label: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place on the ground in the three ways a rescuer may ask for it."""

    name: str
    grid: str
    latitude: float
    longitude: float
    directions: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TripPart:
    """One part of a day: where, when, when it ends."""

    date_words: str
    part: str
    beat: str
    meets: str  # "08:30"
    ends: str  # "17:00"
    meeting_point: Spot
    light: str = ""  # "Sunrise 08:12, sunset 15:41, dusk 16:24, full dark 17:03."
    out_by: str = ""  # "Out of the water, and back from its edge, by 12:30."


@dataclass(frozen=True, slots=True, kw_only=True)
class RiverPicture:
    """What charts.river_chart draws. Times are ISO 8601 with offset; levels in metres."""

    zone: str
    measured: tuple[tuple[str, float | None], ...]
    forecast: tuple[tuple[str, float | None, float | None, float | None], ...]  # q10, q50, q90
    marks: tuple[tuple[float, str], ...]  # level, what is seen there
    day_from: str
    day_to: str
    day_words: str  # "your day"
    # a picture kept before these were drawn has none of them
    step_minutes: int = 60  # 1440: each level is the mean of a day
    level_words: str = "measured"
    shown_from: str = ""
    shown_to: str = ""
    rain: tuple[tuple[str, str, float, str], ...] | None = None  # from, to, mm, how known
    nights: tuple[tuple[str, str], ...] | None = None  # dusk, dawn


@dataclass(frozen=True, slots=True, kw_only=True)
class River:
    """The river on the day sheet: a sentence, a picture, what was measured and what is forecast."""

    gauge: str
    sentence: str
    detail: str
    picture: RiverPicture | None
    usual: str  # the usual water of that week from the record; first issue


@dataclass(frozen=True, slots=True, kw_only=True)
class FlyPicture:
    """A fly as drawn: true size from its dressed length."""

    role: str
    pattern: str
    words: str  # "size 10 double, sparse, 19 mm"
    length_mm: int
    is_tube: bool
    dressing: str
    colours: tuple[str, ...]
    looks_like: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaderPicture:
    """The leader, drawn to scale. Lengths in metres; words in the reader's units."""

    line_words: str
    tip_words: str
    tip_m: float | None
    sections: tuple[tuple[str, float, str], ...]  # part, length_m, words
    leader_m: float
    leader_words: str
    dropper_from_line_m: float | None
    dropper_words: str
    point_words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpPage:
    """The set-up: one sentence, how to fish it, why, the pictures."""

    sentence: str
    how: str
    why: str
    knots: tuple[str, ...]
    leader: LeaderPicture
    flies: tuple[FlyPicture, ...]  # on the leader: point first
    laid_out: tuple[FlyPicture, ...]  # the box of the day
    alternative: str  # the next best and what would switch to it
    when: str = ""  # "evening, Lower Haugh": only where the day has a second set-up


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What to bring, what we lend in your size, what to buy; what we do not know yet."""

    bring: tuple[str, ...]
    lent: tuple[str, ...]
    buy: tuple[str, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InCharge:
    """What holds for a junior in the reader's charge, in the words of the junior's own sheet."""

    name: str
    wading: str
    kit: Kit


@dataclass(frozen=True, slots=True, kw_only=True)
class Emergency:
    """The page to find in a hurry."""

    number: str
    guide_name: str
    guide_phone: str
    fishery_phone: str
    hospital: str
    no_signal_plan: str
    if_the_guide_is_the_casualty: str
    spots: tuple[Spot, ...]
    contact: str  # this reader's own emergency contact as we hold it


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """Worth going and permitted: two answers, neither stands for the other."""

    worth_going: str  # in words
    permitted: str  # in words
    rules: tuple[str, ...]
    who_decides: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """One condition as listed on the last page."""

    what: str
    value: str
    spread: str
    how_known: str
    at: str
    age: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolStop:
    """Guide's copy only: one person in one pool."""

    person: str
    pool: str
    spot: str
    stop_level: str
    decider: str
    chance: str  # that the river passes it in the fishing hours
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideCopy:
    """What only the guide's copy carries."""

    stops: tuple[PoolStop, ...]
    alternatives: tuple[str, ...]
    overruled: tuple[str, ...]
    reasons: tuple[Said, ...] = ()
    tackle: tuple[str, ...]
    people: tuple[str, ...]
    class_chances: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackContent:
    """Everything one issue says. `guide` is None on a client's copy."""

    language: str
    audience: str  # "client" or "guide"
    issue: str  # "first" or "final"
    number: int
    replaces: int | None
    reference: str
    reader: str
    reader_line: str  # "One rod, sharing the day with Tom."
    title: str  # "Thursday 26 November, Lower Haugh"
    issued: str  # "Wed 25 Nov, 19:20"
    valid_until: str
    danger: str  # one line
    changes: tuple[str, ...]
    parts: tuple[TripPart, ...]
    wading: str  # this person's words, under the word Wading
    in_charge: tuple[InCharge, ...] = ()  # juniors whom this reader answers for
    worth: Worth
    river: River
    setup: SetUpPage | None
    setup_says: str  # why there is none, where there is none
    setup_first: str = ""  # what must be read before it: not worth going, or too little known
    later_setups: tuple[SetUpPage, ...] = ()  # for later parts of the day that ask for another
    kit: Kit
    cautions: tuple[Said, ...]
    emergency: Emergency
    sources: tuple[SourceRow, ...]
    credits: tuple[str, ...]
    guide: GuideCopy | None

    def as_json(self) -> dict[str, Any]:
        """Return plain JSON values, tuples as lists, with the format's number."""
        plain: dict[str, Any] = json.loads(json.dumps(asdict(self), ensure_ascii=False))
        return {"format": FORMAT, **plain}


def content_hash(content: dict[str, Any]) -> str:
    """Return the SHA-256 of a content's canonical JSON."""
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()
