"""Settings for the tests: the real ones, with a fixed key and quick password hashes.

Hashed static files stay on, so that a missing file fails.
"""

import os

os.environ.setdefault("SECRET_KEY", "tests-only-key-that-is-long-enough-to-satisfy-the-checks")

from studio.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
