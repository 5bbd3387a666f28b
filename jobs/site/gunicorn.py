"""How gunicorn runs the site in full mode. `GUNICORN_CMD_ARGS` and the command line go over it."""

import os
from typing import Any

from gunicorn.glogging import Logger

from jobs.site import log_lines

bind = f"{os.environ.get('CAMBERBOOK_BIND', '127.0.0.1')}:8000"
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
worker_tmp_dir = "/dev/shm" if os.path.isdir("/dev/shm") else None  # noqa: S108  gunicorn's own advice for containers
# With threads a long download, or a tablet on a poor line, holds one thread and not the process, and `timeout` is about
# a process that hangs. No line is kept open: the proxy would now and then send an entry on one that is being closed.
threads = int(os.environ.get("WEB_THREADS", "4"))
keepalive = 0
timeout = 60
graceful_timeout = 30
max_requests = 2000
max_requests_jitter = 200
JSON = os.environ.get("CAMBERBOOK_LOGS", "").strip() == "json"
accesslog = None if JSON else "-"       # as JSON each request has a line of the site's own
# No query string in the log: a shared link carries its key there.
access_log_format = '%(h)s "%(m)s %(U)s" %(s)s %(b)s %(M)sms %({x-request-id}o)s'


class logger_class(Logger):     # noqa: N801  gunicorn's name of the setting
    """Gunicorn's lines in the site's own form: no key of a calendar in them, JSON where that is asked for."""

    def setup(self, cfg: Any) -> None:
        super().setup(cfg)
        for handler in (*self.error_log.handlers, *self.access_log.handlers):
            handler.setFormatter(log_lines.JsonLine() if JSON else log_lines.TextLine())
