"""Non-conformances and gates passed over; and after the tightening: lift-off, re-stressing, incident, finish."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import non_conformance_for
from jobs.actions import production, quality
from jobs.api.base import caller
from jobs.api.floor_outputs import ENTRY
from jobs.api.inputs import TO_STAGE, EntryIn, Number, Tap, Text, Whole, YesNo
from jobs.api.written import EntryViewSet, OfAPiece, WrittenViewSet, named, writes
from jobs.models import Finishing, GatePass, Incident, LiftOff, NonConformance, Restressing, Wrench

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


class RestressingOut(M[Restressing]):
    class Meta:
        model = Restressing
        fields = (
            *ENTRY,
            "piece",
            "revision",
            "age_days",
            "wrench",
            "rods",
            "crown_in",
            "line_clear",
            "within_tolerance",
            "findings",
        )
        read_only_fields = fields


class GatePassOut(M[GatePass]):
    class Meta:
        model = GatePass
        fields = (*ENTRY, "piece", "from_stage", "to_stage", "codes", "texts", "reason")
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


class RestressingIn(EntryIn):
    piece = Whole(min_value=1)
    age_days = Number(help_text="as the specification names it")
    values = serializers.DictField(
        child=Number(), help_text="by rod: torque in lbf·ft or, where the method is not torque, force in lbf"
    )
    wrench = Whole(min_value=1, required=False, allow_null=True)
    crown_in = Number(required=False, allow_null=True)
    line_clear = YesNo(help_text="nobody stands in the line of the rods")


class GatePassIn(Tap):
    piece = Whole(min_value=1)
    to_stage = serializers.ChoiceField(choices=TO_STAGE)
    reason = Text(max_length=5_000)


@writes(NonConformanceIn, NonConformanceOut, "From then on the piece moves on only when it is settled.")
class NonConformanceViewSet(WrittenViewSet):
    needs: ClassVar[dict[str, str]] = {
        **EntryViewSet.needs,
        "create": "hold",
        "decide": "dispose",
        "repair": "produce",
    }
    queryset = NonConformance.objects.order_by("-at", "-pk")
    serializer_class = NonConformanceOut
    filterset_class = OfAPiece
    entry, act = NonConformanceIn, staticmethod(quality.raise_non_conformance)

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


@writes(LiftOffIn, LiftOffOut, "Out of tolerance it raises a non-conformance by itself.")
class LiftOffViewSet(WrittenViewSet):
    queryset = LiftOff.objects.order_by("-at", "-pk")
    serializer_class = LiftOffOut
    filterset_class = OfAPiece
    entry, act = LiftOffIn, staticmethod(production.record_lift_off)


@writes(
    IncidentIn,
    IncidentOut,
    "Slackening asks for every first step in `confirmed`; a breakage or an incident holds the piece.",
)
class IncidentViewSet(WrittenViewSet):
    queryset = Incident.objects.order_by("-at", "-pk")
    serializer_class = IncidentOut
    filterset_class = OfAPiece
    entry, act = IncidentIn, staticmethod(production.record_incident)


@writes(FinishingIn, FinishingOut)
class FinishingViewSet(WrittenViewSet):
    queryset = Finishing.objects.order_by("-at", "-pk")
    serializer_class = FinishingOut
    filterset_class = OfAPiece
    entry, act = FinishingIn, staticmethod(production.record_finishing)


@writes(RestressingIn, RestressingOut, "Every rod back to its jacking force, at an age of the specification.")
class RestressingViewSet(WrittenViewSet):
    queryset = Restressing.objects.order_by("-at", "-pk")
    serializer_class = RestressingOut
    filterset_class = OfAPiece
    entry, act = RestressingIn, staticmethod(production.record_restressing)

    def read(self, kind: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
        sent = super().read(kind, request)
        return {**sent, "wrench": named(Wrench, sent.get("wrench"), "wrench")}


@writes(
    GatePassIn,
    GatePassOut,
    "What this account may pass over no longer counts for the move; the move itself is a call of its own.",
)
class GatePassViewSet(WrittenViewSet):
    needs: ClassVar[dict[str, str]] = {**EntryViewSet.needs, "create": "pass"}
    queryset = GatePass.objects.order_by("-at", "-pk")
    serializer_class = GatePassOut
    filterset_class = OfAPiece
    entry, act = GatePassIn, staticmethod(quality.pass_gate)
