"""Writes: one use case, one file, one transaction."""
