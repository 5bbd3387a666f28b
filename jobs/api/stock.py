"""What pieces are made of: recipes by version, batch tickets, lots with their certificates, and where they went."""

from __future__ import annotations

from typing import Any, ClassVar

import django_filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobs.access import row_for
from jobs.actions import batching, stock
from jobs.api.base import ShopViewSet, caller
from jobs.api.filters import Id
from jobs.api.floor_outputs import ENTRY
from jobs.api.inputs import EntryIn, Number, S, Tap, Text, Whole, YesNo
from jobs.api.written import EntryViewSet, OfAPiece, WrittenViewSet, named, writes
from jobs.models import BatchTicket, LotUse, Mix, MixVersion, StockLot

M = serializers.ModelSerializer
LOT = ("kind", "lot", "description", "supplier", "certificate", "received_on", "valid_until", "active")


class MixVersionOut(M[MixVersion]):
    class Meta:
        model = MixVersion
        fields = (
            "id",
            "mix",
            "number",
            "cement",
            "ingredients",
            "air",
            "working_minutes",
            "note",
            "made_by",
            "made_at",
        )
        read_only_fields = fields


class BatchTicketOut(M[BatchTicket]):
    class Meta:
        model = BatchTicket
        fields = (
            *ENTRY,
            "batch",
            "mix_version",
            "volume_ft3",
            "waste",
            "weighings",
            "water_added_at",
            "water_to_cementitious",
            "fibre_share",
            "within_tolerance",
            "findings",
        )
        read_only_fields = fields


class LotOut(M[StockLot]):
    class Meta:
        model = StockLot
        fields = ("id", *LOT)
        read_only_fields = fields


class LotUseOut(M[LotUse]):
    class Meta:
        model = LotUse
        fields = (*ENTRY, "piece", "lot", "rods")
        read_only_fields = fields


class IngredientIn(S[Any]):
    name = Text(max_length=60)
    kind = Text(max_length=40, help_text="as in the recipes that are there: cement, sand, water, fibre, …")
    weight_lb = Number()
    specific_gravity = Number()
    solids = Number(required=False)
    tolerance = Number(required=False)


class MixVersionIn(Tap):
    mix = Whole(min_value=1)
    cement = serializers.ChoiceField(choices=MixVersion.Cement.choices)
    ingredients = IngredientIn(many=True)
    air = Number(required=False, help_text="share of the finished volume")
    working_minutes = Whole(min_value=1, max_value=600, required=False)
    note = Text(max_length=200, required=False)


class BatchTicketIn(EntryIn):
    mix_version = Whole(min_value=1)
    batch = Text(max_length=40)
    volume_ft3 = Number(help_text="in the forms")
    weighed_lb = serializers.DictField(child=Number(), help_text="by ingredient; 0 where none")
    lots = serializers.DictField(child=Text(max_length=60), required=False, help_text="by ingredient")
    waste = Number(required=False, help_text="share on top of the volume")
    water_added_at = serializers.DateTimeField(required=False, allow_null=True)


class LotIn(S[Any]):
    kind = serializers.ChoiceField(choices=StockLot.Kind.choices)
    lot = Text(max_length=80)
    description = Text(max_length=120)
    supplier = Text(max_length=120, required=False)
    certificate = Text(max_length=120, required=False)
    received_on = serializers.DateField(required=False, allow_null=True)
    valid_until = serializers.DateField(required=False, allow_null=True)
    active = YesNo(required=False)


class LotEditIn(LotIn):
    kind = serializers.ChoiceField(choices=StockLot.Kind.choices, required=False)
    lot = Text(max_length=80, required=False, allow_blank=False)
    description = Text(max_length=120, required=False, allow_blank=False)


class LotUseIn(Tap):
    piece = Whole(min_value=1)
    lot = Whole(min_value=1)
    rods = serializers.ListField(child=Text(max_length=40), required=False, max_length=100)
    note = Text(max_length=5_000, required=False)


class MixVersionFilter(django_filters.FilterSet):
    mix = Id()

    class Meta:
        fields: tuple[str, ...] = ()


class BatchTicketFilter(django_filters.FilterSet):
    batch = django_filters.CharFilter(lookup_expr="iexact")
    mix_version = Id()

    class Meta:
        fields: tuple[str, ...] = ()


class LotFilter(django_filters.FilterSet):
    kind = django_filters.ChoiceFilter(choices=StockLot.Kind.choices)
    lot = django_filters.CharFilter(lookup_expr="iexact")
    active = django_filters.BooleanFilter()

    class Meta:
        fields: tuple[str, ...] = ()


class MixVersionViewSet(EntryViewSet):
    needs: ClassVar[dict[str, str]] = {**EntryViewSet.needs, "create": "shop"}
    queryset = MixVersion.objects.order_by("mix", "number")
    serializer_class = MixVersionOut
    filterset_class = MixVersionFilter
    ordering_fields = ("number", "made_at")

    @extend_schema(request=MixVersionIn, responses={201: MixVersionOut})
    def create(self, request: Request) -> Response:
        """The next version of a recipe. What was poured before stays with the version it was poured by."""
        sent = self.read(MixVersionIn, request)
        mix = named(Mix, sent.pop("mix"), "mix")
        return self.answer(MixVersionOut, batching.save_mix_version(mix, by=caller(request), **sent), status=201)


class BatchTicketViewSet(EntryViewSet):
    queryset = BatchTicket.objects.order_by("-at", "-pk")
    serializer_class = BatchTicketOut
    filterset_class = BatchTicketFilter

    @extend_schema(request=BatchTicketIn, responses={201: BatchTicketOut})
    def create(self, request: Request) -> Response:
        """What was weighed, against what the recipe asks for; the answer says whether it is within tolerance."""
        sent = self.read(BatchTicketIn, request)
        rows = MixVersion.objects.select_related("mix")
        version = row_for(request.user, rows, sent.pop("mix_version"), "produce")
        return self.answer(BatchTicketOut, batching.record_ticket(version, by=caller(request), **sent), status=201)


class LotViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view", "create": "shop", "partial_update": "shop"}
    queryset = StockLot.objects.order_by("kind", "lot")
    serializer_class = LotOut
    filterset_class = LotFilter
    ordering_fields = ("lot", "received_on")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(LotOut, row_for(request.user, self.get_queryset(), pk, "view"))

    @extend_schema(request=LotIn, responses={201: LotOut})
    def create(self, request: Request) -> Response:
        return self.answer(LotOut, stock.save_lot(by=caller(request), **self.read(LotIn, request)), status=201)

    @extend_schema(request=LotEditIn, responses=LotOut)
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change some of it; the rest stays."""
        row = row_for(request.user, self.get_queryset(), pk, "shop")
        fields = {name: getattr(row, name) for name in LOT} | self.read(LotEditIn, request)
        return self.answer(LotOut, stock.save_lot(by=caller(request), row=row, **fields))


@writes(LotUseIn, LotUseOut, "This lot went into this piece; `rods`: into which of them.")
class LotUseViewSet(WrittenViewSet):
    queryset = LotUse.objects.order_by("-at", "-pk")
    serializer_class = LotUseOut
    filterset_class = OfAPiece
    entry, act = LotUseIn, staticmethod(stock.use_lot)

    def read(self, kind: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
        sent = super().read(kind, request)
        return {**sent, "lot": named(StockLot, sent["lot"], "lot")}
