"""Designs, their revisions (the specifications), check runs and releases."""

from __future__ import annotations

from typing import Any

from django.db.models import Max, QuerySet
from drf_spectacular.utils import OpenApiResponse, PolymorphicProxySerializer, extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from engineering.models import CheckRun
from jobs.access import check_run_for, design_for, order_for, revision_for, row_for
from jobs.actions import designs
from jobs.api import filters, inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.api.schema import ErrorSerializer, RefusalSerializer
from jobs.api.studies import WITH, compared_revisions
from jobs.models import Design, Release, Revision

REFUSED = OpenApiResponse(
    PolymorphicProxySerializer(
        component_name="RefusedOrError", serializers=[RefusalSerializer, ErrorSerializer], resource_type_field_name=None
    ),
    description="The specification was refused, with every fault; or an entry that cannot be.",
)


class DesignViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view", "create": "specify", "revise": "specify", "pieces": "order"}
    queryset = Design.objects.annotate(newest_revision=Max("revisions__number")).order_by("order", "mark")
    serializer_class = outputs.DesignOut
    filterset_class = filters.DesignFilter
    ordering_fields = ("mark", "created_at")

    def _whole(self, request: Request, pk: Any) -> Design:
        return row_for(request.user, self.get_queryset(), pk, "view")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.DesignOut, self._whole(request, pk))

    @extend_schema(request=inputs.DesignIn, responses={201: outputs.DesignOut, 422: REFUSED})
    def create(self, request: Request) -> Response:
        """A design with its first revision, a check run that waits, and its pieces."""
        sent = self.read(inputs.DesignIn, request)
        order = order_for(request.user, sent.pop("order"), may="specify")
        design = designs.create_design(order, by=caller(request), **sent)
        return self.answer(outputs.DesignOut, self._whole(request, design.pk), status=201)

    @extend_schema(request=inputs.ReviseIn, responses={201: outputs.RevisionWholeOut, 422: REFUSED})
    @action(detail=True, methods=["post"])
    def revise(self, request: Request, pk: str) -> Response:
        """The next revision, with its own check run. Refused (409) where somebody saved one after `base_revision`."""
        design = design_for(request.user, pk, may="specify")
        revision = designs.revise(design, by=caller(request), **self.read(inputs.ReviseIn, request))
        return self.answer(outputs.RevisionWholeOut, revision, status=201)

    @extend_schema(request=inputs.PiecesIn, responses={201: outputs.PieceOut(many=True)})
    @action(detail=True, methods=["post"], pagination_class=None, filter_backends=())
    def pieces(self, request: Request, pk: str) -> Response:
        """More pieces of the design."""
        design = design_for(request.user, pk, may="order")
        made = designs.add_pieces(design, by=caller(request), **self.read(inputs.PiecesIn, request))
        return Response(outputs.PieceOut(made, many=True).data, status=201)


class RevisionViewSet(ListModelMixin, ShopViewSet):
    """Specifications: a numbered revision of a design, never edited."""

    needs = {"list": "view", "retrieve": "view", "release": "release", "rerun": "specify", "compare": "view"}
    queryset = (
        Revision.objects.select_related("specification").defer("specification__document").order_by("design", "number")
    )
    serializer_class = outputs.RevisionOut
    filterset_class = filters.RevisionFilter
    ordering_fields = ("number", "made_at")

    @extend_schema(responses=outputs.RevisionWholeOut)
    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.RevisionWholeOut, revision_for(request.user, pk))

    @extend_schema(request=inputs.ReleaseIn, responses={201: outputs.ReleaseOut})
    @action(detail=True, methods=["post"])
    def release(self, request: Request, pk: str) -> Response:
        """Accept the revision: on a pass the manager or an engineer, on a review an engineer, on a fail nobody."""
        revision = revision_for(request.user, pk, may="release")
        made = designs.release(revision, by=caller(request), **self.read(inputs.ReleaseIn, request))
        return self.answer(outputs.ReleaseOut, made, status=201)

    @extend_schema(request=inputs.Tap, responses={202: outputs.CheckRunOut})
    @action(detail=True, methods=["post"])
    def rerun(self, request: Request, pk: str) -> Response:
        """Ask for the checks again, where they broke off or are by an older engine."""
        revision = revision_for(request.user, pk, may="specify")
        run = designs.rerun_checks(revision, by=caller(request), **self.read(inputs.Tap, request))
        return self.answer(outputs.CheckRunOut, run, status=202)

    @extend_schema(parameters=[WITH], responses=outputs.ComparisonOut)
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def compare(self, request: Request, pk: str) -> Response:
        """This revision at the right, another at the left: inputs that differ, checks and figures that move."""
        return self.answer(outputs.ComparisonOut, compared_revisions(request, pk))


class CheckRunViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view"}
    serializer_class = outputs.CheckRunOut
    filterset_class = filters.CheckRunFilter
    ordering_fields = ("created_at", "finished_at")
    queryset = CheckRun.objects.filter(specification__revision__isnull=False)

    def get_queryset(self) -> QuerySet[CheckRun]:
        runs = super().get_queryset().select_related("specification__revision")
        return runs.defer("result", "specification__document").order_by("-pk")

    @extend_schema(responses=outputs.CheckRunWholeOut)
    def retrieve(self, request: Request, pk: str) -> Response:
        """With the whole result, once it is done."""
        return self.answer(outputs.CheckRunWholeOut, check_run_for(request.user, pk))


class ReleaseViewSet(ListModelMixin, ShopViewSet):
    needs = {"list": "view", "retrieve": "view"}
    queryset = Release.objects.order_by("-pk")
    serializer_class = outputs.ReleaseOut
    filterset_class = filters.ReleaseFilter
    ordering_fields = ("accepted_at",)

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(outputs.ReleaseOut, row_for(request.user, self.get_queryset(), pk, "view"))
