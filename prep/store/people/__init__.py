"""People and who came in, as rows."""
