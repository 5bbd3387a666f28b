"""What each call answers. Read only: nothing is saved through these."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from engineering.models import CheckRun, Study
from jobs.access import PERMISSIONS, may
from jobs.actions import standards
from jobs.models import (
    Design,
    Event,
    Order,
    Person,
    Piece,
    Release,
    Revision,
    StandardPiece,
)

M = serializers.ModelSerializer


class OrderOut(M[Order]):
    class Meta:
        model = Order
        fields = ("id", "number", "client", "site", "due_date", "notes", "created_at", "archived_at", "version")
        read_only_fields = fields


class DesignOut(M[Design]):
    newest_revision = serializers.IntegerField(help_text="number of the newest revision", allow_null=True)

    class Meta:
        model = Design
        fields = ("id", "order", "mark", "title", "load_test_required", "created_at", "newest_revision")
        read_only_fields = fields


REVISION: tuple[str, ...] = ("id", "design", "number", "letter", "note", "made_by", "made_at", "sha256", "units")
CHECK_RUN: tuple[str, ...] = (
    "id",
    "revision",
    "engine_version",
    "status",
    "verdict",
    "current",
    "problem",
    "attempts",
    "created_at",
    "finished_at",
)


class RevisionOut(M[Revision]):
    """A revision without its document; its check runs are at check-runs."""

    letter = serializers.CharField(read_only=True)
    sha256 = serializers.CharField(source="specification.sha256", read_only=True)
    units = serializers.CharField(source="specification.units", read_only=True)

    class Meta:
        model = Revision
        fields: tuple[str, ...] = REVISION
        read_only_fields = fields


class RevisionWholeOut(RevisionOut):
    document = serializers.JSONField(source="specification.document", read_only=True)

    class Meta(RevisionOut.Meta):
        fields = (*REVISION, "document")
        read_only_fields = fields


class CheckRunOut(M[CheckRun]):
    """A check run without its result. `current` is false for a verdict by an older engine."""

    revision = serializers.IntegerField(source="specification.revision.pk", read_only=True)
    current = serializers.BooleanField(source="is_current", read_only=True)

    class Meta:
        model = CheckRun
        fields: tuple[str, ...] = CHECK_RUN
        read_only_fields = fields


class CheckRunWholeOut(CheckRunOut):
    result = serializers.JSONField(read_only=True, allow_null=True)

    class Meta(CheckRunOut.Meta):
        fields = (*CHECK_RUN, "result")
        read_only_fields = fields


STUDY: tuple[str, ...] = (
    "id",
    "revision",
    "kind",
    "settings",
    "engine_version",
    "status",
    "progress",
    "stop_wanted",
    "problem",
    "created_at",
    "finished_at",
)


class StudyOut(M[Study]):
    """A study without its answer. `status` is waiting until the last part is worked; `progress` tells how far it is."""

    revision = serializers.IntegerField(source="specification.revision.pk", read_only=True)

    class Meta:
        model = Study
        fields: tuple[str, ...] = STUDY
        read_only_fields = fields


class StudyWholeOut(StudyOut):
    result = serializers.JSONField(read_only=True, allow_null=True)

    class Meta(StudyOut.Meta):
        fields = (*STUDY, "result")
        read_only_fields = fields


class ComparisonOut(serializers.Serializer[Any]):
    """Two revisions or studies. `change` is right less left; None where one of them has no such value."""

    class Input(serializers.Serializer[Any]):
        path = serializers.CharField()
        words = serializers.CharField()
        left = serializers.CharField()
        right = serializers.CharField()
        default = serializers.CharField()

    class Moved(serializers.Serializer[Any]):
        name = serializers.CharField()
        left = serializers.JSONField(allow_null=True, help_text="a number, or a word")
        right = serializers.JSONField(allow_null=True)
        unit = serializers.CharField()
        change = serializers.FloatField(allow_null=True)
        left_verdict = serializers.CharField()
        right_verdict = serializers.CharField()

    left = serializers.IntegerField()
    right = serializers.IntegerField()
    inputs = Input(many=True)
    checks = Moved(many=True)
    figures = Moved(many=True)
    still = serializers.IntegerField(help_text="checks that do not move")
    left_verdict = serializers.CharField()
    right_verdict = serializers.CharField()
    units_differ = serializers.BooleanField()


class BlockerOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    text = serializers.CharField()
    who = serializers.CharField()


class StandardPieceOut(M[StandardPiece]):
    """A standard piece; its limits in inches and psf. Not to be ordered from while `blockers` names something."""

    class Limit(serializers.Serializer[Any]):
        measure = serializers.CharField()
        low = serializers.FloatField()
        high = serializers.FloatField()

    limits = Limit(many=True, read_only=True)
    blockers = serializers.SerializerMethodField()

    class Meta:
        model = StandardPiece
        fields = (
            "id",
            "name",
            "about",
            "revision",
            "limits",
            "study",
            "made_by",
            "made_at",
            "approved_by",
            "approved_at",
            "licence_number",
            "jurisdiction",
            "retired_at",
            "blockers",
        )
        read_only_fields = fields

    @extend_schema_field(BlockerOut(many=True))
    def get_blockers(self, row: StandardPiece) -> list[dict[str, str]]:
        return [asdict(one) for one in standards.blockers(row)]


class ReleaseOut(M[Release]):
    class Meta:
        model = Release
        fields = (
            "id",
            "revision",
            "check_run",
            "verdict",
            "accepted_by",
            "accepted_as",
            "licence_number",
            "jurisdiction",
            "note",
            "signed_copy",
            "accepted_at",
        )
        read_only_fields = fields


class PieceOut(M[Piece]):
    name = serializers.CharField(source="__str__", read_only=True)
    held_from = serializers.CharField(help_text="the stage that it was held from; empty unless it is held")

    class Meta:
        model = Piece
        fields = (
            "id",
            "name",
            "design",
            "serial",
            "stage",
            "stage_since",
            "held_from",
            "hold_reason",
            "bed",
            "revision",
            "pour",
            "remake_of",
        )
        read_only_fields = fields


class BedOut(serializers.Serializer[Any]):
    """A curing bed of the shop."""

    name = serializers.CharField()
    piece = serializers.IntegerField(allow_null=True, help_text="what lies on it; null where it is free")


class NextMoveOut(serializers.Serializer[Any]):
    to_stage = serializers.CharField()
    blockers = BlockerOut(many=True, help_text="what is missing; empty where the way is free")


class MovedOut(serializers.Serializer[Any]):
    piece = PieceOut()
    event = serializers.IntegerField(help_text="number of the move in the event log")


class EventOut(M[Event]):
    by_name = serializers.CharField(source="by.display_name", read_only=True, default="")

    class Meta:
        model = Event
        fields = (
            "sequence",
            "at",
            "by",
            "by_name",
            "verb",
            "text",
            "order",
            "design",
            "piece",
            "detail",
            "request_id",
            "previous_hash",
            "hash",
        )
        read_only_fields = fields


class MeOut(M[Person]):
    name = serializers.CharField(source="display_name", read_only=True)
    permissions = serializers.SerializerMethodField()

    class Meta:
        model = Person
        fields = ("id", "username", "name", "role", "permissions")
        read_only_fields = fields

    def get_permissions(self, person: Person) -> list[str]:
        return sorted(name for name in PERMISSIONS if may(person, name))
