"""Sessions in the database, asked only for keys that it could have given.

A cookie can bring any character, and PostgreSQL refuses to look for some.
"""

from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions


class SessionStore(DatabaseSessions):
    def _validate_session_key(self, key: str | None) -> bool:
        return bool(key and key.isascii() and key.isalnum() and len(key) >= 8)
