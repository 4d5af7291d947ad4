"""How cold moving air feels."""

from __future__ import annotations

from guiding.sources import Label, Source

WARMEST_C = 10.0
LEAST_WIND_KMH = 5.0
KMH_PER_MS = 3.6  # exact

WIND_CHILL_CHART = Source(label=Label.PUBLISHED, title="Environment Canada, Wind Chill Chart")


def wind_chill(air_c: float, wind_ms: float) -> float | None:
    """Return the wind chill index, a number on the Celsius scale, or None where it does not hold.

    Parameters
    ----------
    air_c : float
        Air temperature [degrees C].
    wind_ms : float
        Mean wind at 10 m [m/s].

    Returns
    -------
    float or None
        13.12 + 0.6215 T - 11.37 V^0.16 + 0.3965 T V^0.16 with V in km/h. None where the air is
        warmer than 10 degrees C or the wind under 5 km/h: the index is not made for that.

    Raises
    ------
    ValueError
        Where the air is not -60 to 45 degrees C or the wind not 0 to 60 m/s.

    References
    ----------
    Environment Canada, Wind Chill Chart, for the formula and its table; the limits of validity
    are from memory (NWS and Environment Canada).
    """
    if not -60 <= air_c <= 45:
        raise ValueError(f"air_c is {air_c}; air is -60 to 45 degrees C.")
    if not 0 <= wind_ms <= 60:
        raise ValueError(f"wind_ms is {wind_ms}; a wind is 0 to 60 m/s.")
    wind_kmh = wind_ms * KMH_PER_MS
    # a wind given as 5 km/h comes back from m/s a hair under it
    if air_c > WARMEST_C or wind_kmh < LEAST_WIND_KMH - 1e-9:
        return None
    stirred = float(wind_kmh**0.16)
    return 13.12 + 0.6215 * air_c - 11.37 * stirred + 0.3965 * air_c * stirred
