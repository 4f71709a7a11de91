"""The sentences of an evening's stations."""
