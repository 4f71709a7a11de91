"""The halls: where one is, and which number to call in an emergency."""
