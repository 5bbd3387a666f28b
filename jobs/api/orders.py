"""Orders."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import order_for
from jobs.actions import orders
from jobs.api import filters, inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.models import Order


class OrderViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view", "create": "order", "partial_update": "order", "archive": "order"}
    queryset = Order.objects.order_by("due_date", "number", "pk")
    serializer_class = outputs.OrderOut
    filterset_class = filters.OrderFilter
    ordering_fields = ("due_date", "number", "created_at")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.OrderOut, order_for(request.user, pk))

    @extend_schema(request=inputs.OrderIn, responses={201: outputs.OrderOut})
    def create(self, request: Request) -> Response:
        return self.answer(
            outputs.OrderOut, orders.create_order(caller(request), **self.read(inputs.OrderIn, request)), status=201
        )

    @extend_schema(request=inputs.OrderEditIn, responses=outputs.OrderOut)
    def partial_update(self, request: Request, pk: str) -> Response:
        order = order_for(request.user, pk, may="order")
        return self.answer(
            outputs.OrderOut, orders.edit_order(order, by=caller(request), **self.read(inputs.OrderEditIn, request))
        )

    @extend_schema(request=inputs.Tap, responses=outputs.OrderOut)
    @action(detail=True, methods=["post"])
    def archive(self, request: Request, pk: str) -> Response:
        order = order_for(request.user, pk, may="order")
        return self.answer(
            outputs.OrderOut, orders.archive_order(order, by=caller(request), **self.read(inputs.Tap, request))
        )
