"""The rules on trial: error rates, rules of habit, invented children. Never used by a decision."""
