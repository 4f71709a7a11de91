"""A roster, brought in."""
