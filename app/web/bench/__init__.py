"""The bench: work in progress, each with its next step."""
