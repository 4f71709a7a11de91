"""The site, for gunicorn: gunicorn studio.wsgi."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
application = get_wsgi_application()

# Once for each process, before the first request. Checks can be read once there are settings.
from django.db import connection  # noqa: E402

from studio.checks import log_findings  # noqa: E402

log_findings(connection)
