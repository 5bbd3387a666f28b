"""The wiring of the site. The Celery application is imported here, so every process that loads the settings has it."""

from jobs.site.celery import app as celery_app

__all__ = ["celery_app"]
