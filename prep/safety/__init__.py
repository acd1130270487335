"""Floor 1, pure: classification, storage, cautions."""
