"""Files that belong to an order or to one of its pieces: drawings of the site, certificates, letters."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from jobs.models.order import Order, Piece
from jobs.models.production import Entry


class Attachment(Entry):
    """A file as it was kept: a PDF or a text as it came, a picture written anew. Never changed; `AttachmentRemoval`
    takes it off the lists.
    """

    class Kind(models.TextChoices):
        PDF = "pdf", "PDF"
        PICTURE = "jpg", "Picture"
        TABLE = "csv", "Table"
        TEXT = "txt", "Text"

    order = models.ForeignKey(Order, models.PROTECT, related_name="attachments")
    piece = models.ForeignKey(Piece, models.PROTECT, null=True, blank=True, related_name="attachments")
    file = models.FileField(upload_to="attachments/%Y/%m", max_length=200)
    name = models.CharField(max_length=120)                             # as it is handed out; never a path
    kind = models.CharField(max_length=3, choices=Kind)                 # by its content
    size = models.PositiveIntegerField()                                # [bytes]
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar[list[str]] = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.name


class AttachmentRemoval(Entry):
    """The counter-entry: it no longer counts, and why (`note`). The file stays in the data folder."""

    attachment = models.OneToOneField(Attachment, models.PROTECT, related_name="removal")

    def __str__(self) -> str:
        return f"{self.attachment} taken off"
