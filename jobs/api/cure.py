"""While a batch cures: cover and moisture, temperatures, coupons, washouts."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request

from jobs.actions import production
from jobs.api.floor_outputs import ENTRY
from jobs.api.inputs import EntryIn, Number, S, Tap, Text, Whole, YesNo
from jobs.api.written import OfAPour, WrittenViewSet, writes
from jobs.models import CouponTest, CureCheck, TemperatureLog, WashoutTest

M = serializers.ModelSerializer


class CureCheckOut(M[CureCheck]):
    class Meta:
        model = CureCheck
        fields = (*ENTRY, "pour", "covered", "moist")
        read_only_fields = fields


class TemperatureLogOut(M[TemperatureLog]):
    class Meta:
        model = TemperatureLog
        fields = (*ENTRY, "pour", "source", "readings")
        read_only_fields = fields


class CouponTestOut(M[CouponTest]):
    class Meta:
        model = CouponTest
        fields = (*ENTRY, "pour", "specimens")
        read_only_fields = fields


class WashoutOut(M[WashoutTest]):
    fibre_share = serializers.FloatField(read_only=True, help_text="by weight of the fresh sample")

    class Meta:
        model = WashoutTest
        fields = (*ENTRY, "pour", "sample_lb", "fibre_lb", "fibre_share")
        read_only_fields = fields


class CureCheckIn(EntryIn):
    pour = Whole(min_value=1)
    covered = YesNo()
    moist = YesNo()


class TemperatureIn(S[Any]):
    at = serializers.DateTimeField()
    fahrenheit = Number()


class TemperaturesIn(Tap):
    pour = Whole(min_value=1)
    readings = TemperatureIn(many=True)
    source = Text(max_length=80, required=False)  # type: ignore[assignment]  # a serializer has an attribute so named
    note = Text(max_length=5_000, required=False)


class CouponIn(S[Any]):
    yield_lbf = Number()
    ultimate_lbf = Number()
    span_in = Number()
    width_in = Number()
    depth_in = Number()


class CouponTestIn(EntryIn):
    pour = Whole(min_value=1)
    specimens = CouponIn(many=True)


class WashoutIn(EntryIn):
    pour = Whole(min_value=1)
    sample_lb = Number()
    fibre_lb = Number()


@writes(CureCheckIn, CureCheckOut)
class CureCheckViewSet(WrittenViewSet):
    queryset = CureCheck.objects.order_by("-at", "-pk")
    serializer_class = CureCheckOut
    filterset_class = OfAPour
    entry, act, of = CureCheckIn, staticmethod(production.record_cure_check), "pour"


@writes(TemperaturesIn, TemperatureLogOut, "Temperatures of the concrete, in any order; each time once.")
class TemperatureLogViewSet(WrittenViewSet):
    queryset = TemperatureLog.objects.order_by("-at", "-pk")
    serializer_class = TemperatureLogOut
    filterset_class = OfAPour
    entry, act, of = TemperaturesIn, staticmethod(production.record_temperatures), "pour"

    def read(self, kind: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
        sent = super().read(kind, request)
        return {**sent, "readings": [(row["at"], row["fahrenheit"]) for row in sent["readings"]]}


@writes(CouponTestIn, CouponTestOut, "ASTM C947, third-point loading: load at yield and ultimate, and sizes, of each.")
class CouponTestViewSet(WrittenViewSet):
    queryset = CouponTest.objects.order_by("-at", "-pk")
    serializer_class = CouponTestOut
    filterset_class = OfAPour
    entry, act, of = CouponTestIn, staticmethod(production.record_coupon_test), "pour"


@writes(WashoutIn, WashoutOut, "ASTM C1229: dry fibre over the weight of the fresh sample.")
class WashoutViewSet(WrittenViewSet):
    queryset = WashoutTest.objects.order_by("-at", "-pk")
    serializer_class = WashoutOut
    filterset_class = OfAPour
    entry, act, of = WashoutIn, staticmethod(production.record_washout), "pour"
