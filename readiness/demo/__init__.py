"""An invented studio with two years of records, for looking at the program.

Everybody in it is invented, and so is every number about how children learn: nothing here is
a finding. The engine decides what each child may do, as it does in a real studio.
"""
