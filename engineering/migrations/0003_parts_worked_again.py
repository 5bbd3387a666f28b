"""Samples of tolerance studies are kept in another form: what lies in the old one is worked again."""

from typing import Any

from django.db import migrations


def work_again(apps: Any, _: Any) -> None:
    parts = apps.get_model("engineering", "StudyPart").objects.filter(study__kind="tolerance", status="done")
    parts.update(status="waiting", result=None, done=0, attempts=0, claim="", lease_until=None, finished_at=None)


class Migration(migrations.Migration):
    dependencies = [("engineering", "0002_study_parts")]
    operations = [migrations.RunPython(work_again, migrations.RunPython.noop)]
