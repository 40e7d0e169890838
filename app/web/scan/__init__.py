"""The label's code, read by the tablet's own camera."""
