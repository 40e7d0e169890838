"""Labels: choosing what to print, sheet geometry, and the drawing as vector PDF."""
