"""An evening gathered for the planner: who is here, what each may do, what the hall has."""
