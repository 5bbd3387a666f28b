"""`/metrics/`: how the site runs, in the text format that Prometheus reads (exposition format, version 0.0.4).

Open to a manager's session, and to a program with the key of `CAMBERBOOK_METRICS_KEY`; to no program without one set.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobs import access
from jobs.site import operations

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"
Value = float | int | bool | None


@dataclass
class Gauge:
    """One family of figures: (labels, value) each. A value of None is left out."""

    name: str
    help: str
    values: list[tuple[Mapping[str, str], Value]] = field(default_factory=list)


def gauges(now: operations.Operations) -> list[Gauge]:
    """Names carry their unit, as the format's own naming advice has it: seconds and bytes."""
    kinds = [({"kind": jobs.kind.replace(" ", "_")}, jobs) for jobs in now.jobs]
    nothing: dict[str, str] = {}
    return [
        Gauge("jobs_waiting", "Rows that wait for a worker.", [(kind, jobs.waiting) for kind, jobs in kinds]),
        Gauge("jobs_running", "Rows that a worker has claimed.", [(kind, jobs.running) for kind, jobs in kinds]),
        Gauge("jobs_oldest_wait_seconds", "Age of the oldest row that waits; 0 where none does.",
              [(kind, jobs.oldest_wait_s or 0.0) for kind, jobs in kinds]),
        Gauge("jobs_last_finished_timestamp_seconds", "When the last one was done, in seconds since 1970.",
              [(kind, jobs.last_finished.timestamp() if jobs.last_finished else None) for kind, jobs in kinds]),
        Gauge("jobs_last_duration_seconds", "From claim to end of the last one that was done.",
              [(kind, jobs.last_took_s) for kind, jobs in kinds]),
        Gauge("jobs_broken", "Rows that broke off and are kept, without those stopped by wish.",
              [(kind, jobs.broken) for kind, jobs in kinds]),
        Gauge("jobs_broken_last_day", "Of these, those of the last 24 hours.",
              [(kind, jobs.broken_last_day) for kind, jobs in kinds]),
        Gauge("sign_in_failures", "Wrong passwords within the time; not counted while a name is locked.",
              [({"within": "1h"}, now.failures_last_hour), ({"within": "24h"}, now.failures_last_day)]),
        Gauge("pin_failures", "Wrong PINs on the shop's tablets within the time.",
              [({"within": "1h"}, now.pins_last_hour), ({"within": "24h"}, now.pins_last_day)]),
        Gauge("queue_up", "1 if the queue answers.", [(nothing, now.queue_answers)]),
        Gauge("queue_depth", "Messages in a queue.", [({"queue": name}, many) for name, many in now.depths.items()]),
        Gauge("worker_heartbeat_age_seconds", "Since any worker took up work; the sweeps bring some all the time.",
              [(nothing, now.worker_age_s)]),
        Gauge("beat_heartbeat_age_seconds", "Since beat last ticked.", [(nothing, now.beat_age_s)]),
        Gauge("data_free_bytes", "Free space where the data are kept.", [(nothing, now.disk_free)]),
        Gauge("data_size_bytes", "All space there.", [(nothing, now.disk_total)]),
    ]  # fmt: skip


def written(families: Iterable[Gauge]) -> str:
    """The text: HELP, TYPE and one line per value. A family without a value is left out."""
    lines: list[str] = []
    for family in families:
        values = [(labels, value) for labels, value in family.values if value is not None]
        if not values:
            continue
        name = f"camberbook_{family.name}"
        lines += [f"# HELP {name} {escaped(family.help)}", f"# TYPE {name} gauge"]
        lines += [f"{name}{_labels(labels)} {_figure(value)}" for labels, value in values]
    return "".join(f"{line}\n" for line in lines)


def escaped(text: str, *, quoted: bool = False) -> str:
    """Backslash and line feed, and inside a label's value the double quote, as the format asks."""
    text = text.replace("\\", "\\\\").replace("\n", "\\n")
    return text.replace('"', '\\"') if quoted else text


def _labels(labels: Mapping[str, str]) -> str:
    inside = ",".join(f'{name}="{escaped(value, quoted=True)}"' for name, value in labels.items())
    return f"{{{inside}}}" if inside else ""


def _figure(value: float | int | bool) -> str:
    return str(int(value)) if isinstance(value, bool | int) else repr(value)


def has_the_key(request: HttpRequest) -> bool:
    """`Authorization: Bearer KEY`, compared in constant time. Never where no key is set."""
    kind, _, key = request.headers.get("Authorization", "").partition(" ")
    right = settings.METRICS_KEY.encode()
    sent = key.strip().encode("utf-8", "surrogateescape")
    return bool(right) and kind.lower() == "bearer" and hmac.compare_digest(sent, right)


@login_not_required
@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    if not has_the_key(request):
        if request.headers.get("Authorization"):
            return HttpResponse("This key does not open the metrics.\n", "text/plain", 401,
                                headers={"WWW-Authenticate": "Bearer"})  # fmt: skip
        if not request.user.is_authenticated:
            return redirect_to_login(request.path)
        access.need(request.user, "shop")
    return HttpResponse(written(gauges(operations.look())), CONTENT_TYPE)
