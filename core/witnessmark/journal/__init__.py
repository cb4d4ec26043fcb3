"""The evidence: entries, the tree over them, signed checkpoints, and the file that holds one job."""
