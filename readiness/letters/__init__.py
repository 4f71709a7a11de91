"""A letter to a child's family: what it says, and one printed page of it.

``letter`` writes the sentences from the record, ``type`` finds letters of type for them,
``sheet`` prints them on one A4 page.
"""
