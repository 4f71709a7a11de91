"""The evidence for one stage of one child, and the forms that decide on it."""
