"""What several questions rest on, worked out once for all of them."""
