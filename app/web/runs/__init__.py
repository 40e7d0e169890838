"""Dryer runs: loading, weighing trays back, judging dryness, unloading."""

from app.web.runs.views import blueprint

__all__ = ["blueprint"]
