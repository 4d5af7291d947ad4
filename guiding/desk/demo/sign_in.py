"""The demo's passwords: made once, kept in a file that only this user can read."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from django.contrib.auth.models import Permission

from guiding.accounts.models import User
from guiding.desk.demo.people import HOUSE

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is read as another
FILE_NAME = "demo-sign-in"


def passwords(folder: Path) -> dict[str, str]:
    """Return the password of each member of the house; the first time, make them and keep them."""
    path = folder / FILE_NAME
    if path.exists():
        return dict(line.split() for line in path.read_text().splitlines() if line.strip())
    made = {member.username: _password() for member in HOUSE}
    text = "".join(f"{name} {password}\n" for name, password in made.items())
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(text)
    return made


def make_house(words: dict[str, str]) -> None:
    """Write the two who may sign in, in the caller's transaction.

    The guide may do everything; staff may do all but give people roles.
    """
    for member in HOUSE:
        user = User(
            username=member.username,
            first_name=member.first_name,
            last_name=member.last_name,
            email=f"{member.username}@house.invalid",
            role=member.role,
            phone=member.phone,
            is_staff=True,
            is_superuser=member.role == User.Role.GUIDE,
        )
        user.set_password(words[member.username])
        user.save()
        if not user.is_superuser:
            user.user_permissions.set(
                Permission.objects.exclude(content_type__app_label__in=["accounts", "auth"])
            )


def _password() -> str:
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(3))
