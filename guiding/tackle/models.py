"""What the guide owns: the fly box, lines, tips, leader material, rods, loan kit."""

from __future__ import annotations

import uuid

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from guiding.units import ips_to_cm_s


class FlyPattern(models.Model):
    """A pattern, named by what it looks like."""

    class Role(models.TextChoices):
        POINT = "point", "point fly"
        DROPPER = "dropper", "dropper"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60, unique=True)
    role = models.CharField(max_length=10, choices=Role)
    colours = models.JSONField(default=list, help_text="as seen in the hand, the main one first")
    looks_like = models.CharField(max_length=160, blank=True)
    is_surface_lure = models.BooleanField(default=False, help_text="skated across the top at night")

    class Meta:
        ordering = ["role", "name"]

    def __str__(self) -> str:
        return self.name


class Fly(models.Model):
    """One size, weight and dressing of a pattern, and how many are in the box."""

    class Dressing(models.TextChoices):
        FULL = "full", "full"
        MEDIUM = "medium", "medium"
        SPARSE = "sparse", "sparse"

    class Hook(models.TextChoices):
        SINGLE = "single", "single"
        DOUBLE = "double", "double"
        TREBLE = "treble", "treble"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    pattern = models.ForeignKey(FlyPattern, on_delete=models.CASCADE, related_name="flies")
    length_mm = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(5), MaxValueValidator(150)], help_text="dressed length"
    )
    hook_size = models.PositiveSmallIntegerField(null=True, blank=True)
    hook = models.CharField(max_length=10, choices=Hook, default=Hook.DOUBLE)
    is_tube = models.BooleanField(default=False)
    weight_g = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    dressing = models.CharField(max_length=10, choices=Dressing, default=Dressing.MEDIUM)
    count = models.PositiveSmallIntegerField(default=0, help_text="how many are in the box")

    class Meta:
        ordering = ["pattern", "-length_mm"]
        verbose_name_plural = "flies"
        constraints = [
            models.UniqueConstraint(
                fields=["pattern", "length_mm", "is_tube", "dressing", "weight_g"],
                name="weighted_fly_listed_once",
                violation_error_message="This fly is in the box already: change its count instead.",
            ),
            models.UniqueConstraint(
                fields=["pattern", "length_mm", "is_tube", "dressing"],
                condition=Q(weight_g__isnull=True),
                name="unweighted_fly_listed_once",
                violation_error_message="This fly is in the box already: change its count instead.",
            ),
        ]

    def __str__(self) -> str:
        made = "tube" if self.is_tube else f"size {self.hook_size}"
        return f"{self.pattern} {self.length_mm} mm, {made}"


class Line(models.Model):
    """A fly line or head."""

    class Kind(models.TextChoices):
        FLOATING = "floating", "floating"
        INTERMEDIATE = "intermediate", "intermediate"
        SINKING = "sinking", "sinking"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=20, choices=Kind)
    sink_ips = models.FloatField(null=True, blank=True, help_text="inches per second")
    weight_g = models.FloatField(null=True, blank=True)
    takes_tips = models.BooleanField(default=True)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return self.name


class Tip(models.Model):
    """A sinking tip, or a sinking leader, looped to the end of a line."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80, unique=True)
    length_m = models.FloatField(validators=[MinValueValidator(0.5), MaxValueValidator(10)])
    sink_ips = models.FloatField(validators=[MinValueValidator(0), MaxValueValidator(12)])
    is_sinking_leader = models.BooleanField(default=False)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["sink_ips", "name"]

    def __str__(self) -> str:
        return self.name

    @property
    def sink_cm_s(self) -> float:
        """Return the sink rate in centimetres a second."""
        return ips_to_cm_s(self.sink_ips)


class LeaderMaterial(models.Model):
    """A spool of leader or tippet material. Diameter, not strength, decides."""

    class Material(models.TextChoices):
        NYLON = "nylon", "nylon"
        FLUOROCARBON = "fluorocarbon", "fluorocarbon"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    material = models.CharField(max_length=20, choices=Material)
    diameter_mm = models.FloatField(validators=[MinValueValidator(0.08), MaxValueValidator(0.8)])
    strength_kg = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["-diameter_mm"]
        constraints = [
            models.UniqueConstraint(fields=["material", "diameter_mm"], name="material_listed_once")
        ]

    def __str__(self) -> str:
        return f"{self.diameter_mm:.2f} mm {self.material}"


class Rod(models.Model):
    """A rod to lend or to fish."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80, unique=True)
    length_m = models.FloatField(validators=[MinValueValidator(1.5), MaxValueValidator(5.5)])
    is_two_handed = models.BooleanField(default=True)
    is_lent = models.BooleanField(default=True)

    class Meta:
        ordering = ["-length_m", "name"]

    def __str__(self) -> str:
        return self.name


class LoanItem(models.Model):
    """Kit we lend, by size. How many are out is told by the trips."""

    class Kind(models.TextChoices):
        WADERS = "waders", "waders"
        BOOTS = "boots", "wading boots"
        JACKET = "jacket", "wading jacket"
        BUOYANCY = "buoyancy", "buoyancy aid"
        STAFF = "staff", "wading staff"
        GLASSES = "glasses", "glasses"
        OTHER = "other", "other"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=20, choices=Kind)
    size = models.CharField(max_length=20, blank=True)
    smallest_foot_eu = models.FloatField(null=True, blank=True)
    largest_foot_eu = models.FloatField(null=True, blank=True)
    smallest_height_m = models.FloatField(null=True, blank=True)
    largest_height_m = models.FloatField(null=True, blank=True)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["kind", "size"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "size"], name="loan_item_listed_once")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.size}".strip()
