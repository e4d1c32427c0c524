"""The register in Django's admin: lists, and one form a row. Nothing is deleted here, and nothing is saved by Django.

A form's fields are the columns of the table's file; services check them as a load would and put the row on the register
log, of which the tables are made. What comes by another way alone is shown and cannot be changed.
"""

from __future__ import annotations

from custody.admin import tables as tables
