"""The arithmetic: evidence in, reading out. No Django, no database, no clock."""

from readiness.engine.clean_rate import clean_turns_to_open, lately, sureness

__all__ = ["clean_turns_to_open", "lately", "sureness"]
