"""`witnessmark decode`, and what it prints."""
