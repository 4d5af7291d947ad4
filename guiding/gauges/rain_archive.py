"""The weather runs on file laid on a gauge's steps: bands are trained on rain as it comes."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import numpy as np
from django.db.models import Count, Max, Min

from guiding.gauges.hydrology.history import RainRuns
from guiding.gauges.models import Gauge, WeatherRun
from guiding.gauges.rain_ahead import rain_on_steps
from guiding.gauges.steps import Steps

# fewer than these and no band can be trained on them (the fit has its own, stricter, say)
FEWEST_RUNS, FEWEST_SPAN = 250, timedelta(days=365)
MOST_RUNS = 1_500  # evenly over the archive: more would tell the same stories


def rain_runs(gauge: Gauge, steps: Steps, *, first: int, last: int, ahead: int) -> RainRuns | None:
    """Return the runs kept for a gauge as the fit takes them, None while there are too few.

    A run counts from the step that was over when it was issued. Of many, those from 1,500 moments
    spread evenly are read, a few at a time: what a run holds besides rain is heavy.
    """
    runs = WeatherRun.objects.filter(gauge=gauge)
    held = runs.aggregate(count=Count("pk"), since=Min("issued_at"), until=Max("issued_at"))
    if held["count"] < FEWEST_RUNS or held["until"] - held["since"] < FEWEST_SPAN:
        return None
    keys = list(runs.order_by("issued_at").values_list("pk", flat=True))
    if len(keys) > MOST_RUNS:
        chosen = np.linspace(0, len(keys) - 1, MOST_RUNS).astype(int)
        keys = [keys[place] for place in chosen]
    origins, rows = [], []
    for begins in range(0, len(keys), 100):
        some = runs.filter(pk__in=keys[begins : begins + 100]).order_by("issued_at")
        for issued_at, run_steps in some.values_list("issued_at", "steps"):
            over = steps.begun(issued_at) - (1 if steps.is_daily else 0)
            if not first <= over <= last:
                continue
            # the same edges as a forecast takes: see forecasting
            begin = over + 1 if steps.is_daily else over
            edges = list(pairwise(steps.moment(begin + k) for k in range(ahead + 1)))
            since = issued_at if steps.is_daily else edges[0][0]
            origins.append(over - first)
            rows.append(rain_on_steps(run_steps, edges, since=since))
    if not rows:
        return None
    return RainRuns(origins=np.array(origins, dtype=np.intp), rain_mm=np.stack(rows))
