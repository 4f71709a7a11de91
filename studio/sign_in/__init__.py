"""Passwords, PINs and the slowing of guesses."""
