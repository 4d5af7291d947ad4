"""What is said about wading: the client's three answers, and the guide's sentence."""

from __future__ import annotations

from collections.abc import Sequence

from briefings.wading.criteria import YES_OR_NO
from briefings.wading.records import Criterion

NO_STOP_FOUND = "no listed stop found; not checked at the water"
BANK_ONLY = "bank only"
TO_THE_KNEE = "to the knee, with your guide"
GUIDE_DECIDES = "your guide decides at the water"


def guide_words(
    verdict: str, deciding: Sequence[Criterion], decider: Criterion | None, why_not_known: str
) -> str:
    """Return the guide's sentence. The best it may say is fixed."""
    if verdict == "no_stop_found":
        return NO_STOP_FOUND
    if verdict == "not_known":
        names = [c.name for c in deciding if c.verdict == "not_known"]
        missing = why_not_known or f"{', '.join(names)} could not be judged"
        return f"not known: {missing}"
    wanted = "over" if verdict == "stop" else "at_limit"
    others = [c.name for c in deciding if c.verdict == wanted and c is not decider]
    also = f"; also {', '.join(others)}" if others else ""
    met = met_words(decider) if decider else "a limit"
    return f"{'stop' if verdict == 'stop' else 'at a limit'}: {met}{also}"


def met_words(criterion: Criterion) -> str:
    """Return a criterion with what was met and what is allowed."""
    if criterion.value is None or criterion.limit is None:
        return f"{criterion.name}: not known"
    if criterion.unit == YES_OR_NO:
        return f"{criterion.name}: {'yes' if criterion.value else 'no'}"
    unit = f" {criterion.unit}" if criterion.unit else ""
    return f"{criterion.name} {criterion.value:.3g}, limit {criterion.limit:.3g}{unit}"
