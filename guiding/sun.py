"""Sunrise, dusk, full dark and the moon of a fishing day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from math import asin, atan2, cos, degrees, radians, sin
from zoneinfo import ZoneInfo

# Upper limb on a level horizon: 34' of refraction and 16' of radius. Published source: United
# States Naval Observatory, "Rise, Set, and Twilight Definitions".
RISE_DEG = -0.833
CIVIL_DEG = -6.0  # same source: the sun's centre 6 degrees below the horizon
# Common practice, no source: sea-trout rods wait for more than civil dusk. The almanacs' nautical
# dusk is taken for it, since in a northern May the sun no longer sinks to 18 degrees.
FULL_DARK_DEG = -12.0

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
HALF_TURN = timedelta(hours=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """Sun and moon of a fishing day, aware UTC; None: it does not come that day.

    The evening's moments are those of the night that begins on the day, so dusk or full dark may
    fall after midnight. `sun_at_noon_deg` tells a day without sunrise (below RISE_DEG) from one
    without sunset.
    """

    sunrise_at: datetime | None
    sunset_at: datetime | None
    civil_dawn_at: datetime | None
    civil_dusk_at: datetime | None
    full_dark_at: datetime | None
    moon_lit_share: float
    moon_words: str
    sun_at_noon_deg: float | None = None

    def says(self) -> tuple[str, ...]:
        """Return in words what does not come: no sunrise, no sunset, no dusk, no full dark."""
        if self.sunset_at is None:
            is_down = self.sun_at_noon_deg is not None and self.sun_at_noon_deg < RISE_DEG
            return (f"The sun does not {'rise' if is_down else 'set'} on this day.",)
        if self.civil_dusk_at is None:
            return ("It does not get dark: there is no civil dusk this night.",)
        if self.full_dark_at is None:
            return ("Full dark does not come this night: dusk runs into dawn.",)
        return ()


def _check_place(latitude: float, longitude: float) -> None:
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise ValueError(
            f"The place is {latitude}, {longitude}; "
            "a latitude is -90 to 90 and a longitude -180 to 180."
        )


def _centuries(at: datetime) -> float:
    # UTC stands for dynamical time: 70 s move the sun 0.001 and the moon 0.01 degrees.
    return (at - J2000) / timedelta(days=36525)


def sun_place(at: datetime) -> tuple[float, float]:
    """Return where the sun stands among the stars.

    Parameters
    ----------
    at : aware datetime

    Returns
    -------
    right ascension and declination [degrees], apparent, of the sun's centre

    Notes
    -----
    Good to 0.01 degrees from 1900 to 2100.

    References
    ----------
    Meeus, J. (1998), Astronomical Algorithms, 2nd ed., ch. 25, "low accuracy".
    """
    t = _centuries(at)
    mean_longitude = 280.46646 + 36000.76983 * t + 0.0003032 * t * t
    anomaly = radians(357.52911 + 35999.05029 * t - 0.0001537 * t * t)
    centre = (
        (1.914602 - 0.004817 * t) * sin(anomaly)
        + (0.019993 - 0.000101 * t) * sin(2 * anomaly)
        + 0.000289 * sin(3 * anomaly)
    )
    node = radians(125.04 - 1934.136 * t)
    longitude = radians(mean_longitude + centre - 0.00569 - 0.00478 * sin(node))
    obliquity = radians(23.439291 - 0.0130042 * t + 0.00256 * cos(node))
    ascension = atan2(cos(obliquity) * sin(longitude), cos(longitude))
    return degrees(ascension) % 360, degrees(asin(sin(obliquity) * sin(longitude)))


def _hour_angle_deg(at: datetime, longitude: float) -> float:
    """Return how far the sun is past the meridian, -180 to 180; longitude is positive east."""
    days = (at - J2000) / timedelta(days=1)
    sidereal = 280.46061837 + 360.98564736629 * days  # Meeus (1998), equation 12.4
    return (sidereal + longitude - sun_place(at)[0] + 180) % 360 - 180


def sun_altitude_deg(at: datetime, latitude: float, longitude: float) -> float:
    """Return the altitude [degrees] of the sun's centre, without refraction.

    Parameters
    ----------
    at : aware datetime
    latitude, longitude : [degrees], north and east positive

    References
    ----------
    Meeus (1998), equation 13.6.
    """
    place = radians(latitude)
    declination = radians(sun_place(at)[1])
    angle = radians(_hour_angle_deg(at, longitude))
    return degrees(asin(sin(place) * sin(declination) + cos(place) * cos(declination) * cos(angle)))


def _noon(day: date, longitude: float, zone: ZoneInfo) -> datetime:
    """Return the moment the sun stands highest on a day, counted in the zone's own days."""
    moment = datetime.combine(day, time(12), tzinfo=zone).astimezone(UTC)
    for _ in range(2):  # the second step takes up the sun's own motion during the first
        moment -= timedelta(hours=_hour_angle_deg(moment, longitude) / 15)
    return moment


def _crossing(
    low_at: datetime, high_at: datetime, altitude_deg: float, latitude: float, longitude: float
) -> datetime | None:
    """Return when the sun passes an altitude between its lowest and its highest, or None."""
    if (
        not sun_altitude_deg(low_at, latitude, longitude)
        < altitude_deg
        <= sun_altitude_deg(high_at, latitude, longitude)
    ):
        return None
    while abs(high_at - low_at) > timedelta(seconds=0.5):
        middle = low_at + (high_at - low_at) / 2
        if sun_altitude_deg(middle, latitude, longitude) < altitude_deg:
            low_at = middle
        else:
            high_at = middle
    return high_at.replace(microsecond=0)


def moon_elongation_deg(at: datetime) -> float:
    """Return how far the moon is along from new (0) over full (180) to new (360).

    Notes
    -----
    180 degrees less the phase angle. Good to about half a degree, an hour of the moon's way.

    References
    ----------
    Meeus (1998), ch. 47 (arguments) and equation 48.4.
    """
    t = _centuries(at)
    d = radians(297.8501921 + 445267.1114034 * t - 0.0018819 * t * t)
    sun = radians(357.5291092 + 35999.0502909 * t - 0.0001536 * t * t)
    moon = radians(134.9633964 + 477198.8675055 * t + 0.0087414 * t * t)
    along = (
        degrees(d)
        + 6.289 * sin(moon)
        - 2.100 * sin(sun)
        + 1.274 * sin(2 * d - moon)
        + 0.658 * sin(2 * d)
        + 0.214 * sin(2 * moon)
        + 0.110 * sin(d)
    )
    return along % 360


def moon_lit_share(at: datetime) -> float:
    """Return the lit share of the moon's disc, 0 to 1 (Meeus 1998, equation 48.1)."""
    return (1 - cos(radians(moon_elongation_deg(at)))) / 2


def moon_words(at: datetime) -> str:
    """Return the moon in words: "waxing, about half lit"."""
    lit = moon_lit_share(at)
    if lit < 0.02:
        return "new moon"
    if lit > 0.98:
        return "full moon"
    way = "waxing" if moon_elongation_deg(at) < 180 else "waning"
    bounds = (
        (0.20, "a thin crescent"),
        (0.40, "less than half lit"),
        (0.60, "about half lit"),
        (0.90, "more than half lit"),
    )
    return f"{way}, {next((words for bound, words in bounds if lit < bound), 'nearly full')}"


def light_on(day: date, latitude: float, longitude: float, zone: ZoneInfo) -> Light:
    """Return sun and moon of a calendar day in the zone.

    Between its highest and its lowest stand the sun passes each altitude at most once, so the
    morning is sought in the half turn before the day's noon and the evening in the one after. The
    moon is taken at the end of that evening's half turn, in the middle of the night.

    Raises
    ------
    ValueError
        for a place that is not on earth
    """
    _check_place(latitude, longitude)
    noon = _noon(day, longitude, zone)
    before, after = noon - HALF_TURN, noon + HALF_TURN

    def rising(altitude_deg: float) -> datetime | None:
        return _crossing(before, noon, altitude_deg, latitude, longitude)

    def setting(altitude_deg: float) -> datetime | None:
        return _crossing(after, noon, altitude_deg, latitude, longitude)

    return Light(
        sunrise_at=rising(RISE_DEG),
        sunset_at=setting(RISE_DEG),
        civil_dawn_at=rising(CIVIL_DEG),
        civil_dusk_at=setting(CIVIL_DEG),
        full_dark_at=setting(FULL_DARK_DEG),
        moon_lit_share=moon_lit_share(after),
        moon_words=moon_words(after),
        sun_at_noon_deg=sun_altitude_deg(noon, latitude, longitude),
    )


def dark_spells(
    start: datetime, end: datetime, latitude: float, longitude: float
) -> tuple[tuple[datetime, datetime], ...]:
    """Return when it is dark between two aware moments: the sun below civil dusk.

    Empty where it never is, one spell from start to end where it always is. Between its highest
    and its lowest stand the sun passes civil dusk at most once, so each half turn is looked at.

    Raises
    ------
    ValueError
        for a place that is not on earth
    """
    _check_place(latitude, longitude)
    zone = ZoneInfo("UTC")
    days = (end - start).days + 4
    noons = [_noon(start.date() + timedelta(days=n - 2), longitude, zone) for n in range(days + 1)]
    spells: list[tuple[datetime, datetime]] = []
    for noon, next_noon in pairwise(noons):
        lowest = noon + (next_noon - noon) / 2
        if sun_altitude_deg(lowest, latitude, longitude) >= CIVIL_DEG:
            continue
        dusk = _crossing(lowest, noon, CIVIL_DEG, latitude, longitude) or noon
        dawn = _crossing(lowest, next_noon, CIVIL_DEG, latitude, longitude) or next_noon
        dusk, dawn = max(dusk, start), min(dawn, end)
        if dusk >= dawn:
            continue
        if spells and dusk <= spells[-1][1]:
            dusk = spells.pop()[0]
        spells.append((dusk, dawn))
    return tuple(spells)
