"""Pieces: where they are, what their next move waits for, and the moves."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs import gates
from jobs.access import piece_for
from jobs.actions import pieces, production
from jobs.api import filters, inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.models import Piece
from jobs.stages import MOVES, Stage


class PieceViewSet(ListModelMixin, ShopViewSet):
    needs = {
        "list": "view",
        "retrieve": "view",
        "moves": "view",
        "move": "move",
        "hold": "hold",
        "resume": "resume",
        "reject": "reject",
        "remake": "order",
        "bed": "produce",
    }
    queryset = Piece.objects.select_related("design").order_by("design_id", "serial")
    serializer_class = outputs.PieceOut
    filterset_class = filters.PieceFilter
    ordering_fields = ("stage_since", "serial")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.PieceOut, piece_for(request.user, pk))

    @extend_schema(responses=outputs.NextMoveOut(many=True))
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def moves(self, request: Request, pk: str) -> Response:
        """Where the piece can go next, and what each gate still waits for."""
        piece = piece_for(request.user, pk)
        rows = [{"to_stage": stage, "blockers": gates.blockers(piece, stage)} for stage in MOVES[Stage(piece.stage)]]
        return Response(outputs.NextMoveOut(rows, many=True).data)

    @extend_schema(request=inputs.MoveIn, responses=outputs.MovedOut)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str) -> Response:
        """To the stage that is asked for, if its gate is open."""
        piece = piece_for(request.user, pk, may="move")
        event = pieces.move(piece, by=caller(request), **self.read(inputs.MoveIn, request))
        return self.answer(outputs.MovedOut, {"piece": pieces.fresh(piece), "event": event.sequence})

    @extend_schema(request=inputs.ReasonIn, responses=outputs.PieceOut)
    @action(detail=True, methods=["post"])
    def hold(self, request: Request, pk: str) -> Response:
        piece = piece_for(request.user, pk, may="hold")
        return self.answer(
            outputs.PieceOut, pieces.hold(piece, by=caller(request), **self.read(inputs.ReasonIn, request))
        )

    @extend_schema(request=inputs.Tap, responses=outputs.PieceOut)
    @action(detail=True, methods=["post"])
    def resume(self, request: Request, pk: str) -> Response:
        piece = piece_for(request.user, pk, may="resume")
        return self.answer(outputs.PieceOut, pieces.resume(piece, by=caller(request), **self.read(inputs.Tap, request)))

    @extend_schema(request=inputs.BedIn, responses=outputs.PieceOut)
    @action(detail=True, methods=["post"])
    def bed(self, request: Request, pk: str) -> Response:
        """Lay it on a curing bed, or take it off. Refused where another piece lies on that bed."""
        piece = piece_for(request.user, pk, may="produce")
        sent = self.read(inputs.BedIn, request)
        return self.answer(outputs.PieceOut, production.lay_on_bed(piece, by=caller(request), **sent))

    @extend_schema(request=inputs.ReasonIn, responses=outputs.PieceOut)
    @action(detail=True, methods=["post"])
    def reject(self, request: Request, pk: str) -> Response:
        """For good."""
        piece = piece_for(request.user, pk, may="reject")
        return self.answer(
            outputs.PieceOut, pieces.reject(piece, by=caller(request), **self.read(inputs.ReasonIn, request))
        )

    @extend_schema(request=inputs.Tap, responses={201: outputs.PieceOut})
    @action(detail=True, methods=["post"])
    def remake(self, request: Request, pk: str) -> Response:
        """A new piece in place of a rejected one."""
        piece = piece_for(request.user, pk, may="order")
        made = pieces.remake(piece, by=caller(request), **self.read(inputs.Tap, request))
        return self.answer(outputs.PieceOut, made, status=201)
