"""Places: how warm they are, what lies there, and new ones."""
