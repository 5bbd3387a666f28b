"""How the site runs, for the manager: each part in words, and what to do where something is wrong."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import access
from jobs.models import Shop
from jobs.site import heartbeat, operations
from jobs.views.entries import show

WELL, EYES, WRONG = "pass", "review", "fail"
LATE_S, TOO_LATE_S = 60, 600  # a job that waits so long; a sweep sends it again every few seconds
MANY_FAILURES = 20  # wrong passwords in an hour, more than a shop mistypes
LITTLE_SPACE, NO_SPACE = 0.10, 0.03  # of the disk
RESTART = "Restart it: where the site runs by `serve`, stop that and start it again; in full mode "


@dataclass(frozen=True)
class Part:
    """One line of the page. `state` is a shape of `templatetags.book`; `word` is what stands beside it."""

    name: str
    said: str
    state: str = WELL
    to_do: str = ""

    @property
    def word(self) -> str:
        return {WELL: "well", EYES: "look", WRONG: "wrong"}[self.state]


@require_safe
def operations_page(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "shop")
    now = operations.look()
    parts = [*of_the_machinery(now), *(of_jobs(jobs) for jobs in now.jobs), of_sign_ins(now), of_space(now)]
    parts.append(of_the_coupon_limit(Shop.objects.filter(pk=1).first() or Shop(pk=1)))
    wrong = [part for part in parts if part.state != WELL]
    return show(request, "jobs/operations.html", {"here": "shop", "parts": parts, "wrong": wrong})


def of_the_machinery(now: operations.Operations) -> list[Part]:
    """Queue, worker and beat. Of a queue that is silent the others cannot be asked."""
    if not now.queue_answers:
        to_do = "Entries are kept and their checks run once it is back. `docker compose restart queue` starts it anew."
        return [Part("Queue", "The queue does not answer, so worker and timer cannot be asked.", WRONG, to_do)]
    return [of_the_queue(now), of_the_worker(now), of_the_timer(now)]


def of_the_queue(now: operations.Operations) -> Part:
    lying = [f"{many} in {name}" for name, many in now.depths.items() if many]
    return Part("Queue", f"It answers. Messages in it: {', '.join(lying) or 'none'}.")


def of_the_worker(now: operations.Operations) -> Part:
    to_do = RESTART + "`docker compose restart worker`. What waits is kept, and goes on by itself."
    if now.worker_here is False:
        return Part("Worker", "This site has no worker: checks and records wait.", WRONG, to_do)
    if now.worker_age_s is None:
        return Part("Worker", "No worker has taken up work within a day.", WRONG, to_do)
    said = f"A worker last took up work {duration(now.worker_age_s)} ago."
    if now.worker_age_s > heartbeat.WORKER_FRESH_S:
        return Part("Worker", said, WRONG, "Either all workers are busy with long work, or none runs. " + to_do)
    return Part("Worker", said)


def of_the_timer(now: operations.Operations) -> Part:
    if now.beat_age_s is None or now.beat_age_s >= heartbeat.FRESH_S:
        to_do = RESTART + "`docker compose restart beat`. Until then work that was lost is not sent again."
        return Part("Timer", "The timer that looks for work left lying has not ticked of late.", WRONG, to_do)
    return Part("Timer", f"It last ticked {duration(now.beat_age_s)} ago.")


def of_jobs(jobs: operations.Jobs) -> Part:
    """What waits, what was done last and what broke off, of one kind."""
    said = [f"{jobs.waiting} waiting, {jobs.running} running."]
    state, to_do = WELL, []
    if jobs.oldest_wait_s is not None:
        said.append(f"The oldest has waited {duration(jobs.oldest_wait_s)}.")
        if jobs.oldest_wait_s > LATE_S:
            state = WRONG if jobs.oldest_wait_s > TOO_LATE_S else EYES
            to_do.append("See whether a worker runs (above). If one does and this keeps growing, add workers.")
    if jobs.last_finished is not None:
        took = "" if jobs.last_took_s is None else f", and took {duration(jobs.last_took_s)}"
        said.append(f"The last was done at {timezone.localtime(jobs.last_finished):%Y-%m-%d %H:%M}{took}.")
    if jobs.broken_last_day:
        state = WRONG if state == WRONG else EYES
        said.append(f"{jobs.broken_last_day} broke off within a day.")
        to_do.append("The page of each says why, and runs it again. The log has more, under its number.")
    return Part(jobs.kinds.capitalize(), " ".join(said), state, " ".join(to_do))


def of_sign_ins(now: operations.Operations) -> Part:
    said = f"{now.failures_last_hour} wrong passwords in the last hour, {now.failures_last_day} in the last day"
    said += f", on {counted(now.names_last_day, 'name')}." if now.failures_last_day else "."
    said += f" {now.pins_last_hour} wrong PINs in the last hour, {now.pins_last_day} in the last day."
    if max(now.failures_last_hour, now.pins_last_hour) < MANY_FAILURES:
        return Part("Sign-in", said)
    to_do = "Somebody may be guessing; ten wrong ones lock a name for a while. Ask the people whether it was they, "
    return Part("Sign-in", said, EYES, to_do + "and if not, see that the site can be reached from the shop alone.")


def of_space(now: operations.Operations) -> Part:
    share = now.disk_free / now.disk_total if now.disk_total else 0.0
    said = f"{now.disk_free / 1e9:,.1f} GB free where the data are kept, {share:.0%} of the disk."
    if share >= LITTLE_SPACE:
        return Part("Space", said)
    to_do = "Make room: a full disk takes no entry and no record. Old backups beside the data are the first to move."
    return Part("Space", said, WRONG if share < NO_SPACE else EYES, to_do)


def of_the_coupon_limit(shop: Shop) -> Part:
    """What the gate to stressed cannot do without. A shop that is older than the limit may have none."""
    if shop.coupon_days is None:
        to_do = "You, the shop manager, set it on the shop's page: 90 days is common practice, without a source."
        said = "It is not said for how many days coupon tests count: nothing is marked stressed."
        return Part("Coupons", said, WRONG, to_do)
    return Part("Coupons", f"Coupon tests count for {counted(shop.coupon_days, 'day')}.")


def duration(seconds: float) -> str:
    """Words for a time, in its largest unit: `4 minutes`."""
    for least, size, unit in ((2 * 86400, 86400, "day"), (7200, 3600, "hour"), (120, 60, "minute")):
        if seconds >= least:
            return counted(int(seconds // size), unit)
    return f"{seconds:.1f} s" if seconds < 10 else f"{seconds:.0f} s"


def counted(many: int, unit: str) -> str:
    return f"{many} {unit}" if many == 1 else f"{many} {unit}s"
