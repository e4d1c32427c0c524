"""Master data as an office hands it in: what may stand in a row, what must agree between rows, what would change.

Between the files and the log: nothing here reads files, the database or the clock, and nothing writes. Reasons are
sentences for the person whose file it is.
"""
