"""A plan as document, screen, tables and sheets."""
