"""Notes on what was seen of a child: ready ones, typed ones, the studio's list, and how long."""
