"""The plan's commands."""
