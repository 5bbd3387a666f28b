"""What the fault tests run inside the site's own processes (`manage.py shell -c`): people with keys, and the reckoning
afterwards. Each function prints one line of JSON.
"""

import json
from collections import Counter
from datetime import timedelta

from django.utils import timezone

from engineering.models import CheckRun, Study
from jobs import event_chain
from jobs.actions import people, shop
from jobs.models import Event, Order, Person, Piece, Revision, Role, Stressing, StressingReading
from reports.models import IssuedRecord

PASSWORD = "long enough for tests 7"


def make_people() -> None:
    """A manager, an engineer and a crew member, each with a key that writes; and a wrench."""
    keys = {}
    for role in (Role.MANAGER, Role.ENGINEER, Role.CREW):
        person = Person(username=role, role=role, first_name=str(role).title(), last_name="Test",
                        licence_number="E-1", jurisdiction="Anywhere")
        person.set_password(PASSWORD)
        person.save()
        soon = timezone.now() + timedelta(days=3)
        keys[str(role)] = people.issue_token(person, by=person, label="tests", expires_at=soon, read_only=False)[1]
    manager = Person.objects.get(username=Role.MANAGER)
    wrench = shop.save_wrench(by=manager, name="W-1", calibrated_until=timezone.localdate() + timedelta(days=90))
    print(json.dumps({"keys": keys, "wrench": wrench.pk}))


def reckon() -> None:
    """Everything a test compares with what its tablets were told."""
    print(json.dumps({
        "taps": Counter(map(str, Event.objects.exclude(request_id=None).values_list("request_id", flat=True))),
        "faults": list(event_chain.faults()),
        "orders": list(Order.objects.values_list("number", flat=True)),
        "pieces": Counter(Piece.objects.values_list("stage", flat=True)),
        "revisions": Revision.objects.count(),
        "stressings": Stressing.objects.count(),
        "readings": StressingReading.objects.count(),
        "runs": [[run.pk, run.status, run.verdict, run.problem, run.attempts] for run in
                 CheckRun.objects.defer("result").order_by("pk")],
        "records": [[record.pk, record.status, record.problem, record.attempts, record.file]
                    for record in IssuedRecord.objects.order_by("pk")],
        "studies": [[study.pk, study.status, study.problem, study.result is not None]
                    for study in Study.objects.order_by("pk")],
    }))
