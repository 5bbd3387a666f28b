"""How a tablet comes to trust the shop's own authority: the page that walks a person through it, and the file."""

from __future__ import annotations

from cryptography.hazmat.primitives.serialization import Encoding
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs.errors import Unknown
from jobs.site.local_authority import Files, fingerprint, read_certificate


def _authority() -> Files:
    files = Files(settings.DATA / "tls")
    if not files.authority.exists():
        raise Unknown("This site has no authority of its own. It makes one when it is started with serve --tls.")
    return files


@require_safe
@login_not_required
def trust(request: HttpRequest) -> HttpResponse:
    """Public, and over plain http too: a device that does not trust the site yet has to be able to read it."""
    certificate = read_certificate(_authority().authority)
    context = {
        "fingerprint": fingerprint(certificate),
        "until": certificate.not_valid_after_utc,
        "secure_address": settings.SECURE_ADDRESS or request.build_absolute_uri("/"),
        "is_secure": request.is_secure(),
    }
    return render(request, "jobs/tablet/trust.html", context)


@require_safe
@login_not_required
def authority_file(request: HttpRequest) -> HttpResponse:
    """The certificate of the authority, which is no secret. Its key never leaves the data folder."""
    certificate = read_certificate(_authority().authority)
    answer = HttpResponse(certificate.public_bytes(Encoding.DER), content_type="application/x-x509-ca-cert")
    answer["Content-Disposition"] = 'attachment; filename="shop-authority.crt"'
    return answer
