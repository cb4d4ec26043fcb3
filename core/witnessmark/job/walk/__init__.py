"""What the entries of a job add up to, and what comes next."""
