"""The demo's people: ten guests, and the two of the house who sign in. All are invented.

Mail ends in .invalid. Telephone numbers are from 01632 960000 to 960999, which the United Kingdom's
regulator keeps free for drama (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from guiding.accounts.models import User
from guiding.clients.models import Person

FEET_M, POUND_KG = 0.3048, 0.45359237  # exact, by definition


@dataclass(frozen=True, slots=True, kw_only=True)
class Guest:
    """A guest as the house knows them; the age is at the anchor. None and "" are not known."""

    name: str
    phone: str = ""
    age: int | None = None
    units: str = "metric"
    hand: str = ""
    casting: str = ""
    wading: str = ""
    height_m: float | None = None
    mass_kg: float | None = None
    foot_eu: float | None = None
    can_swim: bool | None = None
    is_nervous: bool = False
    is_junior: bool = False
    has_licence: bool = False
    emergency_name: str = ""
    emergency_phone: str = ""
    brings: tuple[str, ...] = ()
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """Somebody of the house who may sign in."""

    username: str
    first_name: str
    last_name: str
    role: str
    phone: str


HOUSE = (
    Member(
        username="guide",
        first_name="Ruan",
        last_name="Tolmer",
        role=User.Role.GUIDE,
        phone="01632 960100",
    ),
    Member(
        username="staff",
        first_name="Elspet",
        last_name="Croy",
        role=User.Role.STAFF,
        phone="01632 960104",
    ),
)

GUESTS = {
    "hester": Guest(
        name="Hester Quillan",
        phone="01632 960111",
        age=34,
        hand="right",
        casting="novice",
        wading="novice",
        height_m=1.66,
        mass_kg=64,
        foot_eu=39,
        can_swim=True,
        has_licence=True,
        emergency_name="Jory Quillan",
        emergency_phone="01632 960211",
        notes="Has never held a two-handed rod.",
    ),
    "osric": Guest(
        name="Osric Fennimor",
        phone="01632 960112",
        age=52,
        hand="left",
        casting="strong",
        wading="strong",
        height_m=1.86,
        mass_kg=88,
        foot_eu=45,
        can_swim=True,
        has_licence=True,
        emergency_name="Dilys Fennimor",
        emergency_phone="01632 960212",
        brings=("waders", "wading boots", "wading jacket", "wading staff", "polarised glasses"),
    ),
    "tamsin": Guest(
        name="Tamsin Wraye",
        phone="01632 960113",
        age=41,
        hand="right",
        casting="used",
        wading="used",
        height_m=1.56,
        mass_kg=47,
        foot_eu=37,
        can_swim=True,
        has_licence=True,
        emergency_name="Lowen Wraye",
        emergency_phone="01632 960213",
        brings=("polarised glasses",),
    ),
    "ivo": Guest(
        name="Ivo Marlocke",
        phone="01632 960114",
        age=60,
        hand="right",
        casting="used",
        wading="used",
        height_m=1.75,
        mass_kg=79,
        foot_eu=42,
        can_swim=False,
        is_nervous=True,
        has_licence=True,
        emergency_name="Petra Marlocke",
        emergency_phone="01632 960214",
        notes="Went in once and has not liked moving water since.",
    ),
    "bram": Guest(
        name="Bram Ellerby-Voss",
        phone="01632 960115",
        age=44,
        hand="right",
        casting="used",
        wading="used",
        height_m=1.78,
        mass_kg=80,
        foot_eu=43,
        can_swim=True,
        has_licence=True,
        emergency_name="Cecily Ellerby-Voss",
        emergency_phone="01632 960215",
        brings=("wading boots", "wading jacket"),
    ),
    "pip": Guest(
        name="Pip Ellerby-Voss",
        phone="01632 960115",
        age=13,
        hand="left",
        casting="novice",
        wading="novice",
        height_m=1.52,
        mass_kg=43,
        foot_eu=37,
        can_swim=True,
        is_junior=True,
        has_licence=True,
        emergency_name="Cecily Ellerby-Voss",
        emergency_phone="01632 960215",
        notes="Shares a rod with Bram.",
    ),
    "nesta": Guest(
        name="Nesta Corranby",
        phone="01632 960117",
        age=71,
        hand="right",
        foot_eu=38,
        emergency_name="Bram Ellerby-Voss",
        emergency_phone="01632 960115",
        notes="Comes to watch and to draw.",
    ),
    "wilmot": Guest(
        name="Wilmot Saylor-Dean",
        phone="01632 960118",
        age=58,
        units="imperial",
        hand="right",
        casting="used",
        wading="used",
        height_m=round(5 * FEET_M + 11 * FEET_M / 12, 3),
        mass_kg=round(185 * POUND_KG, 1),
        foot_eu=43,
        can_swim=True,
        has_licence=True,
        emergency_name="Junia Saylor-Dean",
        emergency_phone="01632 960218",
        brings=("waders", "wading boots", "hat"),
    ),
    "aud": Guest(
        name="Aud Strandli",
        phone="01632 960119",
        age=29,
        hand="either",
        casting="strong",
        wading="strong",
        foot_eu=40,
        can_swim=True,
        notes="Booked by letter; height, weight and licence asked for, not yet answered.",
    ),
    "gideon": Guest(
        name="Gideon Vaile", phone="01632 960120", notes="Pays for others; stays home."
    ),
}


def guest_row(guest: Guest, anchor: date) -> Person:
    """Return the unsaved row of a guest as of the anchor day."""
    first, _, rest = guest.name.partition(" ")
    return Person(
        name=guest.name,
        short_name=first,
        email=f"{first}.{rest}@post.invalid".lower(),
        phone=guest.phone,
        born_on=None if guest.age is None else _birthday(anchor, guest.age),
        is_junior=guest.is_junior,
        hand=guest.hand,
        casting=guest.casting,
        wading=guest.wading,
        is_nervous=guest.is_nervous,
        can_swim=guest.can_swim,
        height_m=guest.height_m,
        mass_kg=guest.mass_kg,
        foot_eu=guest.foot_eu,
        units=guest.units,
        emergency_name=guest.emergency_name,
        emergency_phone=guest.emergency_phone,
        licence_seen_on=anchor - timedelta(days=40) if guest.has_licence else None,
        brings="\n".join(guest.brings),
        notes=guest.notes,
    )


def _birthday(anchor: date, age: int) -> date:
    """Return a day of birth that makes somebody this old at the anchor and for months after."""
    return anchor.replace(year=anchor.year - age, day=min(anchor.day, 28)) - timedelta(days=100)
