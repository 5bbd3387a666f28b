"""What is written down on the floor. Rows are added, not edited."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import piece_for, pour_for, row_for, stressing_for
from jobs.actions import production
from jobs.api import filters, inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.errors import BadEntry
from jobs.models import FormCheck, Installation, LoadTest, Mix, Pour, StrengthTest, Stressing, Wrench


class EntryViewSet(ListModelMixin, ShopViewSet):
    """Listed newest first, and read one by one."""

    needs = {"list": "view", "retrieve": "view", "create": "produce"}
    ordering_fields = ("at", "recorded_at")

    def retrieve(self, request: Request, pk: str) -> Response:
        row: Any = row_for(request.user, self.get_queryset(), pk, "view")
        return self.answer(self.get_serializer_class(), row)


class FormCheckViewSet(EntryViewSet):
    queryset = FormCheck.objects.order_by("-at", "-pk")
    serializer_class = outputs.FormCheckOut
    filterset_class = filters.FormCheckFilter

    @extend_schema(request=inputs.FormCheckIn, responses={201: outputs.FormCheckOut})
    def create(self, request: Request) -> Response:
        sent = self.read(inputs.FormCheckIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(
            outputs.FormCheckOut, production.record_form_check(piece, by=caller(request), **sent), status=201
        )


class PourViewSet(EntryViewSet):
    queryset = Pour.objects.prefetch_related("pieces").order_by("-at", "-pk")
    serializer_class = outputs.PourOut
    filterset_class = filters.PourFilter

    @extend_schema(request=inputs.PourIn, responses={201: outputs.PourOut})
    def create(self, request: Request) -> Response:
        """One batch into one or more formed pieces."""
        sent = self.read(inputs.PourIn, request)
        pieces = [piece_for(request.user, pk, may="produce") for pk in sent.pop("pieces")]
        mix = _named(Mix, sent.pop("mix", None), "mix")
        return self.answer(
            outputs.PourOut, production.record_pour(pieces, by=caller(request), mix=mix, **sent), status=201
        )


class StrengthTestViewSet(EntryViewSet):
    queryset = StrengthTest.objects.order_by("-at", "-pk")
    serializer_class = outputs.StrengthTestOut
    filterset_class = filters.StrengthTestFilter

    @extend_schema(request=inputs.StrengthTestIn, responses={201: outputs.StrengthTestOut})
    def create(self, request: Request) -> Response:
        sent = self.read(inputs.StrengthTestIn, request)
        pour = pour_for(request.user, sent.pop("pour"), may="produce")
        return self.answer(
            outputs.StrengthTestOut, production.record_strength_test(pour, by=caller(request), **sent), status=201
        )


class StressingViewSet(EntryViewSet):
    needs = {**EntryViewSet.needs, "readings": "view", "read_rod": "produce", "finish": "produce", "stop": "produce"}
    queryset = Stressing.objects.order_by("-at", "-pk")
    serializer_class = outputs.StressingOut
    filterset_class = filters.StressingFilter

    @extend_schema(request=inputs.StressingIn, responses={201: outputs.StressingOut})
    def create(self, request: Request) -> Response:
        """Start the round. Refused below strength, or with a wrench past its calibration."""
        sent = self.read(inputs.StressingIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        wrench = _named(Wrench, sent.pop("wrench", None), "wrench")
        return self.answer(
            outputs.StressingOut,
            production.start_stressing(piece, by=caller(request), wrench=wrench, **sent),
            status=201,
        )

    @extend_schema(responses=outputs.ReadingOut(many=True))
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def readings(self, request: Request, pk: str) -> Response:
        """In the order they were written down; of one rod and step the last one counts."""
        rows = stressing_for(request.user, pk).readings.order_by("recorded_at", "pk")
        return Response(outputs.ReadingOut(rows, many=True).data)

    @extend_schema(request=inputs.ReadingIn, responses={201: outputs.ReadingOut})
    @readings.mapping.post
    def read_rod(self, request: Request, pk: str) -> Response:
        """One rod at one step; the answer says whether it is within tolerance, and what to do."""
        stressing = stressing_for(request.user, pk, may="produce")
        reading = production.record_reading(stressing, by=caller(request), **self.read(inputs.ReadingIn, request))
        return self.answer(outputs.ReadingOut, reading, status=201)

    @extend_schema(request=inputs.Tap, responses=outputs.StressingOut)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        stressing = stressing_for(request.user, pk, may="produce")
        return self.answer(
            outputs.StressingOut,
            production.finish_stressing(stressing, by=caller(request), **self.read(inputs.Tap, request)),
        )

    @extend_schema(request=inputs.ReasonIn, responses=outputs.StressingOut)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        stressing = stressing_for(request.user, pk, may="produce")
        return self.answer(
            outputs.StressingOut,
            production.stop_stressing(stressing, by=caller(request), **self.read(inputs.ReasonIn, request)),
        )


class LoadTestViewSet(EntryViewSet):
    queryset = LoadTest.objects.order_by("-at", "-pk")
    serializer_class = outputs.LoadTestOut
    filterset_class = filters.LoadTestFilter

    @extend_schema(request=inputs.LoadTestIn, responses={201: outputs.LoadTestOut})
    def create(self, request: Request) -> Response:
        sent = self.read(inputs.LoadTestIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(
            outputs.LoadTestOut, production.record_load_test(piece, by=caller(request), **sent), status=201
        )


class InstallationViewSet(EntryViewSet):
    queryset = Installation.objects.order_by("-at", "-pk")
    serializer_class = outputs.InstallationOut
    filterset_class = filters.InstallationFilter

    @extend_schema(request=inputs.InstallationIn, responses={201: outputs.InstallationOut})
    def create(self, request: Request) -> Response:
        sent = self.read(inputs.InstallationIn, request)
        piece = piece_for(request.user, sent.pop("piece"), may="produce")
        return self.answer(
            outputs.InstallationOut, production.record_installation(piece, by=caller(request), **sent), status=201
        )


def _named(model: type[Any], pk: int | None, field: str) -> Any:
    """The mix or wrench that an entry names, or None where it names none."""
    row = None if pk is None else model.objects.filter(pk=pk).first()
    if pk is not None and row is None:
        raise BadEntry(f"There is no {field} with the number {pk}.", field=field)
    return row
