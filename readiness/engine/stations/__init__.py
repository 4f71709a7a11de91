"""Stations for an evening: who is at which, rotation by rotation, and which adult is where.

``problem.py`` says what there is and what is wanted, ``plan.py`` what comes out, ``planner.py``
makes the one from the other, ``clash.py`` says why it cannot be done. ``shares.py`` says how the
held turns are shared among the children who are held.
"""
