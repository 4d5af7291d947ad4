"""Units that a file may bring, and what makes them ours: an exact list, nothing guessed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from guiding.units import FOOT_M

SECONDS_A_DAY = 86_400
SECONDS_AN_HOUR = 3_600
M3_IN_MM_ON_KM2 = 1_000.0  # a millimetre of water on a square kilometre
INCH_MM = 25.4  # exact, by definition of the inch

# What people call a quantity in a map -> the series that holds it.
QUANTITIES = {
    "level": "level_m",
    "flow": "flow_m3s",
    "rain": "rain_mm",
    "water": "water_c",
    "air": "air_c",
    "visibility": "visibility_cm",
    "turbidity": "turbidity_ntu",
}
UNITS: dict[str, tuple[str, ...]] = {
    "level_m": ("m", "cm", "mm", "ft"),
    "flow_m3s": ("m3/s", "l/s", "mm/d", "mm/h"),
    "rain_mm": ("mm", "in"),
    "water_c": ("C", "F"),
    "air_c": ("C", "F"),
    "visibility_cm": ("cm", "m"),
    "turbidity_ntu": ("NTU", "FNU"),
}
# Column names that say quantity and unit by themselves, for files that come without a map.
PLAIN_NAMES = {
    "level_m": ("level_m", "m"),
    "level_cm": ("level_m", "cm"),
    "level_mm": ("level_m", "mm"),
    "level_ft": ("level_m", "ft"),
    "flow_m3s": ("flow_m3s", "m3/s"),
    "flow_ls": ("flow_m3s", "l/s"),
    "rain_mm": ("rain_mm", "mm"),
    "water_c": ("water_c", "C"),
    "water_f": ("water_c", "F"),
    "air_c": ("air_c", "C"),
    "air_f": ("air_c", "F"),
    "visibility_cm": ("visibility_cm", "cm"),
    "visibility_m": ("visibility_cm", "m"),
    "turbidity_ntu": ("turbidity_ntu", "NTU"),
    "turbidity_fnu": ("turbidity_ntu", "FNU"),
}
FACTORS = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "ft": FOOT_M,
}
PER_DEPTH = {"mm/d": SECONDS_A_DAY, "mm/h": SECONDS_AN_HOUR}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A quantity and the unit a file gives it in."""

    quantity: str
    unit: str

    @property
    def words(self) -> str:
        """Return both in words: "flow in mm/d"."""
        name = next(name for name, series in QUANTITIES.items() if series == self.quantity)
        kind = "temperature" if name in ("water", "air") else ""
        return " ".join(word for word in (name, kind, "in", self.unit) if word)


def measure_of(quantity: str, unit: str) -> Measure:
    """Return the measure a map names; ValueError says which there are."""
    series = QUANTITIES.get(quantity, quantity)
    if series not in UNITS:
        raise ValueError(f"quantity is {quantity!r}; allowed are {', '.join(QUANTITIES)}")
    plain = unit.strip().replace("\N{SUPERSCRIPT THREE}", "3").removeprefix("\N{DEGREE SIGN}")
    if plain not in UNITS[series]:
        raise ValueError(f"unit is {unit!r}; {quantity} may come in {', '.join(UNITS[series])}")
    return Measure(quantity=series, unit=plain)


def to_ours(measure: Measure, catchment_km2: float | None) -> Callable[[float], float]:
    """Return what turns a value of this measure into the series' own unit.

    A depth of run-off (mm/d, mm/h) becomes flow over the gauge's catchment [km2]; ValueError where
    none is on file.
    """
    unit = measure.unit
    if measure.unit in PER_DEPTH and measure.quantity == "flow_m3s":
        if catchment_km2 is None:
            raise ValueError(
                f"flow in {unit} needs the catchment's area, and the gauge has no catchment_km2; "
                "add it to the water file, or bring flow in m3/s."
            )
        factor = M3_IN_MM_ON_KM2 * catchment_km2 / PER_DEPTH[unit]
    elif unit == "F":
        return lambda value: (value - 32) * 5 / 9
    elif measure.quantity == "visibility_cm":
        factor = {"cm": 1.0, "m": 100.0}[unit]
    elif measure.quantity == "rain_mm":
        factor = {"mm": 1.0, "in": INCH_MM}[unit]
    elif measure.quantity == "level_m":
        factor = FACTORS[unit]
    else:
        # both units of turbidity are those of one liquid standard, read by another light
        factor = {"m3/s": 1.0, "l/s": 0.001, "C": 1.0, "NTU": 1.0, "FNU": 1.0}[unit]
    return lambda value: value * factor
