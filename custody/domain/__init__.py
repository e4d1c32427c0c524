"""Meaning: what entries say, what follows from them, and what they are checked for. Pure: no database, clock or chance."""
