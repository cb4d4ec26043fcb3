"""The terminal of the bay: keys in, a picture of the runner's view out."""
