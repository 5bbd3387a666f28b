"""Headers on every answer that Django's own middleware does not set."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

FEATURES = ("accelerometer", "camera", "display-capture", "geolocation", "gyroscope", "magnetometer", "microphone",
            "midi", "payment", "serial", "usb")
# What a page of ours may ask of the tablet: nothing (a photo comes by the file chooser, which needs no leave).
PERMISSIONS = ", ".join(f"{feature}=()" for feature in FEATURES)
# A tablet is passed on: after sign-out its Back key shows nobody's pages. Files with far-future names say otherwise.
KEPT = "private, no-store"


def page_headers(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cache-Control", KEPT)
        return response

    return middleware
