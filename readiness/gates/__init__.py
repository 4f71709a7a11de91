"""The gates: what each lets through, and other values for it."""
