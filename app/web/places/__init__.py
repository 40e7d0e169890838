"""Places: how warm they are, what lies there, and new ones."""

from app.web.places.views import blueprint

__all__ = ["blueprint"]
