"""People: who may sign in, and what each may do."""
