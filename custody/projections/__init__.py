"""The derived tables: applied entry by entry, rebuilt from nothing, compared with the log.

`reading` is a `domain.tracks.Source` over the tables; `writing` puts what a book worked out into them; `rebuild` makes them all
again, and `compare` says where they differ from the log. The meaning is the domain's (`domain.book`): nothing is decided here.
"""
