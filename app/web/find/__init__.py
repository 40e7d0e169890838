"""Finding anything by whatever is known of it."""
