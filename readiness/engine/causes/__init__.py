"""From the faults that were seen to their root, and to the drills that mend it."""
