"""Foretold: cooling, freezing, drying, heat, oxygen and water, before the work is done."""
