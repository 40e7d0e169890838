"""Writing entries: one page for each operation."""

from app.web.operations.views import blueprint

__all__ = ["blueprint"]
