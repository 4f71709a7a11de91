"""A change of the ladder that waits: shown, put in force, taken back."""
