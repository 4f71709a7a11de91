"""How the parts of a letter's page are drawn."""
