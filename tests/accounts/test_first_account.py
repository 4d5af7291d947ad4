import pytest

from guiding.accounts.models import User

pytestmark = pytest.mark.django_db


def test_the_first_account_of_a_house_is_the_guides():
    assert User.objects.create_superuser("ruan", password="a-long-word").is_guide


def test_any_other_account_is_staff_until_a_guide_says_otherwise():
    assert not User.objects.create_user("wren", password="a-long-word").is_guide
