"""The bookings' commands."""
