"""The first day: everything that is in the freezer already, in many rows."""
