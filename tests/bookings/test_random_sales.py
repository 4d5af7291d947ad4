"""Whatever is sold, offered, accepted and called off, in whatever order: the rows stay in step."""

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from guiding.bookings.actions import (
    open_places,
    take_booking,
)
from guiding.bookings.models import Booking, Place, RodPlace
from guiding.bookings.offers import accept, cancel
from guiding.bookings.wanted import BookingRefused, PartyWanted, PersonBusy, PlaceTaken
from guiding.rivers.models import Part
from tests.factories import make_access_point, make_beat, make_day, make_person, make_water

FIRST = date(2026, 6, 1)
START = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
SEATS, DAYS, PEOPLE = 3, 2, 5
HOLD = timedelta(hours=2)

people = st.integers(0, PEOPLE - 1)
days = st.lists(st.integers(0, DAYS - 1), min_size=1, max_size=DAYS, unique=True)
acts = st.one_of(
    st.tuples(
        st.sampled_from(["sell", "offer"]),
        st.integers(0, 1),  # which water
        st.lists(people, min_size=1, max_size=4, unique=True),
        st.booleans(),  # the last of them shares the first one's rod
        days,
    ),
    st.tuples(st.sampled_from(["accept", "cancel"]), st.integers(0, 3)),
    st.tuples(st.just("wait"), st.sampled_from([60, 120])),
    st.tuples(st.just("open")),
)


class Season:
    """A model in plain values beside the rows: who has which seat, and until when."""

    def __init__(self):
        self.now = START
        self.waters = [make_water(rods_a_day=SEATS) for _ in range(2)]
        self.people = [make_person() for _ in range(PEOPLE)]
        for water in self.waters:
            make_beat(water=water)
            make_access_point(water=water)
        self.open()
        self.taken = []  # one dict a booking that was written

    def open(self):
        for water in self.waters:
            last = FIRST + timedelta(days=DAYS - 1)
            open_places(water, FIRST, last, (Part.MORNING,), at=self.now)

    def standing(self):
        return [
            b for b in self.taken if b["until"] is None or (b["until"] and b["until"] > self.now)
        ]

    def expected_refusal(self, water, who, rods, on):
        """Say what the rules of the trade make of a sale: nothing, or why not."""
        for day in sorted(on):
            here = [b for b in self.standing() if day in b["days"]]
            if SEATS - sum(b["rods"] for b in here if b["water"] == water) < rods:
                return PlaceTaken
        if any(set(who) & set(b["people"]) and set(on) & set(b["days"]) for b in self.standing()):
            return PersonBusy
        return None

    def sell(self, kind, water, who, shares, on):
        party = [PartyWanted(person=self.people[n], role="rod") for n in who]
        rods = len(who)
        if shares and rods > 1:
            partner = self.people[who[0]]
            last = self.people[who[-1]]
            party[-1] = PartyWanted(person=last, role="shares", shares_with=partner)
            rods -= 1
        refusal = self.expected_refusal(water, who, rods, on)
        until = self.now + HOLD if kind == "offer" else None
        wanted = {
            "reference": f"R{len(self.taken)}",
            "water": self.waters[water],
            "payer": self.people[who[0]],
            "party": tuple(party),
            "days": tuple(make_day(self.waters[water], FIRST + timedelta(days=n)) for n in on),
            "state": "offered" if until else "accepted",
            "held_until": until,
            "at": self.now,
        }
        if refusal:
            with pytest.raises(refusal):
                take_booking(**wanted)
            return
        booking = take_booking(**wanted)
        self.taken.append(
            {
                "pk": booking.pk,
                "water": water,
                "people": who,
                "rods": rods,
                "pair": {self.people[who[0]].pk, self.people[who[-1]].pk}
                if rods < len(who)
                else set(),
                "days": on,
                "until": until,
                "state": booking.state,
            }
        )

    def decide(self, verb, which):
        if not self.taken:
            return
        ours = self.taken[-1 - which % len(self.taken)]
        booking = Booking.objects.get(pk=ours["pk"])
        if verb == "accept":
            if ours["state"] == "offered" and ours["until"] > self.now:
                accept(booking, at=self.now)
                ours.update(state="accepted", until=None)
            else:
                with pytest.raises(BookingRefused):
                    accept(booking, at=self.now)
        elif ours["state"] == "cancelled":
            with pytest.raises(BookingRefused):
                cancel(booking, reason="client", at=self.now)
        else:
            cancel(booking, reason="client", at=self.now)
            ours.update(state="cancelled", until=START)

    def do(self, act):
        verb, *rest = act
        if verb in ("sell", "offer"):
            self.sell(verb, *rest)
        elif verb == "wait":
            self.now += timedelta(minutes=rest[0])
        elif verb == "open":
            self.open()
        else:
            self.decide(verb, *rest)

    def check(self):
        """Compare every row with the model."""
        rows = list(Place.objects.values("pk", "water", "date", "booking", "state", "held_until"))
        had = Counter(
            (row["booking"], row["date"])
            for row in rows
            if row["state"] == "sold" or (row["state"] == "held" and row["held_until"] > self.now)
        )
        assert len(rows) == 2 * DAYS * SEATS
        assert had == Counter(
            {
                (b["pk"], FIRST + timedelta(days=day)): b["rods"]
                for b in self.standing()
                for day in b["days"]
            }
        )
        seats = Counter((row["booking"], row["water"]) for row in rows if row["booking"])
        water_of = {b["pk"]: self.waters[b["water"]].pk for b in self.taken}
        assert all(water_of[booking] == water for booking, water in seats)
        booking_of = {row["pk"]: row["booking"] for row in rows}
        seated = list(RodPlace.objects.values_list("member__booking", "place", "person"))
        for ours in self.standing():
            mine = [row for row in seated if row[0] == ours["pk"]]
            assert len(mine) == len(ours["people"]) * len(ours["days"])
            assert len({place for _, place, _ in mine}) == ours["rods"] * len(ours["days"])
            assert {booking_of[place] for _, place, _ in mine} == {ours["pk"]}
            together = Counter(place for _, place, person in mine if person in ours["pair"])
            assert set(together.values()) <= {2}
        states = dict(Booking.objects.values_list("pk", "state"))
        assert states == {b["pk"]: b["state"] for b in self.taken}


@pytest.mark.django_db
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(plan=st.lists(acts, min_size=4, max_size=12))
def test_places_are_never_oversold_and_nobody_fishes_twice_at_once(plan):
    with transaction.atomic():
        season = Season()
        for act in plan:
            season.do(act)
            season.check()
        transaction.set_rollback(True)
