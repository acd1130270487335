"""What the school books: bookings, age groups, and its own rules about them."""
