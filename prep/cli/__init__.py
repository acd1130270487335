"""Floor 6: commands: parse, call one service, show; `serve` alone starts the page, a floor below."""
