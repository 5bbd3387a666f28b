"""The Celery application. Its settings are those that begin with `CELERY_`; what it runs is each app's `tasks.py`."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.site.settings")

app = Celery("camberbook", task_cls="jobs.site.nudge:NudgeTask")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
