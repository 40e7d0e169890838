"""Rehydration trials: writing one down, and the list of them."""
