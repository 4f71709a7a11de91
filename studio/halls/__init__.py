"""The halls: where one is, and its emergency card."""
