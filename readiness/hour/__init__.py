"""The evidence hour: who lacks only turns, six turns each before two graders, their sheets."""
