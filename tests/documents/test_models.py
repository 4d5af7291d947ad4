"""Kept files lie under their own hash, and a changed one is noticed."""

import hashlib
import stat

import pytest

from guiding.documents.models import Document, DocumentChanged
from tests.factories import make_document

pytestmark = pytest.mark.django_db

DATA = b"%PDF-1.7\r\n\x00\xff pack"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DOCUMENTS_ROOT = tmp_path / "kept"


def test_bytes_come_back_as_they_were_kept(moment):
    document = make_document(data=DATA, name="pack.pdf", at=moment)

    again = Document.objects.get(key=document.key)

    assert again.read() == DATA
    assert again.sha256 == hashlib.sha256(DATA).hexdigest()
    assert (again.size_bytes, again.media_type) == (len(DATA), "application/pdf")
    assert again.written_at == moment


def test_the_same_bytes_kept_twice_are_two_rows_and_one_file(settings):
    one, two = make_document(data=DATA), make_document(data=DATA)

    files = [path for path in settings.DOCUMENTS_ROOT.rglob("*") if path.is_file()]

    assert one.key != two.key
    assert files == [one.path] == [two.path]


@pytest.mark.parametrize("change", [b"", DATA + b"x", DATA[:-1], DATA.swapcase()])
def test_changed_bytes_are_never_handed_out(change):
    document = make_document(data=DATA, name="pack.pdf")
    document.path.write_bytes(change)

    with pytest.raises(DocumentChanged, match=r"pack\.pdf: the file on disk is not the one"):
        document.read()


def test_a_lost_file_is_an_error_and_not_an_empty_document():
    document = make_document(data=DATA)
    document.path.unlink()

    with pytest.raises(FileNotFoundError):
        document.read()


def test_keeping_the_same_bytes_again_mends_a_damaged_file():
    document = make_document(data=DATA)
    document.path.write_bytes(b"another")

    again = make_document(data=DATA)

    assert again.read() == document.read() == DATA


def test_the_files_are_for_the_house_alone(settings):
    document = make_document(data=DATA)

    assert stat.S_IMODE(document.path.parent.stat().st_mode) == 0o700
    assert stat.S_IMODE(document.path.stat().st_mode) & 0o077 == 0


def test_a_name_never_decides_where_a_file_lies(settings):
    document = make_document(data=DATA, name="../../etc/passwd")

    assert document.path.is_relative_to(settings.DOCUMENTS_ROOT)
    assert "passwd" not in str(document.path)
