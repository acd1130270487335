"""Floor 1, pure: from bookings and stock to tasks, takes and orders."""
