"""Newcomers who have learned elsewhere: placed in one list."""
