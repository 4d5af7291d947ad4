"""Files of one river's air, water and flow -> days, several files joined in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from guiding.gauges.hydrology.record import DAY_MINUTES
from guiding.gauges.hydrology.water_terms import WaterRecord
from guiding.gauges.intake.csvmap import FileRefused
from guiding.gauges.intake.limits import Limits
from guiding.gauges.intake.riverfile import RiverRows, read_river
from guiding.gauges.intake.riversteps import RiverSteps, laid_on_steps

GAPS = (-999.0, -9999.0)  # how such records often write a gap; said when it is met

COLUMNS = {
    "Ta": Limits(what="air temperature Ta", unit="degrees C", low=-60.0, high=60.0),
    "Tw": Limits(what="water temperature Tw", unit="degrees C", low=-5.0, high=50.0),
    "Q": Limits(what="flow Q", unit="", low=-1e7, high=1e7),
}
# a gap written as a number must get past the reader first
_READ = {name: replace(limits, low=min(*GAPS, limits.low)) for name, limits in COLUMNS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterRiver:
    """A river's days, and what must be said of the files they came from."""

    record: WaterRecord
    steps: RiverSteps
    says: tuple[str, ...]


def read_water_river(files: Sequence[tuple[str, bytes]]) -> WaterRiver:
    """Return named files of one river on days, joined in time; finer rows become means of days.

    Raises
    ------
    FileRefused
        A file is none, none has a column Tw, or two hold the same moment; the file is named.
    """
    says: list[str] = []
    parts = []
    for name, data in files:
        try:
            parts.append((name, _without_gap_numbers(name, read_river(data, _READ), says)))
        except FileRefused as refusal:
            raise FileRefused(f"{name}: {refusal}") from refusal
    rows = _joined(parts)
    if "Tw" not in rows.values or not np.isfinite(rows.values["Tw"]).any():
        names = ", ".join(name for name, _ in parts)
        raise FileRefused(f"{names}: no water temperature; a column Tw must hold some.")
    for name, what in (("Ta", "air temperature"), ("Q", "flow")):
        if name not in rows.values:
            says.append(f"There is no column {name}: made without the {what}.")
    steps = laid_on_steps(rows, DAY_MINUTES)
    record = WaterRecord(
        step_minutes=DAY_MINUTES,
        water_c=steps.values["Tw"],
        year_share=steps.year_share,
        air_c=steps.values.get("Ta"),
        flow=steps.values.get("Q"),
    )
    return WaterRiver(record=record, steps=steps, says=(*steps.says, *says))


def _without_gap_numbers(name: str, rows: RiverRows, says: list[str]) -> RiverRows:
    """Return rows with -999 and -9999 taken as gaps, which is said; refuse what else cannot be."""
    values = {}
    for column, limits in COLUMNS.items():
        if column not in rows.values:
            continue
        known = rows.values[column]
        is_gap = np.isin(known, GAPS)
        if is_gap.any():
            says.append(
                f"{name}: {column} is -999 or -9999 in {int(is_gap.sum())} rows; taken as a gap."
            )
        values[column] = np.where(is_gap, np.nan, known)
        odd = np.flatnonzero((values[column] < limits.low) | (values[column] > limits.high))
        if odd.size:
            refusal = limits.refusal(float(known[odd[0]]))
            raise FileRefused(f"line {rows.lines[odd[0]]}: {refusal}; a gap is an empty cell.")
    return replace(rows, values=values)


def _joined(parts: Sequence[tuple[str, RiverRows]]) -> RiverRows:
    """Return the rows of several files in order of time; a column a file lacks is a gap there."""
    if len(parts) == 1:
        return parts[0][1]
    names = [name for name in COLUMNS if any(name in rows.values for _, rows in parts)]
    seconds = np.concatenate([rows.seconds for _, rows in parts])
    order = np.argsort(seconds, kind="stable")
    whose = np.repeat(np.arange(len(parts)), [rows.seconds.size for _, rows in parts])[order]
    twice = np.flatnonzero(np.diff(seconds[order]) == 0)
    if twice.size:
        first, second = (parts[whose[twice[0] + k]][0] for k in (0, 1))
        moment = datetime.fromtimestamp(int(seconds[order][twice[0]]), UTC)
        raise FileRefused(
            f"{moment:%Y-%m-%d %H:%M} stands in both {first} and {second}; once is right."
        )
    return RiverRows(
        seconds=seconds[order],
        written_s=np.concatenate([rows.written_s for _, rows in parts])[order],
        values={
            name: np.concatenate(
                [rows.values.get(name, np.full(rows.seconds.size, np.nan)) for _, rows in parts]
            )[order]
            for name in names
        },
        lines=np.concatenate([rows.lines for _, rows in parts])[order],
        says=tuple(f"{name}: {text}" for name, rows in parts for text in rows.says),
    )
