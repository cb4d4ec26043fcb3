"""The commands of `witnessmark person`."""
