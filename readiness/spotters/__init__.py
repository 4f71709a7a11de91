"""Who is trained to spot what, until when, and how many children there are to an adult."""
