"""The staff of a director's halls, and the end of their access."""
