"""The commands of a practice week, one file each.

In: what was typed. Out: a table on the terminal, JSON, pages, MIDI. Read `check_command`, what was
played against what was meant, and `progress_command`; the others have their shape.
"""
