"""Standard pieces: read, made of a released revision, approved, ordered from, retired."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import order_for, revision_for, row_for
from jobs.actions import standards
from jobs.api import inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.api.designs import DesignViewSet
from jobs.models import StandardPiece


class StandardPieceViewSet(ListModelMixin, ShopViewSet):
    """Templates with limits that were checked over a grid of points and approved by an engineer."""

    needs = {
        "list": "view",
        "retrieve": "view",
        "create": "specify",
        "approve": "release",
        "order": "specify",
        "retire": "specify",
    }
    serializer_class = outputs.StandardPieceOut
    ordering_fields = ("name", "made_at")
    queryset = StandardPiece.objects.select_related("study", "revision__specification", "revision__design__order")

    def _row(self, request: Request, pk: str, may: str = "view") -> StandardPiece:
        return row_for(request.user, self.get_queryset(), pk, may)

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.StandardPieceOut, self._row(request, pk))

    @extend_schema(request=inputs.StandardPieceIn, responses={201: outputs.StandardPieceOut})
    def create(self, request: Request) -> Response:
        """A standard piece of a released revision; the study of its limits begins."""
        sent = self.read(inputs.StandardPieceIn, request)
        revision = revision_for(request.user, sent.pop("revision"), may="specify")
        made = standards.make(revision, by=caller(request), **sent)
        return self.answer(outputs.StandardPieceOut, made, status=201)

    @extend_schema(request=inputs.Tap, responses={200: outputs.StandardPieceOut})
    @action(detail=True, methods=["post"])
    def approve(self, request: Request, pk: str) -> Response:
        """By an engineer with a licence on record, once every point within the limits passes."""
        row, sent = self._row(request, pk, "release"), self.read(inputs.Tap, request)
        return self.answer(outputs.StandardPieceOut, standards.approve(row, by=caller(request), **sent))

    @extend_schema(request=inputs.StandardOrderIn, responses={201: outputs.DesignOut})
    @action(detail=True, methods=["post"])
    def order(self, request: Request, pk: str) -> Response:
        """A design within the limits, with its own check run. Outside them: 409, naming each limit that is broken."""
        row, sent = self._row(request, pk, "specify"), self.read(inputs.StandardOrderIn, request)
        order = order_for(request.user, sent.pop("order"), may="specify")
        made = standards.order_from(row, order, by=caller(request), **sent)
        whole = DesignViewSet.queryset.get(pk=made.pk)
        return self.answer(outputs.DesignOut, whole, status=201)

    @extend_schema(request=inputs.Tap, responses={200: outputs.StandardPieceOut})
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Nothing more is made from it."""
        row, sent = self._row(request, pk, "specify"), self.read(inputs.Tap, request)
        return self.answer(outputs.StandardPieceOut, standards.retire(row, by=caller(request), **sent))
