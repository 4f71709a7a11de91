"""The replay over local days: which stages are open, the way back, and what is due."""
