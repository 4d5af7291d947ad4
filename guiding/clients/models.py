"""People: one row a human, who may be a rod, a guest, a junior or a payer."""

from __future__ import annotations

import uuid
from datetime import date

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


class Person(models.Model):
    """One human. What is not known stays empty and is treated as not known."""

    class Hand(models.TextChoices):
        RIGHT = "right", "right"
        LEFT = "left", "left"
        EITHER = "either", "either"

    class Casting(models.TextChoices):
        NOVICE = "novice", "novice"
        USED = "used", "used to it"
        STRONG = "strong", "strong"

    class Wading(models.TextChoices):
        NOVICE = "novice", "novice"
        USED = "used", "used to it"
        STRONG = "strong", "strong"

    class Units(models.TextChoices):
        METRIC = "metric", "metres and centimetres"
        IMPERIAL = "imperial", "feet and inches"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=120)
    short_name = models.CharField(max_length=60, blank=True, help_text="what we call them")
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    born_on = models.DateField(null=True, blank=True)
    is_junior = models.BooleanField(
        default=False, help_text="under 16, where no birth date is held"
    )
    hand = models.CharField(max_length=10, choices=Hand, blank=True)
    casting = models.CharField(max_length=10, choices=Casting, blank=True)
    wading = models.CharField(max_length=10, choices=Wading, blank=True)
    is_nervous = models.BooleanField(default=False, help_text="nervous in moving water")
    is_frail = models.BooleanField(default=False, help_text="bank only, whatever the water does")
    can_swim = models.BooleanField(null=True, blank=True)
    height_m = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.5), MaxValueValidator(2.3)]
    )
    mass_kg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(10), MaxValueValidator(250)]
    )
    foot_eu = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(20), MaxValueValidator(55)]
    )
    wader_size = models.CharField(max_length=20, blank=True)
    units = models.CharField(max_length=10, choices=Units, default=Units.METRIC)
    emergency_name = models.CharField(max_length=120, blank=True)
    emergency_phone = models.CharField(max_length=40, blank=True)
    licence_seen_on = models.DateField(null=True, blank=True)
    brings = models.TextField(blank=True, help_text="own kit, one thing a line")
    notes = models.TextField(blank=True, help_text="for the house only; nothing medical")

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "people"
        constraints = [
            models.CheckConstraint(
                condition=Q(height_m__isnull=True) | Q(height_m__range=(0.5, 2.3)),
                name="person_height_is_human",
                violation_error_message="A height is between 0.5 and 2.3 m.",
            ),
            models.CheckConstraint(
                condition=Q(mass_kg__isnull=True) | Q(mass_kg__range=(10, 250)),
                name="person_mass_is_human",
                violation_error_message="A weight is between 10 and 250 kg.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def called(self) -> str:
        """Return the name we speak to them by."""
        return self.short_name or self.name.split(" ")[0]

    def age_on(self, day: date) -> int | None:
        """Return the age in whole years on a day, or None where no birth date is held."""
        if self.born_on is None:
            return None
        before_birthday = (day.month, day.day) < (self.born_on.month, self.born_on.day)
        return day.year - self.born_on.year - before_birthday
