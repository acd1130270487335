"""Acids and bases: pH, buffers, end points, indicators."""
