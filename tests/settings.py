"""The site's own settings, with a data folder that goes away after the tests and a quick password hash."""

import atexit
import os
import shutil
import tempfile

if "CAMBERBOOK_DATA" not in os.environ:
    os.environ["CAMBERBOOK_DATA"] = tempfile.mkdtemp(prefix="camberbook-tests-")
    atexit.register(shutil.rmtree, os.environ["CAMBERBOOK_DATA"], ignore_errors=True)

from jobs.site.settings import *  # noqa: F403  only after the data folder is chosen

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Every test client builds the middleware anew: static files are looked up when asked for, not listed each time.
WHITENOISE_AUTOREFRESH = True
