"""What must hold between the tables of a water file: each problem named with its place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import pairwise
from typing import Any

from guiding.gauges.waterfile.form import MARK_KINDS
from guiding.gauges.waterfile.reading import Entry, WaterFile
from guiding.rivers.gridref import grid_words


def problems_between(file: WaterFile, *, today: date) -> list[str]:
    """Return every problem between the entries of a file: repeats, order, missing links."""
    return [
        *_repeats(file),
        *_gauge_problems(file),
        *_mark_problems(file),
        *_part_problems(file),
        *_sounding_problems(file, today),
        *_grid_problems(file),
    ]


def _repeats(file: WaterFile) -> Iterator[str]:
    """Names that must be single: of waters, beats and gauges anywhere, of pools on a beat."""
    yield from _twice(file.waters)
    yield from _twice(file.gauges)
    yield from _twice(file.dams)
    yield from _twice(file.tide_places)
    for mover in (*file.dams, *file.tide_places):
        yield from _twice(mover.inside("beat"))
    yield from _twice(beat for water in file.waters for beat in water.inside("beat"))
    for water in file.waters:
        yield from _twice([*water.inside("access_point"), *_pool_access(water)])
        yield from _twice(water.inside("part_hours"), "part", "first_month_day")
        for beat in water.inside("beat"):
            yield from _twice(beat.inside("pool"))
            yield from _twice(beat.inside("gauge"))
            for pool in beat.inside("pool"):
                yield from _twice(
                    pool.inside("sounding"), "gauge", "spot", "measured_on", "level_m"
                )


def _pool_access(water: Entry) -> Iterator[Entry]:
    return water.inside("beat", "pool", "access_point")


def _twice(entries: Iterable[Entry], *keys: str) -> Iterator[str]:
    seen: dict[Any, Entry] = {}
    for entry in entries:
        mark = tuple(_folded(entry.values[key]) for key in keys or ("name",))
        if mark in seen:
            what = ", ".join(f"{key} {entry.values[key]}" for key in keys or ("name",))
            yield f"{entry.place}: {what} stands already at {seen[mark].place}"
        seen.setdefault(mark, entry)


def _folded(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def _gauge_problems(file: WaterFile) -> Iterator[str]:
    for gauge in file.gauges:
        values = gauge.values
        if values["lowest_m"] >= values["highest_m"]:
            yield (
                f"{gauge.place}: lowest_m is {values['lowest_m']:g} and highest_m "
                f"{values['highest_m']:g}; the lowest must be below the highest"
            )
        rating = ("rating_a", "rating_b", "rating_h0_m", "rating_source")
        missing = [key for key in rating if values[key] in (None, "")]
        if missing and len(missing) < len(rating):
            yield f"{gauge.place}: a rating needs all of {', '.join(rating)}; missing: " + (
                ", ".join(missing)
            )


def _mark_problems(file: WaterFile) -> Iterator[str]:
    for gauge in file.gauges:
        marks = list(gauge.inside("mark"))
        yield from _twice(marks, "beat", "kind")
        for beat in {mark.values["beat"] for mark in marks}:
            own = [mark for mark in marks if mark.values["beat"] == beat]
            own.sort(key=lambda mark: MARK_KINDS.index(mark.values["kind"]))
            for below, above in pairwise(own):
                if above.values["level_m"] <= below.values["level_m"]:
                    yield (
                        f"{above.place}: {above.values['kind']} is at "
                        f"{above.values['level_m']:g} m; it must be above "
                        f"{below.values['kind']} at {below.values['level_m']:g} m"
                    )


def _part_problems(file: WaterFile) -> Iterator[str]:
    for water in file.waters:
        for hours in water.inside("part_hours"):
            if hours.values["starts"] == hours.values["ends"]:
                yield f"{hours.place}: starts and ends are both {hours.values['starts']:%H:%M}"


def _sounding_problems(file: WaterFile, today: date) -> Iterator[str]:
    for water in file.waters:
        for sounding in water.inside("beat", "pool", "sounding"):
            if sounding.values["measured_on"] > today:
                day = sounding.values["measured_on"]
                yield f"{sounding.place}: measured_on is {day}; today is {today}"
            if sounding.values["gauge"] is None and len(file.gauges) != 1:
                names = ", ".join(gauge.name for gauge in file.gauges) or "none"
                yield f"{sounding.place}: gauge is missing; the file's gauges are: {names}"


def _grid_problems(file: WaterFile) -> Iterator[str]:
    """A point without a grid reference is of no use to whoever must be told where to come."""
    grid = file.river.values["grid"]
    for water in file.waters:
        for point in (*water.inside("access_point"), *_pool_access(water)):
            try:
                grid_words(point.values["latitude"], point.values["longitude"], grid)
            except ValueError as error:
                yield f"{point.place}: {error}"
