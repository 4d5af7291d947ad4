"""What the river model costs: a fit, a forecast, a thousand forecasts tried out.

Run by hand: python -m tests.benchmarks.bench_forecast [rounds]. CPU seconds on one core, best of
the rounds, warm; the fit once. Three years of hours, invented. The floor of all of them is one bare
pass of the hourly stores over the record (what every candidate of a fit costs alone), the peer of
the thousand forecasts is "it stays as it is".
"""

import os
import sys
import time
from functools import partial

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import numpy as np  # noqa: E402

from guiding.gauges.hydrology.gr4 import Stores, simulate  # noqa: E402
from guiding.gauges.hydrology.hindcast import hindcast_level  # noqa: E402
from guiding.gauges.hydrology.history import History  # noqa: E402
from guiding.gauges.hydrology.level_fit import fit_level  # noqa: E402
from guiding.gauges.hydrology.level_model import WARM_UP_STEPS, look_ahead  # noqa: E402
from guiding.gauges.hydrology.peers import staying, tried_origins  # noqa: E402
from tests.benchmarks.bench_pack import cpu_seconds  # noqa: E402
from tests.gauges.inventedriver import invented_river  # noqa: E402

HOURS, YEARS, ORIGINS = 120, 3, 1_000
LEADS = (6, 24, 72, 120)
# aims in seconds, and in passes of the bare stores: a ratio that the machine does not change
MOST_S = {"fit": 30.0, "forecast": 0.3, "hindcast": 90.0}
MOST_PASSES = {"fit": 1_300.0, "forecast": 9.0, "hindcast": 2_700.0}


def history(years):
    """Return the invented river as a history, an hour's rain known when it is over."""
    level, rain = invented_river(years)
    return History(
        step_minutes=60,
        level_m=level,
        rain_mm=rain,
        air_c=None,
        pet_mm=None,
        year_share=np.arange(len(level)) / (24 * 365.25) % 1,
        latitude=None,
    )


def bare_pass(river):
    """Run one set of hourly stores over the record, and nothing else."""
    one = {"x1_mm": 300.0, "x2_mm": 0.0, "x3_mm": 60.0, "x4_steps": 12.0}
    stores = Stores(**{name: np.array([value]) for name, value in one.items()})
    return simulate(stores, 60, river.rain_mm[:, None], np.full((len(river.level_m), 1), 0.06))


def quiet(what, share):
    """Say nothing."""


def main(rounds):
    """Print one line a piece of work; return whether each keeps to its bounds."""
    river = history(YEARS)
    fit = fit_level(river, rain="degraded", seed=1, steps=HOURS, tell=quiet)  # warms up
    begins = time.process_time()
    fit = fit_level(river, rain="degraded", seed=1, steps=HOURS, tell=quiet)
    spent = {"fit": time.process_time() - begins}
    recent = history(WARM_UP_STEPS[60] / 24 / 365.25)
    ahead = {"steps": HOURS, "rain_ahead_mm": np.full(HOURS, 0.2), "air_ahead_c": None}
    floor, spent["forecast"] = cpu_seconds(
        rounds, partial(bare_pass, river), partial(look_ahead, fit, recent, **ahead)
    )
    longer, split = history(YEARS + 1), len(river.level_m)
    asked = {"train_until": split, "leads": LEADS, "origins": ORIGINS, "seed": 1, "tell": quiet}
    begins = time.process_time()
    hindcast_level(longer, rain="true", **asked)
    spent["hindcast"] = time.process_time() - begins
    tried = tried_origins(longer.level_m, split, LEADS, ORIGINS)
    (peer,) = cpu_seconds(
        rounds, lambda: [staying(longer.level_m, tried, split, lead) for lead in LEADS]
    )
    print(f"floor: one bare pass of the stores over {len(river.level_m):,} hours {floor:.3f} s")
    is_good = True
    for what, seconds in spent.items():
        keeps = seconds <= MOST_S[what] and seconds / floor <= MOST_PASSES[what]
        is_good &= keeps
        print(
            f"{what}: {seconds:.3f} s (at most {MOST_S[what]:g}), "
            f"{seconds / floor:.1f} bare passes (at most {MOST_PASSES[what]:g})"
        )
    print(
        f"{ORIGINS:,} origins tried out, the fit included, cost "
        f"{spent['hindcast'] / peer:.0f} times what persistence costs ({peer:.3f} s)"
    )
    return is_good


if __name__ == "__main__":
    sys.exit(0 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 3) else 1)
