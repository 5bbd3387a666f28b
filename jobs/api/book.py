"""What programs only read: the event log, the shop's mixes and wrenches, and who one is."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.helpers import forced_singular_serializer
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs import queries
from jobs.access import row_for
from jobs.api import filters, floor_outputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.models import Event, Mix, Wrench


class EventViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view"}
    queryset = Event.objects.select_related("by").order_by("-sequence")
    serializer_class = outputs.EventOut
    filterset_class = filters.EventFilter
    ordering_fields = ("sequence",)
    http_method_names = ["get", "head", "options"]

    @extend_schema(
        parameters=[OpenApiParameter("id", int, OpenApiParameter.PATH, description="number of the event in the chain")]
    )
    def retrieve(self, request: Request, pk: str) -> Response:
        numbered: QuerySet[Event] = self.get_queryset().filter(sequence=int(pk))
        event = numbered.first()
        return self.answer(outputs.EventOut, row_for(request.user, numbered, event.pk if event else None, "view"))


class ShopListViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view"}
    ordering_fields = ("name",)
    http_method_names = ["get", "head", "options"]

    def retrieve(self, request: Request, pk: str) -> Response:
        row: Any = row_for(request.user, self.get_queryset(), pk, "view")
        return self.answer(self.get_serializer_class(), row)


class MixViewSet(ShopListViewSet):
    queryset = Mix.objects.order_by("name")
    serializer_class = floor_outputs.MixOut
    filterset_class = filters.MixFilter


class WrenchViewSet(ShopListViewSet):
    queryset = Wrench.objects.order_by("name")
    serializer_class = floor_outputs.WrenchOut
    filterset_class = filters.WrenchFilter


class BedViewSet(ShopViewSet):
    needs = {"list": "view"}
    http_method_names = ["get", "head", "options"]
    pagination_class = None
    filter_backends = ()
    serializer_class = outputs.BedOut

    @extend_schema(responses=outputs.BedOut(many=True))
    def list(self, request: Request) -> Response:
        """The curing beds as the shop names them, and what lies on each."""
        return Response(outputs.BedOut(queries.beds(), many=True).data)


class MeViewSet(ShopViewSet):
    needs = {"list": "view"}
    http_method_names = ["get", "head", "options"]
    pagination_class = None
    filter_backends = ()
    serializer_class = outputs.MeOut

    @extend_schema(operation_id="me", responses=forced_singular_serializer(outputs.MeOut))
    def list(self, request: Request) -> Response:
        """Who is signed in, and what they may do."""
        return self.answer(outputs.MeOut, caller(request))
