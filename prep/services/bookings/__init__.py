"""What teachers book, and what a showing really took."""
