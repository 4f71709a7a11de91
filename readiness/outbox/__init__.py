"""A file saved from a tablet's outbox, brought in."""
