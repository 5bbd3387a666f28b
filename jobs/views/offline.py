"""What makes the site a page that stays: its manifest, its service worker, and the page shown when nothing else is."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

from engineering.core.version import ENGINE_VERSION

WORKER = "jobs/service-worker.js"
ICONS = (("jobs/icon-192.png", "192x192"), ("jobs/icon-512.png", "512x512"))
# The crew's pages have these; a page of the office needs the network anyway.
KEPT = (
    *(f"jobs/{name}.css" for name in ("camberbook", "sheet", "board", "floor", "production", "tablet")),
    *(
        f"jobs/{name}.js"
        for name in (
            "page",
            "request-id",
            "drafts",
            "strength",
            "working-time",
            "stressing",
            "readings",
            "rods-later",
            "queue",
            "queue-store",
            "queue-send",
            "queue-words",
            "queue-page",
            "keep-pages",
        )
    ),
    "django_htmx/htmx-2.min.js",
    "reports/plots.css",
    "reports/plots.js",
    "jobs/mark.svg",
    *(name for name, _ in ICONS),
)


def _bytes(name: str) -> bytes:
    found = finders.find(name)
    if isinstance(found, str):
        return Path(found).read_bytes()
    return (Path(settings.STATIC_ROOT or ".") / name).read_bytes()


@cache
def build() -> str:
    """Changes with any file a tablet keeps: what it kept of another build is then dropped."""
    digest = hashlib.sha256(ENGINE_VERSION.encode())
    for name in (*KEPT, WORKER):
        digest.update(_bytes(name))
    return digest.hexdigest()[:16]


@require_safe
@login_not_required
def service_worker(request: HttpRequest) -> HttpResponse:
    """From the root, so that its scope is the whole site. Never kept by the browser: it is how a new build arrives."""
    # Scripts import each other by their plain names, pages name them with their hash where they have one.
    files = {url for name in KEPT for url in (static(name), settings.STATIC_URL + name)}
    told = {"build": build(), "keep": sorted(files), "offline": reverse("offline")}
    text = f"const TOLD = {json.dumps(told)};\n" + _bytes(WORKER).decode()
    return HttpResponse(text, content_type="text/javascript; charset=utf-8")


@require_safe
@login_not_required
def manifest(request: HttpRequest) -> HttpResponse:
    told = {
        "name": "Camberbook",
        "short_name": "Camberbook",
        "start_url": reverse("today"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f4f7ef",
        "theme_color": "#16231d",
        "icons": [{"src": static(name), "sizes": sizes, "type": "image/png"} for name, sizes in ICONS]
        + [{"src": static("jobs/mark.svg"), "sizes": "any", "type": "image/svg+xml"}],
    }
    return HttpResponse(json.dumps(told), content_type="application/manifest+json")


@require_safe
@login_not_required
def offline(request: HttpRequest) -> HttpResponse:
    """Shown by the device for an address it has not kept: says so, and lists what it has."""
    return render(request, "jobs/tablet/offline.html")
