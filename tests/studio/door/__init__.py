"""The door: what is sent, how much of it, and by whom it is guessed at."""
