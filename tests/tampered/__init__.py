"""Evidence files that somebody tampered with, each named for what was done to it, with the verdict it must get."""
