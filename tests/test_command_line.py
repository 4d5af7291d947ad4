import subprocess
import sys

import pytest

from guiding.command_line import moment, number, one_line


def run(*words):
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        capture_output=True,
        text=True,
        check=False,
        env={
            "PATH": "/usr/bin:/bin",
            "SECRET_KEY": "x" * 50,
            "HTTPS": "off",
            "DATABASE_URL": "sqlite://:memory:",
        },
    )


@pytest.mark.parametrize(
    "words",
    [
        ("advise", "Nowhere", "--level-m", "-99"),
        ("advise", "--date", "21.05.2026"),
        ("advise", "--no-such-option"),
        ("brief", "X", "--at", "noon"),
    ],
)
def test_bad_input_ends_in_exit_2_and_one_line(words):
    ended = run(*words)

    assert ended.returncode == 2
    assert ended.stdout == ""
    assert len(ended.stderr.strip().splitlines()) == 1


def test_a_moment_without_an_offset_is_utc():
    assert moment("2026-05-20T18:30").isoformat() == "2026-05-20T18:30:00+00:00"
    assert moment("2026-05-20T18:30+01:00").isoformat() == "2026-05-20T17:30:00+00:00"


@pytest.mark.parametrize("text", ["nan", "inf", "1e400", "-99", "two"])
def test_a_number_out_of_range_or_not_a_number_is_refused(text):
    read = number(-1, 20, "m")

    with pytest.raises(Exception, match=r"not a number|out of range"):
        read(text)


def test_a_message_loses_its_line_breaks_and_control_signs():
    assert one_line("one\ntwo\x1b[31m three") == "one two [31m three"


@pytest.mark.parametrize("text", ["0001-01-01T00:00", "9999-12-31T23:59", "9999-12-31T23:59-12:00"])
def test_a_moment_outside_the_years_that_are_counted_is_refused(text):
    with pytest.raises(Exception, match="out of range"):
        moment(text)
