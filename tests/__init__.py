"""Tests. `python -m pytest` runs all of them; `conftest.py` says how the two database engines take turns."""
