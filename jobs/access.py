"""Who may do what, as a table; and the only way to fetch something on a person's behalf.

`piece_for` and its like answer `Unknown` (404) for what is not there and `NotAllowed` (403), with words, for what may
be seen but not done. Views and the API have no other way to a row, so they cannot forget to ask.
"""

from __future__ import annotations

from typing import Any, TypeVar

from django.db.models import Model, QuerySet

from engineering.models import CheckRun, Study
from jobs.errors import NotAllowed, Unknown
from jobs.models import (
    ApiToken,
    Attachment,
    Design,
    NonConformance,
    Order,
    Person,
    Photo,
    Piece,
    Pour,
    Revision,
    Role,
    ShopTablet,
    Stressing,
)
from jobs.stages import LINE, Stage
from jobs.words import Words, say

MANAGER, CREW, ENGINEER, VIEWER = Role.MANAGER, Role.CREW, Role.ENGINEER, Role.VIEWER
OFFICE = (Role.MANAGER,)
DRAWING = (Role.MANAGER, Role.ENGINEER)
FLOOR = (Role.MANAGER, Role.CREW)

PERMISSIONS: dict[str, tuple[Role, ...]] = {
    "view": (MANAGER, CREW, ENGINEER, VIEWER),
    "order": OFFICE,  # make, edit, archive orders; add pieces; remake
    "specify": DRAWING,  # make designs and revisions, run checks again
    "release": DRAWING,  # gates decide which verdict each of them may accept
    "move": (MANAGER, CREW, ENGINEER),  # to which stages: MOVES_TO
    "produce": FLOOR,  # everything written down on the floor
    "plan test": (MANAGER, CREW, ENGINEER),  # where the load of a load test goes, and when to stop
    "hold": (MANAGER, CREW, ENGINEER),
    "resume": DRAWING,
    "reject": DRAWING,
    "dispose": (ENGINEER,),  # of a non-conformance: repair, use as is, remake
    "pass": DRAWING,  # over what a gate lets them pass over: `jobs.passes`
    "people": OFFICE,
    "shop": OFFICE,  # name, mixes, wrenches
    "token": (MANAGER, CREW, ENGINEER, VIEWER),  # one's own keys; they carry one's own role
    "share": OFFICE,  # links for people outside
    "attach": (MANAGER, CREW, ENGINEER),  # a file to an order or a piece; taken off by whoever kept it or the office
    "export": (MANAGER, CREW, ENGINEER, VIEWER),
}

FROM_FORMED_ON: tuple[Stage, ...] = LINE[LINE.index(Stage.FORMED) :]
BEFORE_FORMED: tuple[Stage, ...] = LINE[: LINE.index(Stage.FORMED)]
MOVES_TO: dict[str, tuple[Stage, ...]] = {
    MANAGER: LINE,
    CREW: FROM_FORMED_ON,
    ENGINEER: BEFORE_FORMED,
    VIEWER: (),
}

NAMES = {MANAGER: say("the shop manager"), CREW: say("the crew"), ENGINEER: say("an engineer")}


def _one_of(roles: tuple[Role, ...]) -> Words:
    first, *others = (NAMES[role] for role in roles if role != VIEWER)
    for name in others:
        first = say("{one} or {other}", one=first, other=name)
    return first


WHO_MAY: dict[str, Words] = {name: _one_of(roles) for name, roles in PERMISSIONS.items()}

Row = TypeVar("Row", bound=Model)


def may(person: Any, permission: str) -> bool:
    """True if the person's role has the permission. KeyError for a permission that is not in the table."""
    roles = PERMISSIONS[permission]
    return bool(getattr(person, "is_authenticated", False) and person.is_active and person.role in roles)


def may_move(person: Any, to_stage: str) -> bool:
    return may(person, "move") and to_stage in MOVES_TO[person.role]


def need(person: Any, permission: str) -> None:
    """Raise NotAllowed unless the person may."""
    if not may(person, permission):
        who = WHO_MAY[permission]
        raise NotAllowed(say("This is for {who}; your account may not do it. Ask the shop manager.", who=who))


def need_move(person: Any, to_stage: str) -> None:
    if not may_move(person, to_stage):
        words = say("Your account may not move a piece to {to_stage}. Ask the shop manager.", to_stage=to_stage)
        raise NotAllowed(words)


def row_for(person: Any, rows: QuerySet[Row], pk: Any, permission: str) -> Row:
    """One row of `rows`: Unknown where the person may not even look or it is not there, NotAllowed where they may
    only look.
    """
    if not may(person, "view"):
        raise Unknown
    try:
        row = rows.filter(pk=pk).first()
    except (TypeError, ValueError, OverflowError):
        row = None
    if row is None:
        raise Unknown(f"There is no {rows.model._meta.verbose_name} with that number here.")
    need(person, permission)
    return row


def order_for(person: Any, pk: Any, may: str = "view") -> Order:
    return row_for(person, Order.objects.all(), pk, may)


def design_for(person: Any, pk: Any, may: str = "view") -> Design:
    return row_for(person, Design.objects.select_related("order"), pk, may)


def revision_for(person: Any, pk: Any, may: str = "view") -> Revision:
    return row_for(person, Revision.objects.select_related("design__order", "specification", "made_by"), pk, may)


def check_run_for(person: Any, pk: Any, may: str = "view") -> CheckRun:
    return row_for(person, CheckRun.objects.select_related("specification__revision__design__order"), pk, may)


def study_for(person: Any, pk: Any, may: str = "view") -> Study:
    """A study of some revision."""
    rows = Study.objects.filter(specification__revision__isnull=False)
    return row_for(person, rows.select_related("specification__revision__design__order"), pk, may)


def piece_for(person: Any, pk: Any, may: str = "view") -> Piece:
    return row_for(person, Piece.objects.select_related("design__order", "revision__specification", "pour"), pk, may)


def pour_for(person: Any, pk: Any, may: str = "view") -> Pour:
    return row_for(person, Pour.objects.select_related("mix"), pk, may)


def stressing_for(person: Any, pk: Any, may: str = "view") -> Stressing:
    return row_for(person, Stressing.objects.select_related("piece__design__order", "revision", "wrench"), pk, may)


def non_conformance_for(person: Any, pk: Any, may: str = "view") -> NonConformance:
    rows = NonConformance.objects.select_related("piece__design__order", "piece__revision__specification", "by")
    return row_for(person, rows, pk, may)


def photo_for(person: Any, pk: Any, may: str = "view") -> Photo:
    return row_for(person, Photo.objects.all(), pk, may)


def sees_what_was_taken_off(person: Any) -> bool:
    return may(person, "order")


def attachment_for(person: Any, pk: Any, may: str = "view") -> Attachment:
    """What was taken off is there for the office alone."""
    rows = Attachment.objects.select_related("order", "piece__design__order", "by", "removal__by")
    if not sees_what_was_taken_off(person):
        rows = rows.filter(removal=None)
    return row_for(person, rows, pk, may)


def person_for(person: Any, pk: Any, may: str = "people") -> Person:
    return row_for(person, Person.objects.all(), pk, may)


def tablet_for(person: Any, pk: Any, may: str = "shop") -> ShopTablet:
    return row_for(person, ShopTablet.objects.all(), pk, may)


def token_for(person: Any, pk: Any) -> ApiToken:
    """One's own key, or anybody's for those who look after the people."""
    rows = ApiToken.objects.all() if may(person, "people") else ApiToken.objects.filter(person=person)
    return row_for(person, rows, pk, "token")
