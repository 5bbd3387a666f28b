"""The table of permissions, and the only doors to a row."""

import pytest
from django.contrib.auth.models import AnonymousUser

from jobs import access
from jobs.errors import NotAllowed, Unknown
from jobs.models import Role, Stage
from tests.factories import make_design, make_order, person, piece_at, token

pytestmark = pytest.mark.django_db

EXPECTED = {
    "manager": {
        "view",
        "order",
        "attach",
        "specify",
        "release",
        "move",
        "produce",
        "plan test",
        "hold",
        "resume",
        "reject",
        "pass",
        "people",
        "shop",
        "token",
        "share",
        "export",
    },
    "crew": {"view", "attach", "move", "produce", "plan test", "hold", "token", "export"},
    "engineer": {
        "view",
        "attach",
        "specify",
        "release",
        "move",
        "plan test",
        "hold",
        "resume",
        "reject",
        "dispose",
        "pass",
        "token",
        "export",
    },
    "viewer": {"view", "token", "export"},
}


@pytest.mark.parametrize("role", Role.values)
def test_each_role_may_just_this(role):
    assert {name for name in access.PERMISSIONS if access.may(person(role), name)} == EXPECTED[role]


@pytest.mark.parametrize("role", Role.values)
def test_a_closed_account_may_nothing(role):
    closed = person(role, is_active=False)
    assert not any(access.may(closed, name) for name in access.PERMISSIONS)


def test_nobody_may_nothing():
    assert not any(access.may(AnonymousUser(), name) for name in access.PERMISSIONS)


def test_a_permission_that_is_not_in_the_table_is_a_fault_not_a_no():
    with pytest.raises(KeyError, match="fly"):
        access.may(person(), "fly")


def test_moves_by_role_cover_the_line():
    assert set(access.MOVES_TO[Role.CREW]) | set(access.MOVES_TO[Role.ENGINEER]) == set(access.LINE)
    assert Stage.HELD not in access.MOVES_TO[Role.MANAGER]


def test_what_is_not_there_is_unknown():
    for pk in (0, 999, -1, 10**30, "x", None):
        with pytest.raises(Unknown, match="There is no piece with that number"):
            access.piece_for(person(), pk)


def test_what_may_be_seen_but_not_done_is_refused_in_words():
    design = make_design()
    viewer = person(Role.VIEWER)
    assert access.design_for(viewer, design.pk) == design
    with pytest.raises(NotAllowed, match="This is for the shop manager or an engineer; your account may not do it"):
        access.design_for(viewer, design.pk, may="specify")


def test_to_a_stranger_everything_is_unknown():
    order = make_order()
    with pytest.raises(Unknown, match="There is no such thing"):
        access.order_for(AnonymousUser(), order.pk)


def test_every_door_opens():
    manager, piece = person(), piece_at("poured")
    assert access.piece_for(manager, piece.pk, may="move") == piece
    assert access.pour_for(manager, piece.pour.pk) == piece.pour
    assert access.revision_for(manager, piece.revision.pk) == piece.revision
    assert access.check_run_for(manager, piece.revision.specification.check_runs.get().pk)
    assert access.person_for(manager, manager.pk) == manager


def test_a_key_of_another_is_unknown_but_to_the_manager():
    crew, other = person(Role.CREW), person(Role.CREW)
    token(crew)
    key = crew.api_tokens.get()
    with pytest.raises(Unknown, match="no api token"):
        access.token_for(other, key.pk)
    assert access.token_for(crew, key.pk) == access.token_for(person(), key.pk) == key
