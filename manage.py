#!/usr/bin/env python
"""Run Spatebook's commands; the first run on a box writes its own secrets."""

import os
import secrets
import sys
from pathlib import Path

HOUSE = Path(__file__).resolve().parent
OWN_SETTINGS = HOUSE / ".spatebook" / "env"


def write_own_settings() -> None:
    """Write a private settings file for this box, unless settings were given from outside."""
    if os.environ.get("SECRET_KEY") or OWN_SETTINGS.exists():
        return
    OWN_SETTINGS.parent.mkdir(mode=0o700, exist_ok=True)
    lines = [
        "# Written by manage.py for this box alone. A real installation sets these outside.",
        f"SECRET_KEY={secrets.token_urlsafe(50)}",
        "ALLOWED_HOSTS=127.0.0.1,localhost,testserver",
        "HTTPS=off",
        f"EMAIL_URL=filemail:///{OWN_SETTINGS.parent / 'mail'}",
    ]
    OWN_SETTINGS.write_text("\n".join(lines) + "\n")
    OWN_SETTINGS.chmod(0o600)


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "guiding.settings")
    write_own_settings()
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
