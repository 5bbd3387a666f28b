"""What each call may send. Plain fields, strict about types; what the values mean is for `jobs.actions` to judge."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from jobs.stages import LINE

S = serializers.Serializer
TO_STAGE = [(str(stage.value), str(stage.label)) for stage in LINE]


class Text(serializers.CharField):
    """Text; a number is not taken for one."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("trim_whitespace", True)
        if not kwargs.get("required", True):
            kwargs.setdefault("allow_blank", True)
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class Number(serializers.FloatField):
    """A number; neither text nor true is taken for one."""

    def to_internal_value(self, data: Any) -> float:
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.fail("invalid")
        return super().to_internal_value(data)


class Whole(serializers.IntegerField):
    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, int):
            self.fail("invalid")
        return super().to_internal_value(data)


class YesNo(serializers.BooleanField):
    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            self.fail("invalid", input=data)
        return data


class Tap(S[Any]):
    """Common to all: `request_id`, made by the caller for each entry; the same one sent again changes nothing."""

    request_id = serializers.UUIDField(required=False)


class OrderIn(Tap):
    number = Text(max_length=20)
    client = Text(max_length=120)
    site = Text(max_length=200, required=False)
    due_date = serializers.DateField(required=False, allow_null=True)
    notes = Text(max_length=10_000, required=False)


class OrderEditIn(Tap):
    version = Whole(min_value=0, max_value=2**31 - 1, help_text="the order's version as you saw it")
    number = Text(max_length=20, required=False, allow_blank=False)
    client = Text(max_length=120, required=False, allow_blank=False)
    site = Text(max_length=200, required=False)
    due_date = serializers.DateField(required=False, allow_null=True)
    notes = Text(max_length=10_000, required=False)


class DesignIn(Tap):
    order = Whole(min_value=1)
    document = serializers.JSONField(help_text="a piece specification")
    title = Text(max_length=200, required=False)
    pieces = Whole(min_value=1, max_value=200, required=False)
    load_test_required = YesNo(required=False)


class ReviseIn(Tap):
    document = serializers.JSONField(help_text="a piece specification")
    base_revision = Whole(min_value=1, max_value=32_000, help_text="number of the revision you started from")
    note = Text(max_length=200, required=False)


class StudyIn(Tap):
    revision = Whole(min_value=1)
    kind = serializers.ChoiceField(choices=["find-rods", "tolerance", "region", "re-tightening", "advice"])
    settings = serializers.DictField(
        required=False,
        help_text="find-rods: shelf, numbers, heights_in, spreads, shares, restress, each in place of the usual; "
        "tolerance: samples, seed; the others take none",
    )


class LimitIn(S[Any]):
    measure = serializers.ChoiceField(choices=["length", "depth", "cantilever", "live load"])
    low = Number(help_text="inches, or psf")
    high = Number()


class StandardPieceIn(Tap):
    revision = Whole(min_value=1, help_text="a released one")
    name = Text(max_length=80)
    about = Text(max_length=300, required=False)
    limits = LimitIn(many=True)
    steps = Whole(min_value=2, max_value=9, required=False)


class StandardOrderIn(Tap):
    order = Whole(min_value=1)
    mark = Text(max_length=40)
    values = serializers.DictField(child=Number(), help_text="by measure: inches, or psf")
    pieces = Whole(min_value=1, max_value=200, required=False)


class ReleaseIn(Tap):
    note = Text(max_length=5_000, required=False)


class PiecesIn(Tap):
    count = Whole(min_value=1, max_value=200)


class MoveIn(Tap):
    to_stage = serializers.ChoiceField(choices=TO_STAGE)
    from_stage = Text(
        max_length=12, required=False, help_text="where you saw the piece; refused if it is elsewhere by now"
    )
    evidence = serializers.DictField(required=False)


class BedIn(Tap):
    bed = Text(max_length=80, allow_blank=True, help_text="one of the shop's, by its name; empty: it lies on none")


class ReasonIn(Tap):
    reason = Text(max_length=2_000)


class EntryIn(Tap):
    """Common to entries from the floor: when it was done, and a note."""

    at = serializers.DateTimeField(required=False)
    note = Text(max_length=5_000, required=False)


class RodHeightIn(S[Any]):
    rod = Text(max_length=40)
    x_in = Number()
    drawn_in = Number()
    measured_in = Number()


class FormCheckIn(EntryIn):
    piece = Whole(min_value=1)
    core_held = YesNo()
    sleeves_sealed = YesNo()
    pockets_set = YesNo()
    rod_heights = RodHeightIn(many=True, required=False)


class PourIn(EntryIn):
    pieces = serializers.ListField(child=Whole(min_value=1), min_length=1, max_length=50)
    batch = Text(max_length=40)
    mix = Whole(min_value=1, required=False, allow_null=True)
    water_added_at = serializers.DateTimeField(required=False, allow_null=True)
    slump_in = Number(required=False, allow_null=True)
    unit_weight_pcf = Number(required=False, allow_null=True)
    mix_temperature_f = Number(required=False, allow_null=True)
    air_temperature_f = Number(required=False, allow_null=True)


class StrengthTestIn(EntryIn):
    pour = Whole(min_value=1)
    kind = serializers.ChoiceField(choices=["cylinder", "cube"])
    specimens_psi = serializers.ListField(child=Number(), min_length=1, max_length=20)


class StressingIn(EntryIn):
    piece = Whole(min_value=1)
    wrench = Whole(min_value=1, required=False, allow_null=True)
    gauge_resolution_in = Number(
        required=False, allow_null=True, help_text="the least that the stretch gauge shows; one too coarse is refused"
    )


class ReadingIn(EntryIn):
    rod = Text(max_length=40)
    step = Whole(min_value=0, max_value=1000, help_text="0-based place in the specification's steps")
    torque_lbf_ft = Number(required=False, allow_null=True)
    elongation_in = Number(required=False, allow_null=True)
    crown_in = Number(required=False, allow_null=True)
    lift_off_lbf = Number(required=False, allow_null=True, help_text="where a jack lifted the nut off its plate")
    line_clear = YesNo(help_text="nobody stands in the line of the rod")


class LoadTestIn(EntryIn):
    piece = Whole(min_value=1)
    load_lbf = Number()
    deflection_in = Number()
    residual_in = Number(required=False, allow_null=True)
    cracks_seen = YesNo()
    accepted = YesNo()


class InstallationIn(EntryIn):
    piece = Whole(min_value=1)
    supports_in = serializers.ListField(child=Number(), min_length=1, max_length=100)
    cautions_confirmed = YesNo()
