"""What jobs did: the history of the books, what was made, used and tested."""
