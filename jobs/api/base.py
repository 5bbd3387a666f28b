"""What every view of the API shares: who may call, how input is read, how long a page is and how rows are answered."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django_filters.rest_framework import DjangoFilterBackend
from rest_framework import serializers
from rest_framework.filters import OrderingFilter
from rest_framework.pagination import PageNumberPagination
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from jobs.access import may, need
from jobs.errors import NotAllowed
from jobs.models import ApiToken, Person


class Pages(PageNumberPagination):
    page_size, max_page_size, page_size_query_param = 50, 200, "page_size"


class RoleAllows(BasePermission):
    """The person's role has the permission that the view names for this action; a key that only reads, only reads.

    An action without an entry in `needs` is open to nobody.
    """

    def has_permission(self, request: Request, view: Any) -> bool:
        if not (request.user and request.user.is_authenticated):
            return False
        if isinstance(request.auth, ApiToken) and request.auth.read_only and request.method not in SAFE_METHODS:
            raise NotAllowed("This key only reads. Make one that may write, on your account's page.")
        if view.action is None:
            return True  # the method is not offered here: DRF answers 405
        permission = view.needs.get(view.action)
        if permission is None:
            return view.action == "metadata"
        need(request.user, permission)
        return may(request.user, permission)


class ShopViewSet(GenericViewSet):
    """`needs` maps each action to its permission. Lists are paged, filtered and ordered; single rows come by
    `jobs.access`.
    """

    needs: ClassVar[dict[str, str]] = {}
    permission_classes = (RoleAllows,)
    pagination_class: type[Pages] | None = Pages
    filter_backends: tuple[type[Any], ...] = (DjangoFilterBackend, OrderingFilter)
    ordering_fields: ClassVar[tuple[str, ...]] = ()
    lookup_value_regex = "[0-9]{1,18}"
    http_method_names = ["get", "head", "post", "patch", "options"]

    def read(self, kind: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
        """What was sent, as plain values by name. ValidationError (400) names each field that is not right."""
        sent = kind(data=request.data)
        sent.is_valid(raise_exception=True)
        return dict(sent.validated_data)

    def answer(self, kind: type[serializers.BaseSerializer[Any]], row: Any, *, status: int = 200) -> Response:
        return Response(kind(row, context=self.get_serializer_context()).data, status=status)


def caller(request: Request) -> Person:
    """Who is calling. `RoleAllows` has let nobody through without an account."""
    return cast(Person, request.user)
