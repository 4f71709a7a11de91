"""Angles read from a side-on picture: what they are, how far off they may be, and which grade they
suggest. An angle suggests; a person grades."""
