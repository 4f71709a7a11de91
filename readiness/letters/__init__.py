"""A letter to a child's family: what it says, and one printed page of it.

``facts`` reads the child's record, ``sections`` and ``why_not_yet`` write the sentences, ``letter``
puts them together, ``type`` finds letters of type for them, ``sheet`` prints them on one A4 page.
"""
