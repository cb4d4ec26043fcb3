"""What extends the house: plugins found, judged and loaded."""
