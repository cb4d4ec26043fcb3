"""What the audit found, as one set of facts and as a sheet that prints."""
