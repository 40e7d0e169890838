"""The history of entries, and taking one back."""
