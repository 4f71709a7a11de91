"""What two people must do: whose account is too new to be the second, and which change of the
ladder waits for a second."""
