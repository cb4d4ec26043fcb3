"""The commands of `witnessmark job`."""
