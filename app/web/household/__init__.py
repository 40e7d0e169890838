"""The household's page: who writes, what it owns, its settings; and the first run."""

from app.web.household.views import blueprint

__all__ = ["blueprint"]
