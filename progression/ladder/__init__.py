"""A ladder as a file: its fields, what they mean to each other, reading and writing."""
