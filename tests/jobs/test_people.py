"""Accounts, passwords and keys."""

from datetime import timedelta

import pytest
from django.utils import timezone

from jobs.actions import people, shop
from jobs.errors import BadEntry, NotAllowed, NothingChanged, NotNow, Taken
from jobs.models import ApiToken, Event, Mix, Person, Role, Shop, Wrench
from jobs.site import setup_code
from tests.factories import PASSWORD, make_wrench, person

pytestmark = pytest.mark.django_db
NEW = "another long one 42"


def test_the_first_manager_is_made_once_and_with_the_code():
    code = setup_code.make()
    with pytest.raises(people.WrongSetupCode, match="not the set-up code"):
        people.create_first_manager(code="AAAA-BBBB-CCCC", username="ana", password=NEW)
    assert not Person.objects.exists()
    made = people.create_first_manager(code=code.lower(), username="ana", password=NEW)
    assert (made.role, made.check_password(NEW), setup_code.verify(code)) == ("manager", True, False)
    with pytest.raises(NotNow, match="made already"):
        people.create_first_manager(code=setup_code.make(), username="eve", password=NEW)
    assert Person.objects.count() == 1


def test_a_weak_password_makes_no_first_manager_and_keeps_the_code():
    code = setup_code.make()
    with pytest.raises(BadEntry, match="too short"):
        people.create_first_manager(code=code, username="ana", password="short")
    assert setup_code.verify(code)
    assert not Person.objects.exists()


def test_an_account_is_made_by_the_manager():
    made = people.create_person(person(), username="crew.1", password=NEW, role="crew", first_name="Ana")
    assert (made.role, made.is_active, made.is_staff, made.is_superuser) == ("crew", True, False, False)
    assert "Ana" not in str(Event.objects.get(verb="person-made").detail)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"role": "king"}, "one of manager, crew"),
        ({"username": ""}, "username is missing"),
        ({"username": "a b"}, "letters, digits"),
        ({"password": "1234567890"}, "numeric"),
        ({"password": "crew.long.name", "username": "crew.long.name"}, "similar"),
    ],
)
def test_an_impossible_account_is_refused(fields, words):
    manager = person()
    with pytest.raises(BadEntry, match=words):
        people.create_person(manager, **{"username": "new", "password": NEW, "role": "crew", **fields})
    assert Person.objects.count() == 1


def test_a_name_in_use_is_refused_whatever_its_case():
    manager = person(username="Ana")
    with pytest.raises(Taken, match="in use already"):
        people.create_person(manager, username="ana", password=NEW, role="crew")


@pytest.mark.parametrize("role", ["crew", "engineer", "viewer"])
def test_only_the_manager_looks_after_people(role):
    other, victim = person(role), person()
    with pytest.raises(NotAllowed, match="for the shop manager"):
        people.create_person(other, username="new", password=NEW, role="manager")
    with pytest.raises(NotAllowed, match="for the shop manager"):
        people.edit_person(other, by=other, role="manager")
    with pytest.raises(NotAllowed, match="for the shop manager"):
        people.change_password(victim, by=other, new_password=NEW)
    other.refresh_from_db()
    assert (other.role, victim.check_password(PASSWORD), Event.objects.count()) == (role, True, 0)


def test_the_last_manager_stays():
    manager = person()
    for fields in ({"role": "crew"}, {"is_active": False}):
        with pytest.raises(NotNow, match="last manager"):
            people.edit_person(manager, by=manager, **fields)
    second = person()
    assert people.edit_person(manager, by=second, role="crew").role == "crew"


def test_fields_of_power_are_not_edited():
    manager = person()
    with pytest.raises(BadEntry, match="has no is_superuser to change"):
        people.edit_person(manager, by=manager, is_superuser=True)
    with pytest.raises(NothingChanged, match="nothing to save"):
        people.edit_person(manager, by=manager, role="manager")


def test_ones_own_password_needs_the_old_one():
    crew = person(Role.CREW)
    for old in (None, "wrong"):
        with pytest.raises(BadEntry, match="old password is not right"):
            people.change_password(crew, by=crew, new_password=NEW, old_password=old)
    people.change_password(crew, by=crew, new_password=NEW, old_password=PASSWORD)
    crew.refresh_from_db()
    assert crew.check_password(NEW)
    assert NEW not in str(Event.objects.get(verb="password-changed").detail)


def test_a_key_is_shown_once_and_only_its_hash_is_kept():
    crew = person(Role.CREW)
    token, key = people.issue_token(crew, by=crew, label="scale", expires_at=timezone.now() + timedelta(days=30))
    assert key not in str(ApiToken.objects.values())
    assert (token.digest, token.read_only, len(token.digest)) == (people.digest(key), True, 64)
    assert key not in str(Event.objects.get(verb="token-issued").detail)


@pytest.mark.parametrize("days", [-1, 0, 367])
def test_a_key_ends_within_a_year(days):
    crew = person(Role.CREW)
    with pytest.raises(BadEntry, match="to a year from now"):
        people.issue_token(crew, by=crew, label="x", expires_at=timezone.now() + timedelta(days=days, seconds=-1))
    assert not ApiToken.objects.exists()


def test_nobody_makes_a_key_in_anothers_name():
    with pytest.raises(NotAllowed, match="by the person it belongs to"):
        people.issue_token(person(Role.ENGINEER), by=person(), label="x", expires_at=timezone.now() + timedelta(days=1))
    assert not ApiToken.objects.exists()


def test_a_key_is_taken_back_by_its_owner_or_the_manager():
    crew, other = person(Role.CREW), person(Role.CREW)
    token, _ = people.issue_token(crew, by=crew, label="x", expires_at=timezone.now() + timedelta(days=1))
    with pytest.raises(NotAllowed, match="taken back by the person"):
        people.revoke_token(token, by=other)
    token.refresh_from_db()
    assert token.revoked_at is None
    assert people.revoke_token(token, by=person()).revoked_at
    with pytest.raises(NotNow, match="taken back already"):
        people.revoke_token(token, by=crew)


# ---- shop ------------------------------------------------------------------------------------------------------------


def test_the_shop_is_edited_with_before_and_after():
    shop.edit_shop(by=person(), name="Bench & Beam", cube_factor=0.85)
    assert Event.objects.get(verb="shop-edited").detail["after"] == {"name": "Bench & Beam", "cube_factor": 0.85}
    assert Shop.objects.get().name == "Bench & Beam"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"name": ""}, "name is missing"),
        ({"cube_factor": 2}, "0.5 to 1.2"),
        ({"document_size": "a3"}, "US letter or A4"),
        ({"pk": 2}, "has no pk"),
    ],
)
def test_an_impossible_shop_is_refused(fields, words):
    with pytest.raises(BadEntry, match=words):
        shop.edit_shop(by=person(), **fields)
    assert not Event.objects.exists()


def test_a_wrench_is_saved_and_calibrated_anew():
    wrench = make_wrench(name="W1", days=-5)
    later = timezone.localdate() + timedelta(days=300)
    shop.save_wrench(by=person(), name="W1", calibrated_until=later, wrench=wrench)
    wrench.refresh_from_db()
    assert (wrench.calibrated_until, Wrench.objects.count()) == (later, 1)
    with pytest.raises(Taken, match="a wrench W1 already"):
        make_wrench(name="W1")


def test_a_mix_is_named_once_and_crew_changes_nothing_in_the_shop():
    shop.save_mix(by=person(), name="House")
    with pytest.raises(Taken, match="a mix House already"):
        shop.save_mix(by=person(), name="House ")
    crew = person(Role.CREW)
    for act in (
        lambda: shop.save_mix(by=crew, name="B"),
        lambda: shop.edit_shop(by=crew, name="B"),
        lambda: shop.save_wrench(by=crew, name="B", calibrated_until=timezone.localdate()),
    ):
        with pytest.raises(NotAllowed, match="for the shop manager"):
            act()
    assert (Mix.objects.count(), Wrench.objects.count(), Shop.objects.count()) == (1, 0, 0)
