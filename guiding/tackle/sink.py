"""How fast lines and tips sink, and how deep a fly hangs at the end of its swing."""

from __future__ import annotations

import math

from guiding.units import FOOT_M, MPH_MS

# The current speeds for which the depth at hang-down was found, in the study named below.
SLOWEST_MS, FASTEST_MS = 1 * MPH_MS, 5 * MPH_MS
# Makers' tests on short pieces overstate how fast a long length sinks, by this share.
OVERSTATED_FROM, OVERSTATED_TO = 0.08, 0.17

# Rule numbers of the study (its frames 40 and 48): the lower, the deeper the fly hangs.
RULE_NUMBERS = {
    "intermediate tip": 16.0,
    "type 3 tip, 15 ft, 166 grains": 10.0,
    "T-14 class tip": 6.0,
    "7 ips leader, 15 ft, 178 grains": 7.3,
    "5.6 ips leader, 138 grains": 9.1,
    "extra super fast leader, 14 ft, 120 grains": 9.1,
    "fast leader, 14 ft, 54 grains": 26.0,
}


def _require(name: str, value: float, low: float, high: float, unit: str) -> None:
    # written so that NaN is refused too
    if not low <= value <= high:
        raise ValueError(f"{name} is {value}; allowed is {low:g} to {high:g} {unit}.")


def sink_time_still(depth_m: float, sink_cm_s: float) -> float:
    """Return how long a tip takes to sink to a depth in still water.

    Parameters
    ----------
    depth_m : float
        Depth [m], 0 to 30.
    sink_cm_s : float
        Sink rate [cm/s], above 0 to 50.

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    ValueError
        Where a value cannot be.

    Notes
    -----
    t = depth / rate. A line of type n is rated n inches a second; see `sink_rate_long` for what a
    long length really does. In a current the line is lifted: see `fly_depth_hang_down`.

    References
    ----------
    Table of sink times to 3 ft for 1 to 7 inches a second, and 30 s to 15 ft at 6 inches a second:
    "Untangling the mystery of sinking lines" (sea-fishing press; checked by arithmetic).
    """
    _require("depth_m", depth_m, 0, 30, "m")
    _require("sink_cm_s", sink_cm_s, 0.01, 50, "cm/s")
    return depth_m * 100 / sink_cm_s


def sink_rate_long(rated_cm_s: float) -> tuple[float, float]:
    """Return the slowest and fastest rate at which a long length of a rated line really sinks.

    Parameters
    ----------
    rated_cm_s : float
        Rated sink rate [cm/s], 0 to 50.

    Returns
    -------
    tuple of float
        Lowest and highest rate [cm/s].

    Raises
    ------
    ValueError
        Where the rate cannot be.

    Notes
    -----
    Read as rated = real x (1 + share): factory tests use pieces of an inch or two and overstate
    long lengths by 8 to 17 %.

    References
    ----------
    Fly-fishing research notes on sink rates, frame 57.
    """
    _require("rated_cm_s", rated_cm_s, 0, 50, "cm/s")
    return rated_cm_s / (1 + OVERSTATED_TO), rated_cm_s / (1 + OVERSTATED_FROM)


def fly_depth_hang_down(tip_m: float, speed_ms: float, rule_number: float) -> float:
    """Return how deep a small unweighted fly hangs straight below the rod at the end of its swing.

    Parameters
    ----------
    tip_m : float
        Length of the sinking tip [m], 0 to 10.
    speed_ms : float
        Speed of the current [m/s], 0.447 to 2.235 (1 to 5 mph).
    rule_number : float
        The tip's rule number, above 0 to 100; see RULE_NUMBERS.

    Returns
    -------
    float
        Depth of the fly [m].

    Raises
    ------
    ValueError
        Where a value cannot be, or the speed lies outside what was studied.

    Notes
    -----
    depth [ft] = 3 length [ft] / (speed [mph] R). Within about 10 % of a simulation for 1 to 5 mph,
    with a floating head of 26 ft and 650 grains and 3 ft of leader. A heavy fly hangs deeper.

    References
    ----------
    Fly-fishing research notes on sunk tips, frames 40 and 47: 12 ft of R 6 at 2 mph hangs at 3 ft.
    """
    _require("tip_m", tip_m, 0, 10, "m")
    _require("speed_ms", speed_ms, SLOWEST_MS, FASTEST_MS, "m/s")
    _require("rule_number", rule_number, 0.1, 100, "")
    return 3 * tip_m / (speed_ms / MPH_MS * rule_number)


def tip_length_hang_down(depth_m: float, speed_ms: float, rule_number: float) -> float:
    """Return the length of tip that hangs a fly at a depth: `fly_depth_hang_down` turned round.

    Parameters
    ----------
    depth_m : float
        Depth of the fly [m], 0 to 5.
    speed_ms : float
        Speed of the current [m/s], 0.447 to 2.235 (1 to 5 mph).
    rule_number : float
        The tip's rule number, above 0 to 100.

    Returns
    -------
    float
        Length of tip [m].

    Raises
    ------
    ValueError
        Where a value cannot be, or the speed lies outside what was studied.

    References
    ----------
    Fly-fishing research notes on sunk tips, frame 41: 2.5 ft at 2 mph with R 9 takes 15 ft.
    """
    _require("depth_m", depth_m, 0, 5, "m")
    _require("speed_ms", speed_ms, SLOWEST_MS, FASTEST_MS, "m/s")
    _require("rule_number", rule_number, 0.1, 100, "")
    return depth_m * speed_ms / MPH_MS * rule_number / 3


def surface_speed_drift(seconds: float, rod_m: float = 13 * FOOT_M + 2.5 * FOOT_M / 12) -> float:
    """Return the speed of the surface from how long a float takes to pass a rod's length.

    Parameters
    ----------
    seconds : float
        Time [s], above 0 to 600.
    rod_m : float
        Distance [m], 1 to 10; 13 ft 2.5 in unless said.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    ValueError
        Where a value cannot be.

    Notes
    -----
    Speed near the bed is less. People who wade tend to overestimate speed.

    References
    ----------
    Fly-fishing research notes on sunk tips, frame 42: 3.0 s is 3 mph, 4.5 s is 2 mph.
    """
    _require("seconds", seconds, math.ulp(1.0), 600, "s")
    _require("rod_m", rod_m, 1, 10, "m")
    return rod_m / seconds
