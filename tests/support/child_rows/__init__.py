"""Mai with a row of every kind, and rows of any table."""
