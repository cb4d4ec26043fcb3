"""What should be done on this vehicle, in the maker's order: the document, its loading, and the plan made from it."""
