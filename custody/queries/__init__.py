"""Reads, for pages, API and commands: each function gives frozen values, or raises `CustodyError`; none writes."""
