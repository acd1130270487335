"""The commands of the term-end count."""
