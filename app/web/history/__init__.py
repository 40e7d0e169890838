"""The history of entries, and taking one back."""

from app.web.history.views import blueprint

__all__ = ["blueprint"]
