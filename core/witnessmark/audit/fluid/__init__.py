"""What went in, through and out, and what the containers say."""
