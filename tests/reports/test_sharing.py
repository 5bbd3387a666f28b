"""A link for somebody outside opens what was chosen for it, while it is open, and nothing else whatever is tried."""

from __future__ import annotations

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from jobs.errors import BadEntry, NotAllowed, NotNow
from jobs.models import Event, Piece, Role, Stage
from reports import sharing
from reports.callers import ALLOWED_PER_MINUTE, MOST_WRONG_CODES
from reports.models import IssuedRecord, RecordKind, SharedAccess, SharingLink
from tests.factories import make_design, person, piece_at
from tests.reports.issuing import issued
from tests.reports.test_piece_records import checked_design, made
from tests.security.site_map import places, rows_of_a_shop

pytestmark = pytest.mark.django_db
MONTH = timedelta(days=30)


@pytest.fixture(autouse=True)
def _no_counts():
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def piece() -> Piece:
    return piece_at(Stage.POURED, checked_design())


@pytest.fixture
def ticket(piece) -> IssuedRecord:
    return made(piece, RecordKind.POUR)


def link(piece: Piece, *records: IssuedRecord, **fields) -> tuple[SharingLink, str]:
    values = {"by": person(), "label": "the inspector", "expires_at": timezone.now() + MONTH, "pieces": [piece]}
    return sharing.share(piece.design.order, records=records, **{**values, **fields})


def get(name: str, *args: object, key: str, client: Client | None = None):
    return (client or Client()).get(reverse(name, args=args), {"key": key})


def outcomes(made_link: SharingLink) -> list[tuple[str, str]]:
    return [(row.what, row.outcome) for row in made_link.accesses.order_by("pk")]


def test_the_chosen_piece_and_record_are_there_without_a_sign_in_and_every_use_is_logged(piece, ticket):
    opened, code = link(piece, ticket)
    page = get("shared", key=code)
    assert page.status_code == 200
    text = page.content.decode()
    assert str(piece) in text
    assert ticket.number in text
    looked = get("shared_piece", piece.pk, key=code)
    assert looked.status_code == 200
    assert "<svg" in looked.content.decode()
    assert piece.pour.batch in looked.content.decode()
    file = get("shared_record", ticket.number, key=code)
    assert file.content == ticket.path.read_bytes()
    assert file["Content-Type"] == "application/pdf"
    given = SharedAccess.Given.GIVEN
    assert outcomes(opened) == [("list", given), (f"piece {piece}", given), (f"record {ticket.number}", given)]
    assert {row.address for row in opened.accesses.all()} == {"127.0.0.1"}
    event = Event.objects.get(verb="shared-record-taken")
    assert (event.by, event.piece, event.detail["sha256"]) == (None, piece, ticket.sha256)
    for answer in (page, looked, file):
        assert "no-store" in answer["Cache-Control"]
    assert page["X-Robots-Tag"] == "noindex, nofollow"
    assert page["Referrer-Policy"] == "same-origin"


def test_the_code_is_kept_as_its_hash_alone(piece):
    opened, code = link(piece)
    letters = sharing.plain_code(code)
    stored = str([*SharingLink.objects.values(), *Event.objects.values(), *SharedAccess.objects.values()])
    assert code not in stored
    assert letters not in stored
    assert len(opened.digest) == 64
    assert len(letters) == 20
    assert {link(piece)[1] for _ in range(50)}.isdisjoint({code})


def test_a_code_is_read_as_people_type_it(piece):
    _, code = link(piece)
    for typed in (code, code.lower(), code.replace("-", ""), code.replace("-", " "), f"  {code} "):
        answer = Client().post(reverse("shared"), {"code": typed})
        assert answer.status_code == 302
        assert Client().get(answer["Location"]).status_code == 200
    swapped = code.replace("0", "O").replace("1", "l")
    assert sharing.link_of(swapped) == sharing.link_of(code)


@given(st.text(max_size=120))
def test_any_text_is_a_code_or_nothing(text):
    letters = sharing.plain_code(text)
    assert letters == "" or re.fullmatch("[0-9A-HJKMNP-TV-Z]{20}", letters)


@pytest.mark.parametrize("key", ["", "x", "AAAA-AAAA-AAAA-AAAA-AAAA", "\0" * 20, "9" * 5_000, "🪨" * 20, "' OR 1=1 --"])
def test_a_guessed_code_opens_nothing_and_leaves_nothing(piece, ticket, key):
    opened, _ = link(piece, ticket)
    for answer in (
        get("shared", key=key),
        get("shared_piece", piece.pk, key=key),
        get("shared_record", ticket.number, key=key),
        Client().post(reverse("shared"), {"code": key}),
    ):
        assert answer.status_code in (404, 422)
        assert str(piece) not in answer.content.decode()
        assert b"%PDF" not in answer.content
    assert not opened.accesses.exists()
    assert not Event.objects.filter(verb="shared-record-taken").exists()


def test_without_a_code_there_is_nothing_but_the_question_for_one(piece, ticket):
    opened, _ = link(piece, ticket)
    assert Client().get(reverse("shared")).status_code == 200
    for name, what in (("shared_piece", piece.pk), ("shared_record", ticket.number)):
        answer = Client().get(reverse(name, args=[what]))
        assert answer.status_code == 404
        assert str(piece) not in answer.content.decode()
    assert not opened.accesses.exists()


def test_guessing_is_stopped_even_for_the_right_code_and_others_are_not_shut_out(piece):
    opened, code = link(piece)
    client = Client(REMOTE_ADDR="192.0.2.7")
    for n in range(MOST_WRONG_CODES):
        assert get("shared", key=f"{n:020d}", client=client).status_code == 404
    assert get("shared", key=code, client=client).status_code == 429
    assert client.post(reverse("shared"), {"code": code}).status_code == 429
    assert not opened.accesses.exists()
    assert get("shared", key=code, client=Client(REMOTE_ADDR="192.0.2.8")).status_code == 200


def test_even_the_right_code_has_an_allowance(piece):
    opened, code = link(piece)
    client = Client(REMOTE_ADDR="192.0.2.9")
    codes = [get("shared", key=code, client=client).status_code for _ in range(ALLOWED_PER_MINUTE["shared"] + 1)]
    assert set(codes[:-1]) == {200}
    assert codes[-1] == 429
    assert opened.accesses.count() == ALLOWED_PER_MINUTE["shared"]


@pytest.mark.parametrize("how", ["ended", "revoked"])
def test_a_link_that_ended_or_was_revoked_opens_nothing_and_the_try_is_logged(piece, ticket, how):
    opened, code = link(piece, ticket)
    if how == "ended":
        SharingLink.objects.filter(pk=opened.pk).update(expires_at=timezone.now())
    else:
        sharing.revoke(opened, by=person())
    for name, args in (("shared", ()), ("shared_piece", (piece.pk,)), ("shared_record", (ticket.number,))):
        answer = get(name, *args, key=code)
        assert answer.status_code == 410
        assert str(piece) not in answer.content.decode()
        assert b"%PDF" not in answer.content
    assert [outcome for _, outcome in outcomes(opened)] == [how] * 3
    assert not Event.objects.filter(verb="shared-record-taken").exists()


def test_a_link_is_no_use_for_another_piece_or_record(piece, ticket):
    other = piece_at(Stage.POURED, checked_design())
    theirs = made(other, RecordKind.POUR)
    label = made(piece, RecordKind.LABEL)  # of the same piece, but not chosen
    opened, code = link(piece, ticket)
    their_link, _ = link(other, theirs)
    for name, what in (
        ("shared_piece", other.pk),
        ("shared_piece", 0),
        ("shared_piece", 10**30),
        ("shared_record", theirs.number),
        ("shared_record", label.number),
        ("shared_record", f"LB-{ticket.pk:06d}"),  # the chosen row's number under another kind
        ("shared_record", "DR-" + "9" * 30),
        ("shared_record", "\0"),
    ):
        answer = get(name, what, key=code)
        assert answer.status_code == 404, what
        assert str(other) not in answer.content.decode()
        assert b"%PDF" not in answer.content
    assert {outcome for _, outcome in outcomes(opened)} == {SharedAccess.Given.NOT_CHOSEN}
    assert opened.accesses.count() == 8
    assert not their_link.accesses.exists()
    assert not Event.objects.filter(verb="shared-record-taken").exists()


def test_a_link_opens_no_other_page_of_the_site(piece, ticket):
    """Every address of the site with the key on it, as with none: the key gives no way in anywhere else."""
    _, code = link(piece, ticket)
    rows, let_in = rows_of_a_shop(), []
    for place in places():
        cache.clear()
        if place.name in ("shared", "shared_piece", "shared_record"):
            continue
        address = place.address(rows)
        without, having = Client().get(address), Client().get(address, {"key": code})
        same = without.status_code == having.status_code and "sessionid" not in having.cookies
        if not same:
            let_in.append(place.name)
    assert let_in == []
    client = Client()
    get("shared", key=code, client=client)
    assert "sessionid" not in client.cookies
    assert client.get(reverse("piece", args=[piece.pk])).status_code == 302


def test_a_file_that_is_gone_or_altered_is_not_handed_out(piece, ticket):
    opened, code = link(piece, ticket)
    ticket.path.write_bytes(b"%PDF-something else")
    assert get("shared_record", ticket.number, key=code).status_code == 404
    ticket.path.unlink()
    assert get("shared_record", ticket.number, key=code).status_code == 404
    assert [outcome for _, outcome in outcomes(opened)] == [SharedAccess.Given.NO_FILE] * 2
    assert not Event.objects.filter(verb="shared-record-taken").exists()


def test_a_superseded_record_says_so(piece, ticket):
    from tests.factories import strength_test

    _, code = link(piece, ticket)
    strength_test(piece)
    later = made(piece, RecordKind.POUR)
    text = get("shared", key=code).content.decode()
    assert "Superseded" in text
    assert f"record {later.number}" in text
    assert reverse("shared_record", args=[later.number]) not in text


def test_making_and_revoking_are_events_and_a_link_is_never_deleted(piece, ticket):
    by, tap = person(), uuid4()
    opened, code = link(piece, ticket, by=by, request_id=tap)
    again, nothing = link(piece, ticket, by=by, request_id=tap)
    assert (again, nothing) == (opened, "")
    event = Event.objects.get(verb="link-made")
    assert (event.by, event.order, event.detail["pieces"], event.detail["records"]) == (
        by, piece.design.order, [piece.pk], [ticket.pk],
    )  # fmt: skip
    sharing.revoke(opened, by=by)
    with pytest.raises(NotNow):
        sharing.revoke(opened, by=by)
    assert Event.objects.filter(verb="link-revoked").count() == 1
    with pytest.raises(TypeError, match="never deleted"):
        opened.delete()
    assert sharing.link_of(code).state == "revoked"
    with pytest.raises(IntegrityError), transaction.atomic():
        SharingLink.objects.filter(pk=opened.pk).update(revoked_by=None)


@pytest.mark.parametrize("role", [Role.CREW, Role.ENGINEER, Role.VIEWER])
def test_others_than_the_manager_make_and_revoke_none(piece, role):
    with pytest.raises(NotAllowed):
        link(piece, by=person(role))
    assert not SharingLink.objects.exists()
    opened, code = link(piece)
    with pytest.raises(NotAllowed):
        sharing.revoke(opened, by=person(role))
    client = Client()
    client.force_login(person(role))
    for name, pk in (("order_sharing", piece.design.order_id), ("sharing_link", opened.pk)):
        assert client.get(reverse(name, args=[pk])).status_code == 403
    assert client.post(reverse("sharing_revoke", args=[opened.pk])).status_code == 403
    assert get("shared", key=code).status_code == 200


def test_what_cannot_be_shared_is_refused_and_no_link_is_made(piece, ticket):
    order = piece.design.order
    other = piece_at(Stage.ORDERED, make_design())
    waiting = IssuedRecord.objects.get(pk=ticket.pk)
    waiting.status = "waiting"
    now = timezone.now()
    good = {"by": person(), "label": "x", "expires_at": now + MONTH, "pieces": [piece], "records": [ticket]}
    for wrong in (
        {"pieces": [], "records": []},
        {"pieces": [other]},
        {"records": [issued()]},
        {"records": [waiting]},
        {"expires_at": now},
        {"expires_at": now + timedelta(days=367)},
        {"label": " "},
        {"label": "x" * 81},
        {"label": "a\0b"},
    ):
        with pytest.raises(BadEntry):
            sharing.share(order, **{**good, **wrong})
    assert not SharingLink.objects.exists()
    assert not Event.objects.filter(verb="link-made").exists()


def test_the_managers_page_makes_one_shows_the_code_once_and_revokes(piece, ticket):
    client = Client()
    client.force_login(person())
    address = reverse("order_sharing", args=[piece.design.order_id])
    tap = str(uuid4())
    sent = {
        "label": "Hollis & Daughters",
        "until": (timezone.localdate() + timedelta(days=7)).isoformat(),
        "pieces": [piece.pk],
        "records": [ticket.pk],
        "request_id": tap,
    }
    page = client.post(address, sent).content.decode()
    code = re.search(r'id="code">([0-9A-Z-]{24})<', page)[1]
    link_address = re.search(r'id="address">([^<]+)<', page)[1]
    assert Client().get(link_address).status_code == 200
    assert "square-code" in page
    assert 'style="' not in page
    again = client.post(address, sent).content.decode()
    assert code not in again
    assert "revoke the link" in again
    opened = SharingLink.objects.get()
    assert code not in client.get(address).content.decode()
    log = client.get(reverse("sharing_link", args=[opened.pk])).content.decode()
    assert "127.0.0.1" in log
    client.post(reverse("sharing_revoke", args=[opened.pk]), {"request_id": str(uuid4())})
    assert Client().get(link_address).status_code == 410
    for wrong in ({"pieces": [], "records": []}, {"pieces": [999_999]}, {"until": "2020-01-01"}, {"label": ""}):
        assert client.post(address, {**sent, "request_id": str(uuid4()), **wrong}).status_code == 422
    assert SharingLink.objects.count() == 1
