"""Eat first: the home page."""

from app.web.eat_first.views import blueprint

__all__ = ["blueprint"]
