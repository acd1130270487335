"""What proves the books: records as the log has them, and the seals of jobs."""
