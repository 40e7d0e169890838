"""Papers: the rules, the numbers and where they come from, and the printed guide."""

from app.web.papers.views import blueprint

__all__ = ["blueprint"]
