"""Settings for the tests: the real ones, with a fixed key and quick password hashes.

Hashed static files stay on, so that a missing file fails.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

os.environ.setdefault("SECRET_KEY", "tests-only-key-that-is-long-enough-to-satisfy-the-checks")

from studio.settings import *  # noqa: F403
from studio.settings import DATABASES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

# One folder of its own for every run, so that runs can go side by side.
_folder = Path(tempfile.mkdtemp(prefix="ladder-tests-"))
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
STATIC_ROOT = _folder / "static"

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file, where Django would take memory: only a file has a journal, and threads that wait
    # for each other's writes.
    DATABASES["default"]["TEST"] = {"NAME": str(_folder / "test.sqlite3")}
