"""The note that is given at the door, the same evening, to a named adult of the family."""
