"""The staff of a director's halls: accounts, papers, links to choose a password, the end."""
