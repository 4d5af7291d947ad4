"""The form of a water file: which tables and keys it may hold, and what each key may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from guiding.regimes.releases import LONGEST_MARGIN_HOURS, LONGEST_TRAVEL_HOURS
from guiding.regimes.tides import LEAST_LAG_HOURS, LONGEST_FLOOD_HOURS, MOST_LAG_HOURS

BOTTOMS = ("gravel", "cobble", "boulder", "bedrock", "mixed")
MARK_KINDS = ("summer", "good", "high", "big", "over_bank")  # in the order of their levels
PARTS = ("morning", "afternoon", "evening", "night")
REGIMES = ("natural", "regulated", "tidal")


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a table. `kind` is text, number, count, yes_no, day, clock, month_day or zone."""

    name: str
    kind: str = "text"
    is_required: bool = False
    default: Any = None  # None: left to the row, or not known
    low: float | None = None
    high: float | None = None
    low_is_allowed: bool = True
    choices: tuple[Any, ...] = ()
    longest: int = 0  # of a text, 0: any length up to the house's own limit
    unit: str = ""
    note: str = ""

    @property
    def allowed(self) -> str:
        """Return in words what this key may hold."""
        if self.choices:
            return "one of " + ", ".join(str(choice) for choice in self.choices)
        if self.low is not None and self.high is not None:
            span = f"{self.low:g} to {self.high:g}"
            if not self.low_is_allowed:
                span = f"above {self.low:g} and at most {self.high:g}"
            return f"{span} {self.unit}".strip()
        return {
            "text": "text" + (f" of at most {self.longest} characters" if self.longest else ""),
            "number": "a number",
            "count": "a whole number",
            "yes_no": "true or false",
            "day": "a day such as 2026-05-20",
            "clock": "a clock time such as 09:00",
            "month_day": "a month and day such as 03-01",
            "zone": "a zone such as Europe/London",
        }[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of the file: its keys, and the tables inside it."""

    name: str
    keys: tuple[Key, ...]
    parts: tuple[Table, ...] = ()


def _text(name: str, longest: int = 0, **others: Any) -> Key:
    return Key(name=name, longest=longest, **others)


def _number(name: str, low: float, high: float, unit: str = "", **others: Any) -> Key:
    return Key(name=name, kind="number", low=low, high=high, unit=unit, **others)


def _count(name: str, low: int, high: int, **others: Any) -> Key:
    return Key(name=name, kind="count", low=low, high=high, **others)


def _place() -> tuple[Key, Key]:
    return (
        _number("latitude", -90, 90, "degrees", is_required=True),
        _number("longitude", -180, 180, "degrees", is_required=True),
    )


_NAME = _text("name", 80, is_required=True)
_ORDER = _count("order", 1, 500, note="left out: as they stand in the file")

RIVER = Table(
    name="river",
    keys=(
        _NAME,
        Key(name="zone", kind="zone", is_required=True),
        *_place(),
        Key(name="grid", choices=("osgb", "utm"), default="utm"),
        Key(name="is_peaty", kind="yes_no", default=False),
        _text("emergency_number", 20, default="112"),
        _text("hospital", note="nearest with an emergency department"),
        _text("no_signal_plan"),
    ),
)

ACCESS_POINT = Table(
    name="access_point",
    keys=(
        _NAME,
        *_place(),
        _text("directions"),
        Key(name="is_meeting_point", kind="yes_no", default=False),
    ),
)

SOUNDING = Table(
    name="sounding",
    keys=(
        _text("gauge", 80, note="left out: the file's only gauge"),
        _text("spot", 60, default="wading line"),
        _number("level_m", -1, 20, "m", is_required=True, note="the gauge at the time"),
        _number("depth_m", 0, 10, "m", is_required=True, low_is_allowed=False),
        _number("speed_ms", 0, 6, "m/s", note="left out: not measured"),
        Key(name="measured_on", kind="day", is_required=True),
        _text("measured_by", 80),
    ),
)

POOL = Table(
    name="pool",
    keys=(
        _NAME,
        _ORDER,
        _number("length_m", 1, 5000, "m"),
        Key(name="bottom", choices=BOTTOMS),
        Key(name="fished_from", choices=("left", "right", "both"), note="bank, facing downstream"),
        _text("notes"),
        _number("ratio", 0.1, 5, note="change of depth for a metre at the gauge; left out: 1"),
    ),
    parts=(SOUNDING, ACCESS_POINT),
)

BEAT = Table(
    name="beat",
    keys=(
        _NAME,
        _ORDER,
        Key(name="regime", choices=REGIMES, default="natural"),
        _text("power_lines", note="where lines cross or run near the bank"),
        _text("hazards", note="what hurts people here, one a line"),
    ),
    parts=(
        Table(
            name="gauge",
            keys=(
                _NAME,
                _number("delay_hours", -240, 240, "h", default=0.0),
                _number(
                    "ratio",
                    0.05,
                    20,
                    "m",
                    default=1.0,
                    note="metres at the beat's first gauge for one metre at this one",
                ),
                _ORDER,
            ),
        ),
        POOL,
    ),
)

WATER = Table(
    name="water",
    keys=(
        _NAME,
        _count("rods_a_day", 1, 100, is_required=True),
        _text("let_by", 120),
        _text("fishery_phone", 40),
        _text("fishery_rules", note="what the fishery told us, one rule a line"),
    ),
    parts=(
        Table(
            name="part_hours",
            keys=(
                Key(name="part", choices=PARTS, is_required=True),
                Key(name="starts", kind="clock", is_required=True),
                Key(
                    name="ends",
                    kind="clock",
                    is_required=True,
                    note="before the start: the next calendar day",
                ),
                Key(name="first_month_day", kind="month_day", default="01-01"),
                Key(name="last_month_day", kind="month_day", default="12-31"),
            ),
        ),
        ACCESS_POINT,
        BEAT,
    ),
)

GAUGE = Table(
    name="gauge",
    keys=(
        _NAME,
        *_place(),
        _number("altitude_m", -430, 9000, "m"),
        _number("lowest_m", -1, 20, "m", default=-1.0, note="a reading below is refused"),
        _number("highest_m", -1, 20, "m", default=20.0, note="a reading above is refused"),
        Key(name="step_minutes", kind="count", choices=(60, 1440), default=60),
        _number("catchment_km2", 0.01, 7_000_000, "km2"),
        _number("rating_a", 1e-9, 1e6, note="flow_m3s = a (level_m - h0)^b"),
        _number("rating_b", 0.1, 10),
        _number("rating_h0_m", -20, 20, "m"),
        _text("rating_source", 200, note="who states the rating"),
        _text("source", 200, note="whose gauge it is"),
        Key(name="page_url", longest=200, note="https://..."),
        Key(name="may_ice", kind="yes_no", default=False),
    ),
    parts=(
        Table(
            name="mark",
            keys=(
                Key(name="kind", choices=MARK_KINDS, is_required=True),
                _number("level_m", -1, 20, "m", is_required=True),
                _text("seen", 120, note="such as: flat stone just covered"),
                _text("beat", 80, note="left out: every beat this gauge speaks for"),
            ),
        ),
    ),
)

DAM = Table(
    name="dam",
    keys=(
        _NAME,
        _text("phone", 40, note="whom to ring for today's times"),
        _text("normal_flow", 120, note="what it lets by without a release, in their words"),
    ),
    parts=(
        Table(
            name="beat",
            keys=(
                _NAME,
                _number("travel_hours", 0, LONGEST_TRAVEL_HOURS, "h", is_required=True),
                _number("margin_hours", 0, LONGEST_MARGIN_HOURS, "h", default=0.5),
                Key(
                    name="gauge_is_below",
                    kind="yes_no",
                    default=False,
                    note="the beat's first gauge rises with what this dam lets go",
                ),
            ),
        ),
    ),
)

TIDE_PLACE = Table(
    name="tide_place",
    keys=(
        _NAME,
        Key(name="zone", kind="zone", is_required=True, note="the clock its table is printed in"),
        Key(name="is_twice_a_day", kind="yes_no", default=True),
    ),
    parts=(
        Table(
            name="beat",
            keys=(
                _NAME,
                _number(
                    "lag_hours",
                    LEAST_LAG_HOURS,
                    MOST_LAG_HOURS,
                    "h",
                    is_required=True,
                    note="high water here after high water there",
                ),
                _number(
                    "low_lag_hours",
                    LEAST_LAG_HOURS,
                    MOST_LAG_HOURS,
                    "h",
                    note="the same for low water; left out: not known",
                ),
                _number(
                    "flood_hours",
                    0.1,
                    LONGEST_FLOOD_HOURS,
                    "h",
                    is_required=True,
                    note="the flood is felt from this long before high water here",
                ),
                _number(
                    "ebb_hours",
                    0.1,
                    LONGEST_FLOOD_HOURS,
                    "h",
                    is_required=True,
                    note="and until this long after it",
                ),
                _number("margin_hours", 0, LONGEST_FLOOD_HOURS, "h", default=0.5),
                _text("cut_off", 200, note="where the flood cuts people off"),
                Key(
                    name="gauge_is_here",
                    kind="yes_no",
                    default=False,
                    note="the beat's first gauge feels the same tide",
                ),
            ),
        ),
    ),
)

TABLES = (RIVER, WATER, GAUGE, DAM, TIDE_PLACE)


def form_words() -> str:
    """Return the whole form in plain lines, for the command's help."""
    lines = [
        "[river] stands once; [[water]], [[gauge]], [[dam]] and [[tide_place]] any number of times",
        "(*: must be there).",
        "A file with one gauge may leave the gauge out of its beats and soundings.",
    ]
    for table in TABLES:
        lines += _table_lines(table, "")
    return "\n".join(lines)


def _table_lines(table: Table, above: str) -> list[str]:
    path = f"{above}.{table.name}" if above else table.name
    lines = ["", "[river]" if table is RIVER else f"[[{path}]]"]
    for key in table.keys:
        star = "*" if key.is_required else " "
        default = f", {_shown(key.default)} unless said" if key.default is not None else ""
        note = f" ({key.note})" if key.note else ""
        lines.append(f" {star} {key.name}: {key.allowed}{default}{note}")
    for part in table.parts:
        lines += _table_lines(part, path)
    return lines


def _shown(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)
