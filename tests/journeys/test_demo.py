"""The demo from nothing, as typed: a fresh folder, the command in a process of its own."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pypdf
import pytest

HOUSE = Path(__file__).resolve().parents[2]
START_WITHIN_S = 60


def surroundings(folder, **others):
    """Return the environment of a fresh box whose own folder lies elsewhere."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return {
        **kept,
        "SECRET_KEY": "only-for-this-test-" + "x" * 40,
        "HTTPS": "off",
        "DATABASE_URL": f"sqlite:///{folder / 'own' / 'demo.sqlite3'}",
        "DOCUMENTS_ROOT": str(folder / "own" / "documents"),
        **others,
    }


def run_demo(folder, *words, **others):
    return subprocess.run(
        [sys.executable, str(HOUSE / "manage.py"), "demo", *words],
        cwd=folder,
        env=surroundings(folder, **others),
        capture_output=True,
        text=True,
        timeout=300,
    )


def packs_named_last(text):
    """Return the unbroken run of pack paths that ends the output."""
    lines = text.rstrip("\n").split("\n")
    found = []
    while lines and re.fullmatch(r"\S+\.pdf", lines[-1]):
        found.append(lines.pop())
    return found[::-1]


@pytest.fixture(scope="module")
def box(tmp_path_factory):
    """Run the demo once from nothing; the tests look at what it left."""
    folder = tmp_path_factory.mktemp("box")
    done = run_demo(folder, "--no-server")
    assert done.returncode == 0, done.stderr
    return folder, done


def contents(folder):
    """Return the bytes of the demo's kept packs by name."""
    return {path.name: path.read_bytes() for path in (folder / "own" / "packs").iterdir()}


def test_from_nothing_its_last_lines_name_at_least_six_packs_that_are_there(box):
    folder, done = box

    packs = packs_named_last(done.stdout)

    assert len(packs) >= 6
    assert len(set(packs)) == len(packs)
    for path in packs:
        reader = pypdf.PdfReader(folder / path)
        assert len(reader.pages) >= 2
        assert "Who to call" in reader.pages[0].extract_text()
    assert {"first", "final"} == {re.search(r"(first|final)-\d+\.pdf$", path)[1] for path in packs}
    assert done.stderr == ""


def test_the_passwords_are_printed_and_kept_for_the_owner_alone(box):
    folder, done = box
    path = folder / "own" / "demo-sign-in"

    kept = dict(line.split() for line in path.read_text().splitlines())

    assert set(kept) == {"guide", "staff"}
    assert path.stat().st_mode & 0o777 == 0o600
    assert f"Sign in as guide with {kept['guide']} or as staff with {kept['staff']}" in done.stdout


def test_letters_go_to_files_whatever_the_box_is_set_up_for(box):
    folder, _ = box

    letters = [path.read_text() for path in (folder / "own" / "mail").iterdir()]

    assert len(letters) >= 6
    assert all("@post.invalid" in letter for letter in letters)
    assert all("http://127.0.0.1:8000/v/" in letter.replace("=\n", "") for letter in letters)


def test_a_second_time_nothing_is_doubled_and_the_site_is_served(box):
    folder, first = box
    before = contents(folder)
    letters_before = len(list((folder / "own" / "mail").iterdir()))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    served = subprocess.Popen(
        [sys.executable, str(HOUSE / "manage.py"), "demo", "--port", str(port)],
        cwd=folder,
        env=surroundings(folder, PYTHONUNBUFFERED="1"),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        address, page = first_page(port)
        third = run_demo(folder, "--port", str(port))
    finally:
        served.send_signal(signal.SIGINT)
        said, complained = served.communicate(timeout=30)

    assert address.endswith("/account/sign-in/?next=/")
    assert "<h1" in page
    assert packs_named_last(said) == packs_named_last(first.stdout)
    assert re.search(r"Sign in .*", said)[0] == re.search(r"Sign in .*", first.stdout)[0]
    assert f"http://127.0.0.1:{port}/" in said
    assert complained == ""
    assert served.returncode == 0
    assert contents(folder) == before
    assert len(list((folder / "own" / "mail").iterdir())) == letters_before
    assert third.returncode == 2
    assert third.stderr.startswith(f"Port {port} on 127.0.0.1 cannot be used")
    assert third.stderr.count("\n") == 1


def first_page(port):
    """Wait for the site and return where `/` leads and what is there."""
    until = time.monotonic() + START_WITHIN_S
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
                return answer.url, answer.read().decode()
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


def test_a_box_without_pango_is_told_what_to_install_and_nothing_is_written(tmp_path):
    fake = tmp_path / "fake" / "weasyprint"
    fake.mkdir(parents=True)
    (fake / "__init__.py").write_text(
        "print('a page of advice')\nraise OSError(\"cannot load library 'libpango-1.0-0'\")\n"
    )

    done = run_demo(tmp_path, "--no-server", PYTHONPATH=str(fake.parent))

    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    for word in ("libpangoft2-1.0-0", "libharfbuzz-subset0", "brew install pango"):
        assert word in done.stderr
    assert not (tmp_path / "own").exists()
