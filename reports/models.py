"""Records issued by the shop: each row is the job that makes the file, and afterwards the proof of what was made."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from engineering.models import CheckRun, JobStatus
from jobs.models import Order, Piece, Release, Revision


class RecordKind(models.TextChoices):
    DESIGN = "design", "Design record"
    FORM = "form", "Form drawing"
    POUR = "pour", "Pour ticket"
    STRESSING = "stressing", "Stressing record"
    LOAD_TEST = "load-test", "Load-test record"
    HANDOVER = "handover", "Handover record"
    LABEL = "label", "Label"


PREFIXES = {
    RecordKind.DESIGN: "DR",
    RecordKind.FORM: "FD",
    RecordKind.POUR: "PT",
    RecordKind.STRESSING: "SR",
    RecordKind.LOAD_TEST: "LT",
    RecordKind.HANDOVER: "HR",
    RecordKind.LABEL: "LB",
}
OF_A_PIECE = (RecordKind.POUR, RecordKind.STRESSING, RecordKind.LOAD_TEST, RecordKind.HANDOVER, RecordKind.LABEL)


class NeverDeleted(models.QuerySet[Any]):
    """Rows that are proof of something: no query deletes them."""

    def delete(self) -> tuple[int, dict[str, int]]:
        raise TypeError("Records, signed copies and links are never deleted.")


class IssuedRecord(models.Model):
    """One signed file. Everything in it comes from the rows named here, which are never edited."""

    kind = models.CharField(max_length=12, choices=RecordKind, default=RecordKind.DESIGN)
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="issued_records")
    piece = models.ForeignKey(Piece, models.PROTECT, null=True, blank=True, related_name="issued_records")
    sources = models.JSONField(default=list)  # the rows it is made from: [{table, row, sha256}], as they stood
    check_run = models.ForeignKey(CheckRun, models.PROTECT, related_name="issued_records")
    release = models.ForeignKey(Release, models.PROTECT, null=True, blank=True, related_name="issued_records")
    specification_hash = models.CharField(max_length=71)
    engine_version = models.CharField(max_length=20)
    site_address = models.CharField(max_length=200)  # https://host of the page that asked, for the square code
    requested_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    status = models.CharField(max_length=10, choices=JobStatus, default=JobStatus.WAITING)
    problem = models.TextField(blank=True)  # why it broke off, in words for the page
    attempts = models.PositiveSmallIntegerField(default=0)
    claim = models.CharField(max_length=36, blank=True)  # whose claim it is; a late worker cannot write
    claimed_at = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    file = models.CharField(max_length=80, blank=True)  # name in the records folder
    sha256 = models.CharField(max_length=64, blank=True)  # of the signed file
    size = models.PositiveIntegerField(default=0)  # [bytes]

    objects = NeverDeleted.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(name="record_status_known", condition=Q(status__in=JobStatus.values)),
            models.CheckConstraint(
                name="record_of_a_piece_names_it", condition=~Q(kind__in=OF_A_PIECE) | Q(piece__isnull=False)
            ),
            models.CheckConstraint(name="record_kind_known", condition=Q(kind__in=RecordKind.values)),
            models.CheckConstraint(
                name="record_done_has_file",
                condition=~Q(status=JobStatus.DONE) | (~Q(sha256="") & ~Q(file="") & Q(size__gt=0)),
            ),
            models.UniqueConstraint(fields=["sha256"], condition=~Q(sha256=""), name="record_files_differ"),
        ]
        indexes: ClassVar[list[models.Index]] = [models.Index(fields=["status", "lease_until"], name="record_waiting")]

    def __str__(self) -> str:
        return self.number

    @property
    def number(self) -> str:
        """DR-000123: from the row's own number, which is never given twice."""
        return f"{PREFIXES[RecordKind(self.kind)]}-{self.pk:06d}"

    @property
    def path(self) -> Path:
        """Where it lies on a disk; in a bucket it is under the same name (`reports.shelf`)."""
        return records_folder() / self.file

    @property
    def file_name(self) -> str:
        """The name a download carries."""
        serial = f"-{self.piece.serial}" if self.piece else ""
        return f"{self.number}-{self.revision.design.mark}{serial}-{self.revision.letter}.pdf"

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        raise TypeError("A record that was issued is never deleted.")


class SignedCopy(models.Model):
    """A record as it came back with an engineer's signature in the field left for it. Rows are only added."""

    record = models.ForeignKey(IssuedRecord, models.PROTECT, related_name="signed_copies")
    file = models.CharField(max_length=80)  # name in the records folder
    sha256 = models.CharField(max_length=64, unique=True)
    size = models.PositiveIntegerField()  # [bytes]
    signer = models.CharField(max_length=300)  # subject of the certificate, as it names itself
    issuer = models.CharField(max_length=300)
    certificate = models.CharField(max_length=64)  # SHA-256 of the certificate
    signed_at = models.DateTimeField(null=True, blank=True)  # as the signature itself states
    uploaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField(auto_now_add=True)

    objects = NeverDeleted.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]
        verbose_name_plural = "signed copies"

    def __str__(self) -> str:
        return f"signed copy of {self.record}"

    @property
    def path(self) -> Path:
        """Where it lies on a disk; in a bucket it is under the same name (`reports.shelf`)."""
        return records_folder() / self.file

    @property
    def release(self) -> Release | None:
        """The release that rests on this copy's signature; the release names the copy by its SHA-256."""
        return Release.objects.filter(revision=self.record.revision_id, signed_copy=self.sha256).first()

    @property
    def file_name(self) -> str:
        return self.record.file_name.removesuffix(".pdf") + "-signed.pdf"

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        raise TypeError("A signed copy is never deleted.")


class SharingLink(models.Model):
    """A key for somebody outside to chosen pieces and records of one order. Only its SHA-256 is kept."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="sharing_links")
    label = models.CharField(max_length=80)  # for whom it is
    digest = models.CharField(max_length=64, unique=True)
    pieces = models.ManyToManyField(Piece, related_name="sharing_links")
    records = models.ManyToManyField(IssuedRecord, related_name="sharing_links")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")

    objects = NeverDeleted.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                name="link_revoked_by_somebody",
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"link for {self.label}"

    @property
    def state(self) -> str:
        """open, ended or revoked; never stored, so that no clock has to come by."""
        if self.revoked_at:
            return "revoked"
        return "open" if self.expires_at > timezone.now() else "ended"

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        raise TypeError("A link is revoked, never deleted: its accesses stay on record.")


class SharedAccess(models.Model):
    """One call with a link's key: what was asked for and whether it was given. Rows are only added."""

    class Given(models.TextChoices):
        GIVEN = "given", "given"
        REVOKED = "revoked", "refused: link revoked"
        ENDED = "ended", "refused: link ended"
        NOT_CHOSEN = "not-chosen", "refused: not in this link"
        NO_FILE = "no-file", "refused: file missing or altered"
        SILENT = "silent", "not given: the store of the files did not answer"

    link = models.ForeignKey(SharingLink, models.PROTECT, related_name="accesses")
    at = models.DateTimeField(auto_now_add=True)
    address = models.CharField(max_length=45, blank=True)  # the caller's, as the proxy wrote it
    what = models.CharField(max_length=60)  # list, piece C-104/1, record DR-000012; as asked for
    outcome = models.CharField(max_length=12, choices=Given)

    objects = NeverDeleted.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]
        verbose_name_plural = "shared accesses"

    def __str__(self) -> str:
        return f"{self.what}: {self.get_outcome_display()}"


def pk_of(number: str) -> int | None:
    """The row's number in DR-000123; None where the text is no such number."""
    prefix, _, digits = number.strip().upper().partition("-")
    known = prefix in PREFIXES.values() and digits.isascii() and digits.isdigit() and len(digits) <= 12
    return int(digits) if known else None


def spelled(number: str) -> str:
    """The number as records carry it, DR-000123, however it was typed; the text itself where it is none."""
    text, pk = number.strip().upper(), pk_of(number)
    return text if pk is None else f"{text.partition('-')[0]}-{pk:06d}"


def asked_for(number: str) -> models.Q:
    """Finds the record of DR-000123, which is a design record: the row of that number and of no other kind. Nothing
    where the text is no such number."""
    kinds = [kind for kind, prefix in PREFIXES.items() if number.strip().upper().startswith(f"{prefix}-")]
    return models.Q(pk=pk_of(number), kind__in=kinds)


def records_folder() -> Path:
    """Where signed files lie: in the data folder, owner only."""
    folder = Path(settings.DATA) / "records"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def file_name_of(sha256: str) -> str:
    """A kept file is named by its content, so that nothing is ever written over something else."""
    return f"{sha256}.pdf"
