"""Which agency tells us what, and how each of its addresses is getting on."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

from django.db import models
from django.db.models import Q

from guiding.gauges.models import Gauge, Quantity
from guiding.gauges.providers.agencies import BY_CODE
from guiding.gauges.providers.agency import WEATHER, Agency
from guiding.gauges.providers.agency import Kind as AgencyKind
from guiding.gauges.providers.readings import Wanted

MOST_BAD_BYTES = 1_000_000
LEAST_FRESH = timedelta(hours=1)
CONFIRMED_FOR = timedelta(days=7)  # a unit nobody could ask about for longer is believed no more


def quantity_words(quantity: str) -> str:
    """Return a quantity, or the weather, in words."""
    return "weather forecast" if quantity == WEATHER else str(Quantity(quantity).label)


def agency_name(code: str) -> str:
    """Return an agency's name, or its code where its file is gone."""
    return BY_CODE[code].name if code in BY_CODE else code


class FeedQuerySet(models.QuerySet["Feed"]):
    def telling(self) -> FeedQuerySet:
        """Feeds that are switched on and whose series is what it was."""
        return self.filter(is_on=True, closed_at__isnull=True)


class Feed(models.Model):
    """One quantity at one gauge, or its weather, as one agency tells it."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    gauge = models.ForeignKey(Gauge, on_delete=models.CASCADE, related_name="feeds")
    quantity = models.CharField(max_length=20, help_text="a series' own, or weather_run")
    agency_code = models.CharField(max_length=20)
    base_url = models.URLField(blank=True, help_text="only for a server of somebody else's choice")
    credit = models.CharField(max_length=200, blank=True, help_text="where the agency has no words")
    station = models.CharField(max_length=60, blank=True)
    series = models.CharField(max_length=140, blank=True)
    is_on = models.BooleanField(default=True)

    # what the series is, as confirmed: another unit, datum or series is another record
    unit = models.CharField(max_length=20, blank=True)
    datum = models.CharField(max_length=80, blank=True)
    name = models.CharField(max_length=120, blank=True)
    step_minutes = models.PositiveIntegerField(null=True, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    begins_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_why = models.CharField(max_length=300, blank=True)

    # what is wrong now, in words for whoever reads the river's page
    trouble = models.CharField(max_length=300, blank=True)
    trouble_since = models.DateTimeField(null=True, blank=True)
    # trouble of the rows themselves: many refused, a value out of range, not in the answer
    rows_trouble = models.CharField(max_length=300, blank=True)
    refused = models.JSONField(default=dict, blank=True)  # of the last answer: at, of, count, rows

    last_value = models.FloatField(null=True, blank=True)
    last_value_at = models.DateTimeField(null=True, blank=True)
    lags = models.JSONField(default=list, blank=True)  # [minutes] from measured to told, the newest
    lag_p95_minutes = models.PositiveIntegerField(null=True, blank=True)
    history_back_to = models.DateTimeField(null=True, blank=True)
    history_empty = models.PositiveSmallIntegerField(default=0)  # answers in a row without a row
    history_is_whole = models.BooleanField(default=False)

    objects = FeedQuerySet.as_manager()

    class Meta:
        ordering = ["gauge", "quantity", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["gauge", "quantity"],
                condition=Q(is_on=True),
                name="one_source_tells_a_quantity",
                violation_error_message="Another source tells this already; switch it off first.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.quantity_words} at {self.gauge} from {agency_name(self.agency_code)}"

    @property
    def agency(self) -> Agency:
        """Return the agency that tells it."""
        return BY_CODE[self.agency_code]

    @property
    def credit_line(self) -> str:
        """Return whom to credit."""
        return self.agency.credit or self.credit

    @property
    def quantity_words(self) -> str:
        """Return what it tells, in words."""
        return quantity_words(self.quantity)

    @property
    def series_words(self) -> str:
        """Return station and series as the agency writes them."""
        return " ".join(part for part in (self.station, self.series) if part)

    @property
    def is_weather(self) -> bool:
        """Say whether this is a weather forecast rather than a series."""
        return self.quantity == WEATHER

    def wanted(self) -> Wanted:
        """Return the feed as the agency's reader needs it."""
        if not self.is_weather:
            return Wanted(
                station=self.station, series=self.series, quantity=self.quantity, unit=self.unit
            )
        return Wanted(
            series="",
            quantity=self.quantity,
            latitude=self.gauge.latitude,
            longitude=self.gauge.longitude,
            altitude_m=self.gauge.altitude_m,
        )

    def age_class(self, at: datetime) -> str:
        """Return fresh, late, stale, silent or not known, by what is usual for this series."""
        if self.last_value_at is None:
            return "not known"
        age = at - self.last_value_at
        step = timedelta(minutes=self.step_minutes or 60)
        lag = timedelta(minutes=self.lag_p95_minutes or 0)
        fresh = max(LEAST_FRESH, 2 * step + lag)
        if age > timedelta(days=7):
            return "silent"
        return "fresh" if age <= fresh else "late" if age <= 3 * fresh else "stale"


class AddressQuerySet(models.QuerySet["Address"]):
    def due(self, at: datetime) -> AddressQuerySet:
        """Addresses to be asked now, that nobody has in hand; what a series is comes first."""
        free = Q(claimed_until__isnull=True) | Q(claimed_until__lte=at)
        known = self.filter(agency_code__in=BY_CODE)  # one whose file is gone is left alone
        return known.filter(free, next_at__lte=at).order_by("rank", "next_at", "pk")

    def beside(self, address: Address) -> AddressQuerySet:
        """All addresses of the same server."""
        return self.filter(agency_code=address.agency_code, base_url=address.base_url)


class Address(models.Model):
    """One thing we ask an agency again and again, and how that is going. `next_at` null: rests."""

    class Kind(models.TextChoices):
        FACTS = AgencyKind.FACTS.value, "what the series is"
        LATEST = AgencyKind.LATEST.value, "newest values"
        WEEK = AgencyKind.WEEK.value, "the last days again"
        HISTORY = AgencyKind.HISTORY.value, "history"

    RANKS = {kind.value: rank for rank, kind in enumerate(AgencyKind)}

    agency_code = models.CharField(max_length=20)
    base_url = models.URLField(blank=True)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    rank = models.PositiveSmallIntegerField()
    feed = models.ForeignKey(
        Feed,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="addresses",
        help_text="empty: one request answers for all",
    )
    next_at = models.DateTimeField(null=True, blank=True, db_index=True)
    claimed_until = models.DateTimeField(null=True, blank=True)

    # what the last whole answer carried, sent back for these very words only
    asked_url = models.CharField(max_length=2000, blank=True)
    etag = models.CharField(max_length=300, blank=True)
    last_modified = models.CharField(max_length=100, blank=True)
    expires = models.CharField(max_length=100, blank=True)

    asked_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    good_at = models.DateTimeField(null=True, blank=True)
    status = models.PositiveSmallIntegerField(null=True, blank=True)
    failures = models.PositiveIntegerField(default=0)
    broken_since = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=300, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    warning = models.CharField(max_length=300, blank=True)

    objects = AddressQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "addresses"
        ordering = ["agency_code", "base_url", "rank", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["agency_code", "base_url", "kind"],
                condition=Q(feed__isnull=True),
                name="one_address_a_kind_for_all",
            ),
            models.UniqueConstraint(
                fields=["feed", "kind"],
                condition=Q(feed__isnull=False),
                name="one_address_a_kind_and_feed",
            ),
        ]

    def __str__(self) -> str:
        return f"{agency_name(self.agency_code)}, {self.get_kind_display()}"

    @property
    def agency(self) -> Agency:
        """Return whom this asks."""
        return BY_CODE[self.agency_code]

    def feeds(self) -> FeedQuerySet:
        """Return the feeds that hang on this address."""
        if self.feed_id:
            return Feed.objects.filter(pk=self.feed_id).telling()
        same = Feed.objects.filter(agency_code=self.agency_code, base_url=self.base_url)
        return same.telling()

    def feeds_to_ask_for(self, at: datetime) -> FeedQuerySet:
        """Return those of them that may be asked for.

        What a series is must have been confirmed, and not too long ago where it can be asked.
        """
        feeds = self.feeds().order_by("pk")
        if self.kind == AgencyKind.FACTS:
            return feeds
        if AgencyKind.FACTS not in self.agency.kinds:
            return feeds.filter(confirmed_at__isnull=False)
        return feeds.filter(confirmed_at__gte=at - CONFIRMED_FOR)


class BadBody(models.Model):
    """The last answer of an address that was of no use: its beginning, for whoever mends it."""

    address = models.OneToOneField(Address, on_delete=models.CASCADE, related_name="bad_body")
    came_at = models.DateTimeField()
    why = models.CharField(max_length=300)
    text = models.TextField(help_text="at most a million letters; what is no letter is left out")

    def __str__(self) -> str:
        return f"{self.address} {self.came_at:%Y-%m-%d %H:%M}"


class AgencyDay(models.Model):
    """What was asked of one server on one day in UTC, held against the day's ceiling."""

    agency_code = models.CharField(max_length=20)
    base_url = models.URLField(blank=True)
    day = models.DateField()
    asked = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-day", "agency_code", "base_url"]
        constraints = [
            models.UniqueConstraint(
                fields=["agency_code", "base_url", "day"], name="one_count_a_server_and_day"
            )
        ]

    def __str__(self) -> str:
        return f"{self.agency_code} {self.day}: {self.asked}"


class CodesOfDay(models.Model):
    """An agency's own words on the quality of one day's readings, kept as they came."""

    feed = models.ForeignKey(Feed, on_delete=models.CASCADE, related_name="codes")
    day = models.DateField()
    usual = models.CharField(max_length=20)
    usual_at = models.JSONField(default=list)  # ["HH:MM"], in UTC
    others = models.JSONField(default=dict)  # {"HH:MM": code} where it is not the usual one

    class Meta:
        ordering = ["feed", "day"]
        constraints = [
            models.UniqueConstraint(fields=["feed", "day"], name="one_row_of_codes_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.feed} {self.day}"
