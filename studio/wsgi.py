"""The site, for gunicorn: gunicorn studio.wsgi."""

import gc
import os
import sys
from importlib import import_module

from django.core.wsgi import get_wsgi_application

# What the program writes is for its own account alone: 0600, folders 0700.
os.umask(0o077)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
application = get_wsgi_application()

# Once for each process, before the first request. Checks can be read once there are settings.
from django.conf import settings  # noqa: E402
from django.db import connection  # noqa: E402

from studio.backup.running import say_server_runs  # noqa: E402
from studio.db.checks import log_findings  # noqa: E402

log_findings(connection)
say_server_runs(connection)

# A turn asks the database a dozen things, and while it waits another thread works. It goes
# on after this many seconds, not 0.005: a turn holds locks that other tablets wait for.
sys.setswitchinterval(0.0005)

# With all pages loaded, nearly every object stays: the collector need not go through them again
# and again, which took 80 ms each time.
import_module(settings.ROOT_URLCONF)
gc.collect()
gc.freeze()
