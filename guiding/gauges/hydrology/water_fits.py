"""A fitted model of water temperature as it is kept: plain values, and how well it did."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Self

from guiding.gauges.hydrology.water_leads import LeadModel
from guiding.gauges.hydrology.water_terms import Terms

MODEL = "season, air and river, 1"


class TooLittle(ValueError):
    """There is too little on file to fit; the message says what there is and what it takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadScore:
    """How the fit did on stretches held out of it, NaN where nothing could be told.

    `pi` is against "it stays as it is".
    """

    lead: int  # steps
    n: int
    rmse: float  # degrees C
    pi: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterFit:
    """A fitted model as plain values. `air` says what its band was made for.

    "forecast": air and river that are themselves forecast; "true": as they were measured. `months`
    are the twelfths of the year (0 to 11) whose water is on file, `water_c` and `air_c` the lowest
    and highest on file [degrees C], `days` how many days of water it was fitted on.
    """

    model: str
    step_minutes: int
    air: str
    terms: Terms
    models: tuple[LeadModel, ...]  # the one that knows most first
    months: tuple[int, ...]
    days: float
    water_c: tuple[float, float]
    air_c: tuple[float, float] | None
    scores: tuple[LeadScore, ...]

    @property
    def river(self) -> str:
        """Return what stands for the river: "flow", "level" or "none"."""
        return self.terms.river

    def as_json(self) -> dict[str, Any]:
        """Return what a row keeps: plain numbers, lists and text only."""
        return {
            "model": self.model,
            "step_minutes": self.step_minutes,
            "air": self.air,
            "terms": {
                "step_minutes": self.terms.step_minutes,
                "air_normal": list(self.terms.air_normal),
                "fast_days": self.terms.fast_days,
                "slow_days": self.terms.slow_days,
                "river": self.terms.river,
                "river_mean": self.terms.river_mean,
                "floor_m": self.terms.floor_m,
            },
            "models": [model.as_json() for model in self.models],
            "months": list(self.months),
            "days": self.days,
            "water_c": list(self.water_c),
            "air_c": None if self.air_c is None else list(self.air_c),
            "scores": [
                {
                    "lead": score.lead,
                    "n": score.n,
                    "rmse": _or_none(score.rmse),
                    "pi": _or_none(score.pi),
                }
                for score in self.scores
            ],
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        """Return what a row kept; ValueError where it was kept by another version."""
        if kept.get("model") != MODEL:
            raise ValueError(f"the fit is of model {kept.get('model')!r}; this one is {MODEL!r}.")
        air_c = kept["air_c"]
        terms = {**kept["terms"], "air_normal": tuple(kept["terms"]["air_normal"])}
        return cls(
            model=kept["model"],
            step_minutes=kept["step_minutes"],
            air=kept["air"],
            terms=Terms(**terms),
            models=tuple(LeadModel.from_json(model) for model in kept["models"]),
            months=tuple(kept["months"]),
            days=kept["days"],
            water_c=(kept["water_c"][0], kept["water_c"][1]),
            air_c=None if air_c is None else (air_c[0], air_c[1]),
            scores=tuple(
                LeadScore(
                    lead=score["lead"],
                    n=score["n"],
                    rmse=math.nan if score["rmse"] is None else score["rmse"],
                    pi=math.nan if score["pi"] is None else score["pi"],
                )
                for score in kept["scores"]
            ),
        )


def _or_none(value: float) -> float | None:
    """Return a number as JSON knows it."""
    return None if math.isnan(value) else value
