"""Floor 5: commands: parse, call one service, show."""
