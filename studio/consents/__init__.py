"""Consent to hands-on spotting from the enrolment forms: all answers in one list, and slips."""
