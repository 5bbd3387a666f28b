"""Non-conformances and what comes after the tightening: lift-off, incident, finish of the ends, re-stressing."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import non_conformance_for, piece_for
from jobs.actions import production, quality
from jobs.api.base import caller
from jobs.api.filters import OfPiece
from jobs.api.inputs import EntryIn, Number, Tap, Text, Whole, YesNo
from jobs.api.outputs import ENTRY
from jobs.api.production import EntryViewSet
from jobs.models import Finishing, Incident, LiftOff, NonConformance

M = serializers.ModelSerializer


class NonConformanceOut(M[NonConformance]):
    class Meta:
        model = NonConformance
        fields = (
            *ENTRY,
            "piece",
            "stage",
            "what",
            "place",
            "decision",
            "decided_by",
            "decided_at",
            "decision_note",
            "repaired_by",
            "repaired_at",
            "repair_note",
        )
        read_only_fields = fields


class LiftOffOut(M[LiftOff]):
    class Meta:
        model = LiftOff
        fields = (*ENTRY, "piece", "stressing", "rod", "force_lbf", "expected_lbf", "within_tolerance", "findings")
        read_only_fields = fields


class IncidentOut(M[Incident]):
    class Meta:
        model = Incident
        fields = (*ENTRY, "piece", "kind", "rods", "what", "somebody_hurt", "confirmed")
        read_only_fields = fields


class FinishingOut(M[Finishing]):
    class Meta:
        model = Finishing
        fields = (*ENTRY, "piece", "tails_cut", "capped", "greased", "pockets_filled")
        read_only_fields = fields


class NonConformanceIn(EntryIn):
    piece = Whole(min_value=1)
    what = Text(max_length=5_000)
    place = Text(max_length=200, required=False)


class DecisionIn(Tap):
    decision = serializers.ChoiceField(choices=["repair", "use-as-is", "remake"])
    note = Text(max_length=5_000)


class RepairIn(Tap):
    note = Text(max_length=5_000)


class LiftOffIn(EntryIn):
    piece = Whole(min_value=1)
    rod = Text(max_length=40)
    force_lbf = Number()
    line_clear = YesNo(help_text="nobody stands in the line of the rod")


class IncidentIn(EntryIn):
    piece = Whole(min_value=1)
    kind = serializers.ChoiceField(choices=["slackened", "broken-rod", "incident"])
    what = Text(max_length=5_000)
    rods = serializers.ListField(child=Text(max_length=40), required=False, max_length=100)
    somebody_hurt = YesNo(required=False)
    confirmed = serializers.ListField(child=Text(max_length=200), required=False, max_length=20)


class FinishingIn(EntryIn):
    piece = Whole(min_value=1)
    tails_cut = YesNo(required=False)
    capped = YesNo(required=False)
    greased = YesNo(required=False)
    pockets_filled = YesNo(required=False)


class PieceFilter(OfPiece):
    class Meta:
        fields: tuple[str, ...] = ()


class NonConformanceViewSet(EntryViewSet):
    needs: ClassVar[dict[str, str]] = {
        **EntryViewSet.needs,
        "create": "hold",
        "decide": "dispose",
        "repair": "produce",
    }
    queryset = NonConformance.objects.order_by("-at", "-pk")
    serializer_class = NonConformanceOut
    filterset_class = PieceFilter

    @extend_schema(request=NonConformanceIn, responses={201: NonConformanceOut})
    def create(self, request: Request) -> Response:
        """From then on the piece moves on only when it is settled."""
        sent = self.read(NonConformanceIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="hold")
        made = quality.raise_non_conformance(piece, by=caller(request), **sent)
        return self.answer(NonConformanceOut, made, status=201)

    @extend_schema(request=DecisionIn, responses=NonConformanceOut)
    @action(detail=True, methods=["post"])
    def decide(self, request: Request, pk: str) -> Response:
        """By an engineer with a licence on record. Remake rejects the piece."""
        row = non_conformance_for(request.user, pk, may="dispose")
        sent: dict[str, Any] = self.read(DecisionIn, request)
        return self.answer(NonConformanceOut, quality.decide_non_conformance(row, by=caller(request), **sent))

    @extend_schema(request=RepairIn, responses=NonConformanceOut)
    @action(detail=True, methods=["post"])
    def repair(self, request: Request, pk: str) -> Response:
        row = non_conformance_for(request.user, pk, may="produce")
        sent: dict[str, Any] = self.read(RepairIn, request)
        return self.answer(NonConformanceOut, quality.record_repair(row, by=caller(request), **sent))


class LiftOffViewSet(EntryViewSet):
    queryset = LiftOff.objects.order_by("-at", "-pk")
    serializer_class = LiftOffOut
    filterset_class = PieceFilter

    @extend_schema(request=LiftOffIn, responses={201: LiftOffOut})
    def create(self, request: Request) -> Response:
        """Out of tolerance it raises a non-conformance by itself."""
        sent = self.read(LiftOffIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(LiftOffOut, production.record_lift_off(piece, by=caller(request), **sent), status=201)


class IncidentViewSet(EntryViewSet):
    queryset = Incident.objects.order_by("-at", "-pk")
    serializer_class = IncidentOut
    filterset_class = PieceFilter

    @extend_schema(request=IncidentIn, responses={201: IncidentOut})
    def create(self, request: Request) -> Response:
        """Slackening asks for every first step in `confirmed`; a breakage or an incident holds the piece."""
        sent = self.read(IncidentIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(IncidentOut, production.record_incident(piece, by=caller(request), **sent), status=201)


class FinishingViewSet(EntryViewSet):
    queryset = Finishing.objects.order_by("-at", "-pk")
    serializer_class = FinishingOut
    filterset_class = PieceFilter

    @extend_schema(request=FinishingIn, responses={201: FinishingOut})
    def create(self, request: Request) -> Response:
        sent = self.read(FinishingIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(FinishingOut, production.record_finishing(piece, by=caller(request), **sent), status=201)
