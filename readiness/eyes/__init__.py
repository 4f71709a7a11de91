"""Grades that mean the same, whoever gives them: drawn figures to grade, a second grade of the same
turn, and how alike the studio grades."""
