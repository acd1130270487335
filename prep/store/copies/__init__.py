"""Copies of an inventory: one put in the place of another, and what is sound of a damaged one."""
