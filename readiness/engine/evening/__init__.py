"""What an evening asks of the adults: who may spot, and who does a skill in a show."""
