"""Demonstrations of one's own: as files, as variants, found by any word, and predicted before they are shown."""
