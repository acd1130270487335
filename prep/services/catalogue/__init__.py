"""What is on file: substances, solutions and demonstrations, read, found and imported."""
