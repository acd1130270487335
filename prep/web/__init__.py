"""The page: what is at a terminal for one, for everybody in the room."""
