"""What is told of children besides turns: on the floor, and on their pages."""
