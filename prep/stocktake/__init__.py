"""Floor 1, pure: the verdict of a count, its report, and the genealogy of what a bottle held."""
