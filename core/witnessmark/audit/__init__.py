"""What the entries of a job show: one timeline, and an answer with its entries to each question of a dispute."""
