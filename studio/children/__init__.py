"""The children as the desk keeps them: a list, one child's facts, classes, leaving, coming back."""
