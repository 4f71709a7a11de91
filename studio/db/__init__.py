"""The databases: checks, prepared statements, bulk writing, moving."""
