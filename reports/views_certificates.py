"""The certificates the shop signs with, for anybody who verifies a record with a program of their own."""

from __future__ import annotations

from asn1crypto import pem
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from reports.callers import too_many
from reports.signing import shop_certificates
from reports.views import SLOWLY


@login_not_required
@require_GET
def certificates(request: HttpRequest) -> HttpResponse:
    """Every certificate the shop ever signed with, as one PEM file; public, as certificates are."""
    if too_many(request, "verify-page"):
        return HttpResponse(SLOWLY, status=429, content_type="text/plain; charset=utf-8")
    data = b"".join(pem.armor("CERTIFICATE", certificate.dump()) for certificate in shop_certificates())
    return HttpResponse(
        data,
        content_type="application/x-pem-file",
        headers={"Content-Disposition": 'attachment; filename="shop-certificates.pem"'},
    )
