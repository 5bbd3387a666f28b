"""What is past its time goes, with an event, and nothing else does; records and events stay."""

from __future__ import annotations

import io
from datetime import timedelta
from pathlib import Path

import pytest
from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.test import Client
from django.utils import timezone
from PIL import Image

from jobs import event_chain, photos
from jobs.actions import keeping, orders, quality, tablets
from jobs.errors import BadEntry, NotAllowed, NothingChanged
from jobs.models import Event, Keeping, Photo, PinTry, Stage
from jobs.tasks import remove_what_is_past
from reports import store
from tests.factories import person, piece_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(settings, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def a_photo(folder: Path, *, put_away_days_ago: int | None) -> Photo:
    piece = piece_at(Stage.FORMED)
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "PNG")
    picture = photos.read_picture(io.BytesIO(out.getvalue()), size=out.tell())
    photo = quality.add_photo(piece, by=person("crew"), picture=picture)
    if put_away_days_ago is not None:
        order = orders.archive_order(piece.design.order, by=person())
        type(order).objects.filter(pk=order.pk).update(archived_at=timezone.now() - timedelta(days=put_away_days_ago))
    return photo


def sign_ins(days_ago: int) -> None:
    when = timezone.now() - timedelta(days=days_ago)
    for kind in (AccessAttempt, AccessFailureLog, AccessLog):
        more = {"get_data": "", "post_data": "", "failures_since_start": 1} if kind is AccessAttempt else {}
        made = kind.objects.create(username=f"ana-{days_ago}", ip_address="10.0.0.1", user_agent="", **more)
        kind.objects.filter(pk=made.pk).update(attempt_time=when)
    tablet = tablets.make_tablet(by=person(), name=f"Tablet {days_ago}")
    PinTry.objects.create(person=person("crew"), tablet=tablet, at=when, right=False)
    Session.objects.create(session_key=f"s{days_ago}", session_data="", expire_date=timezone.now() + timedelta(days=9))


def test_photos_of_orders_put_away_go_after_their_time(
    folder: Path, django_capture_on_commit_callbacks
) -> None:
    keeping.set_keeping(by=person(), photo_days=90, sign_in_days=180)
    old, recent, open_ = (a_photo(folder, put_away_days_ago=days) for days in (91, 89, None))
    with django_capture_on_commit_callbacks(execute=True):
        remove_what_is_past()
    assert [row.pk for row in Photo.objects.exclude(removed_at=None)] == [old.pk]
    assert not Path(old.file.path).exists()
    assert Path(recent.file.path).exists()
    assert Path(open_.file.path).exists()
    (event,) = Event.objects.filter(verb="photo-removed")
    assert (event.piece_id, event.by_id, event.detail["sha256"]) == (old.piece_id, None, old.sha256)
    assert list(store.faults(store.kept_files())) == []
    assert list(event_chain.faults()) == []


def test_without_a_number_of_days_photos_stay_for_ever(folder: Path) -> None:
    photo = a_photo(folder, put_away_days_ago=9_000)
    remove_what_is_past()
    assert Path(photo.file.path).exists()
    assert not Event.objects.filter(verb="photo-removed").exists()


def test_a_file_that_outlived_its_row_goes_at_the_next_look(folder: Path) -> None:
    """As where the process dies between the two."""
    keeping.set_keeping(by=person(), photo_days=90, sign_in_days=180)
    photo = a_photo(folder, put_away_days_ago=91)
    keeping.remove_what_is_past()       # its transaction is never committed here, so the file is still there
    assert Path(photo.file.path).exists()
    Keeping.objects.update(looked_on=None)
    keeping.remove_what_is_past()
    assert not Path(photo.file.path).exists()
    assert Event.objects.filter(verb="photo-removed").count() == 1


def test_the_log_of_signing_in_goes_after_its_time() -> None:
    sign_ins(200)
    sign_ins(10)
    keeping.remove_what_is_past()
    for kind in (AccessAttempt, AccessFailureLog, AccessLog):
        assert [row.username for row in kind.objects.all()] == ["ana-10"]
    assert PinTry.objects.count() == 1
    assert Session.objects.count() == 2     # they have not ended
    (event,) = Event.objects.filter(verb="sign-ins-removed")
    assert event.detail["removed"]["PIN tries"] == 1
    assert "ana" not in event.text + str(event.detail)


def test_a_session_that_has_ended_goes() -> None:
    sign_ins(10)
    Session.objects.update(expire_date=timezone.now() - timedelta(minutes=1))
    keeping.remove_what_is_past()
    assert not Session.objects.exists()


def test_it_looks_once_a_day_and_writes_nothing_where_nothing_went() -> None:
    before = Event.objects.count()
    keeping.remove_what_is_past()
    sign_ins(200)
    assert keeping.remove_what_is_past() == 0
    assert AccessLog.objects.exists()
    assert not Event.objects.filter(verb="sign-ins-removed").exists()
    assert Event.objects.count() > before       # the tablet's
    Keeping.objects.update(looked_on=timezone.localdate() - timedelta(days=1))
    assert keeping.remove_what_is_past() > 0
    assert not AccessLog.objects.exists()


def test_the_command_looks_at_once() -> None:
    keeping.remove_what_is_past()
    sign_ins(200)
    call_command("remove_past")
    assert not AccessLog.objects.exists()


@pytest.mark.parametrize(
    ("days", "field"),
    [({"photo_days": 7, "sign_in_days": 90}, "photo_days"), ({"photo_days": None, "sign_in_days": 2}, "sign_in_days")],
)
def test_less_than_a_month_is_refused(days: dict, field: str) -> None:
    with pytest.raises(BadEntry, match="days") as refused:
        keeping.set_keeping(by=person(), **days)
    assert refused.value.field == field
    assert not Event.objects.filter(verb="keeping-set").exists()


def test_only_the_manager_sets_it() -> None:
    for role in ("crew", "engineer", "viewer"):
        with pytest.raises(NotAllowed, match="shop manager"):
            keeping.set_keeping(by=person(role), photo_days=90, sign_in_days=90)
    keeping.set_keeping(by=person(), photo_days=90, sign_in_days=90)
    with pytest.raises(NothingChanged, match="nothing to save"):
        keeping.set_keeping(by=person(), photo_days=90, sign_in_days=90)
    assert Event.objects.filter(verb="keeping-set").count() == 1


def test_the_page_sets_it_and_says_what_is_wrong(client: Client) -> None:
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post("/shop/kept/", {"photo_days": "7", "sign_in_days": "90"})
    assert answer.status_code == 422
    assert 'value="7"' in answer.content.decode()
    assert not Keeping.objects.filter(photo_days__isnull=False).exists()
    assert client.post("/shop/kept/", {"photo_days": "365", "sign_in_days": "90"}).status_code == 302
    assert Keeping.objects.get().photo_days == 365


def test_a_removed_photo_is_told_in_words(client: Client, folder: Path) -> None:
    photo = a_photo(folder, put_away_days_ago=None)
    Photo.objects.filter(pk=photo.pk).update(removed_at=timezone.now())
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(f"/photos/{photo.pk}.jpg")
    assert answer.status_code == 404
    assert "was removed" in answer.content.decode()
    assert f"Photo {photo.pk}, removed" in client.get(f"/pieces/{photo.piece_id}/photo/").content.decode()
