"""A count as sheet and report; the genealogy of a bottle."""
