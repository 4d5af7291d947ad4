import pytest

from briefings.pack.lettering import LONG, SHORT, printable
from briefings.pack.pdf import letters


@pytest.mark.parametrize(
    "name",
    [
        "Łukasz Żółć",
        "Bjørn Ødegård",
        "Ásta Þórðardóttir",
        "Ğülşen",
        "Ştefan Țiriac",
        "Dvořák",
        "l’Œuvre",
    ],
)
def test_names_of_europe_are_printed_as_they_are(name):
    assert printable(name, letters()) == name


@pytest.mark.parametrize(
    ("given", "printed"),
    [
        ("王小明 Wang", "[?] Wang"),
        ("Ida 🎣🎣", "Ida [?]"),
        ("Ĉiela", "C\u0302iela"),  # the letter and its mark apart
        ("ab\u202ecd", "abcd"),  # a direction override
        ("a\x00b\x07c", "abc"),
        ("one\u2028two\tthree", "one two three"),
        ("10 °C – ½ × 3 ≥ 2 µg", "10 °C – ½ × 3 ≥ 2 µg"),
        ("fi\u200bsh", "fish"),
        ("Ḳadir", "Kadir"),
    ],
)
def test_signs_without_a_letter_become_something_that_prints(given, printed):
    assert printable(given, letters()) == printed


def test_everything_inside_is_reached_and_the_rest_stays():
    value = {"a": ["\x00x", 3, None, 2.5, True], "b": {"c": ("y", "王")}}

    assert printable(value, letters()) == {
        "a": ["x", 3, None, 2.5, True],
        "b": {"c": ["y", "[?]"]},
    }


def test_a_name_without_end_is_cut_and_says_so():
    cut = printable({"reader": "x" * 10_000, "text": "y" * 10_000}, letters())

    assert cut == {"reader": "x" * SHORT + " … (cut)", "text": "y" * LONG + " … (cut)"}


def test_the_font_has_what_the_house_writes():
    wanted = set("abcxyzABCXYZ0123456789 .,:;'\"()[]?!/+-=%&–—…“”‘’°½×≤≥·\u00a0\u202f\u2011")

    assert {sign for sign in wanted if ord(sign) not in letters()} == set()
