"""Taking stock of a place with the tablet in the hand."""
