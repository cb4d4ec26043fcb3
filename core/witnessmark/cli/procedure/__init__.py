"""The commands of `witnessmark procedure`."""
