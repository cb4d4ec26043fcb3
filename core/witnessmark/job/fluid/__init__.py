"""What is in bottle, container, feed and reservoir, and what the walk asks of it."""
