"""A phone's latitude and longitude -> the grid reference that rescuers and maps use."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, radians, sin, sqrt, tan

LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"  # the National Grid leaves out I
BANDS = "CDEFGHJKLMNPQRSTUVWX"  # UTM bands of 8 degrees from 80 S; the last one has 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """An ellipsoid and the transverse Mercator grid laid on it.

    `a_m` and `b_m` are the semi-axes, `scale` the factor on the central meridian, the rest the
    true origin and the coordinates it is given [degrees, m].
    """

    a_m: float
    b_m: float
    scale: float
    latitude: float
    longitude: float
    easting_m: float
    northing_m: float


# Ordnance Survey, A guide to coordinate systems in Great Britain, Annex A: Airy 1830 and the
# National Grid projection.
NATIONAL_GRID = Projection(
    a_m=6377563.396,
    b_m=6356256.909,
    scale=0.9996012717,
    latitude=49.0,
    longitude=-2.0,
    easting_m=400_000.0,
    northing_m=-100_000.0,
)
WGS84_A_M = 6378137.0
WGS84_B_M = 6356752.314245  # a (1 - 1/298.257223563)

# The same guide, section 6.6: WGS84 to OSGB36, good to about 5 m everywhere in Great Britain.
SHIFT_M = (-446.448, 125.157, -542.060)
SHIFT_SCALE = 20.4894e-6
SHIFT_SECONDS = (-0.1502, -0.2470, -0.8421)

EARTH_KM = 6371.0088  # mean radius of the Earth (IUGG, from memory)


def grid_words(latitude: float, longitude: float, grid: str) -> str:
    """Return the reference of a WGS84 point in a river's grid: "TG 5140 1317".

    `grid` is "osgb" (to 10 m: the datum shift is no better than 5 m) or "utm" (to 1 m). Raises
    ValueError where the point lies outside the grid.
    """
    if grid == "osgb":
        return national_grid(latitude, longitude, digits=8)
    if grid == "utm":
        return utm(latitude, longitude)
    raise ValueError(f"grid is {grid!r}; allowed are osgb and utm.")


def national_grid(latitude: float, longitude: float, *, digits: int = 8) -> str:
    """Return the National Grid reference of a WGS84 point, cut off, never rounded.

    Parameters
    ----------
    latitude, longitude : float
        WGS84 [degrees], as a phone gives them.
    digits : {6, 8, 10}
        100 m, 10 m or 1 m; a reference names the south-west corner of its square.

    Raises
    ------
    ValueError
        Outside the grid (0 to 700 km east, 0 to 1300 km north of its false origin).
    """
    _check(latitude, longitude)
    # Far from its meridian the series means nothing, so the rough box is looked at first.
    if not (49 <= latitude <= 62 and -9.5 <= longitude <= 3.5):
        raise ValueError(_outside(latitude, longitude))
    easting, northing = project(*wgs84_to_osgb36(latitude, longitude), NATIONAL_GRID)
    try:
        return grid_letters(easting, northing, digits=digits)
    except ValueError as error:
        if digits not in (6, 8, 10):
            raise
        raise ValueError(_outside(latitude, longitude)) from error


def grid_letters(easting_m: float, northing_m: float, *, digits: int = 8) -> str:
    """Return two letters and digits for National Grid coordinates [m]: "TG 5140 1317"."""
    if digits not in (6, 8, 10):
        raise ValueError(f"digits is {digits}; allowed are 6, 8 and 10.")
    if not (0 <= easting_m < 700_000 and 0 <= northing_m < 1_300_000):
        raise ValueError(
            f"{easting_m:.0f} E {northing_m:.0f} N is outside the National Grid; it covers "
            "0 to 700000 E and 0 to 1300000 N."
        )
    east, north = int(easting_m // 100_000), int(northing_m // 100_000)
    # Squares of 500 km are lettered from the north-west, S being at the false origin; the squares
    # of 100 km inside each are lettered in the same way.
    first = LETTERS[(3 - north // 5) * 5 + 2 + east // 5]
    second = LETTERS[(4 - north % 5) * 5 + east % 5]
    half = digits // 2
    cell = 10 ** (5 - half)
    east_digits, north_digits = (
        f"{int(metres % 100_000) // cell:0{half}d}" for metres in (easting_m, northing_m)
    )
    return f"{first}{second} {east_digits} {north_digits}"


def utm(latitude: float, longitude: float) -> str:
    """Return zone and band, easting and northing of a WGS84 point: "31U 0448251 5411932".

    Cut off to the metre. The wider zones of south-west Norway and Svalbard are kept. Raises
    ValueError north of 84 and south of 80 degrees, where the grid ends.
    """
    _check(latitude, longitude)
    if not -80 <= latitude <= 84:
        raise ValueError(f"latitude is {latitude:g}; the UTM grid covers -80 to 84.")
    zone, band = utm_zone(latitude, longitude)
    projection = Projection(
        a_m=WGS84_A_M,
        b_m=WGS84_B_M,
        scale=0.9996,
        latitude=0.0,
        longitude=zone * 6.0 - 183.0,
        easting_m=500_000.0,
        northing_m=0.0 if latitude >= 0 else 10_000_000.0,
    )
    easting, northing = project(latitude, longitude, projection)
    return f"{zone}{band} {int(easting):07d} {int(northing):07d}"


def utm_zone(latitude: float, longitude: float) -> tuple[int, str]:
    """Return the zone number and the band letter of a point."""
    band = BANDS[min(int((latitude + 80) // 8), 19)]
    zone = int((longitude + 180) // 6) % 60 + 1
    if band == "V" and 3 <= longitude < 12:
        zone = 32
    if band == "X" and 0 <= longitude < 42:
        zone = 31 + 2 * int((longitude + 3) // 12)
    return zone, band


def wgs84_to_osgb36(latitude: float, longitude: float) -> tuple[float, float]:
    """Return OSGB36 latitude and longitude [degrees] of a WGS84 point at the ellipsoid.

    Notes
    -----
    Seven-parameter (Helmert) shift of Cartesian coordinates; good to about 5 m.

    References
    ----------
    Ordnance Survey, A guide to coordinate systems in Great Britain, section 6.6 and Annex B.
    """
    x, y, z = _cartesian(latitude, longitude)
    rx, ry, rz = (radians(seconds / 3600) for seconds in SHIFT_SECONDS)
    one = 1 + SHIFT_SCALE
    shifted_x = SHIFT_M[0] + one * x - rz * y + ry * z
    shifted_y = SHIFT_M[1] + rz * x + one * y - rx * z
    shifted_z = SHIFT_M[2] - ry * x + rx * y + one * z
    a, b = NATIONAL_GRID.a_m, NATIONAL_GRID.b_m
    e2 = 1 - (b / a) ** 2
    across = hypot(shifted_x, shifted_y)
    angle = atan2(shifted_z, across * (1 - e2))
    for _ in range(10):  # each round gains more than two digits
        nu = a / sqrt(1 - e2 * sin(angle) ** 2)
        angle = atan2(shifted_z + e2 * nu * sin(angle), across)
    return degrees(angle), degrees(atan2(shifted_y, shifted_x))


def _cartesian(latitude: float, longitude: float) -> tuple[float, float, float]:
    phi, lam = radians(latitude), radians(longitude)
    e2 = 1 - (WGS84_B_M / WGS84_A_M) ** 2
    nu = WGS84_A_M / sqrt(1 - e2 * sin(phi) ** 2)
    return nu * cos(phi) * cos(lam), nu * cos(phi) * sin(lam), (1 - e2) * nu * sin(phi)


def project(latitude: float, longitude: float, grid: Projection) -> tuple[float, float]:
    """Return easting and northing [m] of a point on the grid's own ellipsoid [degrees].

    Notes
    -----
    Transverse Mercator as a series in the distance from the central meridian; to the millimetre
    within 4 degrees of it.

    References
    ----------
    Ordnance Survey, A guide to coordinate systems in Great Britain, Annex C.
    """
    phi = radians(latitude)
    p = radians((longitude - grid.longitude + 180) % 360 - 180)
    e2 = 1 - (grid.b_m / grid.a_m) ** 2
    nu = grid.a_m * grid.scale / sqrt(1 - e2 * sin(phi) ** 2)
    rho = grid.a_m * grid.scale * (1 - e2) / (1 - e2 * sin(phi) ** 2) ** 1.5
    eta2 = nu / rho - 1
    t, c = tan(phi), cos(phi)
    north = (
        _meridian_arc(phi, grid)
        + grid.northing_m
        + nu / 2 * sin(phi) * c * p**2
        + nu / 24 * sin(phi) * c**3 * (5 - t**2 + 9 * eta2) * p**4
        + nu / 720 * sin(phi) * c**5 * (61 - 58 * t**2 + t**4) * p**6
    )
    east = (
        grid.easting_m
        + nu * c * p
        + nu / 6 * c**3 * (nu / rho - t**2) * p**3
        + nu / 120 * c**5 * (5 - 18 * t**2 + t**4 + 14 * eta2 - 58 * t**2 * eta2) * p**5
    )
    return east, north


def _meridian_arc(phi: float, grid: Projection) -> float:
    origin = radians(grid.latitude)
    n = (grid.a_m - grid.b_m) / (grid.a_m + grid.b_m)
    less, more = phi - origin, phi + origin
    return (
        grid.b_m
        * grid.scale
        * (
            (1 + n + 5 / 4 * n**2 + 5 / 4 * n**3) * less
            - (3 * n + 3 * n**2 + 21 / 8 * n**3) * sin(less) * cos(more)
            + (15 / 8 * n**2 + 15 / 8 * n**3) * sin(2 * less) * cos(2 * more)
            - 35 / 24 * n**3 * sin(3 * less) * cos(3 * more)
        )
    )


def distance_km(latitude: float, longitude: float, other: float, other_longitude: float) -> float:
    """Return the great-circle distance of two points [km], good to half a percent."""
    one, two = radians(latitude), radians(other)
    across = radians(other_longitude - longitude)
    half = sin((two - one) / 2) ** 2 + cos(one) * cos(two) * sin(across / 2) ** 2
    return 2 * EARTH_KM * asin(min(1.0, sqrt(half)))


def _check(latitude: float, longitude: float) -> None:
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise ValueError(
            f"latitude is {latitude:g}, longitude {longitude:g}; "
            "allowed are -90 to 90 and -180 to 180."
        )


def _outside(latitude: float, longitude: float) -> str:
    return (
        f"{latitude:g}, {longitude:g} is outside the Ordnance Survey National Grid; "
        "use the UTM grid for rivers elsewhere."
    )
