"""Shared tablets: enrolment, and changing over by PIN."""
