"""Ground floor: the records that pass between rooms, units, the JSON codec.

In: nothing; this room imports no other. Out: records, and the one error a user may see. Read
`notes` (what was heard), `harmony` (the names given to it) and `take` (all of it), then `codec`.
Facts of the hearing stay apart from the names given to them, so a new naming never needs a new
hearing.
"""
