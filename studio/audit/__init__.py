"""Who did what that others may have to answer for: an append-only log in which each row holds to
the one before it."""
