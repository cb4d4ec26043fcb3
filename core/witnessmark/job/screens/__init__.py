"""What a face shows, made from the state of the job."""
