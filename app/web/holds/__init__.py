"""Food on hold: what is held, why, what was made of it, and how a hold ends."""
