"""Whether the server can do its work, for a monitor."""
