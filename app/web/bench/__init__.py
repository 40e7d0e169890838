"""The bench: work in progress, each with its next step."""

from app.web.bench.views import blueprint

__all__ = ["blueprint"]
