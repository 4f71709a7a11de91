"""Tonight's classes, and opening a meeting."""
