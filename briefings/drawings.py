"""The leader to scale and the flies at true size, drawn from their measures."""

from __future__ import annotations

from typing import Any

from guiding.charts import river_chart, river_table
from guiding.svg import Svg


def draw_pack(content: dict[str, Any], *, page_size: str = "A4") -> dict[str, Any]:
    """Return every drawing of a pack, sized for the paper."""
    picture = content["river"]["picture"]
    width = {"A4": 493, "A5": 340}[page_size]
    river: Svg | None = None
    if picture:
        river = river_chart(
            picture,
            width=width,
            height=185,
            layout="pack",
            title=f"The river at {content['river']['gauge']}: {content['river']['sentence']}",
            description=content["river"]["detail"],
        )
    return {
        "river": river,
        "river_rows": river_table(picture, every_hours=12) if picture else [],
    }
