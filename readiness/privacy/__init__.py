"""A child's whole record given out; a child erased, by two."""
