"""Unit conversion, and lengths in a reader's own units."""

from __future__ import annotations

FOOT_M = 0.3048  # exact, by definition (international foot, 1959)
INCH_CM = 2.54  # exact
KNOT_MS = 1852 / 3600  # exact, by definition of the nautical mile
MPH_MS = 0.44704  # exact

COMPASS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)


def celsius_to_fahrenheit(celsius: float) -> float:
    """Return degrees Fahrenheit."""
    return celsius * 9 / 5 + 32


def ips_to_cm_s(inches_per_second: float) -> float:
    """Return centimetres a second from the trade's inches a second."""
    return inches_per_second * INCH_CM


def _feet_words(metres: float) -> str:
    inches_in_all = round(metres / FOOT_M * 12)
    feet, inches = divmod(inches_in_all, 12)
    if feet and inches:
        return f"{feet} ft {inches} in"
    return f"{feet} ft" if feet else f"{inches} in"


def length_words(metres: float, units: str) -> str:
    """Return a length in the reader's units with the other behind it: "12 ft (3.66 m)"."""
    metric = f"{metres:.2f} m" if metres >= 1 else f"{metres * 100:.0f} cm"
    feet = _feet_words(metres)
    return f"{feet} ({metric})" if units == "imperial" else f"{metric} ({feet})"


def thickness_words(millimetres: float, units: str) -> str:
    """Return how thick a leader piece is, in thousandths of an inch besides millimetres."""
    metric, inches = f"{millimetres:.2f} mm", f"{millimetres / 10 / INCH_CM:.3f} in"
    return f"{inches} ({metric})" if units == "imperial" else f"{metric} ({inches})"


def fly_length_words(millimetres: int, units: str) -> str:
    """Return a fly's dressed length: "19 mm", or in inches with it behind."""
    inches = f"{millimetres / 10 / INCH_CM:.1f} in"
    return f"{inches} ({millimetres} mm)" if units == "imperial" else f"{millimetres} mm"


def level_words(level_m: float) -> str:
    """Return a gauge level; a gauge is read in its own unit by everybody: "0.79 m"."""
    return f"{level_m:.2f} m"


def temperature_words(celsius: float, units: str) -> str:
    """Return a temperature in the reader's units with the other behind it."""
    # whole numbers, so that what rounds to nought is never "-0"
    here, other = round(celsius), round(celsius_to_fahrenheit(celsius))
    if units == "imperial":
        return f"{other} \N{DEGREE SIGN}F ({here} \N{DEGREE SIGN}C)"
    return f"{here} \N{DEGREE SIGN}C ({other} \N{DEGREE SIGN}F)"


def degrees_to_compass(degrees: float) -> str:
    """Return one of sixteen compass words for the direction the wind comes from."""
    return COMPASS[round(degrees % 360 / 22.5) % 16]
