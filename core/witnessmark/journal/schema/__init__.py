"""The published JSON schemas of an entry and of an evidence file, told in prose in docs/journal-format.md."""
