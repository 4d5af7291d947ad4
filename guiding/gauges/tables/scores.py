"""What came of each forecast, and the same summed by day so that nobody reads it all again."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from guiding.gauges.tables.fits import Fit
from guiding.gauges.tables.forecasts import Forecast
from guiding.gauges.tables.places import Gauge


class ForecastScore(models.Model):
    """One forecast held against what was observed at one lead; written once.

    A lead whose level was never observed, or of which the forecast said nothing, is closed without
    a score and with the reason. `stays` is "it stays as it is", with the spread of this gauge's own
    changes over that lead as they were on file when the forecast was issued.
    """

    forecast = models.ForeignKey(Forecast, on_delete=models.CASCADE, related_name="scores")
    lead_hours = models.PositiveSmallIntegerField()
    target_at = models.DateTimeField()
    scored_at = models.DateTimeField()
    observed_m = models.FloatField(null=True)
    q10 = models.FloatField(null=True)
    q50 = models.FloatField(null=True)
    q90 = models.FloatField(null=True)
    crps_m = models.FloatField(null=True)
    stays_m = models.FloatField(null=True)
    stays_crps_m = models.FloatField(null=True)
    is_inside = models.BooleanField(null=True)
    not_scored = models.CharField(max_length=120, blank=True, help_text="why, if so")
    # one object a mark: name, level_m, direction, chance, happened; null where not known
    marks = models.JSONField(default=list)

    class Meta:
        ordering = ["forecast", "lead_hours"]
        constraints = [
            models.UniqueConstraint(
                fields=["forecast", "lead_hours"], name="a_lead_is_scored_once"
            ),
            models.CheckConstraint(
                condition=Q(observed_m__isnull=False) | ~Q(not_scored=""),
                name="a_lead_without_a_score_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.forecast}, {self.lead_hours} h ahead"


class ScoredDay(models.Model):
    """The scores of one lead summed over one day of targets, for one gauge and one fit.

    `count` forecasts were scored. `chances`: for each tenth of chance that was used, how many were
    given, their sum, and how often it happened.
    """

    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="scored_days")
    fit = models.ForeignKey(Fit, null=True, on_delete=models.RESTRICT, related_name="scored_days")
    lead_hours = models.PositiveSmallIntegerField()
    day = models.DateField()
    count = models.PositiveIntegerField(default=0)
    not_scored = models.PositiveIntegerField(default=0)
    inside = models.PositiveIntegerField(default=0)
    error_m = models.FloatField(default=0, help_text="sum of |median - observed|")
    stays_error_m = models.FloatField(default=0)
    squares = models.FloatField(default=0, help_text="sum of (median - observed)^2")
    stays_squares = models.FloatField(default=0)
    # both sums over the forecasts that have both, so that they may be compared
    crps_count = models.PositiveIntegerField(default=0)
    crps_m = models.FloatField(default=0)
    stays_crps_m = models.FloatField(default=0)
    chances = models.JSONField(default=dict)

    class Meta:
        ordering = ["gauge", "lead_hours", "day"]
        indexes = [models.Index(fields=["gauge", "day"])]
        constraints = [
            models.UniqueConstraint(
                fields=["gauge", "fit", "lead_hours", "day"], name="one_sum_a_day_and_fit"
            ),
            models.UniqueConstraint(
                fields=["gauge", "lead_hours", "day"],
                condition=Q(fit__isnull=True),
                name="one_sum_a_day_without_a_fit",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.gauge}, {self.lead_hours} h ahead, {self.day}"
