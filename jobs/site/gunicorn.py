"""How gunicorn runs the site in full mode. `GUNICORN_CMD_ARGS` and the command line go over it."""

import os

bind = f"{os.environ.get('CAMBERBOOK_BIND', '127.0.0.1')}:8000"
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None  # noqa: S108  gunicorn's own advice for containers
timeout = 60
graceful_timeout = 30
max_requests = 2000
max_requests_jitter = 200
accesslog = "-"
# No query string in the log: a shared link carries its key there.
access_log_format = '%(h)s "%(m)s %(U)s" %(s)s %(b)s %(M)sms'
