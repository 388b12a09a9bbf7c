"""The commands, one file each.

In: what was typed. Out: outputs, a table on the terminal, an exit code. Read `transcribe_command`;
the others have its shape, and `practising` holds those of a practice week.
"""
