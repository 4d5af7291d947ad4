"""The pages as a reader meets them: what stands where, how large, in which order, at what scale."""

import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pdfplumber
import pytest

from briefings.pack.content import InCharge
from briefings.pack.pdf import pack_html, pack_pdf
from tests.briefings.pack_examples import CAUTIONS, EXAMPLES, FINAL, FIRST, GUIDE, ISSUED, SUNK
from tests.briefings.printed import pages, texts, texts_of

MM_PT = 72 / 25.4


def ticks_under_leader(sheet):
    """Return the places of the measuring ticks: upright, 0.8 pt, 10 pt tall."""
    return sorted(
        {
            round(line["x0"], 3)
            for line in sheet.lines
            if line["x0"] == line["x1"]
            and abs(line["height"] - 10) < 0.1
            and abs(line["linewidth"] - 0.8) < 0.01
        }
    )


def test_the_dropper_is_two_thirds_along_the_leader_on_paper():
    # dropper 8 ft from the line tip on a 12 ft leader
    line, dropper, point = ticks_under_leader(pages("final")[1])

    expected = line + (point - line) * 2 / 3
    assert abs(dropper - expected) / MM_PT < 1  # to 1 mm
    assert (point - line) / MM_PT > 120  # and large enough to see


def test_tip_and_leader_are_to_one_scale_on_paper():
    line, leader, point = ticks_under_leader(pages("sunk")[1])

    expected = line + (point - line) * 3.0 / 4.07
    assert abs(leader - expected) / MM_PT < 1


def test_every_fly_is_at_true_size_on_paper():
    level = [
        round(line["width"] / MM_PT, 1)
        for line in pages("final")[1].lines
        if line["height"] < 0.01 and abs(line["linewidth"] - 0.25 * MM_PT) < 0.01
    ]

    assert sorted(level) == sorted(float(fly.length_mm) for fly in FINAL.setup.laid_out)


@pytest.mark.parametrize("lengths", [(60, 60, 60, 60), (120, 75, 50, 48, 30), (49, 78, 79, 12)])
def test_no_fly_lies_over_another_or_over_the_edge(lengths):
    # from a sheet on which tubes of 60 mm lay over each other
    laid_out = tuple(
        replace(FINAL.setup.laid_out[0], length_mm=length, is_tube=True, pattern=f"tube {n}")
        for n, length in enumerate(lengths)
    )
    content = replace(FINAL, setup=replace(FINAL.setup, laid_out=laid_out))
    sheets = pdfplumber.open(io.BytesIO(pack_pdf(content.as_json()))).pages
    sizes = sorted(
        (number, round(line["top"]), line["x0"], line["x1"])
        for number, sheet in enumerate(sheets)
        for line in sheet.lines
        if line["height"] < 0.01 and abs(line["linewidth"] - 0.25 * MM_PT) < 0.01
    )

    assert sorted(round((x1 - x0) / MM_PT) for *_, x0, x1 in sizes) == sorted(lengths)
    assert all(x1 <= sheets[0].width - 18 * MM_PT + 0.1 for *_, x1 in sizes)
    for (*row, _, end), (*next_row, begin, _) in pairwise(sizes):
        assert row != next_row or begin > end


IN_CHARGE = InCharge(
    name="Tom",
    wading="Morning, Birk Water: To the knee, with your guide, in Long Run and Ash Pot only. "
    "Bank only everywhere else. Afternoon, Birk Water: Bank only.",
    kit=FINAL.kit,
)
VARIANTS = {
    **EXAMPLES,
    "two_dangers": replace(FINAL, danger=f"{FINAL.danger} {FINAL.danger}"),
    "six_changes": replace(FINAL, changes=FINAL.changes * 2),
    "long_detail": replace(FINAL, river=replace(FINAL.river, detail=FINAL.river.detail * 2)),
    "long_wading": replace(FINAL, wading="Your guide decides at the water. " * 4),
    "in_charge": replace(FINAL, in_charge=(IN_CHARGE,)),
    "long_key": replace(
        FINAL,
        river=replace(
            FINAL.river,
            picture=replace(
                FINAL.river.picture,
                rain=((*FINAL.river.picture.measured[0][:1], ISSUED.isoformat(), 3.0, "measured"),),
                nights=(),
            ),
        ),
    ),
}


@pytest.mark.parametrize("name", VARIANTS)
def test_the_day_sheet_is_one_page_and_enough_alone(name):
    content = VARIANTS[name]
    sheets = texts(name) if name in EXAMPLES else texts_of(pack_pdf(content.as_json()))
    first, second = sheets[:2]

    for wanted in (
        content.danger,
        content.parts[0].meets,
        content.parts[0].ends,
        content.parts[0].meeting_point.name,
        content.river.sentence,
        content.wading.strip(),
        *(f"{one.name}, in your charge: {one.wading}" for one in content.in_charge),
        content.emergency.number,
        content.emergency.guide_phone,
        content.worth.who_decides,
    ):
        assert wanted in first
    assert "Who decides" not in second.split("Rules, and")[0]


def test_the_day_sheet_reads_in_the_order_of_need():
    first = texts("final")[0]

    places = [
        first.index(words)
        for words in (
            "The river may rise again",
            "Changed since issue 1",
            "Where and when",
            "meet 08:30 ends 17:00",
            "Falling and clearing",
            "Tie on",
            "Wading To the knee, with your guide.",
            "Who to call 112 or 999",
            "Who decides",
        )
    ]
    assert places == sorted(places)


def test_the_issue_names_its_number_what_it_replaces_and_how_long_it_holds():
    first = texts("final")[0]

    assert "Issue 2, Wed 20 May, 19:20, replaces issue 1" in first
    assert "Valid until Thu 21 May, 09:00" in first
    assert "replaces" not in texts("bleak")[0]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_caution_is_printed_with_who_says_so(name):
    everything = " ".join(texts(name))

    for said in CAUTIONS:
        for words in (said.text, said.because, said.label, said.source):
            assert words in everything


@pytest.mark.parametrize("name", sorted(set(EXAMPLES) - {"guide"}))
def test_a_clients_copy_has_no_page_for_the_guide(name):
    html = pack_html(EXAMPLES[name].as_json())

    for words in ("guide-stops", "Stops at", "Decided by", "Share of the fishing hours"):
        assert words not in html


def test_the_guides_copy_adds_the_levels():
    everything = " ".join(texts("guide"))

    for stop in GUIDE.guide.stops:
        assert stop.stop_level in everything
    for words in (*GUIDE.guide.alternatives, *GUIDE.guide.overruled, *GUIDE.guide.tackle):
        assert words in everything
    assert "Guide's copy, not for clients" in texts("guide")[0]


def test_the_first_issue_gives_the_way_the_kit_and_what_is_missing():
    sheets = texts("first")

    for words in (
        FIRST.parts[0].meeting_point.directions,
        FIRST.river.usual,
        FIRST.kit.missing[0],
    ):
        assert words in sheets[0]
    assert all(words in " ".join(sheets) for words in (*FIRST.kit.bring, *FIRST.kit.lent))
    assert "Thorbjørn Ødegård-Wąsowski" in sheets[0]


def test_the_emergency_page_gives_each_place_in_two_ways():
    sheet = next(text for text in texts("final") if text.startswith("Emergency"))

    for spot in FINAL.emergency.spots:
        assert spot.grid in sheet
        assert f"{spot.latitude:.5f}, {spot.longitude:.5f}" in sheet
    for words in (
        FINAL.emergency.no_signal_plan,
        FINAL.emergency.if_the_guide_is_the_casualty,
        FINAL.emergency.hospital,
    ):
        assert words in sheet


def test_what_is_not_known_is_said_on_the_emergency_page():
    sheet = next(text for text in texts("bleak") if text.startswith("Emergency"))

    for words in (
        "Alder Bridge lay-by not known",  # its grid reference
        "No signal Not known: ask",
        "Nearest hospital Not known: ask",
        "The fishery: not known",
        "as we hold it: not known",
        "No directions on file",
    ):
        assert words in sheet


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_is_smaller_than_eleven_points(name):
    sizes = {round(char["size"], 1) for sheet in pages(name) for char in sheet.chars}

    assert min(sizes) >= 11


def test_it_is_printed_in_black_on_white():
    inks = {char["non_stroking_color"] for sheet in pages("guide") for char in sheet.chars}
    lines = {line["stroking_color"] for sheet in pages("guide") for line in sheet.lines}

    greys = [ink if isinstance(ink, tuple) else (ink,) for ink in inks | lines]
    assert all(len(set(grey)) == 1 and grey[0] in (0, 1) for grey in greys)


def test_two_weights_of_one_family_are_used():
    fonts = {char["fontname"].split("+")[-1] for s in pages("guide") for char in s.chars}

    assert len(fonts) == 2
    assert all("Atkinson" in font for font in fonts)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_word_safe_is_not_printed(name):
    assert not re.search(r"\bsafe(ly|r|st)?\b", " ".join(texts(name)), re.IGNORECASE)


class Outline(HTMLParser):
    """Headings, ids and the first child of each drawing."""

    def __init__(self):
        super().__init__()
        self.headings, self.ids, self.styles, self.after_svg = [], [], 0, []
        self.opened_svg = False

    def handle_starttag(self, tag, attrs):
        if self.opened_svg:
            self.after_svg.append(tag)
        self.opened_svg = tag == "svg"
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        for key, value in attrs:
            if key == "id":
                self.ids.append(value)
            self.styles += key == "style"


@pytest.mark.parametrize("name", EXAMPLES)
def test_headings_are_not_skipped_and_every_drawing_has_its_title_first(name):
    outline = Outline()
    outline.feed(pack_html(EXAMPLES[name].as_json()))

    assert outline.headings[0] == 1
    assert outline.headings.count(1) == 1
    steps = zip(outline.headings, outline.headings[1:], strict=False)
    assert all(after - before <= 1 for before, after in steps)
    assert set(outline.after_svg) <= {"title"}
    assert len(outline.ids) == len(set(outline.ids))
    assert outline.styles == 0


def test_the_leader_says_its_units_to_the_reader():
    assert "8 ft (2.44 m)" in texts("final")[1]
    assert SUNK.setup.leader.leader_words in texts("sunk")[1]


def test_a_juniors_kit_stands_under_the_name_of_the_one_it_is_for():
    sheets = " ".join(texts_of(pack_pdf(replace(FINAL, in_charge=(IN_CHARGE,)).as_json())))

    assert sheets.count("We lend you, in your size") == 2
    assert sheets.index("We lend you") < sheets.index("Kit for Tom, in your charge")
