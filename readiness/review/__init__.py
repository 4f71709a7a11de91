"""The review, a class at a glance, and the evidence for one stage."""
