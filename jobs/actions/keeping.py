"""How long things are kept, what is removed when its time is over, and everything of the shop taken along."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from jobs import sign_in_log
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import number
from jobs.errors import BadEntry, NothingChanged
from jobs.models import Keeping, Person, Photo
from jobs.models.keeping import LEAST_DAYS, MOST_DAYS

AT_ONCE = 200  # photos in one look, so that the head of the book is not held long
AGAIN = timedelta(days=30)  # so long after its row a file that outlived it is looked for


@one_act
def set_keeping(*, by: Person, photo_days: int | None, sign_in_days: int) -> Keeping:
    """Days to keep photos of orders that are put away (None: for ever), and what is kept of signing in."""
    need(by, "shop")
    fields = {"photo_days": _days(photo_days, "photo_days"), "sign_in_days": _days(sign_in_days, "sign_in_days")}
    if fields["sign_in_days"] is None:
        raise BadEntry("Say for how many days it is kept.", field="sign_in_days")
    row = Keeping.objects.select_for_update(no_key=True).get_or_create(pk=1)[0]
    fields = {name: value for name, value in fields.items() if value != getattr(row, name)}
    if not fields:
        raise NothingChanged
    before = {name: getattr(row, name) for name in fields}
    Keeping.objects.filter(pk=1).update(**fields, looked_on=None)
    detail = {"before": before, "after": fields}
    events.record("keeping-set", f"How long things are kept: {', '.join(sorted(fields))} changed", by=by, detail=detail)
    return Keeping.objects.get(pk=1)


def _days(value: Any, name: str) -> int | None:
    if value is None:
        return None
    try:
        return int(number(value, name="days", least=LEAST_DAYS, most=MOST_DAYS))
    except BadEntry as refused:
        raise BadEntry(refused.message, field=name) from refused


def remove_what_is_past() -> int:
    """Remove what has been kept long enough, once a day; how many photos and rows went. Safe to run at any time.

    Each photo has an event of its own, the log of signing in one for the day.
    """
    row, today = Keeping.objects.filter(pk=1).first() or Keeping(pk=1), timezone.localdate()
    if row.looked_on == today:
        return 0
    _files_that_outlived_their_rows()
    photos = _photos_past(row)
    count = sum(_remove_photo(photo) for photo in photos)
    count += _remove_sign_ins(row)
    if len(photos) < AT_ONCE:
        Keeping.objects.update_or_create(pk=1, defaults={"looked_on": today})
    return count


def _photos_past(row: Keeping) -> list[Photo]:
    if row.photo_days is None:
        return []
    past = timezone.now() - timedelta(days=row.photo_days)
    photos = Photo.objects.filter(removed_at=None, piece__design__order__archived_at__lt=past)
    return list(photos.select_related("piece__design__order").order_by("pk")[:AT_ONCE])


@one_act
def _remove_photo(photo: Photo) -> bool:
    """The picture goes, its row stays and says so. False where another did it meanwhile, or the order is open again."""
    still = Photo.objects.filter(pk=photo.pk, removed_at=None, piece__design__order__archived_at__isnull=False)
    if not Photo.objects.filter(pk__in=still.values("pk")).update(removed_at=timezone.now()):
        return False
    events.record(
        "photo-removed",
        f"Photo {photo.pk} of {photo.piece} removed: kept as long as the shop keeps photos",
        by=None,
        piece=photo.piece,
        detail={"photo": photo.pk, "sha256": photo.sha256, "at": photo.at.isoformat()},
    )
    # Where that fails the row says so all the same, and the next look finds the file.
    transaction.on_commit(lambda: photo.file.storage.delete(str(photo.file.name)), robust=True)
    return True


def _files_that_outlived_their_rows() -> None:
    """A process that died between row and file left the file: it goes now."""
    for photo in Photo.objects.filter(removed_at__gt=timezone.now() - AGAIN):
        photo.file.storage.delete(str(photo.file.name))


@one_act
def _remove_sign_ins(row: Keeping) -> int:
    removed = sign_in_log.remove_before(timezone.now() - timedelta(days=row.sign_in_days))
    if removed:
        said = ", ".join(f"{count} {name}" for name, count in removed.items())
        text = f"Log of signing in, past {row.sign_in_days} days, removed: {said}"
        events.record("sign-ins-removed", text, by=None, detail={"removed": removed, "days": row.sign_in_days})
    return sum(removed.values())


@one_act
def note_everything_taken(*, by: Person | None, counts: dict[str, int]) -> None:
    """Somebody took all rows and files of the shop along; `by` None: at the console."""
    if by is not None:
        need(by, "shop")
    where = "" if by else ", at the console"
    text = f"Everything of the shop taken along: {counts['rows']} rows, {counts['files']} files{where}"
    events.record("everything-taken", text, by=by, detail=dict(counts))
