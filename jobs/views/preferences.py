"""Light or dark: kept in a cookie of the device, since it is about the light in the room."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

THEMES = ("device", "light", "dark")
ONE_YEAR_S = 365 * 24 * 3600


def theme_of(request: HttpRequest) -> str:
    kept = request.COOKIES.get("theme", "device")
    return kept if kept in THEMES else "device"


@login_not_required
@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    back = request.POST.get("back", "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure()):
        back = "/"
    answer = HttpResponseRedirect(back)
    wanted = request.POST.get("theme", "device")
    answer.set_cookie(
        "theme",
        wanted if wanted in THEMES else "device",
        max_age=ONE_YEAR_S,
        samesite="Lax",
        httponly=True,
        secure=request.is_secure(),
    )
    return answer
