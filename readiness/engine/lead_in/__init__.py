"""The years before a skill: what a young child works on, term by term."""
