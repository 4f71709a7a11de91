"""Two records of one child: the likely ones, what merging them would change, and parting them."""
