"""The sentences for staff, by what they speak of. Shared: used by every room that staff read.

They are made from a reading (readiness.engine.reading) and the names of the ladder it was read
under, and from nothing else. No sentence promises that a child comes to no
harm; a child is called by name.
"""
