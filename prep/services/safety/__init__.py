"""Hazards of what is on file and on the shelves, and a school's own rules."""
