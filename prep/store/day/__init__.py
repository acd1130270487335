"""What was printed of a day."""
