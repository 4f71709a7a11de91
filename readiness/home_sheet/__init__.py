"""A child's home sheet: shapes that may be held at home, and what may never be tried there."""
