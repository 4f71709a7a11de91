"""The September sheet: after the summer, whose last step of the way back waits for a yes."""
