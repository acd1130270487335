"""Plan anew what was short, or too much for a day."""
