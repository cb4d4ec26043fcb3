"""Mutated inputs against every parser: only declared errors may come out."""
