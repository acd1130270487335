"""The plan of an inventory: what it may know, drawn up, and what a change would do."""
