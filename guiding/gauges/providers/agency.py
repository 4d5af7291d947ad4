"""What is known of an agency: whom to credit, how often it may be asked, what to ask, how to read.

Each agency is one file beside this one; `agencies.py` lists them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from guiding.gauges.providers.readings import SeriesFacts, SeriesTold, Units, Wanted
from guiding.gauges.providers.weather import WeatherRunRead

WEATHER = "weather_run"  # what a weather agency tells; every other quantity is a series'


class Kind(StrEnum):
    """What a request is for, in the order in which they are made."""

    FACTS = "facts"  # what the series is: unit, datum, since when
    LATEST = "latest"
    WEEK = "week"  # the last seven days again: values get revised
    HISTORY = "history"  # as far back as the agency gives


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One address below the agency's base; a value of None is a bare word in the query."""

    path: str = ""
    query: tuple[tuple[str, str | None], ...] = ()


class MakeAsk(Protocol):
    def __call__(
        self, kind: Kind, wanted: Sequence[Wanted], since: datetime, until: datetime
    ) -> Ask:
        """Return what to ask for these series; the span counts for a week and for history."""


ReadRows = Callable[[bytes, Sequence[Wanted]], tuple[SeriesTold, ...]]
# whether a unit is one we know is asked where facts are kept: one odd series stops no other
ReadFacts = Callable[[bytes, Sequence[Wanted]], tuple[SeriesFacts, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Agency:
    """One agency. Every number about asking is a ceiling, never a promise."""

    code: str
    name: str
    licence: str
    licence_url: str
    credit: str  # empty: whoever adds the source says whom to credit
    base: str  # empty: whoever adds the source says where it is
    least_minutes: int  # between two requests for the same thing
    requests_a_day: int
    kinds: tuple[Kind, ...]
    in_one: tuple[Kind, ...] = ()  # kinds that one request answers for all series
    units: Units
    station_form: str = ""  # regular expressions; empty: none is asked for
    series_form: str = ""
    wishes: str = ""  # what it asks of whoever uses its data, beyond the licence
    form_words: str = ""  # how station and series are written, for whoever types them
    make_ask: MakeAsk
    read_rows: ReadRows | None = None
    read_facts: ReadFacts | None = None
    read_run: Callable[[bytes], WeatherRunRead] | None = None
    history: timedelta = timedelta(0)  # as far back as is asked
    history_a_time: timedelta = timedelta(days=366)
    rain_is_stamped: str = "ends"  # a step of rain carries the moment at which it ends or begins
    needs_contact: bool = False
    key_header: str = ""  # not empty: a key is needed, and goes into this header only
    most_bytes: int = 10_000_000  # that one answer may unpack to
    fits: Callable[[Wanted], str] = lambda wanted: ""  # why these cannot go together
    fixed_unit: Callable[[str], str] = lambda series: ""  # where no facts are asked for

    def refusal(self, wanted: Wanted) -> str:
        """Return why this cannot be asked for, or nothing."""
        if wanted.quantity not in self.quantities:
            return f"{wanted.quantity} is not told by {self.name}; {', '.join(self.quantities)} is"
        for what, form, met in (
            ("station", self.station_form, wanted.station),
            ("series", self.series_form, wanted.series),
        ):
            if not form and met:
                return f"{what} is {met[:60]!r}; {self.name} is asked without one"
            if form and not re.fullmatch(form, met, re.ASCII):
                return f"{what} is {met[:60]!r}; {self.form_words}"
        return self.fits(wanted)

    @property
    def quantities(self) -> tuple[str, ...]:
        """Return what this agency can tell."""
        return tuple(self.units)
