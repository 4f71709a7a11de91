"""The languages of letters: which there are, and which somebody at home in them has read."""
