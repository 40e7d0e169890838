"""Lots: finding one, and its page."""
