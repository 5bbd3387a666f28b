"""Studies of a revision: started, watched, stopped, read; and revisions or studies compared."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from engineering.models import Study
from jobs import comparison
from jobs.access import revision_for, study_for
from jobs.actions import studies
from jobs.api import filters, inputs, outputs
from jobs.api.base import ShopViewSet, caller
from jobs.errors import BadEntry
from jobs.models import Revision

WITH = OpenApiParameter("with", int, description="number of the other; without it, the one before")


def other_than(request: Request) -> int | None:
    """The number after `with`; None without one. BadEntry for what is no number."""
    text = request.query_params.get("with", "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 19):
        raise BadEntry("“with” takes the number of the other one.", field="with")
    return int(text)


def compared_revisions(request: Request, pk: Any) -> dict[str, Any]:
    """The revision `pk` at the right; at the left the one named by `with`, or the one before it."""
    right = revision_for(request.user, pk)
    number = other_than(request)
    before = Revision.objects.select_related("specification").filter(design=right.design, number__lt=right.number)
    left = revision_for(request.user, number) if number is not None else before.order_by("-number").first() or right
    return {"left": left.pk, "right": right.pk, **comparison.of_revisions(left, right).to_json()}


class StudyViewSet(ListModelMixin, ShopViewSet):
    """Many variants of one piece: rods found, the allowable region, re-tightening, tolerances, advice."""

    needs = {"list": "view", "retrieve": "view", "create": "specify", "stop": "specify", "compare": "view"}
    serializer_class = outputs.StudyOut
    filterset_class = filters.StudyFilter
    ordering_fields = ("created_at", "finished_at")
    queryset = Study.objects.filter(specification__revision__isnull=False)

    def get_queryset(self) -> QuerySet[Study]:
        rows = super().get_queryset().select_related("specification__revision")
        return rows.defer("result", "specification__document").order_by("-pk")

    @extend_schema(responses=outputs.StudyWholeOut)
    def retrieve(self, request: Request, pk: str) -> Response:
        """Its progress from 0 to 1, and the whole answer once it is done."""
        return self.answer(outputs.StudyWholeOut, study_for(request.user, pk))

    @extend_schema(request=inputs.StudyIn, responses={202: outputs.StudyOut})
    def create(self, request: Request) -> Response:
        """Start a study. Where the same is under way already, that one is answered."""
        sent = self.read(inputs.StudyIn, request)
        revision = revision_for(request.user, sent.pop("revision"), may="specify")
        return self.answer(outputs.StudyOut, studies.start(revision, by=caller(request), **sent), status=202)

    @extend_schema(request=inputs.Tap, responses={200: outputs.StudyOut})
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        """Stop it: what waits ends at once, what is being worked within about a second."""
        study = study_for(request.user, pk, may="specify")
        return self.answer(outputs.StudyOut, studies.stop(study, by=caller(request), **self.read(inputs.Tap, request)))

    @extend_schema(parameters=[WITH], responses=outputs.ComparisonOut)
    @action(detail=True, methods=["get"], pagination_class=None, filter_backends=())
    def compare(self, request: Request, pk: str) -> Response:
        """This study at the right, another of its kind at the left: what was asked otherwise, what answers move."""
        right, number = study_for(request.user, pk), other_than(request)
        before = Study.objects.filter(specification__revision__isnull=False, kind=right.kind, pk__lt=right.pk)
        left = study_for(request.user, number) if number is not None else before.order_by("-pk").first() or right
        if left.kind != right.kind:
            raise BadEntry(f"A study “{left.kind}” cannot be compared with one of another kind.", field="with")
        found = comparison.of_studies(left, right).to_json()
        return self.answer(outputs.ComparisonOut, {"left": left.pk, "right": right.pk, **found})
