"""Stations for an evening: what a hall has, the plan, what was taken of it."""
