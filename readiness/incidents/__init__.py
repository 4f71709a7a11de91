"""What happened: an incident or a near miss on a page of its own, and a month of them."""
