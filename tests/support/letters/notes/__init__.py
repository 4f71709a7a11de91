"""Notes for the door, held against the raw record in each language."""
