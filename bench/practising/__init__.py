"""How well practice is reviewed.

In: made practice takes with planted faults. Out: passes found, faults named, false alarms. Read
`check` (written stacks), then `check_symbols` (plain symbols, played in many ways);
`recognising` (which target it is, if any).
"""
