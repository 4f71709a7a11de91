"""Letters that were printed: kept exactly as they were, printed again, and how the family got each.

``waiting`` says which letters a director reads first, ``keeping`` keeps, ``files`` puts several
into one file, and names files.
"""
