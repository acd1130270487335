"""Lots of least cost."""
