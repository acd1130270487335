"""Floor 4: renders plain data; reads no database."""
