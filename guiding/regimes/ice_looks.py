"""What somebody saw of ice with their own eyes, and how far that speaks: for its day alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from guiding.regimes.riverclock import clock_words, day_of

SEEN = {
    "none": "no ice",
    "shore": "ice along the edges",
    "floating": "floating ice",
    "cover": "a cover of ice",
    "breaking": "ice breaking up",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One look at one place. `is_of_this_beat`: at the beat asked for, or at the whole river."""

    looked_at: datetime
    seen: str
    who: str
    place: str
    is_of_this_beat: bool
    water_c: float | None = None

    def __post_init__(self) -> None:
        if self.seen not in SEEN:
            raise ValueError(f"seen is {self.seen!r}; it is one of {', '.join(SEEN)}.")

    def words(self, zone: ZoneInfo) -> str:
        """Return "floating ice at Home Beat at 07:40, seen by Ruan"."""
        clock = clock_words(self.looked_at, zone, day_of(self.looked_at, zone))
        water = "" if self.water_c is None else f", water {self.water_c:.1f} degrees C"
        return f"{SEEN[self.seen]} at {self.place} at {clock}{water}, seen by {self.who}"


@dataclass(frozen=True, slots=True, kw_only=True)
class IceSeen:
    """What the looks of a day say. `is_there` None: nobody has looked at this beat."""

    is_there: bool | None = None
    look: Look | None = None
    words: str = ""


def read_looks(looks: Sequence[Look], zone: ZoneInfo) -> IceSeen:
    """Return what the looks of one day say of a beat.

    The newest look at each place counts. Ice at any place on the river is ice: it comes down. That
    there is none is believed only of the beat itself, or of the whole river. Ice along the edges is
    ice: it breaks under a foot and holds the level up.
    """
    newest: dict[str, Look] = {}
    for look in sorted(looks, key=lambda look: look.looked_at):
        newest[look.place] = look
    whole = [look for look in newest.values() if look.is_of_this_beat]
    iced = [look for look in newest.values() if look.seen != "none"]
    if iced:
        last = max(iced, key=lambda look: (look.is_of_this_beat, look.looked_at))
        return IceSeen(is_there=True, look=last, words=last.words(zone))
    if whole:
        last = max(whole, key=lambda look: look.looked_at)
        return IceSeen(is_there=False, look=last, words=last.words(zone))
    return IceSeen()
