"""What is kept of one child: where it stands, how it is given out, erased, and let go in time."""
