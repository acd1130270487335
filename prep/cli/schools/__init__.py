"""The commands of a group of schools."""
