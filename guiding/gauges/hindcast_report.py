"""What came of trying the river model on a file: as one object, and as lines for reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from guiding.gauges.hydrology.fitted import LeadScore
from guiding.gauges.hydrology.hindcast import HindcastReport
from guiding.gauges.hydrology.peers import at, tried_origins
from guiding.gauges.hydrology.record import Array

WIDTH = 11
COLUMNS = (
    ("rmse m", "rmse", ".4f"),
    ("PI", "pi", ".3f"),
    ("CRPS m", "crps", ".4f"),
    ("CRPSS", "crpss", ".3f"),
    ("in 80 %", "cover80", ".3f"),
)


def as_answer(
    river: str,
    step: str,
    rain: str,
    train: dict[str, Any],
    model: str,
    report: HindcastReport,
    says: Sequence[str],
    *,
    with_peers: bool,
) -> dict[str, Any]:
    """Return what the command prints; what is not known is null."""
    peers = {"persistence": report.persistence, "recession": report.recession}
    return {
        "river": river,
        "step": step,
        "rain": rain,
        "train": train,
        "model": model,
        "fit_s": _number(report.fit_s),
        "forecast_s": _number(report.forecast_s),
        "leads": [_row(score) for score in report.leads],
        "peers": {
            name: [_row(score) for score in scores] if with_peers else []
            for name, scores in peers.items()
        },
        "says": list(says),
    }


def silences(
    report: HindcastReport, level: Array, split: int, origins: int, step: str
) -> list[str]:
    """Say at which leads the model was silent where a level was known to hold it against."""
    tried = tried_origins(level, split, [row.lead for row in report.leads], origins)
    silent = []
    for row in report.leads:
        held = int(np.isfinite(at(level, tried + row.lead)).sum())
        if row.n < held:
            silent.append(f"{row.lead} {step}s: {held - row.n:,} of {held:,}")
    return [f"Moments at which it says nothing, by lead: {'; '.join(silent)}."] if silent else []


def _row(score: LeadScore) -> dict[str, Any]:
    names = ("rmse", "pi", "crps", "crpss", "cover80")
    return {
        "lead": score.lead,
        "n": score.n,
        **{name: _number(getattr(score, name)) for name in names},
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 5)


def as_lines(answer: dict[str, Any]) -> list[str]:
    """Return the answer for reading."""
    train, an = answer["train"], "an" if answer["step"] == "hour" else "a"
    fit_s, forecast_s = _shown(answer["fit_s"], ".1f"), _shown(answer["forecast_s"], ".3f")
    lines = [f"{answer['river']}: {answer['model']}"]
    lines += [f"steps of {an} {answer['step']}; rain: {answer['rain']}"]
    lines += [f"trained on {train['n']:,} levels, {train['from']} to {train['to']}"]
    lines += [f"fitted in {fit_s} s, a forecast in {forecast_s} s", *answer["says"]]
    lines += _table("the model", answer["leads"], answer["step"])
    titles = {"persistence": "it stays as it is", "recession": "it falls as it does"}
    for name, title in titles.items():
        if answer["peers"][name]:
            lines += _table(f"{title} ({name})", answer["peers"][name], answer["step"])
    return lines


def _table(title: str, rows: Sequence[dict[str, Any]], step: str) -> list[str]:
    """Return scores as lines of columns that never run together."""
    lines = ["", title, " lead      n" + "".join(f"{head:>{WIDTH}}" for head, _, _ in COLUMNS)]
    for row in rows:
        cells = "".join(f"{_shown(row[key], form):>{WIDTH}}" for _, key, form in COLUMNS)
        lines.append(f"{row['lead']:>3} {step[0]}{row['n']:>7,}{cells}")
    return lines


def _shown(value: float | None, form: str) -> str:
    return "not known" if value is None else format(value, form)
