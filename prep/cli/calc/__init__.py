"""`prep calc`: the bench arithmetic on its own, a module for each kind of question."""
