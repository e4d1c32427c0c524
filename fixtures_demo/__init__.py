"""The demo: Alder County, which does not exist, on an election night that never was.

`register/` holds the county as CSV, `badges.csv` the keys of its people, and the modules tell what they did: `place` is
a polling place on an ordinary day, `troubles` are the places where something went differently, `desks` the rooms of the
county's own staff, `night` who does what when. `expected.json` says what the record then shows. Nothing here is used in
earnest, and nothing in the program depends on it but the command `demo`.
"""
