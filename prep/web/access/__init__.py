"""People at the page: coming in, one's own page, the office's list of people."""
