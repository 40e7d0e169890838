"""Papers: the rules, the numbers and where they come from, and the printed guide."""
