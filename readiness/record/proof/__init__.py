"""Whose turn it is: what proves it as it comes in, and who confirms it later."""
