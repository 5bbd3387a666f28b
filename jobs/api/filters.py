"""By what each list can be narrowed."""

from __future__ import annotations

import django_filters as filters

from engineering.models import CheckRun, JobStatus, Study, Verdict
from jobs.models import (
    Design,
    Event,
    FormCheck,
    Installation,
    LoadTest,
    Mix,
    Order,
    Piece,
    Pour,
    Release,
    Revision,
    Stage,
    StrengthTest,
    Stressing,
    Wrench,
)

LARGEST = 10**18


class Id(filters.NumberFilter):
    """The number of a row."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, decimal_places=0, min_value=0, max_value=LARGEST, **kwargs)


class OrderFilter(filters.FilterSet):
    number = filters.CharFilter(lookup_expr="iexact")
    client = filters.CharFilter(lookup_expr="icontains")
    due_before = filters.DateFilter(field_name="due_date", lookup_expr="lt")
    due_after = filters.DateFilter(field_name="due_date", lookup_expr="gt")
    archived = filters.BooleanFilter(field_name="archived_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Order
        fields: tuple[str, ...] = ()


class DesignFilter(filters.FilterSet):
    order = Id()
    mark = filters.CharFilter(lookup_expr="iexact")

    class Meta:
        model = Design
        fields: tuple[str, ...] = ()


class RevisionFilter(filters.FilterSet):
    design = Id()
    order = Id(field_name="design__order")
    sha256 = filters.CharFilter(field_name="specification__sha256")

    class Meta:
        model = Revision
        fields: tuple[str, ...] = ()


class CheckRunFilter(filters.FilterSet):
    revision = Id(field_name="specification__revision")
    design = Id(field_name="specification__revision__design")
    status = filters.ChoiceFilter(choices=JobStatus.choices)
    verdict = filters.ChoiceFilter(choices=Verdict.choices)
    engine_version = filters.CharFilter()

    class Meta:
        model = CheckRun
        fields: tuple[str, ...] = ()


class StudyFilter(filters.FilterSet):
    revision = Id(field_name="specification__revision")
    design = Id(field_name="specification__revision__design")
    kind = filters.CharFilter()
    status = filters.ChoiceFilter(choices=JobStatus.choices)

    class Meta:
        model = Study
        fields: tuple[str, ...] = ()


class ReleaseFilter(filters.FilterSet):
    revision = Id()
    design = Id(field_name="revision__design")
    verdict = filters.ChoiceFilter(choices=Verdict.choices)

    class Meta:
        model = Release
        fields: tuple[str, ...] = ()


class PieceFilter(filters.FilterSet):
    stage = filters.ChoiceFilter(choices=Stage.choices)
    design = Id()
    order = Id(field_name="design__order")
    pour = Id()

    class Meta:
        model = Piece
        fields: tuple[str, ...] = ()


class OfPiece(filters.FilterSet):
    piece = Id()
    order = Id(field_name="piece__design__order")


class FormCheckFilter(OfPiece):
    class Meta:
        model = FormCheck
        fields: tuple[str, ...] = ()


class StressingFilter(OfPiece):
    state = filters.ChoiceFilter(choices=Stressing.State.choices)

    class Meta:
        model = Stressing
        fields: tuple[str, ...] = ()


class LoadTestFilter(OfPiece):
    class Meta:
        model = LoadTest
        fields: tuple[str, ...] = ()


class InstallationFilter(OfPiece):
    class Meta:
        model = Installation
        fields: tuple[str, ...] = ()


class PourFilter(filters.FilterSet):
    batch = filters.CharFilter(lookup_expr="iexact")
    piece = Id(field_name="pieces")

    class Meta:
        model = Pour
        fields: tuple[str, ...] = ()


class StrengthTestFilter(filters.FilterSet):
    pour = Id()

    class Meta:
        model = StrengthTest
        fields: tuple[str, ...] = ()


class EventFilter(filters.FilterSet):
    order = Id()
    design = Id()
    piece = Id()
    verb = filters.CharFilter()
    since = filters.IsoDateTimeFilter(field_name="at", lookup_expr="gte")

    class Meta:
        model = Event
        fields: tuple[str, ...] = ()


class MixFilter(filters.FilterSet):
    active = filters.BooleanFilter()

    class Meta:
        model = Mix
        fields: tuple[str, ...] = ()


class WrenchFilter(filters.FilterSet):
    active = filters.BooleanFilter()
    calibrated_on = filters.DateFilter(field_name="calibrated_until", lookup_expr="gte")

    class Meta:
        model = Wrench
        fields: tuple[str, ...] = ()
