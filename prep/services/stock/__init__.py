"""Bottles: what comes, goes and stands where; orders, labels, recalls."""
