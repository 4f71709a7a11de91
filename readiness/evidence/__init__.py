"""The evidence for one stage of one child, and the forms that decide on it.

Who may sign: may_decide in studio/access.py; when a signature is refused:
readiness/record/decisions.py.
"""
