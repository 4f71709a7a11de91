"""Pictures from the side: on or off in a hall, and what each family says to them."""
