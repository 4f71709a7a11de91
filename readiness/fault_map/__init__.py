"""From a fault to its root, to the drills that mend it, and back: drawn, printed, changed."""
