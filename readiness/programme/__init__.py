"""The programme, for who plans: how the children are spread, what holds them, who is not seen."""
