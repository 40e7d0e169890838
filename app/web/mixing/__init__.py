"""Mixing: a blend of several lots, to a fat, water or protein wanted."""
