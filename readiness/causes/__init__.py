"""Where misses come from: a child's, a class's, the studio's."""
