"""Commands on hazards."""
