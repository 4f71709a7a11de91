"""Something in every room beside the turns: a show, incidents, what the halls have, spotters, an
evidence hour.

Each row is made by the function that the page calls, at its own time (recent_weeks.py).
"""
