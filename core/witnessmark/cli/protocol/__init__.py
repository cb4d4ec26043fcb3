"""The commands of `witnessmark protocol`."""
