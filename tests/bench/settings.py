"""Settings of a benchmark's server: the real ones, with a folder of their own."""

import os
from pathlib import Path

os.environ.setdefault("SECRET_KEY", "benchmarks-only-key-that-is-long-enough-for-the-checks")

from studio.settings import *  # noqa: F403

_folder = Path(os.environ["LADDER_BENCH_FOLDER"])
STATIC_ROOT = _folder / "static"
ROOT_URLCONF = "tests.bench.urls"
ALLOWED_HOSTS = ["127.0.0.1", "testserver"]
