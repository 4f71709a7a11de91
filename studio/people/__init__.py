"""Names, classes and meetings."""
