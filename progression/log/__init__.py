"""The log of turns: reading lines, storing turns and strikes, keeping them append-only."""
