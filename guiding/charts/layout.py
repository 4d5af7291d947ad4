"""What differs between paper, a wide page and a phone, and where each part of the picture goes."""

from __future__ import annotations

from dataclasses import dataclass

from guiding.charts.series import Frame, Series
from guiding.charts.svg import text_width

LEAST_CURVE = 0.35  # of the height is kept for the river itself, whatever stands around it
RAIN_SHARE = 0.14  # of the height
ROOM_FOR_SUMS = 170  # a lower picture has rain bars without the sum of each day


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What differs between paper, a wide page and a phone."""

    size: float  # of the words
    line: float
    hatch: float
    unit: str
    marks_below: bool  # what is seen at a mark stands under the picture, its level beside it


STYLES = {
    "pack": Style(size=11, line=1.8, hatch=5, unit="pt", marks_below=False),
    "page": Style(size=16, line=2.6, hatch=8, unit="", marks_below=False),
    "phone": Style(size=15, line=2.4, hatch=7, unit="", marks_below=True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The band of the drawing that holds the rain; `sums_y` is the baseline of the days' sums."""

    top: float
    bottom: float
    sums_y: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where everything goes."""

    frame: Frame
    rain: Strip | None
    words_x: float  # of the words beside the frame
    words_room: float
    list_top: float  # of the marks' words under the picture
    listed: int  # how many of them there is room for
    day_y: float  # baseline of the words over the fishing day

    @property
    def shaded_top(self) -> float:
        """Return where the shading of night and day begins."""
        return self.rain.top if self.rain else self.frame.top


def mark_words(level: float, seen: str) -> str:
    """Return a mark as written beside its line."""
    return f"{level:.2f} {seen}".rstrip()


def lay_out(series: Series, style: Style, width: float, height: float) -> Places:
    """Return the places: day words, rain, river, days and, on a phone, the marks in words."""
    size = style.size
    row = size * 1.35
    shown = [
        f"{level:.2f}" if style.marks_below else mark_words(level, seen)
        for level, seen in series.marks
    ]
    widest = max([text_width(words, size) for words in shown], default=0.0)
    has_mm = series.rain is not None and style.marks_below
    beside = max(widest, text_width("mm", size) if has_mm else 0.0)
    if not style.marks_below and series.rain is not None:
        beside = max(beside, text_width("mm a day", size))
    beside = min(beside, width * 0.3)
    right = width - 2 - (beside + 18 if beside else 0)
    head = size * (2.4 if series.day or not style.marks_below else 0.6)
    top, strip = head, None
    if series.rain is not None:
        tall = min(max(RAIN_SHARE * height, size * 1.3), size * 3)
        has_sums = height >= ROOM_FOR_SUMS
        sums_y = head + size * 0.85 if has_sums else None
        bars_top = head + (size * 1.25 if has_sums else 0)
        strip = Strip(top=bars_top, bottom=bars_top + tall, sums_y=sums_y)
        top = strip.bottom + size * 0.5
    foot = size * 1.6
    room = height - foot - top - LEAST_CURVE * height
    listed = min(len(series.marks), max(0, int(room // row))) if style.marks_below else 0
    (start, end), (low, high) = series.time_span(), series.level_span()
    bottom = height - foot - (listed * row + size * 0.3 if listed else 0)
    frame = Frame(
        left=2, right=right, top=top, bottom=bottom, start=start, end=end, low=low, high=high
    )
    return Places(
        frame=frame,
        rain=strip,
        words_x=right + 18,
        words_room=beside,
        list_top=bottom + foot + size * 0.3,
        listed=listed,
        day_y=head - size * 0.6,
    )
