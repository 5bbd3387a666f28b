"""An address under api/ at which there is nothing: told in JSON, as every refusal of the API."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.views import APIView

from jobs.api.errors import WORDS
from jobs.errors import Unknown


class Nowhere(APIView):
    schema = None  # no call of the document

    def initial(self, request: Request, *args: Any, **options: Any) -> None:
        """Whatever the method: sign in first, then hear that there is nothing."""
        super().initial(request, *args, **options)
        raise Unknown(WORDS[404])
