"""The control unit at hand: which one it is, and what is read of it."""
