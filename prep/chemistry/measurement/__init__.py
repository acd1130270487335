"""Measuring: instruments, readings, uncertainty, standardisation."""
