"""A group of schools: its list, what is done in all of them, transfers between two, the report of the group."""
