"""Files of an order or of one of its pieces: kept by an upload, handed out as they were kept, taken off by an entry."""

from __future__ import annotations

from typing import Any, ClassVar

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import attachment_for, order_for, piece_for, sees_what_was_taken_off
from jobs.actions import attachments
from jobs.api.base import caller
from jobs.api.filters import LARGEST, Id
from jobs.api.floor_outputs import ENTRY
from jobs.api.inputs import S, Tap, Text
from jobs.api.parsing import StrictJSONParser, UploadParser
from jobs.api.written import EntryViewSet
from jobs.attachments import read_upload
from jobs.errors import BadEntry
from jobs.handed_out import handed_out
from jobs.models import Attachment, AttachmentRemoval, Order, Piece


class AttachmentRemovalOut(serializers.ModelSerializer[AttachmentRemoval]):
    class Meta:
        model = AttachmentRemoval
        fields = ENTRY
        read_only_fields = fields


class AttachmentOut(serializers.ModelSerializer[Attachment]):
    removal = AttachmentRemovalOut(
        read_only=True, allow_null=True, help_text="why it was taken off; the office's to see"
    )

    class Meta:
        model = Attachment
        fields = (*ENTRY, "order", "piece", "name", "kind", "size", "sha256", "removal")
        read_only_fields = fields


class AttachmentIn(S[Any]):
    """Parts of a form: text, and one file."""

    file = serializers.FileField(
        max_length=1_000,
        allow_empty_file=True,  # told in the words of the other refusals
        help_text="PDF, picture, text or CSV, by its content; at most 15 MB. A picture is written anew",
    )
    order = serializers.IntegerField(min_value=1, max_value=LARGEST, required=False)
    piece = serializers.IntegerField(
        min_value=1, max_value=LARGEST, required=False, help_text="in place of the order, where it is of one piece"
    )
    note = Text(max_length=5_000, required=False)
    request_id = serializers.UUIDField(required=False)


class TakeOffIn(Tap):
    reason = Text(max_length=5_000)


class AttachmentFilter(django_filters.FilterSet):
    order, piece = Id(), Id()

    class Meta:
        model = Attachment
        fields: tuple[str, ...] = ()


class AttachmentViewSet(EntryViewSet):
    needs: ClassVar[dict[str, str]] = {
        "list": "view",
        "retrieve": "view",
        "file": "view",
        "create": "attach",
        "take_off": "attach",
    }
    queryset = Attachment.objects.select_related("removal").order_by("-at", "-pk")
    serializer_class = AttachmentOut
    filterset_class = AttachmentFilter
    parser_classes = (UploadParser,)

    def get_queryset(self) -> QuerySet[Attachment]:
        rows = super().get_queryset()
        return rows if sees_what_was_taken_off(self.request.user) else rows.filter(removal=None)

    @extend_schema(request={"multipart/form-data": AttachmentIn}, responses={201: AttachmentOut})
    def create(self, request: Request) -> Response:
        """Send a form with a file. The very same file is kept once for each order or piece."""
        sent = self.read(AttachmentIn, request)
        order, piece = _where(request, sent.pop("order", None), sent.pop("piece", None))
        file = sent.pop("file")
        upload = read_upload(file, name=file.name, size=file.size)
        made = attachments.attach(order, by=caller(request), upload=upload, piece=piece, **sent)
        return self.answer(AttachmentOut, made, status=201)

    @extend_schema(responses={(200, "application/octet-stream"): OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def file(self, request: Request, pk: str) -> HttpResponse:
        """The file itself, of the type it was found to be."""
        return handed_out(attachment_for(request.user, pk))

    @extend_schema(request=TakeOffIn, responses=AttachmentOut)
    @action(detail=True, methods=["post"], url_path="take-off", parser_classes=(StrictJSONParser,))
    def take_off(self, request: Request, pk: str) -> Response:
        """By whoever kept it, or the office. The row stays, and why it is gone."""
        row = attachment_for(request.user, pk, may="attach")
        attachments.take_off(row, by=caller(request), **self.read(TakeOffIn, request))
        return self.answer(AttachmentOut, Attachment.objects.select_related("removal").get(pk=row.pk))


def _where(request: Request, order: int | None, piece: int | None) -> tuple[Order, Piece | None]:
    """The order, and the piece where one is named. BadEntry unless one of them is."""
    if piece is not None:
        of = piece_for(request.user, piece, may="attach")
        return (of.design.order if order is None else order_for(request.user, order, may="attach")), of
    if order is None:
        raise BadEntry("Say which order or which piece the file belongs to.", field="order")
    return order_for(request.user, order, may="attach"), None
