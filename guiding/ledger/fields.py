"""Columns of money and of percentages: one size each."""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class MoneyField(models.DecimalField):
    """An amount to the penny."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "max_digits": 10, "decimal_places": 2})

    def deconstruct(self) -> Any:
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.DecimalField", args, kwargs


class PercentField(models.DecimalField):
    """0 to 100 percent, to the hundredth."""

    default_validators = [MinValueValidator(0), MaxValueValidator(100)]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "max_digits": 5, "decimal_places": 2})

    def deconstruct(self) -> Any:
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.DecimalField", args, kwargs
