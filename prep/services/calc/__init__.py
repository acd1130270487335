"""The bench arithmetic on its own, from typed text, without a database."""
