"""Writing entries: one page for each operation."""
