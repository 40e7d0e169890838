"""What is due to be looked at: on the home page, on a page of its own, and written down."""
