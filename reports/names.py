"""What each kind of record, and each standing of its work, is called: English that knows its phrase."""

from __future__ import annotations

from jobs.words import Words, say
from reports.models import RecordKind

NAMES: dict[RecordKind, Words] = {
    RecordKind.DESIGN: say("Design record"),
    RecordKind.FORM: say("Form drawing"),
    RecordKind.POUR: say("Pour ticket"),
    RecordKind.STRESSING: say("Stressing record"),
    RecordKind.LOAD_TEST: say("Load-test record"),
    RecordKind.HANDOVER: say("Handover record"),
    RecordKind.LABEL: say("Label"),
}
