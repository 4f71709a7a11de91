"""The show list: what is in force for each child in a number, and what people decide of it."""
