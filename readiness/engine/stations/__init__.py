"""Stations for an evening: who is at which, rotation by rotation, and which adult is where.

``shares.py`` says how the held turns are shared among the children who are held.
"""
