"""What another tester sends and what it is answered, as the link lets us hear it."""
