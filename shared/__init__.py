"""Ground floor: the records that pass between rooms, units, the JSON codec.

Imports no other room. Facts of the hearing (`notes`) stay apart from the names
given to them (`harmony`), so a new naming never needs a new hearing.
"""
