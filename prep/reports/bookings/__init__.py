"""Bookings and their answers: JSON, screen, files."""
