"""The web page: what the commands do at one terminal, for everybody in the room."""
