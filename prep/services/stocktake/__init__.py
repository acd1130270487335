"""The term-end count, from the sheet to the report."""
