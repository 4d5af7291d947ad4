"""What every test may use: the profile, and the fixed moment."""

import shutil
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, settings

from tests import postgres, races

settings.register_profile(
    "commit", max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "soak", max_examples=2000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)


def pytest_addoption(parser):
    parser.addoption(
        "--profile", choices=["commit", "soak"], default="commit", help="same tests, other numbers"
    )


def pytest_configure(config):
    settings.load_profile(config.getoption("--profile"))


@pytest.fixture(scope="session")
def rounds(pytestconfig):
    """Return a chooser: rounds(500, 10_000) is 500 in the commit profile, 10,000 in the soak."""
    is_soak = pytestconfig.getoption("--profile") == "soak"
    return lambda commit, soak: soak if is_soak else commit


@pytest.fixture
def moment():
    """Return the moment most tests are set at: a May morning."""
    return datetime(2026, 5, 20, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory):
    """Return a database file with the house's tables in it, to be copied."""
    path = tmp_path_factory.mktemp("tables") / "house.sqlite3"
    races.migrate(f"sqlite:///{path}")
    return path


@pytest.fixture
def sqlite_url(sqlite_template, tmp_path):
    """Return the address of a database file of the test's own, tables laid."""
    return f"sqlite:///{shutil.copy(sqlite_template, tmp_path / 'own.sqlite3')}"


@pytest.fixture(scope="session")
def postgres_server():
    """Return a throw-away PostgreSQL; where there is none the test fails, it never skips."""
    with postgres.running() as server:
        races.migrate(server.url("template1"))
        yield server


@pytest.fixture
def postgres_url(postgres_server):
    """Return the address of a database of the test's own on a real PostgreSQL, tables laid."""
    return postgres_server.new_database()
