"""Open notices lead to what they are about, like new ones."""

from typing import Any

from django.db import migrations


def fill_in(apps: Any, _: Any) -> None:
    """What an open notice is about stands in its key, as the first number in it."""
    Notice, Revision = apps.get_model("jobs", "Notice"), apps.get_model("jobs", "Revision")
    for notice in Notice.objects.filter(over_at=None):
        number = int(next(part for part in notice.key.split("-") if part.isdigit()))
        if notice.kind in ("check-failed", "review-wanted"):
            told = Revision.objects.filter(specification__check_runs=number)
            notice.design_id = told.order_by("-number").values_list("design", flat=True).first()
        elif notice.kind in ("repair", "non-conformance"):
            notice.non_conformance_id = number
        elif notice.kind == "calibration-due":
            notice.wrench_id = number
        else:
            continue
        notice.save(update_fields=["design", "non_conformance", "wrench"])


class Migration(migrations.Migration):
    dependencies = [("jobs", "0015_what_a_notice_is_about")]
    operations = [migrations.RunPython(fill_in, migrations.RunPython.noop)]
