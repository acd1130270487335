"""The shelves' commands."""
