"""Packing: comparing the packages the household owns, and weighing each unit."""

from app.web.packing.views import blueprint

__all__ = ["blueprint"]
