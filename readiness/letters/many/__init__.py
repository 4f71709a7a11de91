"""Letters of a class, or of all classes: prepared side by side, and printed together.

``preparing`` reads and writes several at a time, ``runs`` prints them some at a time.
"""
