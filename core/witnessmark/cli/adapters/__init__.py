"""`witnessmark adapters` and its commands."""
