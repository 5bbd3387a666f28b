"""Load tests by plan: planned, read while the load goes on and comes off, concluded by the engine's rule."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import row_for
from jobs.actions import production
from jobs.api.base import caller
from jobs.api.floor_outputs import ENTRY, LoadTestOut
from jobs.api.inputs import EntryIn, Number, S, Tap, Text, Whole, YesNo
from jobs.api.written import EntryViewSet, OfAPiece, WrittenViewSet, writes
from jobs.models import LoadTestPlan, LoadTestReading

M = serializers.ModelSerializer


class LoadTestPlanOut(M[LoadTestPlan]):
    class Meta:
        model = LoadTestPlan
        fields = (
            *ENTRY,
            "piece",
            "revision",
            "what",
            "unit_lbf",
            "layers",
            "hold_minutes",
            "total_lbf",
            "stop_deflection_in",
            "span_in",
            "depth_in",
        )
        read_only_fields = fields


class LoadTestReadingOut(M[LoadTestReading]):
    class Meta:
        model = LoadTestReading
        fields = (*ENTRY, "plan", "load_lbf", "deflection_in", "crack_seen")
        read_only_fields = fields


class LayerIn(S[Any]):
    number = Whole(min_value=1, max_value=10_000, help_text="how many bags or blocks")
    where = Text(max_length=200)


class LoadTestPlanIn(Tap):
    piece = Whole(min_value=1)
    what = Text(max_length=80, help_text="such as sand bags")
    unit_lbf = Number(help_text="weight of one")
    layers = LayerIn(many=True, help_text="in the order they go on")
    hold_minutes = Whole(min_value=1, max_value=10_080)
    stop_deflection_in = Number(required=False, allow_null=True)
    replaces = Whole(
        min_value=1,
        max_value=2**31 - 1,
        required=False,
        allow_null=True,
        help_text="the plan whose place it takes, where the piece has one",
    )
    note = Text(max_length=5_000, required=False)


class LoadTestReadingIn(EntryIn):
    load_lbf = Number(help_text="on the piece besides its own weight")
    deflection_in = Number()
    crack_seen = YesNo(required=False)
    nobody_under = YesNo(help_text="everybody is out from under it")


@writes(LoadTestPlanIn, LoadTestPlanOut, "Four layers or more, together no less than the test asks for.")
class LoadTestPlanViewSet(WrittenViewSet):
    needs: ClassVar[dict[str, str]] = {
        **EntryViewSet.needs,
        "create": "plan test",
        "readings": "view",
        "read_load": "produce",
        "conclude": "produce",
    }
    queryset = LoadTestPlan.objects.order_by("-at", "-pk")
    serializer_class = LoadTestPlanOut
    filterset_class = OfAPiece
    entry, act = LoadTestPlanIn, staticmethod(production.plan_load_test)

    def _plan(self, request: Request, pk: str, may: str) -> LoadTestPlan:
        return row_for(request.user, LoadTestPlan.objects.select_related("piece__design__order"), pk, may)

    @extend_schema(responses=LoadTestReadingOut(many=True))
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def readings(self, request: Request, pk: str) -> Response:
        """In the order they were read."""
        rows = self._plan(request, pk, "view").readings.order_by("at", "pk")
        return Response(LoadTestReadingOut(rows, many=True).data)

    @extend_schema(request=LoadTestReadingIn, responses={201: LoadTestReadingOut})
    @readings.mapping.post
    def read_load(self, request: Request, pk: str) -> Response:
        """One look at the dial. Refused while anybody is under the piece."""
        plan = self._plan(request, pk, "produce")
        made = production.record_load_reading(plan, by=caller(request), **self.read(LoadTestReadingIn, request))
        return self.answer(LoadTestReadingOut, made, status=201)

    @extend_schema(request=Tap, responses={201: LoadTestOut})
    @action(detail=True, methods=["post"])
    def conclude(self, request: Request, pk: str) -> Response:
        """The load test as its readings have it: accepted or not is the engine's rule."""
        plan = self._plan(request, pk, "produce")
        made = production.conclude_load_test(plan, by=caller(request), **self.read(Tap, request))
        return self.answer(LoadTestOut, made, status=201)
