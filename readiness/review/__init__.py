"""The review, and a class at a glance."""
