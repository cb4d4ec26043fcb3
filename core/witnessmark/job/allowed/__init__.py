"""What may be sent, to which control unit, and for how long: nothing else ever is."""
