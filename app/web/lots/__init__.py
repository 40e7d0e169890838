"""Lots: finding one, and its page."""

from app.web.lots.views import blueprint

__all__ = ["blueprint"]
