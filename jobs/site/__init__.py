"""The wiring of the site. The Celery application is imported here, so every process that loads the settings has it."""

import os

# Before numpy is loaded: the products of a study are small, and OpenBLAS's own threads cost more than they bring (a
# study takes twice the processor time with them). Workers are what uses more cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from jobs.site.celery import app as celery_app

__all__ = ["celery_app"]
