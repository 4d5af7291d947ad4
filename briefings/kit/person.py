"""What each person brings, what we lend in their size, what to buy; and what the guide packs."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from briefings.kit import guide as kit_guide
from briefings.kit.clothes import clothes
from guiding.gauges.conditions.values import Conditions
from guiding.tackle.setup import SetUp
from guiding.units import length_words

ROLES = ("rod", "shares", "guest")
NOT_BROUGHT = frozenset({"no", "not", "none", "without", "needs", "need", "borrow", "borrows"})
FOOT_QUESTION = "What is your shoe size? We need it for boots and waders."
HEIGHT_QUESTION = "How tall are you? We need it for waders, jacket and buoyancy aid."
HAND_QUESTION = "Are you right- or left-handed? We set the reel up before you come."


@dataclass(frozen=True, slots=True, kw_only=True)
class LoanStock:
    """One kind and size of loan kit and how many are left for the day."""

    kind: str
    size: str
    smallest_foot_eu: float | None
    largest_foot_eu: float | None
    smallest_height_m: float | None
    largest_height_m: float | None
    left: int

    @property
    def name(self) -> str:
        """Return the thing and its size as a person reads it."""
        thing = THINGS[self.kind].name if self.kind in THINGS else self.kind
        return f"{thing}, size {self.size}" if self.size else thing


@dataclass(frozen=True, slots=True, kw_only=True)
class Guest:
    """What kit depends on. None is not known and becomes a question, never a guess."""

    role: str  # rod, shares, guest
    foot_eu: float | None
    height_m: float | None
    hand: str
    brings: tuple[str, ...]
    is_junior: bool
    is_nervous: bool = False
    units: str

    def __post_init__(self) -> None:
        if self.role not in ROLES:
            raise ValueError(
                f"role is {self.role!r}; kit is for {', '.join(ROLES)}: others do not come."
            )

    @property
    def wades(self) -> bool:
        """Say whether this person comes to fish; a guest who watches stays on the bank."""
        return self.role != "guest"


@dataclass(frozen=True, slots=True, kw_only=True)
class KitList:
    """Plain lines for one person, and the loan kit set aside (kind, size)."""

    bring: tuple[str, ...]
    lent: tuple[str, ...]
    buy: tuple[str, ...]
    missing: tuple[str, ...]
    set_aside: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A kind of kit we may lend: its name, the words it goes by, and what its size hangs on."""

    name: str
    words: tuple[str, ...]
    other_words: tuple[str, ...] = ()  # with these it is something else
    by_foot: bool = False
    by_height: bool = False
    buy: str = ""


THINGS = {
    "waders": Thing(
        name="Chest waders",
        words=("waders",),
        by_foot=True,
        by_height=True,
        buy="Chest waders in your size",
    ),
    "boots": Thing(
        name="Wading boots",
        words=("boots", "boot"),
        other_words=("wellington", "wellingtons", "walking", "hiking", "rubber"),
        by_foot=True,
        buy="Boots in your size with a sole that grips wet rock",
    ),
    "jacket": Thing(
        name="Waterproof jacket",
        words=("jacket", "waterproof", "waterproofs"),
        other_words=("life", "buoyancy", "trousers"),
        by_height=True,
        buy="A waterproof jacket with a hood",
    ),
    "buoyancy": Thing(
        name="Buoyancy aid",
        words=("buoyancy", "lifejacket", "life"),
        by_height=True,
        buy="A buoyancy aid in your size; speak to us first",
    ),
    "staff": Thing(name="Wading staff", words=("staff",), buy="A wading staff, or a stout stick"),
    "glasses": Thing(
        name="Eye protection",
        words=("glasses", "sunglasses", "spectacles", "goggles"),
        buy="Eye protection: wrap-round glasses, polarised by day, clear for dusk",
    ),
}


# the guide packs rods, lines and flies for everybody who fishes, spares included (kit/guide.py)
ROD = Thing(name="Rod and reel", words=("rod", "rods"))
ROD_IS_OURS = "Rod, reel, line, leader and flies: we bring them, ready to fish"
ROD_IS_THEIRS = "Line, leader and flies: we bring them"


def _your_own(thing: Thing, own: str) -> str:
    """Return the line for a thing they have; their own words only where they add something."""
    plain = own.casefold()
    says_more = plain not in thing.words and plain not in thing.name.casefold()
    return f"{thing.name}: your own ({own})" if says_more else f"{thing.name}: your own"


def for_person(
    guest: Guest,
    stock: tuple[LoanStock, ...],
    conditions: Conditions | None,
    *,
    noon_sun_deg: float | None = None,
) -> KitList:
    """Return one person's kit. `conditions` None: too early to know the day (first issue).

    `noon_sun_deg`: how high the sun stands at noon of that day; what is known of the day, its own
    sun included, goes before it.
    A thing they have is brought; else one of ours that fits is lent; else, where a size is not
    known, it is asked for; else it has to be bought. Eye protection, hat and belt are always named.
    """
    bring, lent, buy, missing, set_aside = [], [], [], [], []
    for kind in _needed(guest):
        thing = THINGS[kind]
        own = _own(guest, thing)
        ours = [item for item in stock if item.kind == kind and item.left > 0]
        fitting = [item for item in ours if _fits(item, guest, thing)]
        if own:
            bring.append(_your_own(thing, own))
        elif fitting:
            lent.append(fitting[0].name)
            set_aside.append((fitting[0].kind, fitting[0].size))
        elif questions := _questions(guest, thing, ours):
            missing += questions
            bring.append(f"{thing.name}: lent or to buy once we know your size")
        else:
            buy.append(f"{thing.buy} ({_why_none(guest, thing, ours)})")
    if guest.wades:
        own_rod = _own(guest, ROD)
        bring += [f"{_your_own(ROD, own_rod)}; we bring one for you as well"] if own_rod else []
        lent.append(ROD_IS_THEIRS if own_rod else ROD_IS_OURS)
    bring += _belt_and_hat(guest, lends_waders=any(kind == "waders" for kind, _ in set_aside))
    bring += clothes(conditions, noon_sun_deg)
    if guest.wades:
        bring.append("Your fishing licence, where the law asks for one")
    if guest.wades and not guest.hand:
        missing.append(HAND_QUESTION)
    return KitList(
        bring=tuple(bring),
        lent=tuple(lent),
        buy=tuple(buy),
        missing=tuple(dict.fromkeys(missing)),
        set_aside=tuple(set_aside),
    )


def for_guide(setups: tuple[SetUp, ...], *, rods: int) -> tuple[str, ...]:
    """Return what the guide packs, counted from set-ups and rods, spares included.

    Every rod must be able to fish every set-up of the day, so each different line, tip and fly is
    counted once a rod, and spares come on top.
    """
    return (*kit_guide.tackle(setups, rods=rods), *kit_guide.ALWAYS)


def _needed(guest: Guest) -> tuple[str, ...]:
    """Return the kinds of loanable kit this person needs: waders only for those who fish."""
    wading = ("waders", "boots", "staff") if guest.wades else ()
    aid = ("buoyancy",) if guest.is_junior or guest.is_nervous else ()
    return ("glasses", *wading, *aid, "jacket")


def _own(guest: Guest, thing: Thing) -> str:
    """Return the line in which they say they bring it; "no waders" is not a pair of waders."""
    for line in guest.brings:
        words = set(re.findall(r"[a-z]+", line.lower()))
        if words & set(thing.words) and not words & (NOT_BROUGHT | set(thing.other_words)):
            return line
    return ""


def _asked(item: LoanStock, guest: Guest, thing: Thing) -> list[tuple[str, bool | None]]:
    """Return the question of each range on file and whether the answer fits; None: not known."""
    ranges = (
        (thing.by_foot, FOOT_QUESTION, guest.foot_eu, item.smallest_foot_eu, item.largest_foot_eu),
        (
            thing.by_height,
            HEIGHT_QUESTION,
            guest.height_m,
            item.smallest_height_m,
            item.largest_height_m,
        ),
    )
    return [
        (question, _within(value, smallest, largest))
        for counts, question, value, smallest, largest in ranges
        if counts and (smallest is not None or largest is not None)
    ]


def _within(value: float | None, smallest: float | None, largest: float | None) -> bool | None:
    if value is None:
        return None
    return (smallest is None or smallest <= value) and (largest is None or value <= largest)


def _fits(item: LoanStock, guest: Guest, thing: Thing) -> bool:
    """Say whether it is known to fit. Sized kit without a range on file is known to fit nobody."""
    answers = [answer for _, answer in _asked(item, guest, thing)]
    return all(answers) and bool(answers or not (thing.by_foot or thing.by_height))


def _questions(guest: Guest, thing: Thing, ours: Iterable[LoanStock]) -> list[str]:
    """Return what to ask before we can say whether one of ours fits, or what to buy."""
    asked: dict[str, None] = {}
    for item in ours:
        answers = _asked(item, guest, thing)
        if not any(answer is False for _, answer in answers):
            asked.update((question, None) for question, answer in answers if answer is None)
    if thing.by_foot and guest.foot_eu is None:
        asked[FOOT_QUESTION] = None
    elif thing.by_height and not thing.by_foot and guest.height_m is None:
        asked[HEIGHT_QUESTION] = None
    return list(asked)


def _why_none(guest: Guest, thing: Thing, ours: list[LoanStock]) -> str:
    if not ours:
        return "we have none left to lend"
    sizes = []
    if thing.by_foot and guest.foot_eu is not None:
        sizes.append(f"EU {guest.foot_eu:g}")
    if thing.by_height and guest.height_m is not None:
        sizes.append(length_words(guest.height_m, guest.units))
    return f"none of ours fits {', '.join(sizes)}" if sizes else "none of ours fits"


def _belt_and_hat(guest: Guest, *, lends_waders: bool) -> list[str]:
    if not guest.wades:
        return [
            "Boots with a sole that grips wet rock; you watch from the bank and need no waders",
            "Wading belt: done up, should you ever put on waders",
            "Hat with a brim",
        ]
    if lends_waders:
        belt = "Wading belt: comes with our waders; done up all day"
    else:
        belt = "Wading belt: done up all day"
    return [belt, "Hat with a brim"]
