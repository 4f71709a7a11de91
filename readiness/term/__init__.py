"""The end of a term: who moves to which class by stage, with places."""
