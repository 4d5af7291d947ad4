"""What changed between two issues, in words: it comes first on a re-issue."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from briefings.pack.words import GOING

Content = dict[str, Any]

# what may be late, old or re-worded without anything having changed for the reader
AGE = re.compile(r" \(\d+ (?:min|h|days) ago\)")
# what moves with the clock; what rain ahead does to the river stands in the forecast itself
UNHEARD_IN_PICTURE = ("shown_from", "shown_to", "rain", "nights")
UNHEARD = ("number", "replaces", "issued", "valid_until", "changes", "sources", "format")


def says_the_same(old: Content, new: Content) -> bool:
    """Say whether two contents would tell a reader the same thing."""
    return _heard(old) == _heard(new)


def _heard(content: Content) -> Content:
    heard = {key: value for key, value in content.items() if key not in UNHEARD}
    picture = content["river"]["picture"]
    if picture:
        # the old end of the drawn line moves with the clock; its new end is what was read last
        picture = {**picture, "measured": picture["measured"][-1:]}
        picture = {key: value for key, value in picture.items() if key not in UNHEARD_IN_PICTURE}
    detail = AGE.sub("", content["river"]["detail"])
    heard["river"] = {**content["river"], "picture": picture, "detail": detail}
    return heard


def what_changed(old: Content, new: Content) -> tuple[str, ...]:
    """Return what a reader must know is different, the most urgent first.

    It stands on the day sheet above what it speaks of, so each thing is named and not said twice.
    """
    dates = [{part["date_words"] for part in content["parts"]} for content in (old, new)]
    if dates[0].isdisjoint(dates[1]):
        return (f"this issue is for another day: {new['title']}",)
    lines: list[str] = []
    for say in (_first_to_final, _danger, _wading, _meeting, _worth, _river, _setup, _cautions):
        lines += say(old, new)
    return tuple(lines)


def _differs(old: Content, new: Content, read: Callable[[Content], Any]) -> bool:
    return bool(read(old) != read(new))


def _first_to_final(old: Content, new: Content) -> list[str]:
    if old["issue"] == "first" and new["issue"] == "final":
        return ["the river, the flies and the wading are now read for your day"]
    return []


def _danger(old: Content, new: Content) -> list[str]:
    if old["issue"] == new["issue"] and _differs(old, new, lambda c: c["danger"]):
        return [f"the danger line, which said: {old['danger']}"]
    return []


def _wading(old: Content, new: Content) -> list[str]:
    if old["issue"] != new["issue"]:
        return []
    lines = []
    if _differs(old, new, lambda c: c["wading"]):
        lines.append(f"wading: {new['wading']}")
    before = {junior["name"]: junior["wading"] for junior in old.get("in_charge", ())}
    for junior in new.get("in_charge", ()):
        if before.get(junior["name"]) != junior["wading"]:
            lines.append(f"wading for {junior['name']}, in your charge: {junior['wading']}")
    return lines


def _meeting(old: Content, new: Content) -> list[str]:
    lines = []
    before = {(p["date_words"], p["part"]): p for p in old["parts"]}
    for part in new["parts"]:
        earlier = before.get((part["date_words"], part["part"]))
        when = f"{part['date_words']}, {part['part']}"
        if earlier is None:
            if old["issue"] == new["issue"]:
                lines.append(f"{when} is new")
            continue
        if earlier["beat"] != part["beat"]:
            lines.append(f"{when}: {part['beat']}, not {earlier['beat']}")
        if earlier["meeting_point"]["name"] != part["meeting_point"]["name"]:
            lines.append(f"{when}: meet at {part['meeting_point']['name']}")
        if earlier["meets"] != part["meets"]:
            lines.append(f"{when}: meet at {part['meets']}, not {earlier['meets']}")
        if earlier["ends"] != part["ends"]:
            lines.append(f"{when}: we stop at {part['ends']}, not {earlier['ends']}")
        lines += _out_by(old, new, when, earlier.get("out_by", ""), part.get("out_by", ""))
    now = {(p["date_words"], p["part"]) for p in new["parts"]}
    if old["issue"] == new["issue"]:
        lines += [f"{day}, {part}: not any more" for day, part in before if (day, part) not in now]
    return lines


def _out_by(old: Content, new: Content, when: str, before: str, now: str) -> list[str]:
    """Say so where the time to be out changed, or is no longer on record."""
    if old["issue"] != new["issue"] or before == now:
        return []
    if not now:
        return [f"{when}: no time to be out is on record any more; it said: {before}"]
    return [f"{when}: {now}" + (f" It said: {before}" if before else "")]


def _worth(old: Content, new: Content) -> list[str]:
    """Say so where an answer changed; other words in its reason are no news."""
    answer = "|".join(map(re.escape, GOING.values()))

    def answers(content: Content) -> list[str]:
        """Return the answer of each part, with the part's name where it has one."""
        told = re.findall(rf"(?:[^.:]+: )?(?:{answer})", content["worth"]["worth_going"])
        return [one.strip() for one in told]

    if old["issue"] == new["issue"] and answers(old) != answers(new):
        return [f"whether to go: {' '.join(answers(new))}"]
    return []


def _river(old: Content, new: Content) -> list[str]:
    if old["issue"] == new["issue"] and _differs(old, new, lambda c: c["river"]["sentence"]):
        return ["what the river will do, as read below"]
    return []


def _setup(old: Content, new: Content) -> list[str]:
    def sentence(content: Content) -> str:
        setups = [content["setup"], *content.get("later_setups", ())]
        said = " ".join(setup["sentence"] for setup in setups if setup)
        return said or str(content["setup_says"])

    if old["issue"] == new["issue"] and sentence(old) != sentence(new):
        return ["what to tie on, as said below"]
    return []


def _cautions(old: Content, new: Content) -> list[str]:
    known = {said["text"] for said in old["cautions"]}
    texts = (said["text"] for said in new["cautions"])
    return [f"new caution: {_first_sentence(text)}" for text in texts if text not in known]


def _first_sentence(text: str) -> str:
    """Return how a text opens; the whole of it stands among the cautions."""
    return text.split(". ")[0].rstrip(".") + "."
