"""What was proven of one lot, on one page to print."""
