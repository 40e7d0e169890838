"""Dryer runs: loading, weighing trays back, judging dryness, unloading."""
