"""Who may sign in: the guide, and staff."""

import uuid
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

GUIDE_ONLY = ("accounts", "auth")


class HouseManager(UserManager["User"]):
    """The first account of a house, made by `createsuperuser`, is the guide's."""

    def create_superuser(
        self,
        username: str,
        email: str | None = None,
        password: str | None = None,
        **extra_fields: Any,
    ) -> "User":
        """Create the guide's own account."""
        extra_fields.setdefault("role", User.Role.GUIDE)
        return super().create_superuser(username, email, password, **extra_fields)


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

    objects: ClassVar[HouseManager] = HouseManager()

    def has_perm(self, perm: str, obj: Any = None) -> bool:
        """Say what the role allows in the records: staff all but the house's own people."""
        return self.has_module_perms(perm.partition(".")[0])

    def has_module_perms(self, app_label: str) -> bool:
        """Say whether the records of an app are open to this user."""
        if not (self.is_active and self.is_staff):
            return False
        return self.is_guide or self.is_superuser or app_label not in GUIDE_ONLY

    @property
    def is_guide(self) -> bool:
        """Say whether this user may change roles and send what clients read."""
        return self.role == self.Role.GUIDE
