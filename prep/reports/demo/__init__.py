"""A demonstration: what it needs on the screen, what it will show, and its sheets."""
