"""The show list: one show, its numbers, who does the skill there; printed for the choreographer."""
