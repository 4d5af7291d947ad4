"""The demo's dozen bookings, by days from the anchor: past, today, tomorrow, next week, next month.

One guide leads them all, so no two parties are out at the same time.
"""

from __future__ import annotations

from dataclasses import dataclass

HASK, OSSEL = "Hask Water", "Ossel Water"
UPPER, LOWER, FOOT = "Upper Hask", "Lower Hask", "Ossel Foot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """A booking: who comes as what, and (days from the anchor, part, beat) for each part.

    `party` holds (guest, role, with whom a rod is shared). `issues` are the packs that have gone
    out by the anchor: (first or final, days from the anchor).
    """

    number: int
    water: str
    payer: str
    party: tuple[tuple[str, str, str | None], ...]
    parts: tuple[tuple[int, str, str], ...]
    fish: str = "salmon"
    state: str = "accepted"
    issues: tuple[tuple[str, int], ...] = ()


FAMILY = (("bram", "rod", None), ("pip", "shares", "bram"), ("nesta", "guest", None))

TRIPS = (
    Trip(
        number=1,
        water=HASK,
        payer="osric",
        party=(("osric", "rod", None),),
        parts=((-7, "morning", LOWER), (-7, "afternoon", UPPER)),
        state="fished",
    ),
    Trip(
        number=2,
        water=OSSEL,
        payer="wilmot",
        party=(("wilmot", "rod", None),),
        parts=((-1, "morning", FOOT), (-1, "afternoon", FOOT)),
        state="fished",
    ),
    Trip(
        number=3,
        water=HASK,
        payer="osric",
        party=(("osric", "rod", None), ("wilmot", "rod", None)),
        parts=((0, "evening", LOWER), (0, "night", LOWER)),
        fish="sea_trout",
        issues=(("final", 0),),
    ),
    Trip(
        number=4,
        water=HASK,
        payer="bram",
        party=FAMILY,
        parts=((1, "morning", UPPER), (1, "afternoon", LOWER)),
        issues=(("first", -7), ("final", 0)),
    ),
    Trip(
        number=5,
        water=OSSEL,
        payer="tamsin",
        party=(("tamsin", "rod", None),),
        parts=((1, "evening", FOOT),),
        issues=(("final", 0),),
    ),
    Trip(
        number=6,
        water=HASK,
        payer="ivo",
        party=(("ivo", "rod", None), ("aud", "rod", None)),
        parts=((2, "morning", LOWER), (2, "afternoon", UPPER)),
        issues=(("first", -6),),
    ),
    Trip(
        number=7,
        water=OSSEL,
        payer="wilmot",
        party=(("wilmot", "rod", None),),
        parts=((4, "morning", FOOT), (4, "afternoon", FOOT)),
        issues=(("first", -5),),
    ),
    Trip(
        number=8,
        water=HASK,
        payer="gideon",
        party=(("hester", "rod", None), ("ivo", "rod", None), ("gideon", "payer", None)),
        parts=((8, "morning", UPPER), (8, "afternoon", LOWER)),
        issues=(("first", 0),),
    ),
    Trip(
        number=9,
        water=OSSEL,
        payer="tamsin",
        party=(("tamsin", "rod", None), ("aud", "rod", None)),
        parts=((9, "morning", FOOT), (9, "afternoon", FOOT)),
        issues=(("first", 0),),
    ),
    Trip(
        number=10,
        water=HASK,
        payer="bram",
        party=FAMILY,
        parts=(
            (10, "morning", LOWER),
            (10, "afternoon", UPPER),
            (11, "morning", UPPER),
            (11, "afternoon", LOWER),
        ),
    ),
    Trip(
        number=11,
        water=HASK,
        payer="osric",
        party=(("osric", "rod", None), ("aud", "rod", None)),
        parts=((24, "evening", UPPER), (24, "night", UPPER)),
        fish="sea_trout",
    ),
    Trip(
        number=12,
        water=OSSEL,
        payer="hester",
        party=(("hester", "rod", None),),
        parts=((32, "morning", FOOT),),
        state="offered",
    ),
)
