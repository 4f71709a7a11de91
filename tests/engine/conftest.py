"""The properties are searched as tests/support/engine/profiles.py says."""

from tests.support.engine import profiles  # noqa: F401
