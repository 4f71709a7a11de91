"""A paper log, brought in."""
