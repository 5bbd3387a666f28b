"""What somebody writes down about a piece or a pour: listed newest first, read one by one, written by one action."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import piece_for, pour_for, row_for
from jobs.api.base import ShopViewSet, caller
from jobs.api.filters import Id, OfPiece
from jobs.errors import BadEntry

FETCH: dict[str, Callable[..., Any]] = {"piece": piece_for, "pour": pour_for}


class EntryViewSet(ListModelMixin, ShopViewSet):
    """Listed newest first, and read one by one."""

    needs = {"list": "view", "retrieve": "view", "create": "produce"}
    ordering_fields = ("at", "recorded_at")

    def retrieve(self, request: Request, pk: str) -> Response:
        row: Any = row_for(request.user, self.get_queryset(), pk, "view")
        return self.answer(self.get_serializer_class(), row)


class WrittenViewSet(EntryViewSet):
    """Entries that one action writes: `entry` is what is sent, `of` the key in it that names the piece or pour, `act`
    the action. Decorated with `writes`, which puts it into the document.
    """

    entry: ClassVar[type[serializers.Serializer[Any]]]
    act: ClassVar[Callable[..., Any]]
    of: ClassVar[str] = "piece"

    def create(self, request: Request) -> Response:
        sent = self.read(self.entry, request)
        row = FETCH[self.of](request.user, sent.pop(self.of), may=self.needs["create"])
        made = type(self).act(row, by=caller(request), **sent)
        return self.answer(self.get_serializer_class(), made, status=201)


def writes(entry: Any, out: Any, words: str = "") -> Callable[[Any], Any]:
    """The call that writes such an entry, as the OpenAPI document has it."""
    return extend_schema_view(create=extend_schema(request=entry, responses={201: out}, description=words))


def named(model: type[Any], pk: int | None, field: str) -> Any:
    """The mix, wrench or the like that an entry names, or None where it names none."""
    row = None if pk is None else model.objects.filter(pk=pk).first()
    if pk is not None and row is None:
        raise BadEntry(f"There is no {field} with the number {pk}.", field=field)
    return row


class OfAPiece(OfPiece):
    class Meta:
        fields: tuple[str, ...] = ()


class OfAPour(OfPiece):
    pour, piece, order = Id(), Id(field_name="pour__pieces"), Id(field_name="pour__pieces__design__order")

    class Meta:
        fields: tuple[str, ...] = ()
