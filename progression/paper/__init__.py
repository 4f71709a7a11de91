"""Reading a paper log into turns."""
