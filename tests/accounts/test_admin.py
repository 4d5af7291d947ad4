"""The records: staff write in them, only a guide gives roles, and what was frozen stays frozen."""

import pytest
from django.contrib import admin
from django.urls import reverse

from briefings.models import Briefing, SetUpRule
from guiding.accounts.models import User
from guiding.bookings.models import Booking, PartyMember, Place, RodPlace, TripDay
from guiding.clients.models import Person
from guiding.documents.models import Document
from guiding.gauges.models import Forecast, Gauge, Reading, ReadingImport, Series, WeatherRun
from guiding.history.models import Event
from guiding.mail.models import Letter
from guiding.visits.models import PrivateLink, Visit
from tests import factories

FROZEN = (Booking, Place, Briefing, Document, Event, Letter, Forecast, ReadingImport, WeatherRun)
NEVER_ALONE = (TripDay, PartyMember, RodPlace, Reading, Series, Visit)


@pytest.fixture
def staff(db):
    return User.objects.create_user("staff", role="staff", is_staff=True)


@pytest.fixture
def guide(db):
    return User.objects.create_user("guide", role="guide", is_staff=True)


def address(model, verb, *arguments):
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{verb}", args=arguments)


@pytest.mark.parametrize("model", FROZEN, ids=lambda model: model.__name__)
@pytest.mark.parametrize("name", ["guide", "staff"])
def test_nobody_adds_a_frozen_row_through_the_records(client, guide, staff, model, name):
    client.force_login({"guide": guide, "staff": staff}[name])

    assert client.get(address(model, "changelist")).status_code == 200
    assert client.get(address(model, "add")).status_code == 403
    assert client.post(address(model, "add"), {}).status_code == 403


@pytest.mark.parametrize("model", NEVER_ALONE, ids=lambda model: model.__name__)
def test_rows_that_belong_to_another_have_no_page_of_their_own(model):
    assert not admin.site.is_registered(model)


def test_a_letter_and_a_booking_are_shown_but_not_changed(client, guide):
    client.force_login(guide)
    for row in (factories.make_letter(), factories.make_booking(), factories.make_briefing()):
        page = address(type(row), "change", row.pk)

        assert client.get(page).status_code == 200
        assert client.post(page, {"subject": "other", "reference": "other"}).status_code == 403
        assert client.post(address(type(row), "delete", row.pk), {"post": "yes"}).status_code == 403
        assert type(row).objects.filter(pk=row.pk).exists()


def test_a_private_link_is_revoked_but_neither_made_nor_deleted(client, guide):
    client.force_login(guide)
    link = factories.make_link_row()
    change = address(PrivateLink, "change", link.pk)

    client.post(change, {"revoked_at_0": "2026-05-20", "revoked_at_1": "10:00"})

    link.refresh_from_db()
    assert link.revoked_at is not None
    assert client.get(address(PrivateLink, "add")).status_code == 403
    assert client.post(address(PrivateLink, "delete", link.pk)).status_code == 403


def test_a_gauge_keeps_its_record(client, guide):
    client.force_login(guide)
    gauge = factories.make_gauge()

    assert client.post(address(Gauge, "delete", gauge.pk), {"post": "yes"}).status_code == 403
    assert client.get(address(Gauge, "change", gauge.pk)).status_code == 200


def test_staff_write_people_and_rules_but_give_nobody_a_role(client, staff, guide):
    client.force_login(staff)

    assert client.get(address(Person, "add")).status_code == 200
    assert client.get(address(SetUpRule, "changelist")).status_code == 200
    assert client.get(address(User, "changelist")).status_code == 200
    assert client.get(address(User, "add")).status_code == 403
    change = address(User, "change", staff.pk)
    assert client.post(change, {"username": "staff", "role": "guide"}).status_code == 403
    staff.refresh_from_db()
    assert staff.role == "staff"


def test_the_guide_gives_roles(client, guide, staff):
    client.force_login(guide)
    change = address(User, "change", staff.pk)

    client.post(
        change,
        {
            "username": "staff",
            "role": "guide",
            "units": "metric",
            "is_staff": "on",
            "is_active": "on",
        },
    )

    staff.refresh_from_db()
    assert staff.role == "guide"


@pytest.mark.parametrize("off", ["is_staff", "is_active"])
def test_whoever_is_not_let_in_has_no_permission_at_all(guide, off):
    assert guide.has_perm("clients.add_person")
    setattr(guide, off, False)

    assert not guide.has_perm("clients.add_person")
    assert not guide.has_module_perms("clients")


def test_who_is_signed_in_but_not_let_in_does_not_see_the_records(client, db):
    client.force_login(User.objects.create_user("helper", role="staff"))

    answer = client.get("/admin/", follow=True)

    assert (
        "The records" not in answer.content.decode() or "log in" in answer.content.decode().lower()
    )
    assert client.get(address(Person, "changelist")).status_code == 302


def test_a_rule_that_cannot_be_read_is_refused_in_words(client, guide):
    client.force_login(guide)
    rule = SetUpRule.objects.first()

    answer = client.post(
        address(SetUpRule, "change", rule.pk),
        {
            "name": rule.name,
            "rank": rule.rank,
            "order": rule.order,
            "when": '{"moon": "full"}',
            "asks": "{}",
            "says": rule.says,
            "label": rule.label,
            "source": rule.source,
            "is_on": "on",
        },
    )

    assert answer.status_code == 200
    assert "moon" in answer.content.decode()
    rule.refresh_from_db()
    assert rule.when != {"moon": "full"}
