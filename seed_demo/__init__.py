"""A made-up household, its food and its year, written through the same use-cases as the web."""
