"""Bytes: canonical JSON, signatures, envelopes, the Merkle tree, signed notes and tiles.

Knows nothing of custody: no item, no person, no rule. Pure: no clock, randomness, files, sockets or database.
"""
