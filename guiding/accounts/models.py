"""Who may sign in: the guide, and staff."""

import uuid

from django.contrib.auth.models import AbstractUser
from django.db import models


class User(AbstractUser):
    """Somebody of the house. Clients never have an account."""

    class Role(models.TextChoices):
        GUIDE = "guide", "guide"
        STAFF = "staff", "staff"

    class Units(models.TextChoices):
        METRIC = "metric", "metres and centimetres"
        IMPERIAL = "imperial", "feet and inches"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    role = models.CharField(max_length=10, choices=Role, default=Role.STAFF)
    phone = models.CharField(max_length=40, blank=True, help_text="printed on every pack")
    units = models.CharField(max_length=10, choices=Units, default=Units.METRIC)

    @property
    def is_guide(self) -> bool:
        """Say whether this user may change roles and send what clients read."""
        return self.role == self.Role.GUIDE
