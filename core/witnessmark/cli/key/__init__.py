"""The commands of `witnessmark key`."""
