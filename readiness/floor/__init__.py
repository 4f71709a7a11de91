"""The floor page: what a coach holds at the mat."""
