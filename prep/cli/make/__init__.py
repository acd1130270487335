"""Commands of the bench: make, log, standardise, label."""
