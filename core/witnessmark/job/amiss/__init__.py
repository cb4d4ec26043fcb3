"""What was not right, what is mended for it, and what is done and looked at again."""
