"""What stands on a letter's page beside its sentences: the map of the ladder, what has grown, the
shapes for home, the slip that the family signs."""
