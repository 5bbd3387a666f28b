"""What each call about the floor answers: what the crew wrote down, and what it works with. Read only."""

from __future__ import annotations

from rest_framework import serializers

from jobs.models import (
    FormCheck,
    Installation,
    LoadTest,
    Mix,
    Piece,
    Pour,
    StrengthTest,
    Stressing,
    StressingReading,
    Wrench,
)

M = serializers.ModelSerializer
ENTRY = ("id", "request_id", "at", "recorded_at", "by", "note")


class FormCheckOut(M[FormCheck]):
    class Meta:
        model = FormCheck
        fields = (*ENTRY, "piece", "revision", "core_held", "sleeves_sealed", "pockets_set", "rod_heights")
        read_only_fields = fields


class PourOut(M[Pour]):
    pieces = serializers.PrimaryKeyRelatedField[Piece](many=True, read_only=True)

    class Meta:
        model = Pour
        fields = (
            *ENTRY,
            "batch",
            "mix",
            "water_added_at",
            "slump_in",
            "unit_weight_pcf",
            "mix_temperature_f",
            "air_temperature_f",
            "pieces",
        )
        read_only_fields = fields


class StrengthTestOut(M[StrengthTest]):
    class Meta:
        model = StrengthTest
        fields = (*ENTRY, "pour", "kind", "factor", "specimens_psi")
        read_only_fields = fields


class ReadingOut(M[StressingReading]):
    class Meta:
        model = StressingReading
        fields = (
            *ENTRY,
            "stressing",
            "rod",
            "step",
            "torque_lbf_ft",
            "elongation_in",
            "crown_in",
            "lift_off_lbf",
            "line_clear",
            "within_tolerance",
            "findings",
        )
        read_only_fields = fields


class StressingOut(M[Stressing]):
    class Meta:
        model = Stressing
        fields = (*ENTRY, "piece", "revision", "wrench", "state", "targets", "gauge_resolution_in", "finished_at")
        read_only_fields = fields


class LoadTestOut(M[LoadTest]):
    class Meta:
        model = LoadTest
        fields = (*ENTRY, "piece", "load_lbf", "deflection_in", "residual_in", "cracks_seen", "accepted")
        read_only_fields = fields


class InstallationOut(M[Installation]):
    class Meta:
        model = Installation
        fields = (*ENTRY, "piece", "supports_in", "cautions_confirmed")
        read_only_fields = fields


class MixOut(M[Mix]):
    class Meta:
        model = Mix
        fields = ("id", "name", "description", "active")
        read_only_fields = fields


class WrenchOut(M[Wrench]):
    class Meta:
        model = Wrench
        fields = ("id", "name", "certificate", "calibrated_until", "active")
        read_only_fields = fields
