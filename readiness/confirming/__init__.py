"""Turns that came in without their author, or late: somebody says that they were so."""
