"""Published hazard classes of moving water, by depth and speed."""

from __future__ import annotations

TOLERANCE = 1e-9  # closer to a limit than this is at the limit


def hazard_rating(depth_m: float, speed_ms: float) -> float:
    """Return the flood hazard rating with the pasture debris factor.

    Parameters
    ----------
    depth_m, speed_ms : float
        Depth [m] and speed [m/s] of the water.

    Returns
    -------
    float
        d (v + 0.5) + DF, with DF = 0.5 where d > 0.75 m or v > 2 m/s, else 0.

    Notes
    -----
    Made for planning against floods, not for equipped waders. Under 0.75: caution; 0.75 to 1.25:
    danger for some; over 1.25: danger for most.

    References
    ----------
    Environment Agency and HR Wallingford 2008, Supplementary Note on Flood Hazard Ratings; debris
    factors of FD2321, Table 3.1, pasture.
    """
    debris_factor = 0.5 if depth_m > 0.75 or speed_ms > 2 else 0.0
    return depth_m * (speed_ms + 0.5) + debris_factor


def aidr_class(depth_m: float, speed_ms: float) -> str:
    """Return the general flood hazard class, H1 to H6; H4 and above is a hazard to all people.

    References
    ----------
    NSW flood risk management guideline FB03 (2023), Figure 1: upper bounds of depth times speed
    [m2/s], depth [m] and speed [m/s].
    """
    bounds = {
        "H1": (0.3, 0.3, 2.0),
        "H2": (0.6, 0.5, 2.0),
        "H3": (0.6, 1.2, 2.0),
        "H4": (1.0, 2.0, 2.0),
        "H5": (4.0, 4.0, 4.0),
    }
    met = (depth_m * speed_ms, depth_m, speed_ms)
    for name, upper in bounds.items():
        if all(value <= bound + TOLERANCE for value, bound in zip(met, upper, strict=True)):
            return name
    return "H6"


def arr_adult_class(depth_m: float, speed_ms: float) -> str:
    """Return AR&R's word for an adult: low, moderate, significant or extreme hazard.

    References
    ----------
    Cox, Shand & Blacka 2010, P10/S1/006 (from memory). Its low class holds to 1.2 m and 3.0 m/s
    only; deeper or faster water is counted as extreme here.
    """
    if depth_m > 1.2 + TOLERANCE or speed_ms > 3.0 + TOLERANCE:
        return "extreme"
    product = depth_m * speed_ms
    for word, bound in (("low", 0.6), ("moderate", 0.8), ("significant", 1.2)):
        if product <= bound + TOLERANCE:
            return word
    return "extreme"
