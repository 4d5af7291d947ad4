"""What the demo refuses: other people's databases and ports, with nothing changed."""

import socket

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from guiding.accounts.models import User
from guiding.clients.models import Person
from guiding.desk.demo.database import anchor_on_file, stranger_in_database
from guiding.history.models import Event


def test_an_empty_database_is_nobodys(db):
    assert stranger_in_database() is None
    assert anchor_on_file() is None


def test_a_database_with_somebodys_row_is_refused_and_left_as_it_was(db):
    Person.objects.create(name="Ada Reed")

    with pytest.raises(CommandError, match=r"not the demo's: it holds people\.") as refusal:
        call_command("demo", "--no-server")

    assert refusal.value.returncode == 2
    assert Person.objects.get().name == "Ada Reed"
    assert not Event.objects.exists()
    assert not User.objects.exists()


def test_a_database_with_somebody_elses_table_is_refused(db):
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE ledger_of_a_shop (id integer)")

    with pytest.raises(CommandError, match=r"not Spatebook's \(ledger_of_a_shop\)"):
        call_command("demo", "--no-server")


def test_a_port_in_use_is_refused_before_anything_is_written(db):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        with pytest.raises(CommandError, match=f"Port {port} on 127.0.0.1 cannot be used"):
            call_command("demo", "--port", str(port))

    assert not Event.objects.exists()


@pytest.mark.parametrize("port", ["0", "65536", "eighty", "-1"])
def test_a_port_that_is_none_is_refused(db, port):
    with pytest.raises(CommandError, match="is not a port; it is 1 to 65535"):
        call_command("demo", f"--port={port}")
