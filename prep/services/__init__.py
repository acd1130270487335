"""Floor 3: one module a job; the unit of work."""
