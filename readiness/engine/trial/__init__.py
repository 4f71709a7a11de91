"""The rules on trial: error rates, habits, and invented children. For pages and commands about rules, never for a decision."""
