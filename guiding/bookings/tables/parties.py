"""Who comes in a booking, and who fishes which place."""

from __future__ import annotations

from django.db import models

from guiding.bookings.tables.bookings import Booking
from guiding.bookings.tables.places import Place
from guiding.clients.models import Person
from guiding.rivers.models import Part


class PartyMember(models.Model):
    """A person in a booking, and what they are there: a person is not a rod and not a payer."""

    class Role(models.TextChoices):
        ROD = "rod", "rod"
        SHARES = "shares", "shares a rod"
        GUEST = "guest", "guest who watches"
        PAYER = "payer", "pays only"

    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="party")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role, default=Role.ROD)
    # a junior fishes or shares or watches as well: it is an age, beside the role
    is_junior = models.BooleanField(default=False)
    shares_with = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="sharers"
    )

    class Meta:
        ordering = ["booking", "id"]
        constraints = [
            models.UniqueConstraint(fields=["booking", "person"], name="person_once_a_booking")
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_role_display()}"

    @property
    def comes(self) -> bool:
        """Say whether this person will stand on the bank."""
        return self.role != self.Role.PAYER


class RodPlace(models.Model):
    """Who fishes a place: two who share a rod fish one place."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="rods")
    member = models.ForeignKey(PartyMember, on_delete=models.CASCADE, related_name="rod_places")
    # copied from place and member so that the database can refuse two places at one time
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    date = models.DateField()
    part = models.CharField(max_length=10, choices=Part)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "date", "part"],
                name="person_fishes_one_place_at_a_time",
                violation_error_message="This person already fishes in that part of that day.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.place}"
