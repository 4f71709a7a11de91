"""The way back after a head knock, on a page of its own: what was told, and the next step."""
