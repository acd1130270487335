"""The prep room's tool: from booked demonstrations to what to make, from what, and what to order."""

__version__ = "0.1.0"
