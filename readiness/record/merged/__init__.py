"""What is read otherwise of a child with several records than of one with one."""
