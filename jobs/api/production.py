"""What is written down on the floor. Rows are added, not edited."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import piece_for, stressing_for
from jobs.actions import production
from jobs.api import filters, floor_outputs, inputs
from jobs.api.base import caller
from jobs.api.written import EntryViewSet, WrittenViewSet, named, writes
from jobs.models import FormCheck, Installation, LoadTest, Mix, Pour, StrengthTest, Stressing, Wrench


@writes(inputs.FormCheckIn, floor_outputs.FormCheckOut)
class FormCheckViewSet(WrittenViewSet):
    queryset = FormCheck.objects.order_by("-at", "-pk")
    serializer_class = floor_outputs.FormCheckOut
    filterset_class = filters.FormCheckFilter
    entry, act = inputs.FormCheckIn, staticmethod(production.record_form_check)


class PourViewSet(EntryViewSet):
    queryset = Pour.objects.prefetch_related("pieces").order_by("-at", "-pk")
    serializer_class = floor_outputs.PourOut
    filterset_class = filters.PourFilter

    @extend_schema(request=inputs.PourIn, responses={201: floor_outputs.PourOut})
    def create(self, request: Request) -> Response:
        """One batch into one or more formed pieces."""
        sent = self.read(inputs.PourIn, request)
        pieces = [piece_for(request.user, pk, may="produce") for pk in sent.pop("pieces")]
        mix = named(Mix, sent.pop("mix", None), "mix")
        return self.answer(
            floor_outputs.PourOut, production.record_pour(pieces, by=caller(request), mix=mix, **sent), status=201
        )


@writes(inputs.StrengthTestIn, floor_outputs.StrengthTestOut)
class StrengthTestViewSet(WrittenViewSet):
    queryset = StrengthTest.objects.order_by("-at", "-pk")
    serializer_class = floor_outputs.StrengthTestOut
    filterset_class = filters.StrengthTestFilter
    entry, act, of = inputs.StrengthTestIn, staticmethod(production.record_strength_test), "pour"


class StressingViewSet(EntryViewSet):
    needs = {**EntryViewSet.needs, "readings": "view", "read_rod": "produce", "finish": "produce", "stop": "produce"}
    queryset = Stressing.objects.order_by("-at", "-pk")
    serializer_class = floor_outputs.StressingOut
    filterset_class = filters.StressingFilter

    @extend_schema(request=inputs.StressingIn, responses={201: floor_outputs.StressingOut})
    def create(self, request: Request) -> Response:
        """Start the round. Refused below strength, or with a wrench past its calibration."""
        sent = self.read(inputs.StressingIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        wrench = named(Wrench, sent.pop("wrench", None), "wrench")
        return self.answer(
            floor_outputs.StressingOut,
            production.start_stressing(piece, by=caller(request), wrench=wrench, **sent),
            status=201,
        )

    @extend_schema(responses=floor_outputs.ReadingOut(many=True))
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def readings(self, request: Request, pk: str) -> Response:
        """In the order they were written down; of one rod and step the last one counts."""
        rows = stressing_for(request.user, pk).readings.order_by("recorded_at", "pk")
        return Response(floor_outputs.ReadingOut(rows, many=True).data)

    @extend_schema(request=inputs.ReadingIn, responses={201: floor_outputs.ReadingOut})
    @readings.mapping.post
    def read_rod(self, request: Request, pk: str) -> Response:
        """One rod at one step; the answer says whether it is within tolerance, and what to do."""
        stressing = stressing_for(request.user, pk, may="produce")
        reading = production.record_reading(stressing, by=caller(request), **self.read(inputs.ReadingIn, request))
        return self.answer(floor_outputs.ReadingOut, reading, status=201)

    @extend_schema(request=inputs.Tap, responses=floor_outputs.StressingOut)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        stressing = stressing_for(request.user, pk, may="produce")
        return self.answer(
            floor_outputs.StressingOut,
            production.finish_stressing(stressing, by=caller(request), **self.read(inputs.Tap, request)),
        )

    @extend_schema(request=inputs.ReasonIn, responses=floor_outputs.StressingOut)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        stressing = stressing_for(request.user, pk, may="produce")
        return self.answer(
            floor_outputs.StressingOut,
            production.stop_stressing(stressing, by=caller(request), **self.read(inputs.ReasonIn, request)),
        )


@writes(inputs.LoadTestIn, floor_outputs.LoadTestOut)
class LoadTestViewSet(WrittenViewSet):
    queryset = LoadTest.objects.order_by("-at", "-pk")
    serializer_class = floor_outputs.LoadTestOut
    filterset_class = filters.LoadTestFilter
    entry, act = inputs.LoadTestIn, staticmethod(production.record_load_test)


@writes(inputs.InstallationIn, floor_outputs.InstallationOut)
class InstallationViewSet(WrittenViewSet):
    queryset = Installation.objects.order_by("-at", "-pk")
    serializer_class = floor_outputs.InstallationOut
    filterset_class = filters.InstallationFilter
    entry, act = inputs.InstallationIn, staticmethod(production.record_installation)
