"""What is kept of a fit: plain numbers and arrays, and the river and past errors they stand for."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from guiding.gauges.hydrology.catchment import Catchment, Snow, Start
from guiding.gauges.hydrology.gr4 import Stores
from guiding.gauges.hydrology.lead_regression import LeadRegression
from guiding.gauges.hydrology.neighbours import Likeness
from guiding.gauges.hydrology.past_errors import Learned
from guiding.gauges.hydrology.pseudo_flow import PseudoFlow
from guiding.gauges.hydrology.record import Array
from guiding.gauges.hydrology.river import River, Sim
from guiding.gauges.hydrology.weather import Usual

SIMS = ("", "near_")  # what the names of each simulation's numbers begin with
WITH_RUN, WITHOUT_RUN = "run", "none"  # the two kinds of day: a rain forecast is there, or is not


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadScore:
    """How a fit did at one lead on blocks of its own history that it was not fitted on.

    `lead` in steps; `n` forecasts; `rmse` and `pi` of the mean of the paths, `crps` of all of them
    [m]. `pi` (persistence index) and `crpss` (against persistence with its own errors) are 1 where
    perfect and 0 where no better than "it stays as it is"; `cover80` is the share of outcomes
    inside the 80 % band. A score that cannot be told is NaN.
    """

    lead: int
    n: int
    rmse: float
    pi: float
    crps: float
    crpss: float
    cover80: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelFit:
    """All that a forecast needs of a fit.

    `parameters` are the named numbers of the stores (mm, steps) and of the pseudo-flow (m).
    `rain` says what rain the band was trained on: "true", "degraded", "archive" or "none".
    `scores` are cross-validated, one a lead. `arrays` hold regressions and past errors.
    """

    step_minutes: int
    model: str
    parameters: dict[str, float]
    rain: str
    scores: tuple[LeadScore, ...]
    arrays: dict[str, Array]


def parameters_of(river: River) -> dict[str, float]:
    """Return a river's numbers by name."""
    numbers = {
        "latitude": river.latitude,
        "floor_m": river.scale.floor_m,
        "median_m2": river.scale.median_m2,
    }
    for prefix, sim in zip(SIMS, river.sims, strict=False):
        stores, snow = sim.catchment.stores, sim.catchment.snow
        numbers |= {
            f"{prefix}ratio": sim.ratio,
            f"{prefix}x1_mm": float(stores.x1_mm[0]),
            f"{prefix}x2_mm": float(stores.x2_mm[0]),
            f"{prefix}x3_mm": float(stores.x3_mm[0]),
            f"{prefix}x4_steps": float(stores.x4_steps[0]),
        }
        if snow is not None:
            numbers |= {
                f"{prefix}melt_mm": float(snow.melt_mm[0]),
                f"{prefix}patchy_mm": float(snow.patchy_mm[0]),
                f"{prefix}warmer_c": float(snow.warmer_c[0]),
            }
    return numbers


def river_arrays(river: River) -> dict[str, Array]:
    """Return what is usual of a river by name."""
    usual = river.usual
    arrays = {
        "usual_rain_mm": usual.rain_mm,
        "usual_pet_mm": usual.pet_mm,
        "usual_air_c": usual.air_c,
    }
    for prefix, sim in zip(SIMS, river.sims, strict=False):
        arrays |= {
            f"{prefix}start_production": sim.start.production,
            f"{prefix}start_routing": sim.start.routing,
            f"{prefix}start_pack_mm": sim.start.pack_mm,
        }
    return arrays


def river_of(fit: LevelFit) -> River:
    """Return the river a fit stands for."""
    arrays = fit.arrays
    return River(
        latitude=fit.parameters["latitude"],
        scale=PseudoFlow(floor_m=fit.parameters["floor_m"], median_m2=fit.parameters["median_m2"]),
        usual=Usual(
            rain_mm=arrays["usual_rain_mm"],
            pet_mm=arrays["usual_pet_mm"],
            air_c=arrays["usual_air_c"],
        ),
        sims=tuple(_sim_of(fit, prefix) for prefix in SIMS if f"{prefix}x1_mm" in fit.parameters),
    )


def _sim_of(fit: LevelFit, prefix: str) -> Sim:
    def one(name: str) -> Array:
        return np.array([fit.parameters[prefix + name]])

    stores = Stores(
        x1_mm=one("x1_mm"), x2_mm=one("x2_mm"), x3_mm=one("x3_mm"), x4_steps=one("x4_steps")
    )
    snow = None
    if f"{prefix}melt_mm" in fit.parameters:
        snow = Snow(melt_mm=one("melt_mm"), patchy_mm=one("patchy_mm"), warmer_c=one("warmer_c"))
    return Sim(
        catchment=Catchment(step_minutes=fit.step_minutes, stores=stores, snow=snow),
        ratio=fit.parameters[f"{prefix}ratio"],
        start=Start(
            production=fit.arrays[f"{prefix}start_production"],
            routing=fit.arrays[f"{prefix}start_routing"],
            pack_mm=fit.arrays[f"{prefix}start_pack_mm"],
        ),
    )


def learned_arrays(kind: str, learned: Learned) -> dict[str, Array]:
    """Return what forecasts of one kind taught, by name, as precisely as it is kept."""
    arrays = {
        "full": learned.regression.full,
        "short": learned.regression.short,
        "middle": learned.likeness.middle,
        "spread": learned.likeness.spread,
        "places": learned.places,
        "errors": learned.errors,
        "widening": learned.widening,
    }
    return {
        f"{kind}_{name}": values.astype(_kept_as(name)).astype(float)
        for name, values in arrays.items()
    }


def learned_of(fit: LevelFit, kind: str) -> Learned | None:
    """Return what forecasts of one kind taught, None where the fit holds none of them."""
    if f"{kind}_errors" not in fit.arrays:
        return None

    def one(name: str) -> Array:
        return fit.arrays[f"{kind}_{name}"]

    return Learned(
        regression=LeadRegression(full=one("full"), short=one("short")),
        likeness=Likeness(middle=one("middle"), spread=one("spread")),
        places=one("places"),
        errors=one("errors"),
        widening=one("widening"),
    )


def leads_of(fit: LevelFit) -> int:
    """Return how many leads were fitted."""
    kind = WITH_RUN if f"{WITH_RUN}_errors" in fit.arrays else WITHOUT_RUN
    return int(fit.arrays[f"{kind}_errors"].shape[1])


def pack_fit(fit: LevelFit) -> bytes:
    """Return a fit as bytes to be kept; nothing in them can run when they are read back."""
    header = {
        "step_minutes": fit.step_minutes,
        "model": fit.model,
        "parameters": fit.parameters,
        "rain": fit.rain,
        "scores": [asdict(score) for score in fit.scores],
    }
    kept: dict[str, Any] = {
        name: values.astype(_kept_as(name)) for name, values in fit.arrays.items()
    }
    kept["header"] = np.frombuffer(json.dumps(header).encode(), np.uint8)
    data = io.BytesIO()
    np.savez_compressed(data, allow_pickle=False, **kept)
    return data.getvalue()


def unpack_fit(data: bytes) -> LevelFit:
    """Return the fit that pack_fit was given.

    Raises
    ------
    ValueError
        The bytes are not a fit.
    """
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
        header = json.loads(arrays.pop("header").tobytes())
        return LevelFit(
            step_minutes=header["step_minutes"],
            model=header["model"],
            parameters=header["parameters"],
            rain=header["rain"],
            scores=tuple(LeadScore(**score) for score in header["scores"]),
            arrays={name: values.astype(float) for name, values in arrays.items()},
        )
    except (ValueError, KeyError, TypeError, EOFError, OSError, zipfile.BadZipFile) as error:
        raise ValueError(f"{len(data)} bytes are not a kept fit: {error}") from error


def _kept_as(name: str) -> type:
    """Return how an array is kept: error paths and rain to three digits, the rest whole."""
    return np.float16 if name.endswith(("errors", "spells_mm")) else np.float64
