"""Food science of a household that preserves its own food.

Pure functions of SI floats: no clock, no files other than the packaged tables, no framework.
"""
