"""The record: the door for turns, tallies, standings, and what people decide."""
