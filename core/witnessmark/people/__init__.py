"""Who acts: person ids and roles."""
