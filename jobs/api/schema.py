"""What the OpenAPI document says of every call: the refusals it can meet, and how to sign in."""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_bearer_security_scheme_object
from rest_framework import serializers
from rest_framework.permissions import SAFE_METHODS

from jobs.api.authentication import KEYWORD


class ErrorSerializer(serializers.Serializer[Any]):
    """Why something was not done, and what to do."""

    class Blocker(serializers.Serializer[Any]):
        code = serializers.CharField()
        text = serializers.CharField()
        who = serializers.CharField()

    code = serializers.CharField(help_text="stable")
    message = serializers.CharField(help_text="for a person; may change")
    blockers = Blocker(many=True)


class RefusalSerializer(serializers.Serializer[Any]):
    """A specification that was refused, with every fault of it."""

    class Fault(serializers.Serializer[Any]):
        path = serializers.CharField()
        message = serializers.CharField()

    format = serializers.CharField()
    faults = Fault(many=True)


class ShopSchema(AutoSchema):
    """Adds the refusals that every call can meet to what a view documents itself."""

    always: ClassVar[tuple[str, ...]] = ("401", "403", "404", "429")
    when_sending: ClassVar[tuple[str, ...]] = ("400", "409", "413", "415", "422", "503")

    def _get_response_bodies(self, direction: Literal["request", "response"] = "response") -> dict[str, Any]:
        bodies = super()._get_response_bodies(direction)
        codes = self.always + (self.when_sending if self.method not in SAFE_METHODS else ("400",))
        for code in codes:
            if code not in bodies:
                bodies[code] = self._get_response_for_code(ErrorSerializer, code, direction=direction)
        return bodies


class KeyScheme(OpenApiAuthenticationExtension):
    target_class = "jobs.api.authentication.KeyAuthentication"
    name = "key"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return build_bearer_security_scheme_object(header_name="Authorization", token_prefix=KEYWORD)
