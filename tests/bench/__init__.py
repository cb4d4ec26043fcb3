"""Figures: `make bench` for all of them, `make bench PART=decode` for one part."""
