"""Eat first: the home page."""
