"""A card that was filled in by hand, keyed in line by line."""
